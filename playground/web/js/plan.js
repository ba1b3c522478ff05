// The plan view: the wings from above, nose to the left as in the height picture, coloured by the pressure
// jump across them, with a scale bar.

import { s, h, words, ticks } from "./svg.js";
import { show, take, tell, unit } from "./units.js";
import { pressureScale } from "./colour.js";
import { room } from "./chart.js";

const STEPS = 32;
const scales = {}; // by night and by day

export class Plan {
  constructor(height = 210) {
    this.height = height;
    this.value = h("output", { class: "value" });
    this.sheet = h("div", { class: "sheet", role: "img", "aria-label": "Plan view" });
    this.figure = h("figure", { class: "chart plan" }, h("figcaption", {}, h("span", { class: "title" }, "From above: pressure that lifts"), this.value), this.sheet);
    this.sheet.addEventListener("pointermove", (e) => this.point(e.target));
    this.sheet.addEventListener("pointerdown", (e) => this.point(e.target));
    this.sheet.addEventListener("pointerleave", () => { this.value.textContent = ""; });
  }

  /** pose: the answer to "pose"; marks: [{x, colour}] along the centreline. */
  draw(pose, marks, p) {
    this.pose = pose;
    const w = room(this.sheet), hgt = this.height;
    const cells = pose.plan.flatMap((q) => q.cells.map((c) => ({ ...c, surface: q.surface })));
    const xs = cells.flatMap((c) => c.corners.map((q) => q[0])), ys = cells.flatMap((c) => c.corners.map((q) => Math.abs(q[1])));
    const x0 = Math.min(...xs), x1 = Math.max(...xs), half = Math.max(...ys) || 1;
    const bar = 48, k = Math.min((w - 16) / (x1 - x0), (hgt - bar - 12) / (2 * half));
    const ox = (w - k * (x1 - x0)) / 2, oy = (hgt - bar) / 2;
    const X = (x) => ox + (x - x0) * k, Y = (y) => oy - y * k;
    const [lo, hi] = pose.pressure_range_pa;
    const most = Math.max(Math.abs(lo), Math.abs(hi)) || 1;
    const colours = scales[p.night] ??= pressureScale(STEPS, p.night);
    const shade = (v) => colours[Math.round(STEPS + STEPS * Math.max(-1, Math.min(1, v / most)))];
    const svg = s("svg", { width: w, height: hgt, viewBox: `0 0 ${w} ${hgt}`, "aria-hidden": "true" });
    for (const side of [1, -1]) cells.forEach((c, i) => {
      const fill = shade(c.pressure_pa);
      svg.append(s("path", {
        d: "M" + c.corners.map(([x, y]) => `${X(x).toFixed(1)} ${Y(side * y).toFixed(1)}`).join("L") + "Z",
        fill, stroke: fill, "stroke-width": 0.6, "data-cell": i,
      }));
    });
    for (const q of pose.plan) for (const side of [1, -1]) {
      const e = rim(q.cells);
      if (e) svg.append(s("path", { d: "M" + e.map(([x, y]) => `${X(x).toFixed(1)} ${Y(side * y).toFixed(1)}`).join("L") + "Z", fill: "none", stroke: p.ink, "stroke-opacity": 0.55, "stroke-width": 0.8 }));
    }
    for (const m of marks) if (m.x != null && m.x > x0 - 0.2 && m.x < x1 + 0.2) svg.append(s("circle", { cx: X(m.x), cy: Y(0), r: 4, fill: m.fill ?? p.paper, stroke: m.colour, "stroke-width": 2 }));
    // Scale bar: only as much of the scale as occurs.
    const b0 = Math.min(0, lo), b1 = Math.max(0, hi), bw = Math.min(w - 24, 240), bx = 8, by = hgt - 26;
    const n = 48;
    for (let i = 0; i < n; i++) svg.append(s("rect", { x: bx + i * bw / n, y: by, width: bw / n + 0.5, height: 8, fill: shade(b0 + (i + 0.5) / n * (b1 - b0)) }));
    const t = ticks(show("pressure", b0), show("pressure", b1), bw / 60);
    for (const v of t.at) {
      const x = bx + (take("pressure", v) - b0) / (b1 - b0 || 1) * bw;
      svg.append(s("line", { x1: x, x2: x, y1: by, y2: by + 11, stroke: p.ink, "stroke-opacity": 0.6 }), words(x, by + 22, v.toFixed(t.digits).replace("-", "−"), p, { "font-size": 11, "text-anchor": "middle", stroke: null }));
    }
    svg.append(words(bx, by - 6, `pressure below less above, ${unit("pressure")}`, p, { "font-size": 11, stroke: null }));
    this.cells = cells;
    this.sheet.replaceChildren(svg);
    const means = pose.plan.map((q) => `${q.surface} ${tell("pressure", q.cells.reduce((a, c) => a + c.pressure_pa, 0) / q.cells.length)} in the mean`);
    this.sheet.setAttribute("aria-label", `Plan view. Pressure jump over the wings: ${means.join(", ")}.`);
  }

  point(target) {
    const c = this.cells?.[target.getAttribute?.("data-cell") ?? -1];
    if (c) this.value.textContent = `${c.surface}: ${tell("pressure", c.pressure_pa)}`;
  }
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
