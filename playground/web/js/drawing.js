// The craft with all its dimensions at once: from the side, to one scale, with every place along it and every height
// from the datum, and the starboard half from above with spans, chords and edges.

import { $, page } from "./page.js";
import { dimension } from "./dimensions.js";
import { download, fileName, svgText } from "./export.js";
import { LEAN, get } from "./craft.js";
import { Places, box, covers, width } from "./labels.js";
import { extent, outline } from "./shape.js";
import { draw, element, line, s, words } from "./svg.js";
import { palette } from "./theme.js";
import { tell } from "./units.js";

const MOST = 18; // letters of a name that somebody has given
const short = (name, otherwise) => (!name ? otherwise : name.length > MOST ? `${name.slice(0, MOST - 1)}…` : name);
const wingName = (w, i) => (!w.name ? `wing ${i + 1}` : /\bwing\b/i.test(w.name) ? short(w.name) : `${short(w.name)} wing`);

/** Heights of labels that want to stand at some, none nearer to another than gap, between lo and hi. */
function apart(wanted, gap, lo, hi) {
  const order = wanted.map((y, i) => [y, i]).sort((a, b) => a[0] - b[0]), out = [];
  let edge = lo;
  for (const [y, i] of order) edge = (out[i] = Math.max(edge, y)) + gap;
  edge = hi;
  for (const [, i] of [...order].reverse()) edge = (out[i] = Math.min(out[i], edge)) - gap;
  return out;
}

/** What has a place along the craft and a height: [path without its key, name, point]. */
function places(craft, side) {
  const out = craft.wings.map((w, i) => [`wings[${i}]`, wingName(w, i), side.wings[i].sections[0][0], "x_m", "z_m"]);
  (craft.weights ?? []).forEach((w, i) => out.push([`weights[${i}]`, `${short(w.name, `weight ${i + 1}`)}, ${tell("mass", w.mass_kg)}`, [w.x_m, w.z_m ?? 0], "x_m", "z_m"]));
  const { pilot: q, tow, floats = [] } = craft;
  if (q) out.push(["pilot", "foremost seat", [q.x_forward_m, q.z_m ?? 0], "x_forward_m", null], ["pilot", "aftmost seat", [q.x_aft_m, q.z_m ?? 0], "x_aft_m", null], ["pilot", "pilot", [(q.x_forward_m + q.x_aft_m) / 2, q.z_m ?? 0], null, "z_m"]);
  if (tow) out.push(["tow", "tow point", [tow.x_m, tow.z_m], "x_m", "z_m"]);
  floats.forEach((f, i) => out.push([`floats[${i}]`, `float ${i + 1}`, [f.x_m, f.z_m], "x_m", "z_m"]));
  return out;
}

/** The drawing of a craft, w px wide, as shapes: {svg, w, h}. side: as in the answer to "heights"; thickness of each wing. */
export function drawing(craft, side, thickness, w, p) {
  const narrow = w < 620, size = narrow ? 11 : 12, row = narrow ? 27 : 18;
  const value = (path) => tell(/_deg$/.test(path) ? "angle" : "length", get(craft, path) ?? 0);
  // The names in the margins: heights and places across to the right, places along the craft to the left.
  const all = places(craft, side), ups = all.filter((q) => q[4]), levels = all.filter((q) => q[3]).sort((a, b) => Math.abs(a[2][0]) - Math.abs(b[2][0]));
  const up = ([path, name,,, key]) => `${value(`${path}.${key}`)}${narrow ? "" : " up"}, ${name}`;
  const level = ([path, name,, key]) => `${name}, aft of the datum ${value(`${path}.${key}`)}`;
  const across = craft.wings.flatMap((q, i) => q.stations.flatMap((t, j) => {
    const name = narrow ? short(q.name, `wing ${i + 1}`) : wingName(q, i), of = { wing: i, station: j };
    return [...(j ? [{ ...of, path: `wings[${i}].stations[${j}].y_m`, t: `${tell("length", t.y_m)} out, ${name}` }] : []), ...(j === q.stations.length - 1 ? [{ ...of, path: `wings[${i}].span`, t: `${tell("length", 2 * t.y_m)} span, ${name}` }] : [])];
  }));
  if (craft.pilot) across.push({ path: "pilot.y_m", t: `${tell("length", craft.pilot.y_m || LEAN)} lean, pilot` });
  const longest = (list) => Math.max(0, ...list.map((t) => width(t, size, p.font)));
  const left = narrow ? 6 : longest(levels.map(level)) + 18, right = longest([...ups.map(up), ...across.map((q) => q.t)]) + 30;
  const e = extent(side), x0 = Math.min(0, e.x0), x1 = Math.max(0, e.x1), px = (w - left - right - 10) / (x1 - x0);
  const X = (x) => left + (x - x0) * px, edge = X(x1) + 6;
  const hair = s("g", { stroke: p.ghost, "stroke-width": 0.8, fill: "none" }), body = s("g", { "stroke-linejoin": "round" }), over = s("g"), taken = [];
  const text = (x, y, t, attrs = {}) => {
    over.append(words(x, y, t, p, { "font-size": size, "data-text": "", ...attrs }));
    taken.push(box(x, y, t, size, p.font, attrs["text-anchor"]));
  };
  const head = (y, t) => text(narrow ? 6 : 8, y, t, { "font-weight": 650 });
  const rest = []; // what has found no place beside its part
  const beside = (path, t, spots, room) => {
    const at = room.put(t, size, p.font, spots);
    if (at) over.append(words(at.x, at.y, t, p, { "font-size": size, "text-anchor": at.anchor, "data-text": "", "data-of": path }));
    else rest.push([path, t]);
  };

  // From the side.
  head(14, "From the side, level");
  const gap = size + 4;
  const tall = Math.max((e.z1 - e.z0) * px, gap * ups.length) + 8, top = 26, Z = (z) => top + 4 + (e.z1 - z) * px;
  const P = ([x, z]) => [X(x), Z(z)];
  for (const [a, b] of side.wings.slice(1).map((q, i) => [side.wings[i].sections[0][4], q.sections[0][4]])) hair.append(s("path", { d: line([P(a), P(b)]) }));
  side.wings.forEach((q, i) => {
    const [root, tip] = [q.sections[0], q.sections[q.sections.length - 1]];
    for (const plate of q.plates ?? []) body.append(s("path", { d: `${line(plate.map(P))}Z`, fill: p.ink, "fill-opacity": 0.1, stroke: p.ink, "stroke-width": 0.8 }));
    body.append(s("path", { d: `${line(outline(tip.map(P), thickness[i]))}Z`, fill: "none", stroke: p.ink, "stroke-width": 0.8 }),
      s("path", { d: `${line(outline(root.map(P), thickness[i]))}Z`, fill: p.ink, "fill-opacity": 0.22, stroke: p.ink, "stroke-width": 1 }));
    taken.push(...covers(outline(root.map(P), thickness[i])));
  });
  for (const [x, z] of side.floats) body.append(s("path", { d: `${line([[-0.28, 0.1], [-0.2, 0.02], [0, 0], [0.3, 0.03], [0.3, 0.1]].map(([dx, dz]) => P([x + dx, z + dz])))}Z`, fill: p.paper, stroke: p.ink, "stroke-width": 1 }));
  for (const q of side.weights) body.append(s("circle", { cx: X(q.x), cy: Z(q.z), r: 3, fill: p.paper, stroke: p.ink }));
  if (side.tow) body.append(s("circle", { cx: X(side.tow.x), cy: Z(side.tow.z), r: 3, fill: p.paper, stroke: p.wrong, "stroke-width": 1.6 }));
  if (craft.pilot) {
    const [a, b] = [P([craft.pilot.x_forward_m, craft.pilot.z_m ?? 0]), P([craft.pilot.x_aft_m, craft.pilot.z_m ?? 0])];
    body.append(s("path", { d: `M${a[0]} ${a[1] - 4}v8M${b[0]} ${b[1] - 4}v8M${a[0]} ${a[1]}H${b[0]}`, stroke: p.band, "stroke-width": 2, fill: "none" }));
  }
  // Heights: a line to the right, named there.
  const low = top + tall, at = apart(ups.map((q) => Z(q[2][1])), gap, top + 6, Math.max(low, Z(e.z0)));
  ups.forEach(([path,, [x, z],, key], i) => {
    hair.append(s("path", { d: `M${X(x)} ${Z(z)}H${edge}l8 ${at[i] - Z(z)}h4` }));
    text(edge + 15, at[i] + 4, up(ups[i]), { "data-of": `${path}.${key}` });
  });
  // Places along the craft, from the datum: the nearest on top.
  const deep = Math.max(low, Z(e.z0), ...at) + 10;
  let y = deep + 12;
  text(X(0) + (narrow ? 6 : -8), y, "datum", { "text-anchor": narrow ? "start" : "end", "font-weight": 650, fill: p.wrong });
  for (const q of levels) {
    y += row;
    const [path,, [x, z], key] = q, t = level(q), tip = X(x), d = Math.sign(x) * Math.min(6, Math.abs(tip - X(0)));
    hair.append(s("path", { d: `M${tip} ${Z(z)}V${y + 5}` }));
    over.append(s("path", { d: `M${X(0)} ${y}H${tip}M${tip - d} ${y - 3}L${tip} ${y}L${tip - d} ${y + 3}`, stroke: p.wrong, "stroke-width": 1.3, fill: "none" }));
    if (narrow) text(Math.max(6, Math.min(X(0) + 6, w - width(t, size, p.font) - 8)), y - 4, t, { "data-of": `${path}.${key}` });
    else text(X(0) - 8, y + 4, t, { "text-anchor": "end", "data-of": `${path}.${key}` });
  }
  hair.append(s("path", { d: `M${X(0)} ${top}V${y + 8}`, stroke: p.wrong }));
  // What else the side shows, each beside its part.
  const room = new Places(2, top - 8, w - 2, deep, taken);
  const around = (mx, my) => [-9, 17, -24, 32, -40, 48, -56, 64].flatMap((dy) => [[mx, my + dy, "middle"], [mx + 14, my + dy], [mx - 14, my + dy, "end"], [mx + 60, my + dy], [mx - 60, my + dy, "end"]]);
  const measure = (path, name) => {
    const d = dimension(path, craft, side);
    if (!d?.from) return;
    const a = P(d.from), b = P(d.to);
    over.append(s("path", { d: `M${a[0]} ${a[1]}L${b[0]} ${b[1]}`, stroke: p.wrong, "stroke-width": 1.3, fill: "none" }));
    beside(path, `${name} ${value(path)}`, around((a[0] + b[0]) / 2, (a[1] + b[1]) / 2), room);
  };
  craft.wings.forEach((q, i) => {
    const [x, z] = P(side.wings[i].sections[0][0]);
    hair.append(s("path", { d: `M${x} ${z}h${0.6 * px}` }));
    beside(`wings[${i}].incidence_deg`, `incidence ${value(`wings[${i}].incidence_deg`)}`, around(x + 0.5 * px, z), room);
    for (const key of ["down_m", "up_m"]) if (q.tip_plates?.[key]) measure(`wings[${i}].tip_plates.${key}`, key === "up_m" ? "plate above" : "plate below");
    q.stations.forEach((t, j) => { if (j && t.le_z_m) measure(`wings[${i}].stations[${j}].le_z_m`, "edge above the root's"); });
  });

  // From above, the starboard half.
  y += 34;
  head(y, "From above, starboard half");
  y += 22;
  const roof = y, Y = (v) => roof + v * px;
  const half = Math.max(...craft.wings.flatMap((q) => q.stations.map((t) => t.y_m))), seen = [];
  body.append(s("path", { d: `M${X(x0)} ${roof}H${edge}`, stroke: p.ink, "stroke-width": 0.9, "stroke-dasharray": "12 3 2 3" }));
  hair.append(s("path", { d: `M${X(0)} ${roof - 8}V${Y(half)}`, stroke: p.wrong }));
  craft.wings.forEach((q, i) => {
    const ends = side.wings[i].sections.map((sec, j) => ({ le: sec[0][0], te: sec[sec.length - 1][0], y: q.stations[j]?.y_m ?? 0 }));
    body.append(s("path", { d: `${line([...ends.map((t) => [X(t.le), Y(t.y)]), ...[...ends].reverse().map((t) => [X(t.te), Y(t.y)])])}Z`, fill: p.ink, "fill-opacity": 0.08, stroke: p.ink, "stroke-width": 1 }));
    q.stations.forEach((t, j) => {
      const at = ends[j], path = `wings[${i}].stations[${j}]`, last = j === q.stations.length - 1;
      over.append(s("path", { d: `M${X(at.le)} ${Y(at.y)}H${X(at.te)}M${X(at.le)} ${Y(at.y) - 3}v6M${X(at.te)} ${Y(at.y) - 3}v6`, stroke: p.wrong, "stroke-width": 1.3 }));
      seen.push({ path, t, at, root: ends[0], last });
      for (const q of across) if (q.wing === i && q.station === j) Object.assign(q, { x: X(at.te), y: Y(at.y) });
    });
  });
  if (craft.pilot) {
    const q = across[across.length - 1], x = X((craft.pilot.x_forward_m + craft.pilot.x_aft_m) / 2), out = Y(craft.pilot.y_m || LEAN);
    over.append(s("path", { d: `M${x} ${roof}V${out}M${x - 3} ${out}h6`, stroke: p.band, "stroke-width": 2, fill: "none" }));
    Object.assign(q, { x, y: out });
  }
  const spread = apart(across.map((q) => q.y), gap, roof + 6, Math.max(Y(half) + 8, roof + gap * across.length));
  across.forEach((q, i) => {
    hair.append(s("path", { d: `M${q.x} ${q.y}H${edge}l8 ${spread[i] - q.y}h4` }));
    text(edge + 15, spread[i] + 4, q.t, { "data-of": q.path });
  });
  y = Math.max(Y(half) + 22, ...spread) + 14;
  const above = new Places(2, roof - 16, w - 2, y, taken);
  for (const { path, t, at, root, last } of seen) {
    beside(`${path}.chord_m`, `${narrow ? "" : "chord "}${tell("length", t.chord_m)}${t.twist_deg ? `, twist ${tell("angle", t.twist_deg)}` : ""}`, around(X((at.le + at.te) / 2), Y(at.y) + (last ? -4 : 4)), above);
    if (!t.le_x_m || at === root) continue;
    over.append(s("path", { d: `M${X(at.le - t.le_x_m)} ${Y(at.y) + 7}H${X(at.le)}M${X(at.le - t.le_x_m)} ${Y(at.y) + 4}v6M${X(at.le)} ${Y(at.y) + 4}v6`, stroke: p.wrong, "stroke-width": 1.3 }));
    beside(`${path}.le_x_m`, `edge ${tell("length", t.le_x_m)} aft`, around(X(at.le - t.le_x_m / 2), Y(at.y) + 8), above);
  }
  const { tow } = craft;
  for (const [path, t] of rest) {
    const [, i, j] = /^wings\[(\d+)\](?:\.stations\[(\d+)\])?/.exec(path);
    text(8, y += gap + 2, `${wingName(craft.wings[i], +i)}${j == null ? "" : `, station ${+j + 1}`}: ${t}`, { "data-of": path });
  }
  if (tow) {
    text(8, y += gap + 2, `The line is ${value("tow.line_m")} long,`, { "data-of": "tow.line_m" });
    text(8, y += gap, `at the boat ${value("tow.boat_height_m")} over the water.`, { "data-of": "tow.boat_height_m" });
  }
  const h = Math.ceil(y + 12);
  return { w, h, svg: s("svg", { width: w, height: h, viewBox: `0 0 ${w} ${h}`, role: "img", "aria-label": `${craft.name || "The craft"} from the side and from above, with its dimensions` }, s("rect", { width: w, height: h, fill: p.paper }), hair, body, over) };
}

/** Puts the dialog to work. */
export function drawings() {
  const sheet = $("drawingSheet"), view = $("drawingView");
  const made = (w, p) => drawing(page.state.now.craft, page.heights.side, page.heights.thickness, w, p);
  const show = (p = page.pal) => { if (view.open && page.heights) draw(sheet, made(Math.max(300, sheet.clientWidth), p).svg); };
  $("drawing").onclick = () => { if (page.heights) { view.showModal(); show(); } };
  $("drawingKeep").onclick = () => download(fileName(page.state.now.craft, "-drawing.svg"), "image/svg+xml", svgText(element(s("svg", { xmlns: "http://www.w3.org/2000/svg", ...made(1000, palette("light")).svg.attrs }, ...made(1000, palette("light")).svg.parts))));
  $("drawingPrint").onclick = () => print();
  $("drawingClose").onclick = () => view.close();
  addEventListener("resize", () => show());
  addEventListener("beforeprint", () => show(palette("light")));
  addEventListener("afterprint", () => show());
}
