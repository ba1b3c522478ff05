// The plan view: the wings from above, nose to the left as in the height picture, coloured by the pressure
// jump across them, with a scale bar.

import { draw, h, s, ticks, words } from "./svg.js";
import { show, take, tell, unit } from "./units.js";
import { pressureScale } from "./colour.js";
import { room } from "./chart.js";

const STEPS = 32;
const BAR = 48; // px of height, for the scale bar

const scales = {}; // by night and by day
let serial = 0;

export class Plan {
  constructor(height = 210) {
    this.id = `plan${++serial}`;
    this.height = height;
    this.title = "From above: pressure that lifts";
    this.value = h("output", { class: "value" });
    this.sheet = h("div", { class: "sheet", role: "img", "aria-label": "Plan view" });
    this.figure = h("figure", { class: "chart plan" }, h("figcaption", {}, h("h3", { class: "title" }, this.title), this.value), this.sheet);
    this.sheet.addEventListener("pointermove", (e) => this.point(e.target));
    this.sheet.addEventListener("pointerdown", (e) => this.point(e.target));
    this.sheet.addEventListener("pointerleave", () => { this.value.textContent = ""; });
  }

  /** pose: the answer to "pose"; marks: [{x, colour}] along the centreline. */
  draw(pose, marks, p) {
    const { w } = this.fixed ? { w: this.fixed } : room(this.sheet, 200), hgt = this.height;
    // Outlines are the wings' own: they stay while only the pressures change.
    const wings = JSON.stringify([w, pose.plan.map((q) => [q.surface, q.cells.map((c) => c.corners)])]);
    if (wings !== this.wings) {
      this.wings = wings;
      this.lines = outlines(pose.plan, w, hgt - BAR);
    }
    const { X, Y, x0, x1, cells, rims } = this.lines;
    const [lo, hi] = pose.pressure_range_pa;
    const most = Math.max(Math.abs(lo), Math.abs(hi)) || 1;
    const colours = scales[p.night] ??= pressureScale(STEPS, p.night);
    const shade = (v) => colours[Math.round(STEPS + STEPS * Math.max(-1, Math.min(1, v / most)))];
    this.cells = pose.plan.flatMap((q) => q.cells.map((c) => ({ ...c, surface: q.surface })));
    const skin = cells.map(({ d, i }) => { const fill = shade(this.cells[i].pressure_pa); return s("path", { d, fill, stroke: fill, "stroke-width": 0.6, "data-cell": i }); });
    const edges = rims.map((d) => s("path", { d, fill: "none", stroke: p.ink, "stroke-opacity": 0.55, "stroke-width": 0.8 }));
    const spots = marks.filter((m) => m.x != null && m.x > x0 - 0.2 && m.x < x1 + 0.2).map((m) => s("circle", { cx: X(m.x), cy: Y(0), r: 4, fill: m.fill ?? p.paper, stroke: m.colour, "stroke-width": 2 }));
    // Scale bar: only as much of the scale as occurs.
    const b0 = Math.min(0, lo), b1 = Math.max(0, hi), bw = Math.min(w - 24, 240), bx = 8, by = hgt - 26, id = `${this.id}-scale`;
    const B = (v) => bx + (v - b0) / (b1 - b0 || 1) * bw;
    const ramp = s("linearGradient", { id, gradientUnits: "userSpaceOnUse", x1: B(-most), x2: B(most), y1: 0, y2: 0 }, colours.map((c, i) => s("stop", { offset: i / (2 * STEPS), "stop-color": c })));
    const bar = s("g", {}, s("rect", { x: bx, y: by, width: bw, height: 8, fill: `url(#${id})` }));
    const t = ticks(show("pressure", b0), show("pressure", b1), bw / 60);
    for (const v of t.at) {
      const x = B(take("pressure", v));
      bar.append(s("line", { x1: x, x2: x, y1: by, y2: by + 11, stroke: p.ink, "stroke-opacity": 0.6 }), words(x, by + 22, v.toFixed(t.digits).replace("-", "−"), p, { "font-size": 11, "text-anchor": "middle", stroke: null }));
    }
    bar.append(words(bx, by - 6, `pressure below less above, ${unit("pressure")}`, p, { "font-size": 11, stroke: null }));
    draw(this.sheet, s("svg", { width: w, height: hgt, viewBox: `0 0 ${w} ${hgt}`, "aria-hidden": "true" }, s("defs", {}, ramp), s("g", {}, skin), s("g", {}, edges), s("g", {}, spots), bar));
    const means = pose.plan.map((q) => `${q.surface} ${tell("pressure", q.cells.reduce((a, c) => a + c.pressure_pa, 0) / q.cells.length)} in the mean`);
    this.sheet.setAttribute("aria-label", `Plan view. Pressure jump over the wings: ${means.join(", ")}.`);
  }

  point(target) {
    const c = this.cells?.[target.getAttribute?.("data-cell") ?? -1];
    if (c) this.value.textContent = `${c.surface}: ${tell("pressure", c.pressure_pa)}`;
  }
}

/** The wings' cells and rims as paths within w x hgt px, both sides, and the scales that put them there. */
function outlines(plan, w, hgt) {
  const all = plan.flatMap((q) => q.cells);
  const xs = all.flatMap((c) => c.corners.map((q) => q[0])), ys = all.flatMap((c) => c.corners.map((q) => Math.abs(q[1])));
  const x0 = Math.min(...xs), x1 = Math.max(...xs), half = Math.max(...ys) || 1;
  const k = Math.min((w - 16) / (x1 - x0), (hgt - 12) / (2 * half));
  const ox = (w - k * (x1 - x0)) / 2;
  const X = (x) => ox + (x - x0) * k, Y = (y) => hgt / 2 - y * k;
  const path = (pts, side) => "M" + pts.map(([x, y]) => `${X(x).toFixed(1)} ${Y(side * y).toFixed(1)}`).join("L") + "Z";
  const cells = [], rims = [];
  for (const side of [1, -1]) {
    all.forEach((c, i) => cells.push({ d: path(c.corners, side), i }));
    for (const q of plan) {
      const e = rim(q.cells);
      if (e) rims.push(path(e, side));
    }
  }
  return { X, Y, x0, x1, cells, rims };
}

// The outline of a surface's half: the corners that only one cell owns, walked edge by edge.
function rim(cells) {
  const edges = new Map();
  const key = ([x, y]) => `${x.toFixed(5)},${y.toFixed(5)}`;
  for (const c of cells) c.corners.forEach((a, i) => {
    const b = c.corners[(i + 1) % c.corners.length], ka = key(a), kb = key(b);
    if (ka === kb) return;
    if (edges.has(kb + "|" + ka)) edges.delete(kb + "|" + ka);
    else edges.set(ka + "|" + kb, [a, b]);
  });
  const next = new Map();
  for (const [k, e] of edges) next.set(k.split("|")[0], e);
  const first = edges.values().next().value;
  if (!first) return null;
  const out = [];
  let e = first;
  do { out.push(e[0]); e = next.get(key(e[1])); } while (e && e !== first && out.length <= edges.size);
  return out.length > 2 ? out : null;
}
