// One small chart: lines over two labelled axes, each line named at its end, and the value under the
// pointer (or at the reading line) written out in the caption. No legend box, no floating box.

import { draw, h, layer, line, s, words, write } from "./svg.js";
import { axis, unitBeside } from "./units.js";

let serial = 0;

// Sizes are kept as the browser tells them: to ask for one between two drawings would make it lay out the page anew.
const sizes = new WeakMap();
const watch = new ResizeObserver((es) => { for (const e of es) sizes.set(e.target, e.contentRect); });

/** The room, px, that a sheet has for its drawing; at least so much. */
export function room(sheet, least, lowest = 0) {
  if (!sizes.has(sheet)) {
    sizes.set(sheet, null);
    watch.observe(sheet);
  }
  const r = sizes.get(sheet);
  return { w: Math.max(least, Math.round(r?.width || sheet.clientWidth)), hgt: Math.max(lowest, Math.round(r?.height || sheet.clientHeight)) };
}

/**
 * A chart lives in a figure; draw(spec, palette) shows it anew. spec:
 *   x, y: {label, kind, lo, hi}   SI limits
 *   along: "x" | "y"              the axis a reader picks a place on
 *   lines: [{name, points: [[x, y]…] (SI, NaN breaks), colour, dash, width, faint}]
 *   band: {lo, hi, colour, name}  on the other axis (optional)
 *   area: [[lo, hi, along]…]      what lies between two places of the other axis (optional; along is "y")
 *   mark: SI place on the "along" axis, the present one
 *   read(place) -> text           the caption's words for a place
 */
export class Chart {
  constructor(title, height = 210) {
    this.id = `chart${++serial}`;
    this.height = height;
    this.value = h("output", { class: "value" });
    this.sheet = h("div", { class: "sheet", tabindex: "0", role: "img", "aria-label": title });
    this.figure = h("figure", { class: "chart" }, h("figcaption", {}, h("h3", { class: "title" }, title), this.value), this.sheet);
    this.title = title;
    this.place = null;
    this.sheet.addEventListener("pointermove", (e) => this.point(e));
    this.sheet.addEventListener("pointerdown", (e) => this.point(e));
    this.sheet.addEventListener("pointerleave", () => this.look(null));
    this.sheet.addEventListener("blur", () => this.look(null));
    this.sheet.addEventListener("keydown", (e) => this.key(e));
  }

  draw(spec, p) {
    this.spec = spec;
    this.p = p;
    const { w } = this.fixed ? { w: this.fixed } : room(this.sheet, 200), hgt = this.height;
    const m = { l: 40, r: 10, t: 22, b: 34 };
    const { x, y } = spec;
    const spanX = x.hi - x.lo || 1, spanY = y.hi - y.lo || 1;
    const X = (v) => m.l + (v - x.lo) / spanX * (w - m.l - m.r);
    const Y = (v) => hgt - m.b - (v - y.lo) / spanY * (hgt - m.t - m.b);
    this.back = spec.along === "x" ? (px) => x.lo + (px - m.l) / (w - m.l - m.r) * spanX : (px, py) => y.lo + (hgt - m.b - py) / (hgt - m.t - m.b) * spanY;
    this.X = X; this.Y = Y; this.w = w; this.m = m;
    const axes = s("g"), heads = s("g"), cursor = layer();
    const small = { "font-size": 11, stroke: null };
    const tx = axis(x.kind, x.lo, x.hi, (w - m.l) / 56), ty = axis(y.kind, y.lo, y.hi, (hgt - m.t - m.b) / 34);
    ty.at.forEach((t, i) => { const v = Y(t); axes.append(s("line", { x1: m.l, x2: w - m.r, y1: v, y2: v, stroke: p.hair }), words(m.l - 5, v + 4, ty.text[i], p, { ...small, "text-anchor": "end", "data-tick": y.kind })); });
    tx.at.forEach((t, i) => { const v = X(t); axes.append(s("line", { x1: v, x2: v, y1: hgt - m.b, y2: hgt - m.b + 4, stroke: p.ink, "stroke-opacity": 0.5 }), words(v, hgt - m.b + 15, tx.text[i], p, { ...small, "text-anchor": "middle", "data-tick": x.kind })); });
    axes.append(s("line", { x1: m.l, x2: w - m.r, y1: hgt - m.b, y2: hgt - m.b, stroke: p.ink, "stroke-opacity": 0.5 }),
      words(w - m.r, hgt - 4, `${x.label}${unitBeside(x.kind) ? `, ${unitBeside(x.kind)}` : ""}`, p, { ...small, "text-anchor": "end" }),
      words(2, 11, `${y.label}${unitBeside(y.kind) ? `, ${unitBeside(y.kind)}` : ""}`, p, small));
    const clip = s("clipPath", { id: this.id }, s("rect", { x: m.l, y: m.t - 2, width: w - m.l - m.r, height: hgt - m.t - m.b + 4 }));
    const inside = s("g", { "clip-path": `url(#${this.id})` });
    if (spec.band) {
      const across = spec.along === "y";
      const a = across ? X(spec.band.lo) : Y(spec.band.hi), b = across ? X(spec.band.hi) : Y(spec.band.lo);
      inside.append(across ? s("rect", { x: a, y: m.t, width: Math.max(1, b - a), height: hgt - m.t - m.b, fill: spec.band.colour, "fill-opacity": 0.14 })
        : s("rect", { x: m.l, y: a, width: w - m.l - m.r, height: Math.max(1, b - a), fill: spec.band.colour, "fill-opacity": 0.14 }));
    }
    if (spec.area?.length > 1) {
      const edge = (i, list) => list.map((q) => [X(q[i]), Y(q[2])]);
      inside.append(s("path", { d: `${line([...edge(0, spec.area), ...edge(1, [...spec.area].reverse())])}Z`, fill: p.ink, "fill-opacity": 0.14, "data-area": "" }));
    }
    const names = [];
    for (const l of spec.lines) {
      const pts = l.points.map(([a, b]) => [X(a), Y(b)]);
      inside.append(s("path", { d: line(pts), stroke: l.colour, "stroke-width": l.width ?? 1.8, "stroke-dasharray": l.dash, "stroke-opacity": l.faint ? 0.75 : 1, fill: "none", "stroke-linejoin": "round" }));
      const last = [...pts].reverse().find(([a, b]) => Number.isFinite(a) && Number.isFinite(b) && a >= m.l - 1 && a <= w - m.r + 1 && b >= m.t - 2 && b <= hgt - m.b + 2);
      if (l.name && last) names.push({ name: l.name, x: last[0], y: last[1] });
    }
    // Names at the ends, pushed down one by one where they would cover each other.
    const put = [];
    for (const n of names.sort((a, b) => a.y - b.y)) {
      const half = n.name.length * 3.1 + 2;
      const cx = Math.min(w - m.r - half, Math.max(m.l + half, n.x));
      let cy = Math.max(m.t + 8, n.y - 4);
      for (const q of put) if (Math.abs(q.cx - cx) < q.half + half && cy < q.cy + 12 && cy > q.cy - 12) cy = q.cy + 12;
      put.push({ cx, cy, half });
      heads.append(words(cx, cy, n.name, p, { "font-size": 11, "text-anchor": "middle" }));
    }
    draw(this.sheet, s("svg", { width: w, height: hgt, viewBox: `0 0 ${w} ${hgt}`, "aria-hidden": "true" }, axes, s("defs", {}, clip), inside, cursor, heads));
    this.cursor = cursor.element;
    this.look(this.place);
  }

  /** Moves only the reading mark. */
  moveMark(place) {
    if (!this.spec) return;
    this.spec.mark = place;
    this.look(this.place);
  }

  look(place) {
    this.place = place;
    if (!this.spec) return;
    const at = place ?? this.spec.mark;
    if (at == null) { write(this.value, ""); draw(this.cursor); return; }
    const m = this.m, attrs = { stroke: this.p.ink, "stroke-width": 1, "stroke-dasharray": place == null ? "2 3" : null };
    draw(this.cursor, this.spec.along === "x"
      ? s("line", { x1: this.X(at), x2: this.X(at), y1: m.t, y2: this.height - m.b, ...attrs })
      : s("line", { x1: m.l, x2: this.w - m.r, y1: this.Y(at), y2: this.Y(at), ...attrs }));
    write(this.value, this.spec.read(at));
    this.sheet.setAttribute("aria-label", `${this.title}. ${this.value.textContent}. Arrow keys read other places.`);
  }

  point(e) {
    if (!this.spec) return;
    const r = this.sheet.getBoundingClientRect(), a = this.spec[this.spec.along];
    this.look(Math.min(a.hi, Math.max(a.lo, this.back(e.clientX - r.left, e.clientY - r.top))));
  }

  key(e) {
    if (!this.spec) return;
    const a = this.spec[this.spec.along], step = (a.hi - a.lo) / 40;
    const d = { ArrowUp: 1, ArrowRight: 1, ArrowDown: -1, ArrowLeft: -1 }[e.key];
    if (!d) return;
    e.preventDefault();
    this.look(Math.min(a.hi, Math.max(a.lo, (this.place ?? this.spec.mark ?? a.lo) + d * step)));
  }
}
