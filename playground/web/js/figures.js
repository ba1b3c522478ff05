// The figures on the page: the height picture and its readouts, the small charts, the tables.

import { $, page, shownAt, view } from "./page.js";
import { Chart, room } from "./chart.js";
import { Plan } from "./plan.js";
import { at } from "./curve.js";
import { grip, moving, outside, scales, shownCG, still } from "./picture.js";
import { draw, h, layer, s, write } from "./svg.js";
import { explain } from "./terms.js";
import { change, show, tell } from "./units.js";
import { pressureTables, spanTable, sweepTable } from "./table.js";

export let scale = null; // of the height picture on the screen
export const frame = document.querySelector("#picture .sheet");
let moves = null; // the element of what moves with the craft

/** What stands still in the height picture of a view. */
export function drawPicture(v = view()) {
  const { w, hgt } = room(frame, 280, 150);
  scale = scales(v, w, hgt);
  const { under, over } = still(v, scale, page.pal, "hp"), own = layer();
  draw(frame, s("svg", { width: w, height: hgt, viewBox: `0 0 ${w} ${hgt}`, "aria-hidden": "true" }, under, own, over));
  moves = own.element;
}

/** Puts the craft of a view on the picture. */
export function drawCraft(v) { draw(moves, moving(v, scale, page.pal, "hp")); }

/** What moves with the craft, and its figures. */
export function drawMoving() {
  const v = view(), q = v.at;
  drawCraft(v);
  const b = grip(v, scale), g = $("grip");
  Object.assign(g.style, { left: `${b.x}px`, top: `${b.y}px`, width: `${b.w}px`, height: `${b.h}px` });
  g.setAttribute("aria-valuemin", show("length", page.heights.points[0].clearance_m).toFixed(2));
  g.setAttribute("aria-valuemax", show("length", page.top_m).toFixed(2));
  g.setAttribute("aria-valuenow", show("length", page.clearance).toFixed(2));
  g.setAttribute("aria-valuetext", `${tell("length", page.clearance)} clear; centre of pressure ${tell("length", q.cp_m)} aft of the datum`);
  const out = outside(v, scale);
  write($("pictureNote"), [
    Math.abs(scale.stretch - 1) < 0.04 ? "Heights and lengths to one scale." : `Heights drawn ${scale.stretch.toFixed(1)} times the lengthwise scale, the craft with them (but for the wings' thickness and the pilot's figure).`,
    "Arrows to one scale of force.", ...out,
  ].join(" "));
  readouts(q);
  for (const c of [ratio, pilot]) c.moveMark(page.clearance);
}

const READ = [
  ["clearance_m", "Clearance", "length"], ["height_m", "Datum's height", "length"], ["pitch_deg", "Pitch", "angle"],
  ["lift_n", "Lift", "force"], ["drag_n", "Drag", "force"], ["l_over_d", "Lift/drag", "ratio"],
  ["cp_m", "Centre of pressure", "length"], ["cg_m", "CG", "length"], ["pilot_needed_m", "Pilot needed at", "length"],
  ["pitch_neutral_m", "Pitch neutral point", "length"], ["height_neutral_m", "Height neutral point", "length"], ["line_n", "Line's pull", "force"],
];
const cells = new Map(READ.map(([key, name, kind]) => {
  const value = h("output", { "data-key": key, "aria-label": name }), delta = h("span", { class: "delta" });
  const term = h("dt", {}, name);
  explain(term);
  $("readouts").append(h("div", {}, term, h("dd", {}, value, delta)));
  return [key, { value, delta, kind }];
}));

function readouts(q) {
  const now = { ...q, cg_m: shownCG({ heights: page.heights, pilot_x_m: page.state.now.pilot_x_m, at: q }) };
  const g = page.ghost && at(page.ghost.heights.points, page.clearance);
  const then = g && { ...g, cg_m: shownCG({ heights: page.ghost.heights, pilot_x_m: page.ghost.pilot_x_m, at: g }) };
  for (const [key, c] of cells) {
    write(c.value, tell(c.kind, now[key]));
    write(c.delta, then && key !== "clearance_m" && now[key] != null && then[key] != null ? change(c.kind, now[key] - then[key]) : "");
  }
}

const lift = new Chart("Lift, were it to rise or sink"), ratio = new Chart("Lift/drag"), pilot = new Chart("Where the pilot has to sit"), spans = new Chart("Lift along the span", 250), plan = new Plan(250);
const spanBox = h("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "Lift along the span as a table" });
const spanDetails = h("details", { class: "astable", ontoggle: drawTables }, h("summary", {}, "Span loads as a table"), spanBox);
const planBox = h("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "Pressures as tables" });
const planDetails = h("details", { class: "astable", ontoggle: drawTables }, h("summary", {}, "Pressures as tables"), planBox);
$("charts").append(pilot.figure, lift.figure, ratio.figure, plan.figure, spans.figure, planDetails, spanDetails);

const range = (values, pad = 0.06, zero = false) => {
  const vs = values.filter((v) => v != null && Number.isFinite(v));
  if (!vs.length) return { lo: 0, hi: 1 };
  let lo = Math.min(...vs), hi = Math.max(...vs);
  if (zero) lo = Math.min(0, lo);
  const d = Math.max(hi - lo, 0.02 * Math.max(Math.abs(lo), Math.abs(hi)), 1e-3) * pad;
  return { lo: zero && lo === 0 ? 0 : lo - d, hi: hi + d };
};
const column = (hs, key) => hs.points.map((q) => [q[key] ?? NaN, q.clearance_m]);
const readLine = (key, kind) => (c) => `${tell("length", c)}: ${tell(kind, at(page.heights.points, c)?.[key])}`;

function drawCharts() {
  const y = { label: "clearance", kind: "length", lo: 0, hi: page.top_m };
  const bar = (chart, key, label, kind, zero) => {
    const r = range([...page.heights.points.map((q) => q[key]), ...(page.ghost ? page.ghost.heights.points.map((q) => q[key]) : [])], 0.08, zero);
    chart.draw({
      x: { label, kind, ...r }, y, along: "y", mark: page.clearance, read: readLine(key, kind),
      lines: [...(page.ghost ? [{ name: "pinned", points: column(page.ghost.heights, key), colour: page.pal.ghost, width: 1.6 }] : []), { points: column(page.heights, key), colour: page.pal.ink, width: 2 }],
    }, page.pal);
  };
  bar(ratio, "l_over_d", "lift/drag", "ratio", true);
  const near = page.nearby.map((n) => ({ name: tell("speed", n.speed_mps), points: column(n, "pilot_needed_m"), colour: page.pal.ghost, width: 1.1, faint: true }));
  const own = page.heights.points.map((q) => q.pilot_needed_m);
  const stops = page.heights.pilot ? [page.heights.pilot.forward_m, page.heights.pilot.aft_m] : [];
  const builds = page.built?.pilot ?? [];
  const r = range([...own, ...stops, ...builds.flatMap((q) => [q.lo, q.hi])], 0.18);
  pilot.draw({
    x: { label: "aft of the datum", kind: "length", ...r }, y, along: "y", mark: page.clearance,
    read: (c) => {
      const q = at(page.heights.points, c);
      if (q?.pilot_needed_m == null) return `${tell("length", c)}: none carries it`;
      return `${tell("length", c)}: ${tell("length", q.pilot_needed_m)}${q.spare_m == null ? "" : q.spare_m >= 0 ? `, ${tell("length", q.spare_m)} to spare` : `, ${tell("length", -q.spare_m)} out of reach`}`;
    },
    area: builds.map((q) => [q.lo, q.hi, q.clearance_m]),
    band: page.heights.pilot && { lo: page.heights.pilot.forward_m, hi: page.heights.pilot.aft_m, colour: page.pal.band },
    lines: [
      ...near, ...(page.ghost ? [{ name: "pinned", points: column(page.ghost.heights, "pilot_needed_m"), colour: page.pal.ghost, dash: "4 3", width: 1.6 }] : []),
      { name: tell("speed", page.state.now.speed_mps), points: column(page.heights, "pilot_needed_m"), colour: page.pal.ink, width: 2 },
    ],
  }, page.pal);
}

const DASHES = [null, "7 4", "2 3", "9 3 2 3", "5 2", "1 3"];

/** What depends on the attitude at this clearance. */
export function drawLoads() {
  const q = shownAt();
  // Held at this pitch: the slope at the mark tells how hard the water pushes back.
  const held = page.pose.sweep ?? [], W = page.heights.weight_n;
  lift.draw({
    x: { label: `lift with the pitch held at ${tell("angle", page.pose.pitch_deg)}`, kind: "force", ...range([...held.map((r) => r.lift_n), W], 0.08, true) },
    y: { label: "clearance", kind: "length", lo: 0, hi: page.top_m }, along: "y", mark: page.clearance,
    read: (c) => `${tell("length", c)}: ${tell("force", at(held, c)?.lift_n)}; weight ${tell("force", W)}`,
    lines: [{ name: "weight", points: [[W, 0], [W, page.top_m]], colour: page.pal.band, dash: "4 3", width: 1.4 }, { points: held.map((r) => [r.lift_n ?? NaN, r.clearance_m]), colour: page.pal.cp, width: 2 }],
  }, page.pal);
  plan.draw(page.pose, [{ x: q?.cp_m, colour: page.pal.cp, fill: page.pal.cp }, { x: shownCG({ heights: page.heights, pilot_x_m: page.state.now.pilot_x_m, at: q }), colour: page.pal.band }], page.pal);
  const flat = page.pose.spans.filter((sp) => sp.y_m.length > 1 && Math.max(...sp.y_m) - Math.min(...sp.y_m) > 1e-6);
  const ghosts = page.ghost ? page.ghost.pose.spans.filter((sp) => flat.some((f) => f.surface === sp.surface)) : [];
  const tip = Math.max(...flat.flatMap((sp) => sp.y_m)) * 1.04;
  const colours = [page.pal.pitch, page.pal.cp, page.pal.height, page.pal.band, page.pal.ink];
  const loadAt = (sp, y) => {
    if (y > sp.y_m[sp.y_m.length - 1] * 1.05) return null;
    let j = sp.y_m.findIndex((v) => v >= y);
    if (j < 0) j = sp.y_m.length - 1;
    const i = Math.max(0, j - 1), d = sp.y_m[j] - sp.y_m[i];
    return d > 0 ? sp.lift_n_per_m[i] + (sp.lift_n_per_m[j] - sp.lift_n_per_m[i]) * Math.max(0, Math.min(1, (y - sp.y_m[i]) / d)) : sp.lift_n_per_m[j];
  };
  spans.draw({
    x: { label: "from the centreline", kind: "length", lo: 0, hi: tip }, y: { label: "lift along the span", kind: "load", ...range([...flat, ...ghosts].flatMap((sp) => sp.lift_n_per_m), 0.12, true) },
    along: "x", mark: null,
    read: (y) => `${tell("length", y)}: ${flat.map((sp) => [sp.surface, loadAt(sp, y)]).filter(([, v]) => v != null).map(([n, v]) => `${n} ${tell("load", v)}`).join(", ")}`,
    lines: [
      ...ghosts.map((sp) => ({ points: sp.y_m.map((y, i) => [y, sp.lift_n_per_m[i]]), colour: page.pal.ghost, width: 1.4 })),
      ...flat.map((sp, i) => ({ name: sp.surface, points: sp.y_m.map((y, j) => [y, sp.lift_n_per_m[j]]), colour: colours[i % colours.length], dash: DASHES[i % DASHES.length], width: 2 })),
    ],
  }, page.pal);
  loadTables();
}

function loadTables() {
  if (planDetails.open) planBox.replaceChildren(...pressureTables(page.pose));
  if (spanDetails.open) spanBox.replaceChildren(spanTable(page.pose));
}

const pictureDetails = document.querySelector(".heart .astable");
pictureDetails.addEventListener("toggle", drawTables);
export function drawTables() {
  if (!page.heights || !page.pose) return;
  if (pictureDetails.open) $("pictureTable").replaceChildren(sweepTable(page.heights, `${page.state.now.craft.name}, ${tell("speed", page.state.now.speed_mps)}; places are aft of the datum`));
  loadTables();
}

/** The height picture and its figures. */
export function drawHeart() {
  drawPicture();
  drawMoving();
}

/** What stands beside the picture. */
export function drawAround() {
  drawCharts();
  drawLoads();
  drawTables();
}

/** The small pictures with their titles, in other colours and at another size than on the screen, where they stay as they are. */
export function smallPictures(pal, width, height) {
  const all = [plan, lift, ratio, pilot, spans], was = page.pal, heights = all.map((c) => c.height);
  page.pal = pal;
  for (const c of all) Object.assign(c, { fixed: width, height });
  drawCharts();
  drawLoads();
  const out = all.map((c) => ({ title: c.title, svg: c.sheet.querySelector("svg").cloneNode(true), w: width, h: height }));
  page.pal = was;
  all.forEach((c, i) => Object.assign(c, { fixed: null, height: heights[i] }));
  drawCharts();
  drawLoads();
  return out;
}

/** Adds a chart of another part to the row. */
export const addChart = (c) => $("charts").insertBefore(c.figure, planDetails);
