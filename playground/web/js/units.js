// What a number looks like on the page. Everything is SI and degrees inside; a kind of quantity has a
// metric and a US customary face. Factors from NIST SP 811 (foot 0.3048 m, pound 0.45359237 kg, g 9.80665 m/s2).

import { ticks } from "./svg.js";

const ft = 1 / 0.3048, lb = 1 / 0.45359237, lbf = 1 / (0.45359237 * 9.80665);

const FACES = {
  length: { metric: ["m", 1, 2], us: ["ft", ft, 2] },
  mass: { metric: ["kg", 1, 1], us: ["lb", lb, 0] },
  speed: { metric: ["km/h", 3.6, 1], us: ["mph", 3.6 * ft / 5.28, 1] },
  pace: { metric: ["m/s", 1, 2], us: ["ft/s", ft, 2] },
  force: { metric: ["N", 1, 0], us: ["lbf", lbf, 0] },
  moment: { metric: ["N m", 1, 0], us: ["lbf ft", lbf * ft, 0] },
  area: { metric: ["m²", 1, 2], us: ["ft²", ft * ft, 2] },
  pressure: { metric: ["Pa", 1, 0], us: ["lbf/ft²", lbf / (ft * ft), 2] },
  linear: { metric: ["g/m", 1000, 0], us: ["lb/100 ft", 100 * lb / ft, 1] },
  load: { metric: ["N/m", 1, 0], us: ["lbf/ft", lbf / ft, 1] },
  angle: { metric: ["°", 1, 1], us: ["°", 1, 1] },
  share: { metric: ["% chord", 100, 1], us: ["% chord", 100, 1] },
  ratio: { metric: ["", 1, 1], us: ["", 1, 1] },
};
const SPOKEN = { m: "metres", ft: "feet", kg: "kilograms", lb: "pounds", "km/h": "kilometres an hour", mph: "miles an hour", "m/s": "metres a second", "ft/s": "feet a second", N: "newtons", lbf: "pounds of force", "°": "degrees", "m²": "square metres", "ft²": "square feet", "g/m": "grams a metre", "lb/100 ft": "pounds a hundred feet", "% chord": "per cent of the chord" };

/** The present face: "metric" or "us". One page, one face. */
export const units = { system: "metric" };

const face = (kind) => FACES[kind][units.system];
export const unit = (kind) => face(kind)[0];
export const spoken = (kind) => SPOKEN[unit(kind)] ?? unit(kind);
export const digits = (kind) => face(kind)[2];
export const show = (kind, v) => v * face(kind)[1];

/** Back to SI, rounded to a millionth so that what was typed in one face reads the same in it again. */
export const take = (kind, shown) => +(shown / face(kind)[1]).toFixed(6);

/** "0.24 m"; an en dash where there is no value. */
export function tell(kind, v, more = 0) {
  if (v == null || !Number.isFinite(v)) return "–";
  if (inFeet(kind)) return feet(v, 1 + more, "\u00a0ft\u00a0", "\u00a0in");
  return `${bare(kind, v, more)}${gap(kind)}${unit(kind)}`.trim();
}
/** Whether a kind is shown in feet and inches. */
export const inFeet = (kind) => kind === "length" && units.system === "us";

const gap = (kind) => (unit(kind) === "°" ? "" : "\u00a0");

/** A length in feet and inches; below a foot in inches alone. */
function feet(v, decimals, ft_, in_) {
  const all = +(Math.abs(v) * ft * 12).toFixed(decimals), whole = Math.floor(all / 12 + 1e-9), rest = Math.max(0, all - 12 * whole);
  return `${v < 0 && all > 0 ? "−" : ""}${whole ? `${whole}${ft_}` : ""}${rest.toFixed(decimals)}${in_}`;
}

/** A speed in knots of 1852 m/h. */
export const knots = (v) => `${(v * 3600 / 1852).toFixed(1)}\u00a0kn`;

/** The unit that stands beside figures; feet and inches carry their marks themselves. */
export const unitBeside = (kind) => (inFeet(kind) ? "" : unit(kind));

/** A figure where there is no room for its unit: "0.24", or with marks of its own: 1' 6.2". */
export const figure = (kind, v) => (v == null || !Number.isFinite(v) || !inFeet(kind) ? bare(kind, v) : feet(v, 1, "' ", '"'));

/** A length with marks as a tick has it: 6", 1', 1' 6". */
function marks(v, decimals) {
  const all = +(Math.abs(v) * ft * 12).toFixed(decimals), whole = Math.floor(all / 12 + 1e-9), rest = all - 12 * whole;
  return all === 0 ? "0" : `${v < 0 ? "−" : ""}${whole ? `${whole}'` : ""}${whole && rest > 1e-9 ? " " : ""}${rest > 1e-9 ? `${+rest.toFixed(decimals)}"` : ""}`;
}

const INCHES = [0.1, 0.25, 0.5, 1, 2, 3, 6, 12, 24, 36, 60, 120, 240, 600];

/** About n ticks between two values, SI: {at, text} of each; lengths in US units at whole inches and feet. */
export function axis(kind, lo, hi, n) {
  if (!inFeet(kind)) {
    const t = ticks(show(kind, lo), show(kind, hi), n);
    return { at: t.at.map((v) => take(kind, v)), text: t.at.map((v) => v.toFixed(t.digits).replace("-", "−")) };
  }
  const inch = 1 / (12 * ft), step = (INCHES.find((s) => (hi - lo) / (s * inch) <= 1.001 * Math.max(1, n)) ?? INCHES.at(-1)) * inch, at = [];
  for (let i = Math.ceil(lo / step - 1e-9); i * step <= hi + step * 1e-9; i++) at.push(i * step);
  return { at, text: at.map((v) => marks(v, step < 0.2 * inch ? 1 : 2)) };
}

/** The figure alone, with a true minus sign. */
export function bare(kind, v, more = 0) {
  if (v == null || !Number.isFinite(v)) return "–";
  const t = show(kind, v).toFixed(digits(kind) + more);
  return (/^-0\.?0*$/.test(t) ? t.slice(1) : t).replace("-", "−");
}

/** A change, signed; empty when it rounds to nothing. */
export function change(kind, d) {
  if (d == null || !Number.isFinite(d)) return "";
  const t = inFeet(kind) ? feet(Math.abs(d), 1, "' ", '"') : show(kind, Math.abs(d)).toFixed(digits(kind));
  return parse(t) === 0 ? "same" : `${d > 0 ? "+" : "−"}${t}`;
}

/** What stands in a number field: the usual digits, more where the value has them. */
export function field(kind, v, more = units.system === "metric" ? 2 : 1) {
  if (v == null || !Number.isFinite(v)) return "";
  if (inFeet(kind)) return feet(v, 1, "' ", '"').replace("−", "-");
  const d = digits(kind);
  let t = show(kind, v).toFixed(d + more);
  for (let i = 0; i < more && t.endsWith("0"); i++) t = t.slice(0, -1);
  return t.replace(/\.$/, "");
}

/** A value as far as its usual digits show it, SI. */
export const rounded = (kind, v) => (v == null ? v : take(kind, +show(kind, v).toFixed(digits(kind))));

/**
 * A number typed by a person: a comma or a point, a true or a plain minus; null if it is none. Feet and inches, as in
 * 5' 10.9", 5 ft 10.9 in or 70.9 in, are feet; 27 kn is a speed in the page's units.
 */
export function parse(text) {
  const t = text.trim().replace("−", "-").replace(",", ".");
  const m = /^([+-]?)(?:(\d+(?:\.\d+)?)\s*(?:'|’|ft)\s*)?(?:(\d+(?:\.\d*)?)\s*(?:"|”|in))?$/i.exec(t);
  if (m && (m[2] || m[3])) return (m[1] === "-" ? -1 : 1) * (+(m[2] ?? 0) + +(m[3] ?? 0) / 12);
  const k = /^(\d+(?:\.\d+)?)\s*(?:kn|kt|knots?)$/i.exec(t);
  if (k) return show("speed", +k[1] * 1852 / 3600);
  return /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(t) && Number.isFinite(+t) ? +t : null;
}
