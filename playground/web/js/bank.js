// If a wing drops: the craft from behind over the water, banked by a slider, with the lift along its wings, how near the
// lower tip is, and what the pilot's lean does. The second solver works it out, in a worker of its own that is there
// only while the dialog is open.

import { $, page, question, showShare, shownAt } from "./page.js";
import { Lane, Objection, Overtaken } from "./answers.js";
import { Control } from "./form.js";
import { room } from "./chart.js";
import { Places, box, covers } from "./labels.js";
import { outline } from "./shape.js";
import { draw, h, line, s, words, write } from "./svg.js";
import { tell, units } from "./units.js";
import { inPageWords } from "./words.js";

const rad = Math.PI / 180;
const COLOURS = ["cp", "pitch", "height", "band"]; // of the wings' arrows, in the order of the file
const SEAT = 0.22, HEAD = 0.1; // m: the figure sits so much below the pilot's centre of gravity; its head's radius

/** Between two neighbours of a list that rises by key: {a, b, t}; the nearest one twice outside of it. */
function between(list, key, v) {
  const j = list.findIndex((q) => q[key] >= v);
  if (j <= 0) { const a = j < 0 ? list[list.length - 1] : list[0]; return { a, b: a, t: 0 }; }
  return { a: list[j - 1], b: list[j], t: (v - list[j - 1][key]) / (list[j][key] - list[j - 1][key]) };
}

/** What is known at a bank, degrees: {tip, solved, moment_nm, shift_m, strips}; solved is false beyond what can be calculated. */
export function heldAt(found, bank) {
  const tip = found.tips[Math.min(found.tips.length - 1, Math.round(bank * 10))];
  const { a, b, t } = between(found.banks, "bank_deg", bank), mid = (x, y) => (x == null || y == null ? null : x + t * (y - x));
  return {
    tip, solved: bank <= found.banks[found.banks.length - 1].bank_deg + 1e-9,
    moment_nm: mid(a.moment_nm, b.moment_nm), shift_m: mid(a.shift_m, b.shift_m),
    strips: a.strips.map((q, i) => ({ ...q, n_per_m: mid(q.n_per_m, b.strips[i].n_per_m) })),
  };
}

/** Turns a point of the craft, m, into the picture from behind: [to starboard, over the water], m. */
export function turner(pitch_deg, bank_deg, height_m) {
  const sp = Math.sin(pitch_deg * rad), cp = Math.cos(pitch_deg * rad), sb = Math.sin(bank_deg * rad), cb = Math.cos(bank_deg * rad);
  return (x, y, z) => [y * cb + z * sb, height_m + (z * cb - y * sb) * cp - x * sp];
}

/** The stations of a wing as seen: the highest and the lowest point of each, port tip to starboard tip, and its plates. */
export function seen(craft, side, thickness, turn) {
  return side.wings.map((w, i) => {
    const stations = craft.wings[i].stations, half = (sign) => w.sections.map((mean, j) => {
      const pts = outline(mean, thickness[i]).map(([x, z]) => turn(x, sign * stations[j].y_m, z));
      return pts.reduce(([top, low], q) => [q[1] > top[1] ? q : top, q[1] < low[1] ? q : low], [pts[0], pts[0]]);
    });
    const port = half(-1).reverse(), tip = stations[stations.length - 1].y_m;
    return {
      name: craft.wings[i].name || `wing ${i + 1}`, ends: [...(stations[0].y_m === 0 ? port.slice(0, -1) : port), ...half(1)],
      plates: (w.plates ?? []).flatMap((plate) => [-1, 1].map((sign) => plate.map(([x, z]) => turn(x, sign * tip, z)))),
    };
  });
}

/** The picture, w px wide, as {svg, w, h}; found: the solver's answer with what it was asked about. */
export function front(found, bank, w, p) {
  const { craft, side, thickness, pitch_deg, at } = found, turn = turner(pitch_deg, bank, at.height_m), now = heldAt(at, bank);
  const wings = seen(craft, side, thickness, turn);
  const narrow = w < 560, size = narrow ? 11.5 : 13, half = Math.max(...craft.wings.flatMap((q) => q.stations.map((t) => t.y_m))) * 1.06;
  const px = (w / 2 - 12) / half, arrowMost = narrow ? 54 : 84;
  const largest = Math.max(1e-9, ...at.banks.flatMap((b) => b.strips.map((t) => Math.abs(t.n_per_m)))), long = (t) => t.n_per_m / largest * arrowMost / px;
  const quarter = new Map(craft.wings.map((q) => [q.name, q.x_m + 0.25 * q.stations[0].chord_m]));
  // The sheet keeps its height while the craft is banked: it has room for the highest corner and arrow of any bank, and
  // above them for the wings' names.
  const highest = Math.max(...seen(craft, side, thickness, turner(pitch_deg, at.most_deg, at.height_m)).flatMap((q) => q.ends.flat()).map((q) => q[1]),
    ...at.banks.flatMap((b) => { const to = turner(pitch_deg, b.bank_deg, at.height_m); return b.strips.map((t) => to(quarter.get(t.wing) ?? 0, t.y_m, t.z_m + long(t))[1]); }),
    craft.pilot ? at.height_m + (craft.pilot.z_m ?? 0) + 0.7 : 0);
  const deep = narrow ? 44 : 52, water = Math.round(8 + (size + 5) * wings.length + highest * px), hgt = water + deep;
  const X = (y) => w / 2 + y * px, Y = (z) => water - z * px, P = ([y, z]) => [X(y), Y(z)];
  const g = s("g"), over = s("g"), taken = [];

  g.append(s("rect", { width: w, height: hgt, fill: p.paper }));
  for (const [i, q] of wings.entries()) {
    const shape = [...q.ends.map((e) => P(e[0])), ...q.ends.map((e) => P(e[1])).reverse()];
    g.append(s("path", { d: `${line(shape)}Z`, fill: p.ink, "fill-opacity": 0.8, stroke: p.ink, "stroke-width": 1, "stroke-linejoin": "round", "data-wing": q.name }));
    taken.push(...covers([...shape, shape[0]]));
    for (const plate of q.plates) g.append(s("path", { d: `${line(plate.map(P))}Z`, fill: p.ink, stroke: p.ink, "stroke-width": 2.4 }));
    for (const plate of q.plates) taken.push(...covers(plate.map(P), 8));
    // Lift along the span, square to the wing.
    if (!now.solved) continue;
    const wing = craft.wings[i], colour = p[COLOURS[i % COLOURS.length]], x = quarter.get(wing.name);
    const mine = now.strips.filter((t) => t.wing === wing.name), tips = [];
    for (const t of mine) {
      const a = P(turn(x, t.y_m, t.z_m)), b = P(turn(x, t.y_m, t.z_m + long(t)));
      const l = Math.hypot(b[0] - a[0], b[1] - a[1]) || 1, ux = (b[0] - a[0]) / l, uy = (b[1] - a[1]) / l, n = Math.min(6, 0.5 * l);
      over.append(s("path", { d: `M${a[0].toFixed(1)} ${a[1].toFixed(1)}L${b[0].toFixed(1)} ${b[1].toFixed(1)}M${(b[0] - n * ux + 0.6 * n * uy).toFixed(1)} ${(b[1] - n * uy - 0.6 * n * ux).toFixed(1)}L${b[0].toFixed(1)} ${b[1].toFixed(1)}L${(b[0] - n * ux - 0.6 * n * uy).toFixed(1)} ${(b[1] - n * uy + 0.6 * n * ux).toFixed(1)}`, stroke: colour, "stroke-width": 1.5, fill: "none", "stroke-linecap": "round", "data-lift": wing.name }));
      tips.push([t.y_m, ...b]);
      taken.push(...covers([a, b], 8));
    }
    q.tips = tips.sort((a, b) => a[0] - b[0]);
    q.colour = colour;
  }
  // The pilot, who leans as far as holds the bank, if that is within what they can.
  const pilot = craft.pilot, lean = now.solved && now.shift_m != null && Math.abs(now.shift_m) <= at.lean_m ? now.shift_m : 0;
  let head = null;
  if (pilot) {
    const x = (pilot.x_forward_m + pilot.x_aft_m) / 2, z = pilot.z_m ?? 0, spot = (y, up) => P(turn(x, y, z + up)), seat = spot(0, -SEAT);
    head = spot(lean * 1.9, 0.5);
    const bar = [spot(-at.lean_m, -SEAT), spot(at.lean_m, -SEAT)];
    over.append(s("path", { d: line(bar), stroke: p.band, "stroke-width": 3, "stroke-linecap": "round", fill: "none" }),
      s("path", { d: line([seat, spot(lean, 0.12), spot(lean * 1.6, 0.34)]), stroke: p.ink, "stroke-width": Math.max(4, 0.14 * px), "stroke-linecap": "round", "stroke-linejoin": "round", fill: "none" }),
      s("circle", { cx: head[0], cy: head[1], r: Math.max(4, HEAD * px), fill: p.ink }));
    taken.push([Math.min(seat[0], head[0]) - 0.14 * px, head[1] - HEAD * px, Math.max(seat[0], head[0]) + 0.14 * px, seat[1] + 4]);
  }
  // The water covers what reaches under it.
  g.append(s("rect", { x: 0, y: water, width: w, height: deep, fill: p.water, "fill-opacity": 0.8 }), s("line", { x1: 0, x2: w, y1: water, y2: water, stroke: p.shore, "stroke-width": 1.6 }));
  taken.push([0, water - 1, w, water + 1]);

  // How near the lower tip is.
  const corners = (q) => [...q.ends.flat(), ...q.plates.flat()], foot = (q) => corners(q).reduce((a, b) => (b[1] < a[1] ? b : a));
  const deepest = wings.reduce((a, q) => (foot(q)[1] < foot(a)[1] ? q : a)), low = foot(deepest), [lx] = P(low), ly = Y(Math.max(0, now.tip.m));
  over.append(s("path", { d: `M${lx} ${ly}V${water}M${lx - 5} ${ly}h10M${lx - 5} ${water}h10`, stroke: p.wrong, "stroke-width": 2, fill: "none", "data-tip": "" }));
  taken.push([lx - 6, ly - 1, lx + 6, water + 1]);
  const places = new Places(2, 2, w - 2, hgt - 2, taken);
  const name = (text, spots, attrs) => {
    const found = places.put(text, size * (attrs?.["font-weight"] ? 1.06 : 1), p.font, spots);
    if (found) over.append(words(found.x, found.y, text, p, { "font-size": size, "text-anchor": found.anchor, "data-text": "", ...attrs }));
  };
  // At a small bank the middle may still be the lowest.
  const lowest = bank && Math.abs(low[0]) > 0.5 * Math.max(...corners(deepest).map((q) => Math.abs(q[0]))) ? "lower tip" : "lowest point";
  const row = (y) => [[lx + 8, y], [lx - 8, y, "end"], [w - 6, y, "end"], [6, y]];
  name(`${lowest} ${now.tip.words} over the water`, [...row(water + size + 6), ...row(water + 2 * size + 8)], { fill: p.wrong, "font-weight": 650, "data-tip-name": "" });
  for (const q of wings) {
    if (!q.tips?.length) continue;
    const spots = [];
    for (const [, x, y] of [...q.tips, ...[...q.tips].reverse()]) for (const dy of [-6, -20, -34]) spots.push([Math.max(6, x), y + dy], [Math.min(w - 6, x), y + dy, "end"]);
    for (let y = size + 2; y < water; y += 10) spots.push([6, y], [w - 6, y, "end"]);
    name(`lift of the ${/\bwing\b/i.test(q.name) ? q.name : `${q.name} wing`}`, spots, { fill: q.colour, "font-weight": 650 });
  }
  if (head) name(lean ? `leans ${tell("length", Math.abs(lean))} to the ${lean > 0 ? "low" : "high"} side` : "pilot", [0, 14, -14, 28, -28, 42, -42].flatMap((d) => [[head[0] + 0.3 * px + 6, head[1] + d], [head[0] - 0.3 * px - 6, head[1] + d, "end"]]), { fill: p.ink });
  name("port", [[6, water - 6], [6, hgt - 6]], { fill: p.ink });
  name("starboard", [[w - 6, water - 6, "end"], [w - 6, hgt - 6, "end"]], { fill: p.ink });
  return { w, h: hgt, svg: s("svg", { width: w, height: hgt, viewBox: `0 0 ${w} ${hgt}`, role: "img", "aria-label": `${craft.name || "The craft"} from behind, banked ${tell("angle", bank)} to starboard: ${lowest} ${now.tip.words} over the water` }, g, over) };
}

/** What happens at a bank, in words. */
function told(at, bank) {
  const q = heldAt(at, bank);
  if (!q.solved) return "The lower side is too close to the water here for anything to be calculated.";
  if (!(bank > 0)) return "Level: slide to let a wing drop.";
  const by = tell("moment", Math.abs(q.moment_nm)), out = [q.moment_nm > 0 ? `Left alone at ${tell("angle", bank)} it comes up again, with ${by}.` : `Left alone at ${tell("angle", bank)} it drops further, with ${by}.`];
  if (q.shift_m != null) {
    const far = Math.abs(q.shift_m), way = q.shift_m > 0 ? "low" : "high";
    out.push(far > at.lean_m ? `To hold it there the pilot would have to lean ${tell("length", far)} to the ${way} side, further than they can (${tell("length", at.lean_m)}).`
      : `To hold it there the pilot leans ${tell("length", far)} to the ${way} side.`);
  }
  return out.join(" ");
}

/** Puts the dialog to work. */
export function banks() {
  const view = $("bankView"), sheet = $("bankSheet");
  let lane = null, found = null, righting = null, asked = "", bank = 0;

  const control = new Control({ path: "bank_deg", label: "Bank, starboard side down", kind: "angle", range: [0, 5, 0.1], plain: true }, (v) => {
    if (!found || !(v >= 0 && v <= found.at.most_deg + 1e-6)) return found ? `The bank is ${tell("angle", v)}; give one between 0 and ${tell("angle", found.at.most_deg)}.` : "The craft is still being worked out.";
    bank = v;
    show();
  }, () => {});
  $("bankAngle").append(control.root);

  function show() {
    if (!view.open || !found) return;
    draw(sheet, front(found, bank, room(sheet, 300).w, page.pal).svg);
    write($("bankNow"), told(found.at, bank));
  }

  function texts() {
    const { at, speed_mps, clearance_m, pitch_deg } = found, c = righting?.words[units.system];
    write($("bankOf"), `${found.craft.name || "The craft"} at ${tell("speed", speed_mps)}, ${pitch_deg < 0 ? "nose down" : "nose up"} ${tell("angle", Math.abs(pitch_deg))}, ${tell("length", clearance_m)} clear before it banks: the page's own, held here.`);
    $("bankSaid").replaceChildren(...[c ? `At this pitch ${c}.` : "", at.touches, at.righting, at.leaning, at.too_close, at.corrected].filter(Boolean).map((t, i) => h("p", i || !c ? {} : { class: "verdict" }, t)));
  }

  function progress(what, share) {
    showShare($("bankProgress"), share ?? 0);
    write($("bankState"), `${what} …`);
  }

  async function work() {
    const now = question(), q = shownAt(), pitch_deg = q?.pitch_deg ?? page.pose?.pitch_deg;
    const what = { craft: now.craft, speed_mps: now.speed_mps, limit_m: now.limit_m, clearance_m: page.clearance, pitch_deg: pitch_deg ?? 0, units: units.system, fidelity: "fine" };
    const key = JSON.stringify(what);
    if (key === asked && found && righting) { texts(); return show(); } // the last one still holds
    asked = key;
    found = righting = null;
    draw(sheet);
    $("bankSaid").replaceChildren();
    $("bankProblem").hidden = true;
    write($("bankNow"), "");
    write($("bankOf"), "");
    let doing = "";
    const mine = lane = new Lane(() => { if (mine === lane && lane.running) progress(doing, lane.share); }, "changes");
    try {
      doing = "Solving for the whole craft, banked";
      progress(doing, 0);
      const at = await lane.ask("bank", { id: 1, ask: "bank", ...what });
      found = { at, craft: what.craft, side: page.heights.side, thickness: page.heights.thickness, speed_mps: what.speed_mps, clearance_m: what.clearance_m, pitch_deg: what.pitch_deg };
      bank = Math.min(2, Math.round(5 * at.most_deg) / 10);
      control.reface([0, Math.max(0.1, at.most_deg), 0.1]);
      control.show(bank);
      texts();
      show();
      doing = "Looking at which heights a dropped tip comes up again";
      progress(doing, 0);
      righting = await lane.ask("righting", { id: 2, ask: "righting", ...what });
      texts();
    } catch (e) {
      if (e instanceof Overtaken) return;
      if (!(e instanceof Objection)) throw e;
      $("bankProblem").replaceChildren(...e.problems.map((p) => h("p", {}, inPageWords(p.text))));
      $("bankProblem").hidden = false;
    } finally {
      if (mine === lane) end();
    }
  }

  function end() {
    lane?.stop();
    lane = null;
    $("bankProgress").hidden = true;
    write($("bankState"), "");
  }

  $("bank").onclick = () => { if (page.heights) { view.showModal(); work(); } };
  $("bankClose").onclick = () => view.close();
  view.addEventListener("close", end);
  addEventListener("resize", show);
  // A mouse pulls a wing down and up as a hand would; for a finger, which scrolls, there is the slider.
  let pull = null;
  sheet.addEventListener("pointerdown", (e) => {
    if (!found || e.pointerType === "touch" || e.button !== 0) return;
    sheet.setPointerCapture(e.pointerId);
    pull = { y: e.clientY, from: bank, arm: e.clientX - sheet.getBoundingClientRect().left - sheet.clientWidth / 2 };
  });
  sheet.addEventListener("pointermove", (e) => {
    if (!pull) return;
    const turned = Math.atan((e.clientY - pull.y) / Math.max(60, Math.abs(pull.arm))) / rad * Math.sign(pull.arm || 1);
    bank = Math.round(10 * Math.min(found.at.most_deg, Math.max(0, pull.from + turned))) / 10;
    control.show(bank);
    show();
  });
  for (const end of ["pointerup", "pointercancel", "lostpointercapture"]) sheet.addEventListener(end, () => { pull = null; });
}
