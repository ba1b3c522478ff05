// The craft's side view over the water, from sections and points in craft axes (x aft, z up, metres).

const rad = Math.PI / 180;

/** Turns craft axes into water axes at a pitch and a height of the datum: [x along the water, up]. */
export function turner(pitch_deg, height_m) {
  const c = Math.cos(pitch_deg * rad), n = Math.sin(pitch_deg * rad);
  return (x, z) => [x * c + z * n, height_m + z * c - x * n];
}

/** Every point of the wings and their end plates. */
const wingPoints = (side) => side.wings.flatMap((w) => [...w.sections, ...(w.plates ?? [])].flat());

/** Height of the datum at which the lowest point of the wings has the clearance. */
export function heightAt(side, pitch_deg, clearance_m) {
  const turn = turner(pitch_deg, 0);
  return clearance_m - Math.min(...wingPoints(side).map(([x, z]) => turn(x, z)[1]));
}

/** Lengthwise and upward reach of the whole craft in craft axes. */
export function extent(side) {
  const pts = [...wingPoints(side), ...side.floats, ...side.weights.map((w) => [w.x, w.z])];
  if (side.tow) pts.push([side.tow.x, side.tow.z]);
  if (side.pilot) pts.push([side.pilot.forward - 0.5, side.pilot.z - 0.25], [side.pilot.aft + 0.2, side.pilot.z + 0.5]);
  const xs = pts.map((p) => p[0]), zs = pts.map((p) => p[1]);
  return { x0: Math.min(...xs), x1: Math.max(...xs), z0: Math.min(...zs), z1: Math.max(...zs), wing0: Math.min(...wingPoints(side).map((p) => p[1])) };
}

/**
 * Outline, in pixels, of a section whose mean line is given in pixels, thickened as the NACA four-digit
 * sections are (Jacobs, Ward and Pinkerton, NACA Report 460). thickness is the greatest one in chords; it is
 * drawn to the lengthwise scale whatever the scale of heights: the calculation knows only the mean line.
 */
export function outline(mean, thickness) {
  const n = mean.length, [a, b] = [mean[0], mean[n - 1]];
  const chord = Math.abs(b[0] - a[0]) || 1;
  const up = [], down = [];
  for (let i = 0; i < n; i++) {
    const p = mean[Math.max(0, i - 1)], q = mean[Math.min(n - 1, i + 1)];
    const l = Math.hypot(q[0] - p[0], q[1] - p[1]) || 1;
    const nx = -(q[1] - p[1]) / l, ny = (q[0] - p[0]) / l;
    const t = Math.min(1, Math.max(0, (mean[i][0] - a[0]) / (b[0] - a[0] || 1)));
    const y = 5 * Math.max(0.012, thickness || 0) * chord * (0.2969 * Math.sqrt(t) - 0.126 * t - 0.3516 * t ** 2 + 0.2843 * t ** 3 - 0.1036 * t ** 4);
    up.push([mean[i][0] + nx * y, mean[i][1] + ny * y]);
    down.push([mean[i][0] - nx * y, mean[i][1] - ny * y]);
  }
  return [...up, ...down.reverse()];
}
