// Weighing: what scales under the craft and its swinging say, beside the craft file. The solver works it out;
// what is typed stays as it was typed.

import { $, answers, page, question, said } from "./page.js";
import { Objection, Overtaken } from "./answers.js";
import { h } from "./svg.js";
import { parse, spoken, take } from "./units.js";

const FIELDS = [
  { key: "scales", label: "Craft level", about: "place and reading of each scale" },
  { key: "raised", label: "Nose raised", about: "the same places, new readings; empty if not done" },
  { key: "angle_deg", label: "Raised by, degrees", kind: "angle", standard: "15" },
  { key: "swing_s", label: "Ten swings, seconds", kind: "ratio", about: "empty if not done" },
  { key: "pivot_m", label: "Axis of the swing above the datum", kind: "length" },
];

/** Puts the dialog to work. put(craft) shows the craft as weighed. Returns what opens the dialog. */
export function weighing(put) {
  const boxes = new Map(), errors = new Map();
  let craft = null; // with the weights as weighed
  $("weighFields").replaceChildren(...FIELDS.map((f) => {
    const id = `weigh-${f.key}`;
    const box = h("input", { type: "text", id, value: f.standard ?? "", inputmode: f.kind ? "decimal" : "text", placeholder: f.about ?? "", spellcheck: "false", "aria-describedby": `${id}-e`, oninput: weigh });
    const error = h("p", { class: "problem", id: `${id}-e`, role: "alert", hidden: true });
    boxes.set(f.key, box);
    errors.set(f.key, error);
    return h("div", {}, h("label", { for: id }, f.label), box, error);
  }));

  function tell(key, text) {
    const e = errors.get(key);
    e.textContent = text;
    e.hidden = !text;
    if (text) boxes.get(key).setAttribute("aria-invalid", "true"); else boxes.get(key).removeAttribute("aria-invalid");
  }

  /** What is typed, or null where a field holds no number. */
  function typed() {
    const q = {};
    let good = true;
    for (const f of FIELDS) {
      const text = boxes.get(f.key).value.trim();
      const v = f.kind ? (text === "" ? 0 : parse(text)) : text;
      const wrong = v == null;
      tell(f.key, wrong ? `“${text}” is not a number${f.kind === "length" ? ` in ${spoken("length")}` : ""}.` : "");
      good &&= !wrong;
      q[f.key] = f.kind && !wrong ? take(f.kind, v) : v;
    }
    return good ? q : null;
  }

  async function weigh() {
    const q = typed();
    craft = null;
    $("weighTake").disabled = true;
    $("weighTable").hidden = true;
    $("weighProblem").hidden = true;
    $("weighSaid").replaceChildren();
    if (!q) return;
    try {
      show(await answers.ask("weigh", { ...question(), ...q }));
    } catch (e) {
      if (e instanceof Overtaken) return;
      if (!(e instanceof Objection)) throw e;
      const rest = [];
      for (const p of e.problems) errors.has(p.path) ? tell(p.path, p.text) : rest.push(p.text);
      $("weighProblem").replaceChildren(...rest.map((t) => h("p", {}, t)));
      $("weighProblem").hidden = !rest.length;
    }
  }

  function show(a) {
    $("weighSteps").replaceChildren(...a.steps.map((t) => h("li", {}, t)));
    $("weighLike").textContent = `Scales are typed as ${a.like}.`;
    if (!a.rows) return;
    $("weighTable").replaceChildren(
      h("thead", {}, h("tr", {}, ["figure", "weighed", "within", "file", "weighed less file"].map((t) => h("th", { scope: "col" }, t)))),
      h("tbody", {}, a.rows.map((r) => h("tr", { class: r.agrees ? "" : "differs" },
        h("th", { scope: "row" }, r.name), [r.weighed, r.within, r.file, r.agrees ? r.difference : `${r.difference} !`].map((t) => h("td", {}, t))))));
    $("weighTable").hidden = false;
    $("weighSaid").replaceChildren(...[...a.sentences, "Within: twice the standard uncertainty. !: more than the readings can be off.", a.why].filter(Boolean).map((t) => h("p", {}, t)));
    craft = a.craft;
    $("weighTake").disabled = !craft;
  }

  $("weighTake").onclick = () => {
    if (!craft) return;
    const { speed_mps, pitch_deg, pilot_x_m, log } = page.state.now;
    put(craft, { speed_mps, pitch_deg, pilot_x_m, log });
    $("weighView").close();
    said("The weights are those of the weighing. Undo takes them back.");
  };
  $("weighClose").onclick = () => $("weighView").close();
  return () => { $("weighView").showModal(); weigh(); };
}
