// Asks the solver. Two workers: "quick" answers while a hand moves, "fine" when it rests, so that a long
// calculation never stands in the way of a short one. Of each topic only the newest question waits: one that
// it overtakes is never sent. One under way is finished, so that a steady drag sees a steady stream of answers,
// unless it is dropped.

/** What Go objected to: problems are {path, text}, path "" when it concerns the whole. */
export class Objection extends Error {
  constructor(problems) {
    super(problems.map((p) => p.text).join(" "));
    this.problems = problems;
  }
}

/** Rejected with this when a newer question has taken the place of this one, or when it was dropped. */
export class Overtaken extends Error {}

/** One worker with the questions that wait for it. */
export class Lane {
  /** onState() is called after every change; solver names the WebAssembly file. */
  constructor(onState, solver) {
    this.onState = onState;
    this.waiting = new Map(); // topic -> question not yet sent
    this.running = null;
    this.behind = null; // the question that stands back for the rest
    this.share = 0;
    this.worker = new Worker(new URL("worker.js", import.meta.url), { type: "module", name: solver });
    this.ready = new Promise((resolve, reject) => { this.opened = resolve; this.broke = reject; });
    this.ready.catch(() => {});
    this.worker.onerror = (e) => this.fail(`The solver could not be started: ${e.message ?? "the browser refused it"}.`);
    this.worker.onmessage = ({ data }) => this.hear(data);
  }

  ask(topic, question) {
    this.waiting.get(topic)?.reject(new Overtaken());
    return new Promise((resolve, reject) => {
      this.waiting.set(topic, { topic, question, resolve, reject });
      this.next();
    });
  }

  /** Asks what takes long and stands back for every other question, one such at a time; onShare(share) tells how much of it is done. */
  askBehind(question, onShare) {
    this.dropBehind();
    const answer = new Promise((resolve, reject) => {
      if (this.dead) return reject(new Objection([{ path: "", text: this.dead }]));
      this.behind = { question, resolve, reject, onShare, awaited: false };
      this.worker.postMessage({ id: question.id, ask: JSON.stringify(question), behind: true });
    });
    if (this.behind) this.behind.over = answer.then(() => {}, () => {});
    return answer;
  }

  /** Waits for what is asked behind, which is then work that somebody waits for. */
  async afterBehind() {
    if (!this.behind) return;
    this.behind.awaited = true;
    this.onState();
    await this.behind.over;
    this.onState();
  }

  dropBehind() {
    if (!this.behind) return;
    this.worker.postMessage({ drop: this.behind.question.id });
    this.behind.reject(new Overtaken());
    this.behind = null;
  }

  /** Throws away what is asked on a topic, also what is under way. */
  drop(topic) {
    this.waiting.get(topic)?.reject(new Overtaken());
    this.waiting.delete(topic);
    if (this.running?.topic === topic && !this.running.dropped) {
      this.running.dropped = true;
      this.running.reject(new Overtaken());
      this.worker.postMessage({ drop: this.running.question.id });
    }
    this.onState();
  }

  /** Ends the worker, whatever it is at; nothing can be asked after that. */
  stop() {
    this.worker.terminate();
    this.running?.reject(new Overtaken());
    for (const w of this.waiting.values()) w.reject(new Overtaken());
    this.running = null;
    this.waiting.clear();
  }

  next() {
    if (this.dead) {
      for (const w of this.waiting.values()) w.reject(new Objection([{ path: "", text: this.dead }]));
      this.waiting.clear();
    } else if (!this.running && this.waiting.size) {
      const [topic, w] = this.waiting.entries().next().value;
      this.waiting.delete(topic);
      this.running = w;
      this.share = 0;
      this.worker.postMessage({ id: w.question.id, ask: JSON.stringify(w.question) });
    }
    this.onState();
  }

  hear(data) {
    if (data.ready) return this.opened();
    if (data.failed) return this.fail(data.failed);
    if (data.progress != null) {
      const behind = data.id === this.behind?.question.id;
      if (behind) this.behind.onShare(data.progress);
      if (behind ? !this.behind.awaited : data.id !== this.running?.question.id) return; // nobody waits for it, or it was dropped
      this.share = data.progress;
      return this.onState();
    }
    const a = JSON.parse(data.answer), which = ["running", "behind"].find((k) => this[k]?.question.id === a.id);
    if (!which) return; // asked behind, and dropped
    const r = this[which];
    this[which] = null;
    if (!r.dropped) a.ok ? r.resolve(a) : r.reject(new Objection(a.problems));
    if (which === "running") this.next();
  }

  fail(text) {
    this.dead = text;
    const objection = new Objection([{ path: "", text }]);
    this.broke(objection);
    this.running?.reject(objection);
    this.behind?.reject(objection);
    this.running = this.behind = null;
    this.next();
  }

  get working() { return this.running != null || this.behind?.awaited === true; }
  get busy() { return this.working || this.waiting.size > 0; }
}

export class Answers {
  /** onBusy(share | null): work has been under way for over 200 ms (share 0..1 of it done), or it is over. */
  constructor(onBusy) {
    this.count = 0;
    this.since = 0;
    this.timer = 0;
    this.holds = new Set(); // why what is asked behind rests
    const state = () => {
      const busy = this.quick?.busy || this.fine?.busy;
      if (!busy) {
        clearTimeout(this.timer);
        this.since = 0;
        return onBusy(null);
      }
      const share = () => Math.max(...[this.fine, this.quick].map((l) => (l?.working ? l.share : 0)));
      if (!this.since) {
        this.since = performance.now();
        clearTimeout(this.timer);
        this.timer = setTimeout(() => onBusy(share()), 200);
      } else if (performance.now() - this.since > 200) onBusy(share());
    };
    this.quick = new Lane(state, "craft");
    this.fine = new Lane(state, "craft");
  }

  /** The answer to {ask: kind, ...params}; rejects with an Objection or Overtaken. */
  ask(kind, params = {}, { lane = "quick", topic = kind } = {}) {
    return this[lane].ask(topic, { id: ++this.count, ask: kind, ...params });
  }

  /** The same of what takes long and that nobody waits for: it stands back for all else that the fine worker is asked. */
  askBehind(kind, params, onShare) {
    return this.fine.askBehind({ id: ++this.count, ask: kind, ...params }, onShare);
  }

  dropBehind() { this.fine.dropBehind(); }

  /** Has it rest, for one reason or several, while a hand moves or a flight is played: they need the machine, and the fine worker at once. */
  holdBehind(why, on) {
    const was = this.holds.size > 0;
    if (on) this.holds.add(why); else this.holds.delete(why);
    if (was !== this.holds.size > 0) this.fine.worker.postMessage({ hold: !was });
  }

  /** Waits for it, where an answer needs it. */
  afterBehind() { return this.fine.afterBehind(); }

  /** Work that has become out of date. */
  drop(topic, lane) { this[lane].drop(topic); }
}
