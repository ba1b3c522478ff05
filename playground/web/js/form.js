// Controls: a label, a number field with its unit, and a slider between its ends. What is typed stays as it
// was typed; what is wrong with it is said beneath it.

import { h, write } from "./svg.js";
import { digits, field, figure, inFeet, parse, show, spoken, take, tell, unit, unitBeside } from "./units.js";

let serial = 0;

/** One control. owner is told edit(value) while moving and settle() at rest. */
export class Control {
  /**
   * f: {label, kind, range: [least, most, step] in SI, group?}; edit(v), settle(). edit may return a sentence
   * that says why it does not take the value: the field then stays as typed, marked, until something else is
   * typed or the value changes in another way.
   */
  constructor(f, edit, settle) {
    this.f = f;
    this.refused = "";
    const id = `c${++serial}`;
    this.error = h("p", { class: "problem", id: `${id}e`, role: "alert", hidden: true });
    const about = f.group ? `${f.label}, ${f.group}` : f.label;
    if (f.kind === "text") {
      this.box = h("input", { type: "text", id, class: "text", "aria-label": about, "aria-describedby": `${id}e`, spellcheck: "false", oninput: () => { this.box.dataset.typing = "1"; edit(this.box.value); }, onchange: () => { delete this.box.dataset.typing; settle(); } });
      this.root = h("div", { class: "control", "data-path": f.path }, h("label", { for: id }, f.label), this.box, this.error);
      return;
    }
    this.unit = h("span", { class: "unit", "aria-hidden": "true" });
    this.box = h("input", {
      type: "text", inputmode: "decimal", id, class: "number", "aria-describedby": `${id}e`,
      oninput: () => { this.box.dataset.typing = "1"; this.typed(edit); }, onchange: () => { delete this.box.dataset.typing; this.tellRefusal(); settle(); },
      onkeydown: (e) => {
        const d = { ArrowUp: 1, ArrowDown: -1 }[e.key];
        if (!d || this.value == null) return;
        e.preventDefault();
        const v = take(f.kind, +(show(f.kind, this.value) + d * this.step).toFixed(6));
        this.show(v);
        this.put(v, edit);
        this.tellRefusal();
        settle();
      },
    });
    this.slide = h("input", { type: "range", oninput: () => { const v = take(f.kind, +this.slide.value); this.show(v, true); this.put(v, edit); this.tellRefusal(); }, onchange: settle });
    // A finger that goes on to scroll the page has touched the slider in passing.
    let before;
    this.slide.addEventListener("pointerdown", () => { before = this.taken; });
    this.slide.addEventListener("pointercancel", () => { if (before != null && before !== this.taken) { this.show(before); this.put(before, edit); settle(); } });
    this.ends = [h("span", { class: "end", "aria-hidden": "true" }), h("span", { class: "end", "aria-hidden": "true" })];
    this.about = about;
    this.root = h("div", { class: "control", "data-path": f.path },
      h("label", { for: id }, f.label), h("span", { class: "amount" }, this.box, this.unit),
      h("span", { class: "run" }, this.ends[0], this.slide, this.ends[1]), this.error);
    this.reface();
  }

  /** Units have changed, or the range has. */
  reface(range = this.f.range) {
    if (this.f.kind === "text") return;
    const face = `${unit(this.f.kind)} ${range}`;
    if (face === this.face) return;
    this.face = face;
    this.f.range = range;
    const { kind } = this.f, [lo, hi, st] = range;
    this.step = inFeet(kind) ? nice(12 * show(kind, st)) / 12 : nice(show(kind, st)); // people count in inches
    this.unit.textContent = unitBeside(kind);
    for (const e of [this.box, this.slide]) e.setAttribute("aria-label", `${this.about}${spoken(kind) ? `, ${spoken(kind)}` : ""}`);
    this.lo = Math.floor(show(kind, lo) / this.step + 1e-6) * this.step;
    this.hi = Math.ceil(show(kind, hi) / this.step - 1e-6) * this.step;
    this.slide.step = +this.step.toFixed(6);
    this.widen(0.5 * (this.lo + this.hi));
    this.fresh = false;
    if (this.value != null) this.show(this.value);
  }

  widen(shown) {
    const lo = Math.min(this.lo, Math.floor(shown / this.step) * this.step), hi = Math.max(this.hi, Math.ceil(shown / this.step) * this.step);
    if (this.slide.min !== String(+lo.toFixed(6))) this.slide.min = +lo.toFixed(6);
    if (this.slide.max !== String(+hi.toFixed(6))) this.slide.max = +hi.toFixed(6);
    const fig = (v) => (inFeet(this.f.kind) ? figure(this.f.kind, take(this.f.kind, v)).replace(/\.0"/, '"').replace(/' 0"$/, "'") : String(+v.toFixed(digits(this.f.kind))).replace("-", "−"));
    write(this.ends[0], fig(lo));
    write(this.ends[1], fig(hi));
  }

  /** Put a value in. What stands there for the same value stays, as does text under the typist's hand. */
  show(v, sliding = false) {
    if (this.refused && v === this.taken) return; // the page's own value is what it was
    if (this.fresh && v === this.value) { this.taken = v; return; }
    if (this.refused) this.refuse("");
    this.taken = v;
    this.fresh = true;
    this.value = v;
    if (this.f.kind === "text") { if (document.activeElement !== this.box) this.box.value = v; return; }
    if (v == null || !Number.isFinite(v)) return;
    const shown = show(this.f.kind, v);
    const same = parse(this.box.value);
    if (!(document.activeElement === this.box && same != null && Math.abs(same - shown) < 1e-6 * Math.max(1, Math.abs(shown)))) this.box.value = this.f.plain ? field(this.f.kind, v, 0) : field(this.f.kind, v);
    if (this.wrong) { this.wrong = false; this.tell(""); }
    if (!sliding) { this.widen(shown); this.slide.value = shown; }
    this.slide.setAttribute("aria-valuetext", inFeet(this.f.kind) ? tell(this.f.kind, v) : `${field(this.f.kind, v)} ${spoken(this.f.kind)}`);
  }

  typed(edit) {
    const v = parse(this.box.value);
    this.wrong = v == null;
    if (this.wrong) {
      clearTimeout(this.later);
      this.refused = "";
      this.tell(this.box.value.trim() === "" ? `${this.f.label} is empty: type a number${unit(this.f.kind) ? ` in ${spoken(this.f.kind)}` : ""}.` : `“${this.box.value}” is not a number. Type one such as ${field(this.f.kind, this.value ?? this.f.range[0])}.`);
      return;
    }
    this.say("");
    this.value = take(this.f.kind, v);
    this.widen(v);
    this.slide.value = v;
    this.put(this.value, edit);
    // "0" may be on its way to "0.4": what is too small is said once the hand has stopped.
    clearTimeout(this.later);
    if (this.refused) this.later = setTimeout(() => this.tellRefusal(), 700);
  }

  /** Hands a value on, and keeps the reason if it is not taken. */
  put(v, edit) {
    const no = edit(v);
    this.refuse(typeof no === "string" ? no : "");
    if (!this.refused) this.taken = v;
  }

  refuse(text) {
    if (this.refused && !text) this.tell("");
    this.refused = text;
  }

  tellRefusal() {
    clearTimeout(this.later);
    if (this.refused) this.tell(this.refused);
  }

  /** What Go says of the value; empty: all is well. Typing that is no number keeps its own sentence. */
  say(text) { if (!this.wrong && !(this.refused && !text)) this.tell(text); }

  /** A word beside the control, such as what a step of it does; empty: none. */
  note(text) {
    if (!text && !this.noted) return;
    if (!this.noted) this.root.append(this.noted = h("p", { class: "step" }));
    write(this.noted, text);
    this.noted.hidden = !text;
  }

  tell(text) {
    write(this.error, text);
    this.error.hidden = !text;
    this.root.classList.toggle("wrong", !!text);
    if (text) this.box.setAttribute("aria-invalid", "true"); else this.box.removeAttribute("aria-invalid");
  }
}

// A step close to the wanted one that people count in.
const nice = (s) => { const m = 10 ** Math.floor(Math.log10(s)); return +([1, 2, 5, 10].map((k) => k * m).find((k) => k >= s * 0.75)).toFixed(8); };

/** All controls of the craft, in groups that fold. */
export class Form {
  /** root: the form element; groups(craft); edit(change, structural), settle(). */
  constructor(root, groups, edit, settle) {
    Object.assign(this, { root, groups, edit, settle });
    this.controls = [];
    this.open = {}; // what an action with the key "open" opens
    root.addEventListener("submit", (e) => e.preventDefault());
  }

  /** Show a craft; rebuilds only when its parts have changed. */
  show(craft) {
    const gs = this.groups(craft);
    const shape = JSON.stringify(gs.map((g) => [g.key, g.title, g.actions.map((a) => a.label), (g.parts ?? []).map((p) => [p.title, p.fields.map((f) => f.path)])]));
    if (shape !== this.shape && !(this.shape && this.renamed(gs))) this.build(gs);
    this.shape = shape;
    for (const c of this.controls) {
      c.show(c.f.get(craft));
      if (!c.aside) continue;
      write(c.aside, c.f.about(craft));
      c.aside.hidden = !c.aside.textContent;
    }
  }

  // Only names differ: keep the controls (and the typist's caret), put the new titles in.
  renamed(gs) {
    const paths = gs.flatMap((g) => (g.parts ?? []).flatMap((p) => p.fields.map((f) => f.path))).join();
    if (paths !== this.controls.map((c) => c.f.path).join()) return false;
    const titles = [...this.root.querySelectorAll("[data-title]")], want = gs.filter((g) => !g.bare).flatMap((g) => [g.title, ...(g.parts ?? []).filter((p) => p.title).map((p) => p.title)]);
    if (titles.length !== want.length) return false;
    titles.forEach((t, i) => { t.textContent = want[i]; });
    return true;
  }

  build(gs) {
    const open = new Set([...this.root.querySelectorAll("details[open]")].map((d) => d.dataset.key));
    const first = !this.controls.length;
    const focus = document.activeElement?.closest?.("[data-path]")?.dataset.path;
    this.controls = [];
    const press = (a) => h("button", { type: "button", class: "plain", onclick: () => { if (a.open) return this.open[a.open](); this.edit(a.do); this.settle(); } }, a.label);
    this.root.replaceChildren(...gs.map((g, n) => {
      if (g.bare) return h("p", { class: "actions" }, g.actions.map(press));
      const parts = g.parts.map((p) => h("div", { class: "part", role: "group", "aria-label": p.title ?? g.title },
        p.title ? h("h3", { "data-title": true }, p.title) : null,
        p.fields.map((f) => {
          const c = new Control({ ...f, group: p.title ? `${p.title}, ${g.title}` : g.title }, (v) => this.edit((craft) => f.set(craft, v)), () => this.settle());
          c.f.get = f.get.bind(f);
          if (f.about) c.root.append(c.aside = h("p", { class: "step" }));
          this.controls.push(c);
          return c.root;
        }),
        p.remove ? press(p.remove) : null));
      const keep = first ? n === 0 && matchMedia("(min-width: 921px)").matches : open.has(g.key);
      return h("details", { "data-key": g.key, open: keep }, h("summary", {}, h("span", { "data-title": true }, g.title), h("span", { class: "count problem", hidden: true }, "needs a look")), parts, h("p", { class: "actions" }, g.actions.map(press)));
    }));
    if (focus) this.root.querySelector(`[data-path="${CSS.escape(focus)}"] input`)?.focus();
  }

  reface() { for (const c of this.controls) c.reface(); }

  /** Writes a word beside each control: path -> text. */
  note(texts) { for (const c of this.controls) c.note(texts[c.f.path] ?? ""); }

  /** Another craft is to be shown: what was typed for this one goes. */
  clear() {
    for (const c of this.controls) {
      c.fresh = c.wrong = false;
      c.tell("");
    }
  }

  /** Some control holds what is no number. */
  get unread() { return this.controls.some((c) => c.wrong || c.refused); }

  /** Put each problem beside its control; returns those that concern no control. */
  object(problems) {
    const rest = [];
    const texts = new Map();
    for (const p of problems) {
      const c = this.find(p.path);
      if (c) texts.set(c, [...(texts.get(c) ?? []), p.text]); else rest.push(p);
    }
    for (const c of this.controls) c.say((texts.get(c) ?? []).join(" "));
    for (const d of this.root.querySelectorAll("details")) {
      const bad = d.querySelector(".control.wrong") != null;
      d.querySelector(".count").hidden = !bad;
      if (bad && problems.length) d.open = true;
    }
    return rest;
  }

  find(path) {
    if (!path) return null;
    const exact = this.controls.find((c) => c.f.path === path);
    if (exact) return exact;
    const near = this.controls.filter((c) => c.f.path.startsWith(path + ".") || c.f.path.startsWith(path + "[") || path.startsWith(c.f.path + ".") || (c.f.also && path.startsWith(c.f.also)));
    return near[0] ?? null;
  }
}
