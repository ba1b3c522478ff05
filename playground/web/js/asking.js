// The questions in flight: what is asked when something changes, which answers count, and when all is said.
// This module knows nothing of the page or of the solver. It is given a way to ask, is told what changes, and
// hands over the answers that count.
//
// Every change has a number. Of each kind of answer it knows which change made the shown one old, and what is
// shown: of which of those changes, coarse or fine. An answer belongs to the change that concerned its kind last when
// its question was made: a move of the clearance makes no sweep another one. It takes the place of the shown one if
// it belongs to a newer change, or to the same one and is finer. So a coarse answer that comes late never covers a
// fine one, and what is still due can always be told from what is shown: no note is kept of it that could be lost.
//
// The states:
//
//	moving    something has changed within the last REST ms; quick answers follow the hand
//	refining  the hand rests; the fine answers of the picture are being worked out
//	settled   the picture is fine and belongs to the last change; what takes longer is being worked out
//	complete  all is said but how far to trust it
//	trusted   that, too
//	refused   the last question was objected to; what is shown belongs to an earlier one
//
// How far to trust what is said takes long to get ready, once for the wings; that is asked behind, goes on while other
// things change, and makes way for every other question.

import { Objection, Overtaken } from "./answers.js";

/** ms without a change after which the fine answers are asked for. */
export const REST = 50;
/** ms at least between two looks at what stands beside the picture while the hand moves. */
export const BESIDE = 120;

const PICTURE = ["heights", "nearby", "pose"]; // the fine answers in the order in which they are asked for
const LATER = ["towing", "accuracy"]; // nobody waits for these; they make way for every change
const LAST = "trust"; // likewise, once what it takes is ready
const COARSE = 1, FINE = 2;

export class Asking {
  #change = 0; // number of the last change
  #since = {}; // kind -> number of the change that made its shown answer old
  #shown = {}; // kind -> {change, grade} of what is shown; grade 0 is nothing
  #wings = ""; // the wings as last asked about
  #mapped = ""; // the wings that the fine worker keeps a map of: their speed, weights and pilot need no coarse one
  #sweptFine = ""; // the wings of the fine sweep asked for last
  #ready = ""; // the wings of which it is known what the calculation leaves out
  #readying = ""; // those of which that is being worked out
  #sweeping = false; // quick sweeps are under way, one at a time, so that a steady drag sees every one whole
  #refining = false;
  #resting = false;
  #timer = 0;
  #besideAt = -Infinity;
  #state = "moving";

  /**
   * world is what surrounds the questions:
   *
   *	question()                 what every question about the present craft carries; a copy of its own
   *	wings(question)            a text that is equal for equal wings
   *	ask(kind, question, grade) a promise of the answer, grade "coarse" or "fine"; rejects with an Objection or Overtaken
   *	drop(kind)                 the fine answer is no longer wanted
   *	ready(question)            a promise that what the calculation leaves out of the wings is ready; rejects as ask does
   *	unready()                  that is no longer wanted
   *	show(answers)              kind -> {answer, fine, current, question}; current: it belongs to the last change
   *	old(kind)                  what is shown of a kind that is worked out later is true no more
   *	object(problems)           the last question was objected to
   *	tell(state)                the state has changed
   */
  constructor(world) {
    this.world = world;
    for (const kind of [...PICTURE, ...LATER, LAST]) {
      this.#since[kind] = 0;
      this.#shown[kind] = { change: -1, grade: 0 };
    }
  }

  get state() { return this.#state; }

  /** The craft, its speed or its pilot has changed, or the words in which answers come. */
  craftChanged() {
    const wings = this.world.wings(this.world.question());
    const old = [...PICTURE, "towing", LAST];
    if (wings !== this.#wings) {
      old.push("accuracy");
      if (this.#readying) this.world.unready();
    }
    this.#wings = wings;
    this.#begin(old);
    if (wings !== this.#sweptFine) this.world.drop("heights"); // it works on wings that are no more
    this.#sweep();
  }

  /** Only the clearance has changed at which the craft is shown. */
  clearanceChanged() {
    this.#begin(["pose"]);
    this.#quick(["pose"], this.#now(), "coarse");
  }

  /** True while what is shown of a kind is not the fine answer to the last change that concerns it. */
  #due(kind) {
    return this.#shown[kind].change < this.#since[kind] || this.#shown[kind].grade < FINE;
  }

  /** A question about what there is now, with the change that it belongs to, at all and for each kind. */
  #now() { return { question: this.world.question(), change: this.#change, since: { ...this.#since } }; }

  #begin(old) {
    this.#change++;
    for (const kind of old) {
      this.#since[kind] = this.#change;
      if (!PICTURE.includes(kind)) this.world.old(kind);
    }
    for (const kind of [...LATER, LAST]) this.world.drop(kind);
    this.#resting = false;
    this.#tell("moving");
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => { this.#resting = true; this.#refine(); }, REST);
  }

  #tell(state) {
    if (state === this.#state) return;
    this.#state = state;
    this.world.tell(state);
  }

  /** Quick sweeps until one belongs to the last change. */
  async #sweep() {
    if (this.#sweeping) return;
    this.#sweeping = true;
    try {
      for (let tried = -1; tried < this.#since.heights && this.#due("heights");) {
        tried = this.#since.heights;
        await this.#sweepOnce();
      }
    } finally {
      this.#sweeping = false;
    }
  }

  async #sweepOnce() {
    const now = this.#now();
    const grade = this.world.wings(now.question) === this.#mapped ? "fine" : "coarse";
    if (!await this.#quick(["heights"], now, grade)) return;
    if (performance.now() - this.#besideAt < BESIDE) return; // the next one shows it, or the fine answers
    this.#besideAt = performance.now();
    const beside = this.#quick(["pose", "nearby"], now, grade);
    // The quick worker has just mapped these wings for the sweep: it answers the rest before it maps others.
    if (grade === "coarse") await beside;
  }

  /** Asks about what there was at a now. */
  #ask(kind, now, grade) {
    if (kind === "heights" && grade === "fine") this.#sweptFine = this.world.wings(now.question);
    return this.world.ask(kind, now.question, grade);
  }

  /** Asks for kinds of one change together; true if the answers came. A pose while the hand moves is a coarse one. */
  async #quick(kinds, now, grade) {
    try {
      const answers = await Promise.all(kinds.map((kind) => this.#ask(kind, now, kind === "pose" ? "coarse" : grade)));
      this.#take(Object.fromEntries(kinds.map((kind, i) => [kind, { answer: answers[i], fine: kind !== "pose" && grade === "fine" }])), now);
      return true;
    } catch (e) {
      this.#fault(e, now.change);
      return false;
    }
  }

  /** The fine answers that are due, one after the other, as long as the hand rests. */
  async #refine() {
    if (this.#refining) return; // it looks at what is due after every answer
    this.#refining = true;
    try {
      while (this.#resting) {
        let kind = PICTURE.find((k) => this.#due(k));
        if (kind) this.#tell("refining");
        else if ((kind = LATER.find((k) => this.#due(k)))) this.#tell("settled");
        else if (!this.#due(LAST)) return this.#tell("trusted");
        else {
          this.#tell("complete");
          if (this.#ready !== this.#wings) return void this.#getReady();
          kind = LAST;
        }
        const now = this.#now();
        try {
          this.#take({ [kind]: { answer: await this.#ask(kind, now, "fine"), fine: true } }, now);
        } catch (e) {
          // Overtaken, or of an earlier change: what is due is asked for again.
          if (this.#fault(e, now.change)) return this.#tell("refused");
        }
      }
    } finally {
      this.#refining = false;
    }
  }

  /** Gets ready what the calculation leaves out of the present wings, and has what waits for it asked. */
  async #getReady() {
    const wings = this.#wings;
    if (this.#readying === wings) return;
    this.#readying = wings;
    try {
      await this.world.ready(this.world.question());
    } catch (e) {
      if (e instanceof Overtaken) return;
      if (!(e instanceof Objection)) throw e; // what is wrong is told by the answer that needs it
    } finally {
      if (this.#readying === wings) this.#readying = "";
    }
    this.#ready = wings;
    this.#refine();
  }

  #take(answers, { question, since }) {
    const count = {};
    for (const [kind, a] of Object.entries(answers)) {
      const grade = a.fine ? FINE : COARSE, shown = this.#shown[kind], change = since[kind];
      if (a.fine) this.#mapped = this.world.wings(question);
      if (change < shown.change || (change === shown.change && grade <= shown.grade)) continue;
      this.#shown[kind] = { change, grade };
      count[kind] = { ...a, question, current: change >= this.#since[kind] };
    }
    if (Object.keys(count).length) this.world.show(count);
  }

  /** Tells an objection to the last change; false for one that nobody waits for. */
  #fault(e, change) {
    if (e instanceof Overtaken) return false;
    if (!(e instanceof Objection)) throw e;
    if (change !== this.#change) return false;
    this.world.object(e.problems);
    return true;
  }
}
