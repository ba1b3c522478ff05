// What to change: what a builder's step of each dimension does, the smallest changes that give a craft what it lacks,
// and what an inexact build does. The second solver works it out, in a worker of its own that is loaded when it is
// first asked and ended when it is told to stop. What is found belongs to one craft at one speed: beside other craft it
// is marked as old, and undone changes bring it back.

import { $, page, question, said, showShare } from "./page.js";
import { Lane, Objection, Overtaken } from "./answers.js";
import { Control } from "./form.js";
import { h, write } from "./svg.js";
import { keep, recall } from "./theme.js";
import { tell, units } from "./units.js";
import { inPageWords, minus } from "./words.js";

/** What the answers depend on. */
const key = ({ craft, speed_mps, limit_m }) => JSON.stringify([{ ...craft, name: "" }, speed_mps, limit_m]);

/** A dimension's control where its path is not that of one. */
const FIELD = { span_m: "span", sweep_deg: "le_x_m", dihedral_deg: "le_z_m" };
function field(path, craft) {
  const m = /^(wings\[(\d+)\])\.(\w+)$/.exec(path);
  if (!m) return path;
  if (m[3] === "chord_m") return `${m[1]}.stations[0].chord_m`;
  if (m[3] === "twist_deg") return `${m[1]}.stations[${craft.wings[+m[2]].stations.length - 1}].twist_deg`;
  return FIELD[m[3]] ? `${m[1]}.${FIELD[m[3]]}` : path;
}
const OF_ALL = { chord_m: "all chords ", twist_deg: "the tip by " };
const SHORT = { let_go: "let go", window: "window", self_holding: "holds itself", lift_off: "lift-off", reach: "reach", pull: "pull" };

/** Seconds as people say them. */
const about = (s) => (s < 55 ? `about ${Math.max(5, Math.ceil(s / 5) * 5)} s` : `about ${Math.ceil(s / 60)} min`);
/** A file's numbers as far as a builder sets them, without what a computer adds behind. */
const tidy = (craft) => JSON.parse(JSON.stringify(craft), (_, v) => (typeof v === "number" ? +v.toFixed(6) : v));
const capital = (text) => text[0].toUpperCase() + text.slice(1);
const inUnits = (w) => minus(w[units.system]).replace(/(\d+\.\d+) ft\b(?!\/)/g, (_, v) => tell("length", v * 0.3048));

/**
 * Puts the section to work. put(craft) shows a changed craft as one step of the history; notes(texts) writes a text
 * beside each control, by path; redraw() draws the page. Returns {look, face}: look() is told of every change of the
 * craft, face() of other units.
 */
export function changes({ put, notes, redraw }) {
  let lane = null, run = null; // run: {key, what, begun} while something is worked out
  let found = null, advice = null, built = null; // each with the key that it belongs to
  let ranked = 0, tried = new Set(), fresh = null; // fresh: whether what was found is shown as that of the present craft

  const least = { v: +(recall("window") ?? 0) || 4 / 3.6 };
  const leastControl = new Control({ path: "least_window_mps", label: "Speed window that your boat can hold", kind: "speed", range: [1 / 3.6, 20 / 3.6, 0.1 / 3.6] }, (v) => {
    if (!(v > 0.03 && v <= 30)) return `The speed window is ${tell("speed", v)}; give one above 0 and up to ${tell("speed", 30)}.`;
    least.v = v;
  }, () => { keep("window", String(least.v)); showAdvice(); });
  leastControl.show(least.v);
  $("changesLeast").append(leastControl.root);

  const rough = () => $("changesRough").checked;

  /** Asks the second solver; null where it was stopped or objects, which is said. */
  async function ask(kind, what, more) {
    stop("");
    const mine = run = { key: key(page.state.now), what, begun: performance.now() };
    $("changesStop").hidden = false;
    $("changesProblem").hidden = true;
    progress(0);
    try {
      lane ??= new Lane(() => { if (run && lane?.running) progress(lane.share); }, "changes");
      const { craft, speed_mps, limit_m } = question();
      return await lane.ask(kind, { id: 1, ask: kind, craft, speed_mps, limit_m, units: units.system, stations: $("changesStations").checked, fidelity: rough() ? "coarse" : "fine", ...more });
    } catch (e) {
      if (e instanceof Overtaken) return null;
      if (!(e instanceof Objection)) throw e;
      $("changesProblem").replaceChildren(...e.problems.map((p) => h("p", {}, inPageWords(p.text))));
      $("changesProblem").hidden = false;
      return null;
    } finally {
      if (run === mine) rest("");
    }
  }

  function rest(text) {
    run = null;
    $("changesStop").hidden = true;
    $("changesProgress").hidden = true;
    write($("changesState"), text);
  }

  /** Ends what is being worked out, at once: its worker goes. */
  function stop(text) {
    if (!run) return;
    lane.stop();
    lane = null;
    rest(text);
  }

  function progress(share) {
    const passed = (performance.now() - run.begun) / 1000;
    showShare($("changesProgress"), share ?? 0);
    const left = share > 0.01 ? `${Math.floor(100 * share)} %, ${about(passed * (1 - share) / share)} left` : "how long that takes is told in a moment";
    write($("changesState"), `${run.what}: ${left}. The page works meanwhile; a change of the craft stops it.`);
  }

  async function steps() {
    const of = key(page.state.now), craft = structuredClone(page.state.now.craft);
    const a = await ask("steps", "Solving the craft anew, step by step");
    if (!a) return;
    found = { ...a, key: of, craft, rough: rough() };
    advice = null;
    ranked = 0;
    tried = new Set();
    showSteps();
    if (lacks()) await advise();
  }

  /** Whether the craft found lacks a height to tow it at, or a window that the boat can hold. */
  const lacks = () => !found.range || (found.whole && !(found.window_mps >= least.v));

  async function advise() {
    const a = await ask("advice", "Looking for the smallest changes that give it what it lacks, at most", { least_window_mps: least.v });
    if (a) advice = { ...a, key: found.key, least: least.v };
    showAdvice();
  }

  async function builds() {
    const of = key(page.state.now);
    const a = await ask("builds", "Calculating builds of the craft");
    if (!a) return;
    built = { ...a, key: of, on: true, rough: rough() };
    showBuilt();
    redraw();
  }

  /** One press that tries a craft; undo takes it back. */
  const press = (label, craft, words) => h("button", { type: "button", class: "plain", "data-try": true, "aria-label": `${label}: ${words}`, onclick: () => {
    const sound = tidy(craft);
    tried.add(key({ ...page.state.now, craft: sound }));
    put(sound);
    said(`${capital(words)}. Undo takes it back.`);
  } }, label);

  function showSteps() {
    $("changesSteps").hidden = !found;
    if (!found) return;
    $("changesRoughly").hidden = !found.rough;
    const cell = (e) => h("td", {}, e.per_step == null ? "–" : inUnits(e.words), e.only ? h("sup", { title: e.only }, "*") : null);
    const head = (c, i) => h("th", { scope: "col", "aria-sort": i === ranked ? "descending" : "none" }, h("button", { type: "button", "aria-pressed": String(i === ranked), title: "Rank by this", onclick: () => { ranked = i; showSteps(); } }, capital(c.name)));
    $("changesTable").replaceChildren(
      h("thead", {}, h("tr", {}, h("th", { scope: "col" }, "A step"), found.columns.map(head), h("th", { scope: "col" }, "Try it"))),
      h("tbody", {}, found.columns[ranked].order.map((i) => found.steps[i]).map((s) => h("tr", {}, h("th", { scope: "row" }, capital(inUnits(s.more))), s.effects.map(cell),
        h("td", {}, s.larger ? press("try", s.larger, inUnits(s.more)) : null, s.smaller ? press("the contrary", s.smaller, inUnits(s.less)) : null)))));
    const only = found.steps.some((s) => s.effects.some((e) => e.only));
    $("changesFar").replaceChildren(...found.columns[0].order.slice(0, 3).map((i) => h("p", {}, inUnits(found.steps[i].sentence))),
      ...(only ? [h("p", { class: "note" }, "* known one way only, since the other way there is none; or the mean of both ways, which differ.")] : []));
    fresh = null;
    look();
    showAdvice();
  }

  function showAdvice() {
    if (!found) return;
    const again = h("button", { type: "button", onclick: advise }, "Look for the smallest changes");
    if (!lacks()) $("changesAdvice").replaceChildren(h("p", {}, `It has a height to tow it at${found.whole ? " and a speed window that the boat can hold" : ""}.`));
    else if (!advice || advice.least !== least.v) $("changesAdvice").replaceChildren(h("p", {}, found.range ? "Its speed window is narrower than the boat can hold. " : "It has no height at which to tow it. ", again));
    else {
      $("changesAdvice").replaceChildren(h("p", {}, inUnits(advice.sentence)), ...(advice.changes.length ? [
        h("ul", {}, advice.changes.map((c) => h("li", {}, capital(inUnits(c.words)), " ", press("try", c.craft, inUnits(c.words).split(":")[0])))),
        h("p", { class: "note" }, "By equilibrium: once one is tried, the sentence above the picture says whether anyone can react in time."),
      ] : []));
    }
    presses();
  }

  function showBuilt() {
    const box = $("changesBuilt");
    box.hidden = !built;
    page.built = built && built.on && built.key === key(page.state.now) ? built : null;
    if (!built) return;
    const old = built.key !== key(page.state.now);
    const on = h("input", { type: "checkbox", id: "changesDrawn", onchange: () => { built.on = on.checked; showBuilt(); redraw(); } });
    on.checked = built.on;
    box.replaceChildren(h("h3", {}, `Built ${built.builds} times`), ...(old ? [h("p", { class: "problem" }, "The craft has changed since: this is of the earlier one.")] : []),
      ...(built.rough ? [h("p", { class: "problem" }, $("changesRoughly").textContent)] : []), h("p", {}, inUnits(built.words)), h("p", {}, "By equilibrium: where no one can react in time the height to let go is the lower one of the sentence above the picture."), h("p", { class: "note" }, `${inUnits(built.unknowns)} ${inUnits(built.check)}`), h("p", { class: "choose" }, h("label", {}, on, " Show it in the picture: between what 95 of 100 builds lie")));
  }

  /** The presses are of the craft found: they wait where another craft would be lost by them. */
  function presses() {
    const now = key(page.state.now), may = found && (found.key === now || tried.has(now));
    for (const b of $("changes").querySelectorAll("[data-try]")) b.disabled = !may;
  }

  /** The craft, its speed or a limit may have changed. */
  function look() {
    const now = key(page.state.now);
    if (run && run.key !== now) stop("Stopped: the craft has changed.");
    if (built && (page.built != null) !== (built.on && built.key === now)) showBuilt();
    if (!found) return;
    presses();
    const is = found.key === now;
    if (is === fresh) return;
    fresh = is;
    $("changesSteps").classList.toggle("old", !is);
    $("changesOld").hidden = is;
    write($("changesOld"), is ? "" : `The craft has changed: these are the steps of ${found.craft.name || "the craft"} as it was. Undo brings it back.`);
    notes(is ? texts() : {});
  }

  /** What a step does, as it stands beside each control. */
  function texts() {
    const out = {};
    for (const s of found.steps) {
      const last = s.path.slice(s.path.lastIndexOf(".") + 1), wing = /^wings\[\d+\]\.\w+$/.test(s.path);
      const does = s.effects.map((e, i) => (e.seen ? `${SHORT[found.columns[i].key] ?? found.columns[i].name} ${inUnits(e.words)}${e.only ? "*" : ""}` : "")).filter(Boolean);
      const text = `${wing ? OF_ALL[last] ?? "" : ""}${inUnits(s.amount)} more: ${does.join(", ") || "nothing that shows"}`;
      const at = field(s.path, found.craft);
      out[at] = out[at] ? `${text}; ${out[at]}` : text;
    }
    return out;
  }

  $("changesGo").onclick = steps;
  $("changesBuild").onclick = builds;
  $("changesStop").onclick = () => stop("Stopped.");
  $("toChanges").onclick = () => { $("changesTitle").scrollIntoView({ block: "start" }); $("changesTitle").focus({ preventScroll: true }); };

  return {
    look,
    face() {
      leastControl.reface();
      showSteps();
      showBuilt();
    },
  };
}
