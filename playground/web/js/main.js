// The page: what is asked when something changes, in which order the answers count, and how everything is
// edited.

import { $, HIGHEST, LOWEST, answers, notice, page, question, said, shownAt } from "./page.js";
import { Objection, Overtaken } from "./answers.js";
import { Asking } from "./asking.js";
import { Control, Form } from "./form.js";
import { groups } from "./craft.js";
import { points } from "./curve.js";
import { drawAround, drawHeart, drawLoads, drawMoving, frame, scale } from "./figures.js";
import { clearFlight, drawTrace, upsets } from "./leap.js";
import { files, linked } from "./files.js";
import { forget, last, own, remember } from "./memory.js";
import { verdict } from "./picture.js";
import { weighing } from "./weighing.js";
import { h, write } from "./svg.js";
import { knots, rounded, tell, units } from "./units.js";
import { unpack } from "./link.js";
import { accuracyOf, runs } from "./runs.js";
import { banks } from "./bank.js";
import { changes } from "./changes.js";
import { drawings } from "./drawing.js";
import { firstCraft } from "./first.js";
import { trust } from "./trust.js";
import { walk } from "./walk.js";
import { explain, writeTerms } from "./terms.js";
import { inPageWords, outside } from "./words.js";
import { keep, palette, recall, themeSwitch } from "./theme.js";

let ready = []; // the ready craft

// ---- asking --------------------------------------------------------------------------------------

const asking = new Asking({
  question,
  wings: (q) => JSON.stringify(q.craft.wings),
  ask: (kind, q, grade) => answers.ask(kind, { ...q, fidelity: grade }, { lane: laneOf(grade) }),
  drop: (kind) => answers.drop(kind, "fine"),
  async ready(q) {
    trusting.share(0);
    await answers.askBehind("leftOut", { ...q, fidelity: "fine" }, (part) => trusting.share(part));
    trusting.share(null);
  },
  unready: () => answers.dropBehind(),
  show, old, object, tell: mark,
});
const trusting = trust();
const laneOf = (grade) => (grade === "fine" ? "fine" : "quick");

/** The craft, the speed or the pilot has changed. */
function changed() {
  clearFlight();
  changing.look();
  asking.craftChanged();
}

/** Only the height at which we look has changed. */
function moved() {
  remember(linked);
  clearFlight();
  drawSoon();
  asking.clearanceChanged();
}

/** Takes in the answers that count, and draws what follows from them. */
function show({ heights, pose, nearby, accuracy, ...ranges }) {
  const first = !page.pose, towing = ranges.trust ?? ranges.towing;
  if (heights) {
    const { answer: a, question: q } = heights;
    page.heights = { ...a, coarse: !heights.fine, points: points(a.points), thickness: q.craft.wings.map((w) => w.thickness ?? 0.1) };
    if (page.pose) page.pose.exact = false; // it belongs to another sweep
  }
  if (pose) page.pose = { ...pose.answer, exact: pose.fine && pose.current };
  if (nearby) page.nearby = nearby.answer.speeds;
  if (towing) page.heights = { ...page.heights, towing: towing.answer, lines: towing.answer.lines, sentence: towing.answer.sentence || page.heights.sentence };
  if (accuracy) write($("accuracy"), `Where it was compared, the sweep follows the full solution within ${atMost(accuracy.answer.lift_pct)} of the lift and ${atMost(accuracy.answer.cp_pct)} of the mean chord.`);
  if ([heights, pose, nearby].some((a) => a?.current)) object([]);

  if (heights || towing) drawSweep();
  if (pose && (first || pose.fine)) draw();
  else if (nearby) drawRest();
  else if (pose && page.heights) drawLoads(); // while the craft is moved, what else stands beside the picture rests
}

function old(kind) {
  if (kind === "accuracy") write($("accuracy"), "");
}

/** data-state is "settled" once the picture is the fine answer, or the objection, to what was asked; data-towing "known" once the reaction is looked at, data-trust once it is how far to trust that. */
function mark(state) {
  const done = state !== "moving" && state !== "refining";
  answers.holdBehind("hand", state === "moving");
  document.body.dataset.state = done ? "settled" : "working";
  const told = state === "complete" || state === "trusted";
  document.body.dataset.towing = told ? "known" : "working";
  document.body.dataset.trust = state === "trusted" ? "known" : "working";
  trusting.draw();
  if (told) speak();
}

function failed(e) {
  if (e instanceof Overtaken) return;
  if (!(e instanceof Objection)) throw e;
  object(e.problems);
}

let amiss = false; // something is said to be wrong
function object(problems) {
  const was = amiss;
  amiss = problems.length > 0 || form.unread;
  if (!amiss && !was) return;
  const rest = [];
  const special = new Map(specials.map((c) => [c.f.path, []]));
  const forForm = [];
  for (const p of problems) (special.get(p.path) ?? forForm).push({ ...p, text: inPageWords(p.text) });
  first.object(forForm);
  for (const c of specials) c.say(special.get(c.f.path).map((p) => p.text).join(" "));
  rest.push(...form.object(forForm));
  const g = $("general");
  g.replaceChildren(...rest.map((p) => h("p", {}, p.text)));
  if (problems.length && page.heights) g.append(h("p", { class: "quiet" }, "The picture shows the last craft that could be calculated."));
  g.hidden = !g.childNodes.length;
  $("picture").classList.toggle("stale", problems.length > 0); // what is shown belongs to an earlier craft
}

// ---- editing -------------------------------------------------------------------------------------

const form = new Form($("form"), groups, (change) => {
  page.state.edit((now) => change(now.craft));
  form.show(page.state.now.craft);
  edited();
}, settle);

// The number under the hand shows in the picture what it measures.
for (const [kind, on] of [["focusin", true], ["pointerdown", true], ["focusout", false]]) {
  $("form").addEventListener(kind, (e) => {
    const root = e.target.closest("[data-path]"), c = on && root ? form.controls.find((q) => q.root === root) : null;
    page.lit = c ? c.f : null;
    drawSoon();
  });
}

function settle() {
  page.state.settle();
  marks();
  listed();
}

function edited() {
  notice();
  marks();
  changed();
}

function marks() {
  remember(linked);
  $("undo").disabled = !page.state.past.length && !page.state.open;
  $("redo").disabled = !page.state.future.length;
}

const auto = (label, key, about) => {
  const box = h("input", { type: "checkbox", "aria-label": about, onchange: () => {
    page.state.edit((now) => { now[key] = box.checked ? null : round(shownAt()?.[key === "pitch_deg" ? "pitch_deg" : "pilot_needed_m"] ?? 0); });
    settle();
    showFlight();
    changed();
  } });
  return { box, root: h("label", { class: "auto" }, box, label) };
};
const round = (v) => +v.toFixed(3);
const steady = (f, key) => new Control(f, (v) => { page.state.edit((now) => { now[key] = v; }); showFlight(); edited(); }, settle);

const clearanceControl = new Control({ path: "clearance_m", label: "Clearance", kind: "length", range: [LOWEST, 1, 0.01], plain: true }, (v) => {
  const lo = lowestShown();
  if (!(v >= lo && v <= page.top_m)) return outside("The clearance", "length", v, lo, page.top_m);
  moveTo(v, false);
}, () => {});
const speedControl = steady({ path: "speed_mps", label: "Speed", kind: "speed", range: [3, 30, 0.05] }, "speed_mps");
const pilotControl = steady({ path: "pilot_x_m", label: "Pilot sits", kind: "length", range: [0, 3, 0.01] }, "pilot_x_m");
const pitchControl = steady({ path: "pitch_deg", label: "Pitch", kind: "angle", range: [-4, 12, 0.1] }, "pitch_deg");
const limitControl = steady({ path: "limit_m", label: "Your own let-go height", kind: "length", range: [0.1, 2, 0.01] }, "limit_m");
const topControl = new Control({ path: "top_m", label: "Top of the picture", kind: "length", range: [0.3, HIGHEST, 0.05] }, (v) => {
  if (!(v >= 0.2 && v <= HIGHEST)) return outside("The top of the picture", "length", v, 0.2, HIGHEST);
  page.top_m = v;
  page.clearance = Math.min(page.clearance, page.top_m);
  showFlight();
  changed();
}, () => {});
const specials = [clearanceControl, speedControl, pilotControl, pitchControl, limitControl, topControl];
const pilotAuto = auto("where needed", "pilot_x_m", "Pilot sits where needed");
const pitchAuto = auto("carries the weight", "pitch_deg", "Pitch that carries the weight");
pilotControl.root.querySelector("label").append(pilotAuto.root);
pitchControl.root.querySelector("label").append(pitchAuto.root);
const inKnots = h("span", { class: "knots" });
speedControl.root.querySelector("label").append(inKnots);
$("thumbs").append(...specials.map((c) => c.root));

/** The controls of the flight, from the state. */
function showFlight() {
  first.show();
  const now = page.state.now, q = shownAt();
  clearanceControl.reface([LOWEST, page.top_m, 0.01]);
  clearanceControl.show(page.clearance);
  topControl.show(page.top_m);
  speedControl.show(now.speed_mps);
  write(inKnots, knots(now.speed_mps));
  limitControl.show(now.limit_m);
  pilotAuto.box.checked = now.pilot_x_m == null;
  pitchAuto.box.checked = now.pitch_deg == null;
  pilotControl.show(now.pilot_x_m ?? rounded("length", q?.pilot_needed_m));
  pitchControl.show(now.pitch_deg ?? rounded("angle", q?.pitch_deg));
  pilotControl.root.classList.toggle("auto", now.pilot_x_m == null);
  pitchControl.root.classList.toggle("auto", now.pitch_deg == null);
  pilotControl.root.hidden = !now.craft.pilot;
  const p = now.craft.pilot;
  if (p && p.x_aft_m > p.x_forward_m) pilotControl.reface([p.x_forward_m, p.x_aft_m, 0.01]);
}

/** The lowest clearance that is shown of the craft. */
const lowestShown = () => page.heights?.points[0]?.clearance_m ?? LOWEST;

/** Puts the craft at a clearance. */
function moveTo(v, echo = true) {
  page.clearance = Math.min(page.top_m, Math.max(lowestShown(), v));
  if (echo) clearanceControl.show(page.clearance);
  moved();
}

// ---- drawing -------------------------------------------------------------------------------------

/** Everything. */
function draw() {
  drawSweep();
  drawRest();
}

/** The picture and what is said of it. */
function drawSweep() {
  if (!page.heights || !page.pose) return;
  if (page.clearance < page.heights.points[0].clearance_m) page.clearance = page.heights.points[0].clearance_m;
  drawHeart();
  walking.redraw();
  balance();
  showFlight();
  writeTerms($("sentence"), sentence());
  const t = page.heights.towing;
  facts(t?.facts);
  writeTerms($("window"), [t?.window, t?.gains.length ? `With the pilot still it survives a gain of the boat's speed of ${t.gains[0]} low down and of ${t.gains[1]} at the let-go height.` : ""].filter(Boolean).join(" "));
  $("picture").setAttribute("aria-label", `Height picture of ${page.state.now.craft.name}`);
}

/** What the sentence says: the solver's words, and what makes them less than they seem. */
function sentence() {
  const { heights, pose } = page;
  return [heights.sentence, pose.exact ? pose.peak?.flag : "", heights.coarse ? `(Coarse${page.state.now.craft.wings.length > 1 ? ", with wakes that do not sink: heights come out too high" : ""}; the full figures follow.)` : ""].filter(Boolean).join(" ");
}

/** What is to be seen at first sight; while it is worked out the names stay. */
function facts(now) {
  const box = $("facts");
  if (!now) {
    for (const dd of box.querySelectorAll("dd")) write(dd, "…");
    return;
  }
  box.replaceChildren(...now.map((f) => h("div", {}, h("dt", {}, f.name), h("dd", {}, f.text))));
  for (const dt of box.querySelectorAll("dt")) explain(dt);
}

/** Whether the pilot is where they must be, in words. */
function balance() {
  const text = verdict(shownAt(), page.state.now.pilot_x_m);
  write($("balance"), text && `At ${tell("length", page.clearance)} ${text.startsWith("nose") ? "the " : ""}${text}.`);
  $("balance").hidden = !text;
}

/** Says what the page says to those who do not see it, once the hand rests and all is worked out. */
function speak() {
  write($("spoken"), [sentence(), $("balance").textContent, ...[...$("facts").children].map((f) => f.textContent)].filter(Boolean).join(" "));
}

let noted = "";
/** What stands beside the picture. */
function drawRest() {
  if (!page.heights || !page.pose) return;
  drawAround();
  drawTrace();
  const notes = [...new Set([...page.heights.notes, page.pose.sentence].filter((t) => typeof t === "string" && t))];
  if (notes.join() !== noted) {
    $("notes").replaceChildren(...notes.map((t) => h("li", {}, t)));
    for (const li of $("notes").children) explain(li);
  }
  noted = notes.join();
}

const atMost = (pct) => (pct < 0.01 ? "0.01 %" : `${(Math.ceil(pct * 100) / 100).toFixed(2)} %`);

function resized() {
  if (!page.heights || !page.pose) return;
  drawHeart();
  drawAround();
  drawTrace();
  logbook.redraw();
}
let sizes = "";
new ResizeObserver(() => {
  const now = `${frame.clientWidth}x${frame.clientHeight}x${$("charts").clientWidth}`;
  if (now === sizes) return;
  sizes = now;
  requestAnimationFrame(resized);
}).observe(document.body);

let due = 0;
function drawSoon() {
  if (due || !page.heights || !page.pose) return;
  due = requestAnimationFrame(() => { due = 0; drawMoving(); follow(); balance(); });
}

/** The flight's controls go with the craft where they are left to it. */
function follow() {
  const { now } = page.state, q = shownAt();
  clearanceControl.show(page.clearance);
  if (now.pilot_x_m == null) pilotControl.show(rounded("length", q.pilot_needed_m));
  if (now.pitch_deg == null) pitchControl.show(rounded("angle", q.pitch_deg));
}

// ---- dragging the craft --------------------------------------------------------------------------

const handle = $("grip");
let drag = null;
handle.addEventListener("pointerdown", (e) => {
  if (!scale || (e.pointerType === "mouse" && e.button !== 0)) return;
  handle.setPointerCapture(e.pointerId);
  handle.focus({ preventScroll: true });
  drag = { y: e.clientY, from: page.clearance };
  handle.classList.add("held");
});
handle.addEventListener("pointermove", (e) => { if (drag) moveTo(drag.from - (e.clientY - drag.y) / scale.py); });
for (const end of ["pointerup", "pointercancel", "lostpointercapture"]) handle.addEventListener(end, () => { drag = null; handle.classList.remove("held"); });
frame.addEventListener("pointerdown", (e) => { // a click with the mouse calls the craft to that height
  if (scale && page.heights && e.pointerType === "mouse" && e.button === 0) moveTo(scale.Z(e.clientY - frame.getBoundingClientRect().top));
});
handle.addEventListener("keydown", (e) => {
  const d = { ArrowUp: 0.01, ArrowRight: 0.01, ArrowDown: -0.01, ArrowLeft: -0.01, PageUp: 0.1, PageDown: -0.1 }[e.key];
  if (d) moveTo(page.clearance + d * (e.shiftKey ? 5 : 1));
  else if (e.key === "Home") moveTo(0);
  else if (e.key === "End") moveTo(page.top_m);
  else return;
  e.preventDefault();
});

// ---- the tools -----------------------------------------------------------------------------------

function showState() {
  form.clear();
  form.show(page.state.now.craft);
  showFlight();
  marks();
  listed();
  changed();
}

/** A whole new craft in place of the old, as one step. */
function put(craft, more = {}) {
  page.state.replace({ ...page.state.now, pitch_deg: null, pilot_x_m: null, log: undefined, ...more, craft });
  notice();
  showState();
}

$("undo").onclick = () => { if (page.state.undo()) showState(); };
$("redo").onclick = () => { if (page.state.redo()) showState(); };
document.addEventListener("keydown", (e) => {
  if (!(e.ctrlKey || e.metaKey) || e.altKey || e.target.dataset?.typing) return; // what is being typed is the browser's to undo
  const k = e.key.toLowerCase();
  if (k === "z" && !e.shiftKey) $("undo").click();
  else if (k === "y" || (k === "z" && e.shiftKey)) $("redo").click();
  else return;
  e.preventDefault();
});

$("ready").onchange = async (e) => {
  const r = ready.find((q) => q.key === e.target.value), kept = own()[e.target.value.slice(OWN.length)];
  if (r) put(structuredClone(r.craft), { speed_mps: r.speed_mps });
  else if (kept && await take(kept)) showState();
};
const OWN = "own:";

/** The list of craft: the ready ones, those that were saved, and what is open where it is neither. */
function listed() {
  const { craft } = page.state.now, text = JSON.stringify(craft);
  const saved = Object.entries(own());
  const name = craft.name || "a craft without a name";
  const chosen = ready.find((r) => JSON.stringify(r.craft) === text)?.key ?? saved.find(([, v]) => JSON.stringify(v.craft) === text)?.[0];
  const key = chosen == null ? "open" : ready.some((r) => r.key === chosen) ? chosen : OWN + chosen;
  const known = ready.some((r) => r.craft.name === craft.name) || saved.some(([n]) => n === craft.name);
  const list = [...ready.map((r) => [r.key, r.title]), ...saved.map(([n]) => [OWN + n, `${n}, saved`]), ...(key === "open" ? [["open", known ? `${name}, changed` : name]] : [])];
  const shown = JSON.stringify(list);
  if (shown !== listed.shown) $("ready").replaceChildren(...list.map(([value, title]) => h("option", { value }, title)));
  listed.shown = shown;
  $("ready").value = key;
}

$("forget").onclick = () => {
  forget();
  listed();
  said("What this browser kept of your craft is forgotten.");
};

$("pin").onclick = () => {
  page.pin = page.ghost || page.pin ? null : page.heights && page.pose && structuredClone(page.state.now);
  page.ghost = page.pin && { heights: page.heights, pose: page.pose, pilot_x_m: page.pin.pilot_x_m };
  pinned();
  said(page.ghost ? `${page.state.now.craft.name} is pinned: it stays as a grey ghost, and the figures show every change against it.` : "");
  remember(linked);
  draw();
};

function pinned() {
  $("pin").setAttribute("aria-pressed", String(!!page.pin));
  $("pin").textContent = page.pin ? "Unpin" : "Pin";
}

/** Works out the pinned craft that a file, a link or the browser's memory brought. */
async function pinAgain() {
  const pin = page.pin;
  page.ghost = null;
  pinned();
  if (!pin) return;
  const q = { ...pin, clearance_m: page.clearance, top_m: page.top_m, units: units.system, fidelity: "fine" };
  try {
    const a = await answers.ask("heights", q, { lane: "fine", topic: "pin" }), pose = await answers.ask("pose", q, { lane: "fine", topic: "pin" });
    if (page.pin !== pin) return;
    page.ghost = { heights: { ...a, points: points(a.points), thickness: pin.craft.wings.map((w) => w.thickness ?? 0.1) }, pose, pilot_x_m: pin.pilot_x_m };
    draw();
  } catch (e) {
    if (e instanceof Overtaken) return;
    if (!(e instanceof Objection)) throw e;
    page.pin = null; // what cannot be calculated is no ghost
    pinned();
  }
}

function face(system) {
  units.system = system;
  $("units").textContent = system === "us" ? "US" : "metric";
  $("units").setAttribute("aria-label", system === "us" ? "Units: US; switch to metric" : "Units: metric; switch to US");
  form.reface();
  for (const c of specials) c.reface();
  upsets();
  changing.face();
}
$("units").onclick = () => {
  face(units.system === "us" ? "metric" : "us");
  keep("units", units.system);
  remember(linked);
  draw();
  changed(); // the sentences come in the new units
};

themeSwitch($("theme"), () => { page.pal = palette(); draw(); });

files({ take: async (v) => { if (await take(v)) showState(); }, put, failed, listed });
form.open.weighing = weighing(put);
drawings();
banks();

/** Shows or hides the curve with the pitch held. */
function showHeld(on) {
  page.held = $("held").checked = on;
  remember(linked);
  draw();
}
$("held").onchange = () => showHeld($("held").checked);

const walking = walk({
  tandem: () => ready[0].craft, held: showHeld,
  set(state, clearance, top) {
    page.top_m = top;
    page.clearance = clearance;
    page.state.replace({ ...page.state.now, speed_mps: ready[0].speed_mps, ...state });
    notice();
    showState();
  },
  moveTo: (v) => moveTo(v),
  edit(change) {
    page.state.edit(change);
    form.show(page.state.now.craft);
    showFlight();
    changed();
  },
});

const first = firstCraft({
  put: (craft) => put(craft, { speed_mps: 16 }), settle, card: () => $("card").click(),
  edit(change) {
    page.state.edit((now) => change(now.craft));
    form.show(page.state.now.craft);
    edited();
  },
});

const changing = changes({
  put(craft) {
    const { speed_mps, pitch_deg, pilot_x_m, log } = page.state.now;
    put(craft, { speed_mps, pitch_deg, pilot_x_m, log });
  },
  notes: (texts) => form.note(texts), redraw: draw,
});

const logbook = runs({
  settle,
  edit(change) {
    const was = JSON.stringify(page.state.now.craft);
    page.state.edit(change);
    marks();
    if (JSON.stringify(page.state.now.craft) !== was) edited(); // its correction
  },
});

/** Takes a linked page in; false when the address carries none. */
async function takeLink() {
  let v;
  try {
    v = await unpack(location.hash);
  } catch {
    v = {};
  }
  return v != null && take(v);
}

const num = (x, d) => (typeof x === "number" && Number.isFinite(x) ? x : d);

/** The flight that a link, a file's view or the browser's memory tells of a craft, with the usual in place of what it lacks. */
const flightOf = (v, craft) => ({ craft, speed_mps: num(v.speed_mps, ready[0].speed_mps), pitch_deg: num(v.pitch_deg, null), pilot_x_m: num(v.pilot_x_m, null), limit_m: num(v.limit_m, 0.6), log: typeof v.log === "string" ? v.log : undefined, log_accuracy: accuracyOf(v.log_accuracy) });

/**
 * Takes in what a link or the browser's memory carries; false, with the reason told, where that cannot be. What
 * this browser remembers was on the page, with whatever is wrong with it: it comes back as it was.
 */
async function take(v, remembered = false) {
  try {
    if (remembered && !Array.isArray(v.craft?.wings)) return false;
    if (!v.craft) throw new Objection([{ path: "", text: "The link is damaged: part of it is missing. Ask for it again, or for the craft file." }]);
    // Go judges the craft as it judges a file; what it reads is what the link carried.
    const { craft } = remembered ? v : await answers.ask("read", { text: JSON.stringify(v.craft) });
    if (v.units === "us" || v.units === "metric") face(v.units);
    page.top_m = Math.min(HIGHEST, Math.max(0.2, num(v.top_m, page.top_m)));
    page.clearance = Math.min(page.top_m, Math.max(LOWEST, num(v.clearance_m, page.clearance)));
    page.held = $("held").checked = v.held === true;
    page.state.replace(flightOf(v, craft));
    page.pin = null;
    if (v.pin?.craft) page.pin = flightOf(v.pin, (await answers.ask("read", { text: JSON.stringify(v.pin.craft) }, { topic: "readPin" })).craft);
    pinAgain();
    return true;
  } catch (e) {
    if (!(e instanceof Objection)) throw e;
    notice(...e.problems.map((p) => p.text));
    return false;
  }
}
addEventListener("hashchange", async () => { if (walking.take()) return; if (await takeLink()) showState(); });

// ---- beginning -----------------------------------------------------------------------------------

async function begin() {
  mark(asking.state);
  if (recall("units") === "us") face("us");
  const a = await answers.ask("ready");
  ready = a.crafts;
  page.state.now = { craft: structuredClone(ready[0].craft), speed_mps: ready[0].speed_mps, pitch_deg: null, pilot_x_m: null, limit_m: 0.6 };
  const before = last();
  if (walking.take()) { /* it has set the craft */ } else if (location.hash.startsWith("#craft=")) await takeLink();
  else if (before) await take(before, true);
  page.state.past = [];
  form.show(page.state.now.craft);
  showFlight();
  marks();
  listed();
  changed();
}
begin().catch((e) => {
  if (!(e instanceof Objection)) throw e;
  $("sentence").textContent = "";
  object(e.problems);
});
if ("serviceWorker" in navigator && isSecureContext) navigator.serviceWorker.register("sw.js").catch(() => { /* the page works without it, only not offline */ });
