// Reading the sweep between its points: what is dragged answers at once, before Go has said a word.

/** The points of a sweep, which the solver sends as a table. */
export const points = ({ columns, rows }) => rows.map((r) => Object.fromEntries(columns.map((c, i) => [c, r[i]])));

/** Every figure of the sweep at a clearance, linear between neighbours; null where one of them has none, and true only where it is true of both. */
export function at(points, clearance_m) {
  const n = points.length;
  if (!n) return null;
  let j = points.findIndex((p) => p.clearance_m >= clearance_m);
  if (j < 0) j = n - 1;
  const b = points[j], a = points[Math.max(0, j - 1)];
  const span = b.clearance_m - a.clearance_m;
  const t = span > 0 ? Math.min(1, Math.max(0, (clearance_m - a.clearance_m) / span)) : 0;
  const out = {};
  for (const k in b) {
    const u = a[k], v = b[k];
    if (typeof v === "boolean" || typeof u === "boolean") out[k] = t < 0.01 ? u : t > 0.99 ? v : u && v; // between two points what holds at both
    else out[k] = u == null || v == null ? (t < 0.01 ? u : t > 0.99 ? v : null) : u + t * (v - u);
  }
  out.clearance_m = clearance_m;
  return out;
}

/** CG with the pilot at x: the pilot's travel maps evenly onto the band. */
export function cgWithPilot(heights, pilot_x_m) {
  const { pilot, band } = heights;
  if (!pilot || !band || pilot_x_m == null) return null;
  const span = pilot.aft_m - pilot.forward_m;
  if (!(span > 0)) return band.forward_m;
  return band.forward_m + (pilot_x_m - pilot.forward_m) / span * (band.aft_m - band.forward_m);
}
