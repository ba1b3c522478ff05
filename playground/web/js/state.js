// What the page is about, and its past. A step of history is what one gesture changed: a whole drag of a
// slider is one step.

const DEEP = 200;

export class State {
  /** now: {craft, speed_mps, pitch_deg|null, pilot_x_m|null, limit_m}. */
  constructor(now) {
    this.now = now;
    this.past = [];
    this.future = [];
    this.open = null; // the state before the gesture under way
  }

  /** Change the state in place. A gesture stays one step until settle(). */
  edit(change) {
    this.open ??= structuredClone(this.now);
    change(this.now);
  }

  settle() {
    if (this.open && JSON.stringify(this.open) !== JSON.stringify(this.now)) {
      this.past.push(this.open);
      if (this.past.length > DEEP) this.past.shift();
      this.future = [];
    }
    this.open = null;
  }

  /** Put another state in place, as one step. */
  replace(next) {
    this.settle();
    this.edit((now) => Object.assign(now, structuredClone(next)));
    this.settle();
  }

  undo() { return this.step(this.past, this.future); }
  redo() { return this.step(this.future, this.past); }

  step(from, to) {
    this.settle();
    const s = from.pop();
    if (!s) return false;
    to.push(this.now);
    this.now = s;
    return true;
  }
}
