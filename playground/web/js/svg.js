// Making SVG elements. Attributes only, never style text: the page's policy forbids inline style.

const NS = "http://www.w3.org/2000/svg";

/** One SVG element; attributes that are null or undefined are left out. */
export function s(name, attrs = {}, ...children) {
  const e = document.createElementNS(NS, name);
  for (const k in attrs) if (attrs[k] != null) e.setAttribute(k, attrs[k]);
  e.append(...children.flat().filter((c) => c != null));
  return e;
}

/** One HTML element; "on…" keys are listeners, the rest attributes (true: present, false or null: absent). */
export function h(name, attrs = {}, ...children) {
  const e = document.createElement(name);
  for (const k in attrs) {
    const v = attrs[k];
    if (k.startsWith("on")) e.addEventListener(k.slice(2), v);
    else if (v === true) e.setAttribute(k, "");
    else if (v != null && v !== false) e.setAttribute(k, v);
  }
  e.append(...children.flat().filter((c) => c != null));
  return e;
}

/** A path through points, broken wherever a coordinate is missing. */
export function line(points) {
  let d = "", pen = "M";
  for (const [x, y] of points) {
    if (!Number.isFinite(x) || !Number.isFinite(y)) { pen = "M"; continue; }
    d += `${pen}${x.toFixed(1)} ${y.toFixed(1)}`;
    pen = "L";
  }
  return d;
}

/** Text with a halo of the paper colour, so that it stays legible over lines. */
export function words(x, y, text, p, attrs = {}) {
  return s("text", {
    x: x.toFixed(1), y: y.toFixed(1), fill: p.ink, "font-size": 12, "font-family": p.font,
    stroke: p.paper, "stroke-width": 3.5, "stroke-linejoin": "round", "paint-order": "stroke",
    "font-variant-numeric": "tabular-nums", ...attrs,
  }, text);
}

/** About n round tick values within lo..hi. */
export function ticks(lo, hi, n) {
  const span = hi - lo;
  if (!(span > 0) || !Number.isFinite(span)) return { at: [], step: 1, digits: 0 };
  const raw = span / Math.max(1, n);
  const mag = 10 ** Math.floor(Math.log10(raw));
  const step = [1, 2, 2.5, 5, 10].map((m) => m * mag).find((m) => m >= raw * 0.999);
  const at = [];
  for (let i = Math.ceil(lo / step - 1e-9); i * step <= hi + step * 1e-9; i++) at.push(i * step);
  const digits = Math.max(0, -Math.floor(Math.log10(step) + 1e-9) + (Math.abs(step / mag - 2.5) < 1e-9 ? 1 : 0));
  return { at, step, digits };
}
