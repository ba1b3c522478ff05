// The height picture: clearance upwards from the water, the craft's own lengthwise scale across, so that a
// curve stands over the part of the craft where it acts. One vertical scale serves everything, craft
// included: a float that touches in the picture touches in the calculation. How far heights are drawn out
// against lengths is said under the picture.

import { s, line, words } from "./svg.js";
import { axis, figure, inFeet, tell, unitBeside } from "./units.js";
import { turner, heightAt, extent, outline } from "./shape.js";
import { cgWithPilot } from "./curve.js";
import { dimension } from "./dimensions.js";
import { Places, box, covers, width } from "./labels.js";

/** The three curves of the picture: key in the sweep, words, palette colour, dash, width. */
const CURVES = [
  { key: "cp_m", name: "centre of pressure", short: "CP", colour: "cp", dash: null, width: 2.6 },
  { key: "pitch_neutral_m", name: "pitch neutral point", short: "pitch neutral", colour: "pitch", dash: "8 5", width: 1.9 },
  { key: "height_neutral_m", name: "height neutral point", short: "height neutral", colour: "height", dash: "10 4 2 4", width: 2.1 },
];
const LINES = [
  ["low_m", "tow", "from"],
  ["self_holding_m", "self-holding", "ceiling"],
  ["reach_m", "reach", "ceiling"],
  ["reaction_m", "reaction", "ceiling"],
  ["let_go_m", "let go", "above"],
];

/** Scales of a picture w x h pixels; X and Y turn metres into pixels. */
export function scales(view, w, h) {
  const e = extent(view.side), L = e.x1 - e.x0;
  let x0 = e.x0, x1 = e.x1;
  for (const p of view.heights.points) {
    const v = p.cp_m;
    if (v != null && v > e.x0 - 0.3 * L && v < e.x1 + 0.3 * L) { x0 = Math.min(x0, v); x1 = Math.max(x1, v); }
  }
  const narrow = w < 560;
  // Beside the picture stand the names of the ceilings, where there is room for them; above it, in a strip that
  // the craft does not enter, those of the curves.
  const left = (narrow ? 46 : 52) + (inFeet("length") ? 14 : 0), inner = narrow || h < 280, right = inner ? 8 : 138, deep = h < 280 ? 46 : narrow ? 62 : 84, head = 8;
  const rows = w < 1000 ? 2 : 1, strip = 17 * rows + 5;
  x0 -= 0.07 * L;
  x1 += 0.07 * L;
  const px = (w - left - right) / (x1 - x0);
  const sweep = view.heights.top_m, top = Math.max(view.top_m ?? 0, sweep);
  // Room for most of the craft above the highest clearance; higher up it leaves the sheet head first.
  const body = 0.45 * (e.z1 - e.wing0);
  const py = Math.min((h - deep - head) / (top + body), (h - deep - strip - 20) / top);
  const water = h - deep;
  return {
    w, h, left, right, deep, narrow, inner, rows, strip, water, x0, x1, top, sweep, px, py, stretch: py / px,
    X: (x) => left + (x - x0) * px,
    Y: (z) => water - z * py,
    Z: (y) => (water - y) / py,
  };
}

/** Gives curve labels their places, in the order of their curves, none on another: in one row, or two where one has no room. Returns how many. */
function placeLabels(labels, k, size, font) {
  labels.sort((a, b) => a.x - b.x);
  const lo = k.narrow ? 2 : k.left, hi = k.w - (k.narrow ? 2 : 8);
  for (const l of labels) l.half = width(l.text, size, font) / 2 + 6;
  const rows = 2 * labels.reduce((sum, l) => sum + l.half, 0) > hi - lo ? k.rows : 1;
  for (let r = 0; r < rows; r++) {
    const row = labels.filter((_, i) => i % rows === r);
    let edge = lo;
    for (const l of row) {
      l.row = r;
      l.tx = Math.max(edge + l.half, Math.min(hi - l.half, l.x));
      edge = l.tx + l.half;
    }
    // Pushed beyond the right edge, or all to one side: go back left as far as the neighbours let.
    edge = hi;
    for (const l of [...row].reverse()) {
      l.tx = Math.min(l.tx, edge - l.half);
      edge = l.tx - l.half;
    }
    const shift = row.reduce((m, l) => m + l.tx - l.x, 0) / (row.length || 1);
    if (shift > 0) {
      edge = lo;
      for (const l of row) {
        l.tx = Math.max(edge + l.half, l.tx - shift);
        edge = l.tx + l.half;
      }
    }
  }
  return rows;
}

// The figure sits so much below the pilot's place, m; its head lies so far from the seat.
const SEAT = 0.22, HEAD = { aft: 0.14, up: 0.72 };
const headSize = (k) => Math.max(4, 0.1 * k.px);

const heightTicks = (k) => axis("length", 0, k.top, (k.water - k.Y(k.top)) / 44);

/** What stands still while the craft is dragged: {under, over} the craft; the names lie over it. */
export function still(view, k, p, id) {
  const { heights } = view, { X, Y } = k;
  const g = s("g"), over = s("g");
  const clip = s("clipPath", { id: `${id}-clip` }, s("rect", { x: k.left, y: k.strip, width: k.w - k.left - k.right, height: k.h - k.strip }));
  const hatch = s("pattern", { id: `${id}-hatch`, width: 7, height: 7, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" },
    s("line", { x1: 0, y1: 0, x2: 0, y2: 7, stroke: p.band, "stroke-width": 1.6, "stroke-opacity": 0.6 }));
  const doubt = s("pattern", { id: `${id}-doubt`, width: 9, height: 9, patternUnits: "userSpaceOnUse", patternTransform: "rotate(-45)" },
    s("line", { x1: 0, y1: 0, x2: 0, y2: 9, stroke: p.wrong, "stroke-width": 1.4, "stroke-opacity": 0.75 }));
  g.append(s("defs", {}, clip, hatch, doubt));

  // What is written here and stays while the craft moves.
  const fixed = k.fixed = [];
  const write = (into, x, y, text, attrs = {}) => {
    into.append(words(x, y, text, p, { "data-text": "", ...attrs }));
    fixed.push(box(x, y, text, attrs["font-size"] ?? 12, p.font, attrs["text-anchor"]));
  };
  // Heights over the water; their figures go with the craft's own.
  for (const t of heightTicks(k).at) {
    const y = Y(t);
    g.append(s("line", { x1: k.left, x2: k.w - k.right, y1: y, y2: y, stroke: p.hair, "stroke-width": 1 }));
  }
  write(g, 2, Y(k.top) - 14, k.narrow ? unitBeside("length") || "clear" : `${unitBeside("length")} clear`.trim(), { "font-size": 11.5, stroke: null });

  const inside = s("g", { "clip-path": `url(#${id}-clip)` });
  // The layer in which the craft holds itself and is to be towed.
  if (heights.lines.low_m != null && heights.lines.low_m < k.top) {
    const y = Y(Math.min(k.top, heights.lines.let_go_m)), tall = Y(heights.lines.low_m) - y;
    g.append(s("rect", { x: k.left, y, width: k.w - k.left - k.right, height: tall, fill: p.band, "fill-opacity": 0.07 }),
      s("rect", { x: k.left - 3, y, width: 3, height: tall, fill: p.band }));
  }
  if (heights.band) {
    const x = X(heights.band.forward_m), width = Math.max(2, X(heights.band.aft_m) - x);
    inside.append(s("rect", { x, y: Y(k.sweep), width, height: k.water - Y(k.sweep), fill: `url(#${id}-hatch)` }),
      s("path", { d: `M${x} ${Y(k.sweep)}V${k.water}M${x + width} ${Y(k.sweep)}V${k.water}`, stroke: p.band, "stroke-width": 1.4, fill: "none" }));
  }
  // Between which clearances the height to let go may lie: at its low end is the line to let go above.
  k.trust = null;
  const may = heights.towing?.trust?.let_go;
  if (may && may.low_m < k.top) {
    const y = Y(Math.min(k.top, may.high_m)), tall = Math.max(2, Y(may.low_m) - y);
    inside.append(s("rect", { x: k.left, y, width: k.w - k.left - k.right, height: tall, fill: `url(#${id}-doubt)`, stroke: p.wrong, "stroke-width": 1, "stroke-dasharray": "5 3", "data-trust": "let_go" }));
    k.trust = { from: y, to: y + tall, words: may.words };
  }
  const labels = [];
  // What builds of the craft do: between these let-go heights and these places of the CG lie 95 of 100.
  k.built = null;
  const { let_go, pilot: needed = [] } = view.built ?? {};
  if (let_go && let_go.lo < k.top) {
    const y = Y(Math.min(k.top, let_go.hi)), tall = Math.max(1, Y(let_go.lo) - y);
    inside.append(s("rect", { x: k.left, y, width: k.w - k.left - k.right, height: tall, fill: p.wrong, "fill-opacity": 0.13, "data-built": "let_go" }),
      s("path", { d: `M${k.left} ${Y(let_go.half)}H${k.w - k.right}`, stroke: p.wrong, "stroke-width": 1.2, "stroke-dasharray": "6 3 1 3" }));
    k.built = [y, y + tall];
  }
  const builds = needed.filter((q) => q.clearance_m <= k.sweep).map((q) => [cgWithPilot(heights, q.lo), cgWithPilot(heights, q.hi), q.clearance_m]).filter(([a]) => a != null);
  if (builds.length > 1) {
    const edge = (i, list) => list.map((q) => [X(q[i]), Y(q[2])]), top = builds[builds.length - 1];
    inside.append(s("path", { d: `${line([...edge(0, builds), ...edge(1, [...builds].reverse())])}Z`, fill: p.ink, "fill-opacity": 0.14, stroke: p.ink, "stroke-width": 1, "stroke-dasharray": "1.5 3", "data-built": "pilot" }));
    labels.push({ text: k.narrow ? "95 of 100 builds" : "CG of 95 of 100 builds", x: X((top[0] + top[1]) / 2), y: Y(top[2]), colour: p.ink });
  }
  const end = (points, key) => [...points].reverse().find((q) => q[key] != null && X(q[key]) >= k.left && X(q[key]) <= k.w - k.right);
  if (view.ghost) {
    for (const c of CURVES) inside.append(s("path", {
      d: line(view.ghost.heights.points.map((q) => [q[c.key] == null ? NaN : X(q[c.key]), Y(q.clearance_m)])),
      stroke: p.ghost, "stroke-width": c.key === "cp_m" ? 2 : 1.2, "stroke-dasharray": c.dash, fill: "none",
    }));
    const q = end(view.ghost.heights.points, "cp_m");
    if (q) labels.push({ text: k.narrow ? "pinned CP" : "pinned craft's CP", x: X(q.cp_m), y: Y(q.clearance_m), colour: p.ghost });
  }
  // The CG needed parts from the CP by the pull of the line; drawn where the eye can tell them apart.
  const apart = Math.max(...heights.points.map((q) => (q.cg_needed_m == null || q.cp_m == null ? 0 : Math.abs(q.cg_needed_m - q.cp_m) * k.px)));
  if (apart > 5) {
    inside.append(s("path", {
      d: line(heights.points.map((q) => [q.cg_needed_m == null ? NaN : X(q.cg_needed_m), Y(q.clearance_m)])),
      stroke: p.ink, "stroke-width": 1.5, "stroke-dasharray": "1.5 3.5", "stroke-linecap": "round", fill: "none",
    }));
    const q = end(heights.points, "cg_needed_m");
    if (q) labels.push({ text: "CG needed", x: X(q.cg_needed_m), y: Y(q.clearance_m), colour: p.ink });
  }
  if (view.held) {
    inside.append(s("path", {
      d: line(view.held.map((q) => [q.cp_m == null ? NaN : X(q.cp_m), Y(q.clearance_m)])),
      stroke: p.cp, "stroke-width": 1.8, "stroke-dasharray": "2 4", "stroke-linecap": "round", fill: "none", "data-curve": "held",
    }));
    const q = end(view.held, "cp_m");
    if (q) labels.push({ text: k.narrow ? `CP, ${tell("angle", view.held_deg)} held` : `CP with ${tell("angle", view.held_deg)} held`, x: X(q.cp_m), y: Y(q.clearance_m), colour: p.cp });
  }
  for (const c of CURVES) {
    inside.append(s("path", {
      d: line(heights.points.map((q) => [q[c.key] == null ? NaN : X(q[c.key]), Y(q.clearance_m)])),
      stroke: p[c.colour], "stroke-width": c.width, "stroke-dasharray": c.dash, fill: "none", "stroke-linejoin": "round", "data-curve": c.key,
    }));
    const q = end(heights.points, c.key);
    if (q) labels.push({ text: k.narrow ? c.short : c.name, x: X(q[c.key]), y: Y(q.clearance_m), colour: p[c.colour] });
  }
  g.append(inside);

  // The water covers what reaches under it, thinly enough to show it.
  g.append(s("rect", { x: 0, y: k.water, width: k.w, height: k.deep, fill: p.water, "fill-opacity": 0.72 }),
    s("line", { x1: 0, x2: k.w, y1: k.water, y2: k.water, stroke: p.shore, "stroke-width": 1.6 }));
  for (let i = 1; i < 4; i++) {
    let d = "";
    const y = k.water + i * k.deep * 0.17, step = 34 + 9 * i;
    for (let x = (i * 53) % step; x < k.w; x += step * 2) d += `M${x} ${y}q${step / 4} -3 ${step / 2} 0t${step / 2} 0`;
    g.append(s("path", { d, stroke: p.shore, "stroke-opacity": 0.3, "stroke-width": 1, fill: "none" }));
  }
  const tx = axis("length", k.x0, k.x1, (k.w - k.left) / 92);
  tx.at.forEach((t, i) => {
    const x = X(t);
    g.append(s("line", { x1: x, x2: x, y1: k.h - 26, y2: k.h - 20, stroke: p.ink, "stroke-opacity": 0.6 }));
    write(g, x, k.h - 8, tx.text[i], { "text-anchor": "middle", "font-size": 11.5, stroke: null, "data-tick": "length" });
  });
  write(g, k.w - k.right, k.h - 30, `${unitBeside("length")} aft of the datum`.trim(), { "text-anchor": "end", "font-size": 11.5, stroke: null });

  // Ceilings: thin lines, named at their right end, names pushed apart where lines lie close.
  const shown = [];
  for (const [key, first, then] of LINES) {
    const v = heights.lines[key];
    if (v == null || v > k.top * 1.001) continue;
    const same = shown.find((l) => Math.abs(l.v - v) < 1e-6);
    const figure = heights.lines.words[key];
    if (same) Object.assign(same, { first: `${same.first} ${same.then}`, then: `${first} ${then}`, name: `${same.name}: ${first} ${then}` });
    else shown.push({ first, then, name: `${first} ${then}`, v, figure });
  }
  shown.sort((a, b) => a.v - b.v);
  k.lines = shown; // named with the craft where they are named within the picture
  let last = k.water - 2;
  for (const l of shown) {
    const y = Y(l.v);
    g.append(s("line", { x1: k.left, x2: k.w - k.right + (k.inner ? 0 : 6), y1: y, y2: y, stroke: p.ink, "stroke-width": 0.9, "stroke-opacity": 0.85, "data-ceiling": l.name }));
    if (k.inner) continue;
    l.y = Math.min(y, last - 15);
    last = l.y - 16;
    const x = k.w - k.right + 14, tail = `${l.then} ${l.figure}`;
    g.append(s("path", { d: `M${k.w - k.right + 6} ${y}l5 ${l.y - y}`, stroke: p.ink, "stroke-width": 0.9, "stroke-opacity": 0.85, fill: "none", "data-leader": l.name }));
    over.append(s("g", { "data-line": l.name }, words(x, l.y - 2, l.first, p, { "data-text": "" }), words(x, l.y + 12, tail, p, { "data-text": "" })));
  }

  // Where the pilot's place, as set, holds the craft.
  const cg = cgWithPilot(heights, view.pilot_x_m);
  if (cg != null) {
    inside.append(s("line", { x1: X(cg), x2: X(cg), y1: Y(k.top), y2: k.water, stroke: p.band, "stroke-width": 1.8 }));
    for (const q of heights.held) {
      if (q.clearance_m <= k.sweep) over.append(s("circle", { cx: X(cg), cy: Y(q.clearance_m), r: 5, fill: q.stable ? p.band : p.paper, stroke: p.band, "stroke-width": 2 }));
    }
  }
  if (heights.band) {
    const mid = Math.min(k.w - k.right, Math.max(k.left, (X(heights.band.forward_m) + X(heights.band.aft_m)) / 2));
    labels.push({ text: k.narrow ? "CG band" : "where the pilot can put the CG", x: mid, y: Y(k.sweep), colour: p.band });
  }
  // The names stand in their strip; a leader comes down from each, past the others, to the end of its curve.
  const size = k.narrow ? 11 : 12.5, names = s("g");
  placeLabels(labels, k, size, p.font);
  for (const l of labels) {
    const ty = 14 + 17 * l.row, knee = Math.min(l.y, k.strip + 13);
    over.append(s("path", { d: `M${l.x.toFixed(1)} ${l.y.toFixed(1)}V${knee.toFixed(1)}L${l.tx.toFixed(1)} ${(ty + 4).toFixed(1)}`, stroke: l.colour, "stroke-width": 1.4, fill: "none" }));
    names.append(words(l.tx, ty, l.text, p, { "text-anchor": "middle", "font-size": size, "data-label": l.text, "data-text": "" }));
  }
  over.append(names);
  return { under: g, over };
}

/** CG with the pilot as set, else where needed, else in the middle of the travel. */
export function shownCG({ heights, pilot_x_m, at }) {
  const { pilot } = heights;
  return cgWithPilot(heights, pilot_x_m) ?? at?.cg_needed_m ?? (pilot ? cgWithPilot(heights, (pilot.forward_m + pilot.aft_m) / 2) : null);
}

/** How far from the needed place, m, a pilot counts as being there: what a person can tell of their own place. */
const AT_PLACE = 0.005;

/** What the nose does and what the pilot has to do, where they are not where they must be; else empty. q: figures at the clearance. */
export function verdict(q, pilot_x_m) {
  if (q?.pilot_needed_m == null) return "";
  if (pilot_x_m == null) return q.spare_m < 0 ? `the pilot must be ${tell("length", -q.spare_m)} beyond the craft's travel` : "";
  const off = pilot_x_m - q.pilot_needed_m;
  if (Math.abs(off) < AT_PLACE) return "";
  return off > 0 ? `nose rises: move ${tell("length", off)} forward` : `nose sinks: move ${tell("length", -off)} aft`;
}

const arrow = (x, y0, y1, colour, width = 3) => {
  const d = Math.sign(y1 - y0), n = Math.min(9, Math.abs(y1 - y0) * 0.6);
  return s("path", { d: `M${x} ${y0}V${y1 - d * n * 0.7}M${x - n * 0.55} ${y1 - d * n}L${x} ${y1}L${x + n * 0.55} ${y1 - d * n}`, stroke: colour, "stroke-width": width, fill: "none", "stroke-linejoin": "round", "stroke-linecap": "round" });
};

/** The craft itself at a pitch and clearance; faint: the pinned one behind. */
function craftShape(side, thickness, pose, k, p, faint) {
  const height = heightAt(side, pose.pitch_deg, pose.clearance_m);
  const turn = turner(pose.pitch_deg, height);
  const P = ([x, z]) => { const [u, v] = turn(x, z); return [k.X(u), k.Y(v)]; };
  const ink = faint ? p.ghost : p.ink;
  const g = s("g", { "stroke-linejoin": "round", "stroke-linecap": "round" });
  g.covers = []; // the boxes on the sheet that no name may stand on
  const mid = (sec) => { const a = sec[0], b = sec[sec.length - 1]; return [a[0] * 0.6 + b[0] * 0.4, a[1] * 0.6 + b[1] * 0.4]; };
  const roots = side.wings.map((w) => mid(w.sections[0]));
  // A hairline frame ties the parts together for the eye; the calculation knows none.
  const joins = [];
  for (let i = 1; i < roots.length; i++) joins.push([roots[i - 1], roots[i]]);
  const onFrame = (x) => {
    for (let i = 1; i < roots.length; i++) {
      const [a, b] = [roots[i - 1], roots[i]];
      if (x >= Math.min(a[0], b[0]) && x <= Math.max(a[0], b[0]) && a[0] !== b[0]) return [x, a[1] + (x - a[0]) / (b[0] - a[0]) * (b[1] - a[1])];
    }
    return roots.reduce((m, r) => (Math.abs(r[0] - x) < Math.abs(m[0] - x) ? r : m), roots[0]);
  };
  for (const f of side.floats) joins.push([f, onFrame(f[0] + 0.2)]);
  for (const [a, b] of joins) g.append(s("path", { d: line([P(a), P(b)]), stroke: ink, "stroke-opacity": 0.45, "stroke-width": faint ? 0.7 : 1.1, fill: "none" }));

  for (const f of side.floats) {
    const hull = [[-0.28, 0.1], [-0.2, 0.02], [0, 0], [0.3, 0.03], [0.3, 0.1]].map(([dx, dz]) => P([f[0] + dx, f[1] + dz]));
    g.append(s("path", { d: line(hull) + "Z", fill: faint ? "none" : p.paper, stroke: ink, "stroke-width": faint ? 0.8 : 1.2 }));
  }
  side.wings.forEach((w, i) => {
    for (const plate of w.plates ?? []) g.append(s("path", { d: line(plate.map(P)) + "Z", fill: faint ? "none" : p.ink, "fill-opacity": 0.1, stroke: ink, "stroke-width": 0.9, "stroke-opacity": 0.7 }));
    const [root, tip] = [w.sections[0], w.sections[w.sections.length - 1]];
    if (!faint) for (const part of [root, tip]) g.covers.push(...covers(outline(part.map(P), thickness[i])));
    g.append(s("path", { d: line(outline(tip.map(P), thickness[i])) + "Z", fill: faint ? "none" : p.paper, stroke: ink, "stroke-width": 0.9, "stroke-opacity": 0.6, "stroke-dasharray": faint ? "3 3" : null }),
      s("path", { d: line(outline(root.map(P), thickness[i])) + "Z", fill: faint ? "none" : p.ink, "fill-opacity": 0.86, stroke: ink, "stroke-width": 1, "stroke-dasharray": faint ? "3 3" : null, "data-part": faint ? null : "wing" }));
  });
  if (faint) return g;
  for (const f of side.floats) { const [x, y] = P(f); g.covers.push([x - 0.28 * k.px, y - 0.1 * k.py, x + 0.3 * k.px, y]); }
  for (const w of side.weights) {
    const [x, y] = P([w.x, w.z]);
    g.append(s("path", { d: `M${x - 5} ${y}H${x + 5}M${x} ${y - 5}V${y + 5}`, stroke: ink, "stroke-width": 1 }, s("title", {}, `${w.name}, ${tell("mass", w.mass_kg)}`)),
      s("circle", { cx: x, cy: y, r: 3.2, fill: p.paper, stroke: ink, "stroke-width": 1 }));
  }
  if (side.pilot) {
    const z = side.pilot.z - SEAT, r = side.pilot, x = pose.pilot_m ?? (r.forward + r.aft) / 2;
    const a = P([r.forward, z]), b = P([r.aft, z]);
    g.append(s("path", { d: `M${a[0]} ${a[1] - 4}V${a[1] + 4}M${b[0]} ${b[1] - 4}V${b[1] + 4}M${a[0]} ${a[1]}L${b[0]} ${b[1]}`, stroke: p.band, "stroke-width": 2, fill: "none" }));
    g.seat = P([x, z]);
    const away = x < r.forward - 1e-6 || x > r.aft + 1e-6;
    const col = away ? p.cp : ink;
    // The seat's height is true, the figure on it drawn to the lengthwise scale.
    const [sx, sy] = P([x, z]);
    const F = (pts) => line(pts.map(([dx, dz]) => [sx + dx * k.px, sy - dz * k.px]));
    const pen = { fill: "none", stroke: col, "stroke-width": Math.max(3, 0.06 * k.px), "stroke-linecap": "round" };
    const spot = (dx, dz) => [sx + dx * k.px, sy - dz * k.px], r0 = headSize(k), [hx, hy] = spot(HEAD.aft, HEAD.up);
    for (const limb of [[[-0.56, 0.06], [-0.27, 0.24], [0.02, 0.07]], [[0.02, 0.07], [0.12, 0.52]]]) g.covers.push(...covers(limb.map(([dx, dz]) => spot(dx, dz))));
    g.covers.push([hx - r0, hy - r0, hx + r0, hy + r0], [a[0], Math.min(a[1], b[1]) - 4, b[0], Math.max(a[1], b[1]) + 4]);
    g.append(s("path", { d: F([[-0.56, 0.06], [-0.27, 0.24], [0.02, 0.07], [0.12, 0.52]]), ...pen }),
      s("path", { d: F([[0.1, 0.46], [-0.08, 0.26], [-0.3, 0.34]]), ...pen, "stroke-width": pen["stroke-width"] * 0.6 }),
      s("circle", { cx: sx + HEAD.aft * k.px, cy: sy - HEAD.up * k.px, r: headSize(k), fill: col, "data-part": "head" }));
  }
  if (side.tow) {
    const t = P([side.tow.x, side.tow.z]);
    const [u, v] = turn(side.tow.x, side.tow.z);
    if (pose.line) {
      const rise = (pose.line.boat_height_m - v) / pose.line.line_m, run = u - k.x0 + 0.2;
      g.append(s("path", { d: line([t, [k.X(u - run), k.Y(v + rise * run)]]), stroke: ink, "stroke-width": 1, fill: "none" }));
    }
    g.append(s("circle", { cx: t[0], cy: t[1], r: 3, fill: p.paper, stroke: ink, "stroke-width": 1.4 }));
  }
  return g;
}

/** Everything that moves with the craft, and the names that make way for it. */
export function moving(view, k, p, id) {
  const { at, side, heights } = view, { X, Y } = k;
  const g = s("g");
  const y = Y(at.clearance_m);
  const pose = { ...at, pitch_deg: at.pitch_deg ?? 0, pilot_m: view.pilot_x_m ?? at.pilot_needed_m, line: view.line };
  const inside = s("g", { "clip-path": `url(#${id}-clip)` });
  if (view.ghost) inside.append(craftShape(view.ghost.side, view.ghost.thickness, { clearance_m: at.clearance_m, pitch_deg: view.ghost.at.pitch_deg ?? at.pitch_deg ?? 0 }, k, p, true));
  const shape = craftShape(side, view.thickness, pose, k, p, false);
  inside.append(shape);
  g.append(inside);

  // The reading line: the craft's lowest point stands on it, and every curve is read where it crosses.
  g.append(s("line", { x1: k.left, x2: k.w - k.right, y1: y, y2: y, stroke: p.ink, "stroke-width": 1, "stroke-dasharray": "2 3" }));
  g.append(s("path", { d: `M${k.left - 2} ${y}l-6 -5v10z`, fill: p.ink }));
  const read = Math.min(k.water, Math.max(k.strip + 10, y + 4.5));
  const tv = heightTicks(k);
  tv.at.forEach((t, i) => {
    const ty = Y(t) + 4 - (t === 0 ? 5 : 0);
    if (Math.abs(ty - read) > 15) g.append(words(k.left - 8, ty, tv.text[i], p, { "text-anchor": "end", "font-size": 11.5, stroke: null, "data-text": "", "data-tick": "length" }));
  });
  g.append(words(k.left - 10, read, figure("length", at.clearance_m), p, { "text-anchor": "end", "font-size": 13, "font-weight": 650, stroke: null, "data-text": "" }));

  const per = (k.narrow ? 54 : 74) / (heights.weight_n || Math.max(1, ...heights.points.map((q) => q.lift_n ?? 0)));
  const cg = shownCG(view);
  const seen = (x) => x != null && X(x) > k.left && X(x) < k.w - k.right;
  const marks = s("g"), labels = s("g");
  for (const c of CURVES.slice(1)) if (seen(at[c.key])) marks.append(s("circle", { cx: X(at[c.key]), cy: y, r: 3.4, fill: p.paper, stroke: p[c.colour], "stroke-width": 2 }));

  // Names within the picture, the ones that matter most first: each takes the first place that is free of the
  // craft, the water's line and the names before it; where there is none it stays away.
  const places = new Places(k.left, k.strip, k.w - (k.inner ? 2 : k.right), k.h, [...k.fixed, ...shape.covers, [0, k.water - 1, k.w, k.water + 1]]);
  const name = (text, size, spots, attrs) => {
    const at = places.put(text, attrs?.["font-weight"] ? 1.1 * size : size, p.font, spots);
    if (at) labels.append(words(at.x, at.y, text, p, { "font-size": size, "text-anchor": at.anchor, "data-text": "", ...attrs }));
    return at;
  };
  // A ceiling's name within the picture stands on no other ceiling, and a leader with a dot ties it to its own: two may
  // stand in the same gap.
  if (k.inner) {
    for (const l of [...k.lines].reverse()) {
      const ly = Y(l.v), text = `${l.name} ${l.figure}`, others = new Places(...places.room, k.lines.filter((q) => q !== l).map((q) => [k.left, Y(q.v) - 1, k.w, Y(q.v) + 1]));
      const spots = [-4, 12, -17, 25, -30, 38].flatMap((dy) => Array.from({ length: Math.ceil((k.w - 72 - k.left) / 10) }, (_, i) => [k.w - 12 - 10 * i, ly + dy]));
      const tie = ([x, v]) => [x + 1, Math.min(ly, v - 5), x + 8, Math.max(ly, v - 3)];
      const at = spots.find((q) => { const b = box(...q, text, 11, p.font, "end"); return places.free(b) && others.free(b) && places.free(tie(q)); });
      if (!at) continue;
      places.take(box(...at, text, 11, p.font, "end"), tie(at));
      labels.append(words(...at, text, p, { "font-size": 11, "text-anchor": "end", "data-text": "", "data-line": l.name }),
        s("path", { d: `M${at[0] + 2} ${at[1] - 4}h3V${ly}`, stroke: p.ink, "stroke-width": 1, fill: "none", "data-leader": l.name }), s("circle", { cx: at[0] + 5, cy: ly, r: 2.2, fill: p.ink }));
    }
  }
  const beside = (x, ys, gap = 9) => ys.flatMap((v) => [[x + gap, v], [x - gap, v, "end"]]);
  const lit = view.lit && dimension(view.lit.path, view.craft, side);
  if (lit) {
    const turn = turner(pose.pitch_deg, heightAt(side, pose.pitch_deg, at.clearance_m)), P = ([x, z]) => { const [u, v] = turn(x, z); return [k.X(u), k.Y(v)]; };
    const a = P(lit.from ?? lit.at), b = P(lit.to ?? lit.at), d = P([0, 0]), pen = { stroke: p.wrong, "stroke-width": 2.2, fill: "none" };
    const cap = lit.upright ? "M-6 0h12" : "M0 -6v12";
    const ends = lit.at ? [s("circle", { cx: a[0], cy: a[1], r: 7, ...pen }), s("circle", { cx: a[0], cy: a[1], r: 2.2, fill: p.wrong })]
      : [s("path", { d: `M${a[0]} ${a[1]}L${b[0]} ${b[1]}`, ...pen }), ...[a, b].map(([x, y]) => s("path", { d: cap, transform: `translate(${x} ${y})`, ...pen }))];
    g.append(s("g", { "data-lit": view.lit.path }, ...ends, s("path", { d: `M${d[0] - 7} ${d[1]}h14M${d[0]} ${d[1] - 7}v14`, stroke: p.wrong, "stroke-width": 1.2 })));
    const mx = (a[0] + b[0]) / 2, my = (a[1] + b[1]) / 2, spots = [];
    for (const dy of [-8, 18, -26, 36, -44, 54]) spots.push([mx, my + dy, "middle"], [mx + 12, my + dy], [mx - 12, my + dy, "end"], [k.left + 4, my + dy]);
    for (let v = k.strip + 14; v < k.h - 30; v += 8) spots.push([k.left + 4, v], [k.w - k.right - 4, v, "end"]);
    name(`${view.lit.label}${view.lit.text ? ` ${view.lit.text}` : ""}${lit.at ? ", across the craft" : ""}`, 12.5, spots, { "font-weight": 650, fill: p.wrong, "data-dimension": "" });
  }
  const wrong = verdict(at, view.pilot_x_m), seat = shape.seat;
  if (wrong && seat) {
    const size = k.narrow ? 11.5 : 13, lift = (d) => Math.max(k.strip + 14, seat[1] - d);
    const spots = [lift(0.2 * k.px), lift(0.5 * k.px), lift(0), lift(0.9 * k.px), lift(-0.2 * k.px), lift(-0.4 * k.px)].flatMap((v) => [[seat[0] + 0.3 * k.px, v], [seat[0] - 0.6 * k.px, v, "end"], [k.left + 4, v], [k.w - k.right - 4, v, "end"]]);
    for (let v = k.strip + 14; v < k.h - 30; v += 8) spots.push([k.left + 4, v], [k.w - k.right - 4, v, "end"]);
    name(wrong, size, spots, { "font-weight": 650, fill: p.wrong, "data-verdict": "" });
    const aim = X(at.pilot_needed_m) - X(view.pilot_x_m ?? at.pilot_needed_m);
    if (view.pilot_x_m != null && Math.abs(aim) > 4) marks.append(s("path", { d: `M${seat[0]} ${seat[1] + 7}h${aim}m${-5 * Math.sign(aim)} -4l${5 * Math.sign(aim)} 4l${-5 * Math.sign(aim)} 4`, stroke: p.wrong, "stroke-width": 2, fill: "none" }));
  }
  if (k.trust) {
    const { from, to, words: between } = k.trust, spots = [];
    for (const v of [(from + to) / 2 + 4, from - 4, to + 12, from - 18, to + 26]) for (let x = k.left + 6; x < k.w - k.right - 60; x += 12) spots.push([x, v]);
    name(k.narrow ? `let go: ${between}` : `height to let go: ${between}`, 11.5, spots, { fill: p.wrong, "font-weight": 650, "data-trust-name": "" });
  }
  if (k.built) {
    const spots = [], mid = (k.built[0] + k.built[1]) / 2 + 4;
    for (const v of [mid, k.built[0] - 4, k.built[1] + 13]) for (let x = k.left + 6; x < k.w - k.right - 60; x += 12) spots.push([x, v]);
    name(k.narrow ? "95 of 100, by equilibrium" : "let go by equilibrium: 95 of 100 builds", 11.5, spots, { fill: p.wrong, "data-built-name": "" });
  }
  const fan = (y0, up) => [0, 12, -12, 24, -24, 36, 50].map((d) => y0 + (up ? -d : d));
  if (seen(at.cp_m) && at.lift_n != null) {
    const tip = y - per * at.lift_n, x = X(at.cp_m), low = Math.max(tip, k.strip + 14);
    marks.append(arrow(x, y, tip, p.cp), s("circle", { cx: x, cy: y, r: 4, fill: p.cp }));
    name(`lift ${tell("force", at.lift_n)}`, 12, [...beside(x, fan(low + 8, false)), ...beside(x, fan(low + 8, false), 40)]);
  }
  if (seen(cg) && heights.weight_n > 0) {
    const tip = y + per * heights.weight_n, x = X(cg);
    marks.append(arrow(x, y, tip, p.band), s("circle", { cx: x, cy: y, r: 4.6, fill: p.paper, stroke: p.band, "stroke-width": 2 }),
      s("path", { d: `M${x} ${y}v-4.6a4.6 4.6 0 0 1 4.6 4.6zM${x} ${y}v4.6a4.6 4.6 0 0 1 -4.6 -4.6z`, fill: p.band }));
    name(`weight ${tell("force", heights.weight_n)}`, 12, [...beside(x, fan(tip - 2, true)), ...beside(x, fan(tip - 2, true), 40)]);
  }
  if (cgWithPilot(heights, view.pilot_x_m) != null) {
    for (const q of heights.held) {
      if (q.clearance_m > k.sweep) continue;
      const text = q.stable ? (k.narrow ? "holds" : "holds itself here") : (k.narrow ? "runs away" : "balances, but runs away");
      const x = X(cg);
      name(text, 11.5, [[x - 10, Y(q.clearance_m) + 4, "end"], [x + 10, Y(q.clearance_m) + 4], ...beside(x, [-9, 17, -22, 30].map((d) => Y(q.clearance_m) + d), 10)]);
    }
  }
  g.append(marks, labels);
  return g;
}

/** Where the craft is on the sheet, in pixels, for the handle that is dragged. */
export function grip(view, k) {
  const pitch = view.at.pitch_deg ?? 0, turn = turner(pitch, heightAt(view.side, pitch, view.at.clearance_m));
  const e = extent(view.side);
  const pts = [[e.x0, e.z0], [e.x0, e.z1], [e.x1, e.z0], [e.x1, e.z1]].map(([x, z]) => turn(x, z)).map(([u, v]) => [k.X(u), k.Y(v)]);
  const xs = pts.map((q) => q[0]), ys = pts.map((q) => q[1]);
  const x0 = Math.max(k.left, Math.min(...xs)), x1 = Math.min(k.w, Math.max(...xs));
  // Within the picture: what lies over its edge would take the clicks meant for what stands there.
  const y0 = Math.max(0, Math.min(k.h - 44, Math.min(...ys))), y1 = Math.min(k.h, Math.max(...ys));
  return { x: x0, y: y0, w: Math.max(44, x1 - x0), h: Math.max(44, y1 - y0) };
}

/** What the picture cannot show because it lies outside its frame, in words. */
export function outside(view, k) {
  const out = [];
  for (const c of CURVES) {
    const v = view.at[c.key];
    if (v == null || (k.X(v) >= k.left && k.X(v) <= k.w - k.right)) continue;
    out.push(`At this clearance the ${c.name} lies ${v < k.x0 ? "ahead of" : "behind"} the picture, ${tell("length", Math.abs(v))} ${v < 0 ? "ahead of" : "aft of"} the datum.`);
  }
  return out;
}
