// The leap: a flight in real time, or four times slower, on the height picture, with a slider for the pilot's
// hand. Go flies; this asks for every frame.

import { $, answers, page, question, view } from "./page.js";
import { Objection, Overtaken } from "./answers.js";
import { Chart } from "./chart.js";
import { addChart, drawCraft, drawHeart, drawPicture } from "./figures.js";
import { extent } from "./shape.js";
import { h } from "./svg.js";
import { tell, units } from "./units.js";

/** The courses that a flight leaves: its name, kind of figure and place in a point of the path. */
const COURSES = [["clearance", "length", 1], ["pitch", "angle", 2], ["the pilot's place, aft of the datum", "length", 3]]
  .map(([label, kind, at]) => ({ label, kind, at, chart: new Chart(`The leap: ${label} over time`, 250) }));
for (const c of COURSES) {
  addChart(c.chart);
  c.chart.figure.hidden = true;
}

/** How long a picture stands at least where motion is not wanted, ms. */
const STILL = 500;
const calm = matchMedia("(prefers-reduced-motion: reduce)");

let flight = null; // {path: [[s, m, deg, m]…], state}

$("fly").onclick = () => (flight && !flight.over ? land() : fly());
$("place").oninput = () => { if (flight) flight.place = +$("place").value; };

/** Ends the flight and puts the craft back where it was. */
export function land() {
  if (!flight) return;
  clearTimeout(flight.timer);
  flight = null;
  $("fly").textContent = "Fly";
  $("stick").hidden = true;
  if (page.heights && page.pose) drawHeart();
}

/** Something has changed: what was said and drawn of the last flight is another craft's, or another height's. */
export function clearFlight() {
  land();
  $("flown").textContent = "";
  $("fly").textContent = "Fly";
  late(null);
  flown = null;
  for (const c of COURSES) c.chart.figure.hidden = true;
}

async function fly() {
  land();
  const [upset, size] = $("upset").value.split(" "), hand = $("hand").value;
  $("flown").textContent = "";
  late(null);
  const mine = flight = { path: [], place: 0, over: false };
  answers.holdBehind("flight", true);
  try {
    const a = await answers.ask("leap", { ...question(), fidelity: "fine", upset, size: +size, hand }, { lane: "fine" });
    if (mine !== flight) return;
    const slider = $("place");
    slider.min = a.forward_m;
    slider.max = a.aft_m;
    slider.value = mine.place = a.pilot_x_m;
    mine.state = a;
    mine.from = page.clearance;
    mine.seconds = a.lasts_s;
    mine.path.push(stand(0, a));
    $("fly").textContent = "Stop";
    $("stick").hidden = hand !== "yours";
    if (hand === "yours") slider.focus({ preventScroll: true });
    let last = performance.now(), drawn = 0;
    const pace = +$("pace").value;
    while (mine === flight && !mine.over) {
      const now = await new Promise(requestAnimationFrame);
      // A frame that comes late does not make the craft jump: time stands still instead.
      const dt = Math.min(0.05, (now - last) / 1000);
      last = now;
      if (!(dt > 0)) continue;
      const b = await answers.ask("leapStep", { dt_s: dt * pace, place_m: mine.place, units: units.system }, { lane: "fine" });
      if (mine !== flight) return;
      mine.state = b;
      mine.over = b.over;
      mine.path.push(stand(b.t_s, b));
      if (calm.matches && !b.over && now - drawn < STILL) continue;
      drawn = now;
      drawFlight();
    }
    if (mine !== flight) return;
    $("fly").textContent = "Fly again";
    $("stick").hidden = true;
    $("flown").textContent = mine.state.verdict;
    mine.timer = setTimeout(land, 2500);
    const m = await answers.ask("margin", { ...question(), clearance_m: mine.from, fidelity: "fine" }, { lane: "fine" });
    if (flown && $("flown").textContent === mine.state.verdict) late(m);
  } catch (e) {
    if (e instanceof Overtaken) return;
    if (!(e instanceof Objection)) throw e;
    if (mine === flight) land();
    $("flown").textContent = e.problems.map((p) => p.text).join(" ");
  } finally {
    if (mine === flight || !flight) answers.holdBehind("flight", false); // else another is under way
  }
}

/** A point of the path. */
const stand = (t, f) => [t, f.clearance_m, f.pitch_deg, f.pilot_x_m];

/** How late a pilot may be: the answer to "margin", or null. */
function late(m) {
  $("late").hidden = !m;
  $("late").replaceChildren(...(m ? [h("p", {}, `${m.title}:`), h("dl", {}, m.rows.map((r) => h("div", {}, h("dt", {}, r.name), h("dd", {}, r.text)))), h("p", {}, m.close)] : []));
}

/** One frame of the flight. The forces' arrows rest: in flight they are not in balance. */
function drawFlight() {
  const { state: f, path, seconds } = flight;
  const v = { ...view(), heights: { ...page.heights, weight_n: 0 }, ghost: null, pilot_x_m: f.pilot_x_m, at: { clearance_m: f.clearance_m, pitch_deg: f.pitch_deg } };
  // The sheet follows the craft: it reaches further up, in steps, before the craft's wings leave it.
  const e = extent(v.side), reach = f.clearance_m + 0.6 * (e.z1 - e.wing0);
  flight.top = Math.max(flight.top ?? page.top_m, reach > page.top_m ? Math.ceil(2 * reach) / 2 : 0);
  v.top_m = flight.top;
  if (flight.top !== flight.drawnTop) drawPicture(v);
  flight.drawnTop = flight.top;
  drawCraft(v);
  if (!f.over) $("flown").textContent = `${f.t_s.toFixed(1)} s: ${tell("length", f.clearance_m)} clear, ${tell("angle", f.pitch_deg)}, line ${tell("force", f.line_n)}`;
  flown = { path, seconds };
  drawTrace();
}

let flown = null; // the last flight
/** The courses of the last flight. */
export function drawTrace() {
  if (!flown || !page.heights) return;
  const { low_m, let_go_m } = page.heights.lines, { path, seconds } = flown, end = path[path.length - 1];
  for (const { label, kind, at, chart } of COURSES) {
    chart.figure.hidden = false;
    const values = path.map((q) => q[at]), room = kind === "angle" ? 1 : 0.05;
    const lo = at === 1 ? 0 : Math.min(...values) - room, hi = at === 1 ? Math.max(page.top_m, ...values) : Math.max(...values) + room;
    chart.draw({
      x: { label: "time, s", kind: "ratio", lo: 0, hi: seconds }, y: { label, kind, lo, hi }, along: "x", mark: end[0],
      read: (t) => { const q = path.find((r) => r[0] >= t) ?? end; return `${q[0].toFixed(1)} s: ${tell(kind, q[at])}`; },
      band: at !== 1 || low_m == null ? null : { lo: low_m, hi: let_go_m, colour: page.pal.band },
      lines: [{ points: path.map((q) => [q[0], q[at]]), colour: at === 1 ? page.pal.cp : page.pal.ink, width: 2 }],
    }, page.pal);
  }
}

/** The upsets in words of the present units; each is a kind and a size in m/s, a wave's in m. */
const UPSETS = [["boat", 1], ["boat", 0.5], ["boat", 2], ["boat", -1], ["gust", 2], ["gust", 4], ["wave", 0.1], ["wave", 0.3], ["none", 0]];
export function upsets() {
  const chosen = Math.max(0, $("upset").selectedIndex);
  const size = (v) => (units.system === "us" ? tell("speed", Math.abs(v)) : `${Math.abs(v)}\u00a0m/s`);
  $("upset").replaceChildren(...UPSETS.map(([kind, v]) => h("option", { value: `${kind} ${v}` },
    kind === "none" ? "nothing upsets it" : kind === "wave" ? `a wave ${tell("length", v)} high passes, 50\u00a0m long` : kind === "gust" ? `a ${size(v)} gust from ahead` : `the boat ${v > 0 ? "gains" : "loses"} ${size(v)}`)));
  $("upset").selectedIndex = chosen;
}
upsets();
