// Making SVG. Attributes only, never style text: the page's policy forbids inline style.
//
// A picture is described anew each time, as a tree of shapes, and the browser is told only of what has changed
// since the last time: most of a picture stays as it is while a hand moves, and to describe a shape costs a
// small part of what it costs to make its element.

const NS = "http://www.w3.org/2000/svg";

class Shape {
  constructor(name, attrs, parts) {
    this.name = name;
    this.attrs = attrs;
    this.parts = parts.flat().filter((c) => c != null); // shapes, or one text
    this.apart = false;
    this.element = null; // once it is drawn
  }

  append(...more) { this.parts.push(...more); }
}

/** An SVG element, described; attributes that are null or undefined are left out. */
export const s = (name, attrs = {}, ...parts) => new Shape(name, attrs, parts);

/** A group whose inside is drawn apart from the rest of the picture, by draw(its element, …). */
export function layer() {
  const g = s("g");
  g.apart = true;
  return g;
}

/** The shape's element, made anew. */
export function element(shape) {
  const e = shape.element = document.createElementNS(NS, shape.name);
  for (const k in shape.attrs) if (shape.attrs[k] != null) e.setAttribute(k, shape.attrs[k]);
  fill(e, [], shape.parts);
  return e;
}

const drawn = new WeakMap(); // element -> the shapes in it

/** Shows the shapes in an element in place of those that draw put there before. */
export function draw(into, ...shapes) {
  fill(into, drawn.get(into) ?? [], shapes);
  drawn.set(into, shapes);
}

function fill(e, old, now) {
  if (typeof now[0] === "string") {
    if (old[0] !== now[0]) e.textContent = now[0];
    return;
  }
  now.forEach((b, i) => {
    const a = old[i];
    if (!a) e.append(element(b));
    else if (a.name !== b.name || a.apart !== b.apart) a.element.replaceWith(element(b));
    else if (a !== b) become(a, b);
  });
  for (let i = now.length; i < old.length; i++) old[i].element.remove();
}

/** Gives the element of shape a to shape b, which has the same name. */
function become(a, b) {
  const e = b.element = a.element;
  for (const k in a.attrs) if (a.attrs[k] != null && b.attrs[k] == null) e.removeAttribute(k);
  for (const k in b.attrs) if (b.attrs[k] != null && a.attrs[k] !== b.attrs[k]) e.setAttribute(k, b.attrs[k]);
  if (!b.apart) fill(e, a.parts, b.parts);
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

/** Puts a text into an element; one that is there already costs no layout. */
export function write(e, text) { if (e.textContent !== text) e.textContent = text; }

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
