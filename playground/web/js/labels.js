// Where a label goes: how large a text is, what is already on the sheet, and the first of several places that
// is free. Sizes are measured on a canvas, which makes the browser lay out nothing.

let pen = null;
const widths = new Map(); // of texts whose figures are all one, since figures are all as wide

/** Width, px, of a text in a font of a size. */
export function width(text, size, font) {
  const key = `${size} ${text.replace(/\d/g, "0")}`;
  if (!widths.has(key)) {
    pen ??= document.createElement("canvas").getContext("2d");
    pen.font = `${size}px ${font}`;
    if (widths.size > 2000) widths.clear();
    widths.set(key, pen.measureText(key.slice(key.indexOf(" ") + 1)).width);
  }
  return widths.get(key);
}

/** The box [left, top, right, bottom] of a text whose baseline is at x, y. */
export function box(x, y, text, size, font, anchor = "start") {
  const w = width(text, size, font) + 2, l = anchor === "end" ? x - w : anchor === "middle" ? x - w / 2 : x;
  return [l, y - 0.86 * size, l + w, y + 0.26 * size];
}

const over = (a, b) => Math.min(a[2], b[2]) - Math.max(a[0], b[0]) > 0.5 && Math.min(a[3], b[3]) - Math.max(a[1], b[1]) > 0.5;

/** What is on a sheet from x0, y0 to x1, y1. */
export class Places {
  constructor(x0, y0, x1, y1, taken = []) {
    this.room = [x0, y0, x1, y1];
    this.taken = [...taken];
  }

  take(...boxes) { this.taken.push(...boxes); }

  free(b) {
    const [x0, y0, x1, y1] = this.room;
    return b[0] >= x0 && b[1] >= y0 && b[2] <= x1 && b[3] <= y1 && !this.taken.some((t) => over(t, b));
  }

  /** Takes the first place [x, y, anchor] at which a text is free, and returns it; null where none is. */
  put(text, size, font, places) {
    for (const [x, y, anchor] of places) {
      const b = box(x, y, text, size, font, anchor);
      if (!this.free(b)) continue;
      this.take(b);
      return { x, y, anchor: anchor ?? "start" };
    }
    return null;
  }
}

/** The boxes that a polyline or outline covers, px, in slices no wider than most. */
export function covers(points, most = 16) {
  const xs = points.map((q) => q[0]), lo = Math.min(...xs), hi = Math.max(...xs), n = Math.max(1, Math.ceil((hi - lo) / most));
  const out = [];
  for (let i = 0; i < n; i++) {
    const a = lo + (hi - lo) * i / n, b = lo + (hi - lo) * (i + 1) / n;
    let y0 = Infinity, y1 = -Infinity;
    for (let j = 1; j < points.length; j++) {
      const [p, q] = points[j - 1][0] <= points[j][0] ? [points[j - 1], points[j]] : [points[j], points[j - 1]];
      if (q[0] < a || p[0] > b) continue;
      const at = (x) => (q[0] > p[0] ? p[1] + (x - p[0]) / (q[0] - p[0]) * (q[1] - p[1]) : p[1]);
      const ys = q[0] > p[0] ? [at(Math.max(a, p[0])), at(Math.min(b, q[0]))] : [p[1], q[1]];
      y0 = Math.min(y0, ...ys);
      y1 = Math.max(y1, ...ys);
    }
    if (y1 >= y0) out.push([a, y0, b, y1]);
  }
  return out;
}
