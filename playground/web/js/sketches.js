// Small sketches for the explanations of terms: nose to the left, water below, as in the height picture. Colours
// come from page.css by class, so that they follow day and night.

import { element, s } from "./svg.js";

const W = 220, H = 96, WATER = 80;
const path = (d, kind = "ink", more = {}) => s("path", { d, class: `sk ${kind}`, ...more });
const text = (x, y, t, anchor = "start") => s("text", { x, y, class: "sk", "text-anchor": anchor }, t);
const dot = (x, y, kind) => s("circle", { cx: x, cy: y, r: 4, class: `sk full ${kind}` });
const water = () => path(`M0 ${WATER}H${W}`, "shore");

/** A wing whose nose is at x, y: chord px long, its tail down by so many px. */
const wing = (x, y, chord, down = 8) => path(`M${x} ${y}C${x + 0.1 * chord} ${y - 0.14 * chord} ${x + 0.55 * chord} ${y - 0.1 * chord} ${x + chord} ${y + down}C${x + 0.6 * chord} ${y + 0.5 * down + 2} ${x + 0.2 * chord} ${y + 0.1 * chord} ${x} ${y}Z`, "full ink");
const arrow = (x, y0, y1, kind) => { const d = Math.sign(y1 - y0); return path(`M${x} ${y0}V${y1}M${x - 4} ${y1 - 6 * d}L${x} ${y1}L${x + 4} ${y1 - 6 * d}`, kind); };
/** A dimension between two points, upright or level, with its name. */
const size = (x0, y0, x1, y1) => path(x0 === x1 ? `M${x0} ${y0}V${y1}M${x0 - 4} ${y0}h8M${x1 - 4} ${y1}h8` : `M${x0} ${y0}H${x1}M${x0} ${y0 - 4}v8M${x1} ${y1 - 4}v8`, "wrong");

/** The sketches by name; each is a list of shapes. */
const DRAWN = {
  pressure: () => [water(), wing(40, 60, 130), arrow(96, 48, 10, "cp"), text(104, 16, "lift"), dot(96, 50, "cp")],
  pitch: () => [wing(30, 40, 120, 2), path("M30 40C42 10 96 6 150 22", "faint"), arrow(78, 30, 8, "pitch"), dot(78, 38, "pitch"), text(88, 12, "more lift, nose up")],
  height: () => [water(), wing(30, 62, 120, 4), path("M30 40C42 22 96 26 150 44", "faint"), size(180, 44, 180, 66), dot(110, 58, "height"), arrow(98, 20, 44, "height"), text(104, 16, "less lift, higher up")],
  holds: () => [water(), path("M10 60C40 60 46 26 70 26S110 62 140 60S190 54 212 56", "band"), text(70, 16, "lifted", "middle"), text(214, 48, "comes back", "end")],
  liftoff: () => [water(), path(`M8 ${WATER - 3}H90C130 ${WATER - 4} 150 50 212 46`, "cp"), path(`M90 ${WATER - 14}v22`, "wrong"), text(90, 60, "lift-off", "middle")],
  window: () => [path("M12 62H208", "ink"), path("M70 52v20M150 52v20", "wrong"), path("M70 62H150", "band", { "stroke-width": 6 }), text(70, 44, "lift-off", "middle"), text(150, 44, "no height held", "middle"), text(208, 84, "speed", "end")],
  react: () => [water(), path("M8 62H70C110 60 140 40 190 8", "faint"), path("M70 62C100 60 112 46 140 44S190 58 212 60", "band"), path("M70 30v38", "wrong"), path("M104 30v38", "wrong"), text(70, 24, "upset", "end"), text(104, 24, "pilot moves")],
  section: () => [wing(30, 58, 120, 20), path("M34 46C60 16 96 30 120 20S150 34 166 18", "cp"), path("M92 34c8 -6 14 2 6 6M118 42c8 -6 14 2 6 6", "cp"), text(172, 24, "flow", "start"), text(172, 38, "leaves")],
  letgo: () => [water(), path("M0 34H220", "wrong"), text(214, 28, "let go above", "end"), path("M0 64H220", "band"), text(214, 58, "tow from", "end"), wing(20, 50, 60, 6)],
  band: () => [water(), path("M0 22H220M0 50H220", "faint"), path("M0 50L28 22M28 50L56 22M56 50L84 22M84 50L112 22M112 50L140 22M140 50L168 22M168 50L196 22M196 50L220 26", "wrong", { "stroke-width": 1 }), path("M0 50H220", "wrong"), text(214, 16, "it may end in here", "end"), text(214, 64, "let go above this", "end")],
  bank: () => [water(), path("M24 36L196 68", "ink", { "stroke-width": 4 }), arrow(180, 62, 30, "cp"), arrow(150, 56, 30, "cp"), arrow(40, 36, 22, "cp"), text(60, 20, "from behind"), text(214, 64, "low", "end")],
  gravity: () => [wing(20, 44, 70), wing(150, 30, 50, 6), path("M60 44L160 30", "faint"), arrow(104, 38, 82, "band"), dot(104, 38, "band"), text(112, 80, "weight")],
  datum: () => [wing(40, 56, 110), path("M40 16V88", "shore"), text(44, 24, "datum"), size(40, 78, 110, 78), dot(110, 58, "ink"), text(116, 82, "aft")],
  clearance: () => [water(), wing(32, 44, 120, 14), size(152, 60, 152, WATER), text(158, 74, "clearance")],
  station: () => [path("M30 78L120 20L150 20L110 78Z", "ink"), path("M30 78H110M120 20H150M75 49H130", "wrong"), text(150, 54, "stations")],
  incidence: () => [path("M30 60H190", "faint"), path("M30 60L170 84", "ink"), wing(30, 60, 140, 24), path("M120 60a90 90 0 0 1 -2 15", "wrong"), text(126, 56, "incidence")],
  gyration: () => [path("M20 50H200", "ink"), dot(30, 50, "ink"), dot(190, 50, "ink"), dot(110, 50, "band"), size(110, 70, 190, 70), text(150, 88, "radius", "middle")],
  ceiling: () => [water(), path("M0 36H220", "wrong"), text(6, 30, "ceiling"), path("M60 58c10 -10 20 10 30 0s20 -10 30 0", "band"), path("M140 26C160 22 180 14 200 4", "cp")],
};

/** The sketch of a name as an SVG element. */
export function sketch(name) {
  return element(s("svg", { viewBox: `0 0 ${W} ${H}`, width: W, height: H, class: "sketch", "aria-hidden": "true", "data-sketch": name }, DRAWN[name]()));
}
