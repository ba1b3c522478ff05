// What each number of the craft measures, in the side view: two points in craft axes [x aft, z up], m, between
// which its dimension lies, or one point for what lies across the craft.

const lead = (section) => section[0];
const tail = (section) => section[section.length - 1];

/** {from, to, level | upright | along} of a path of the craft file, or {at} for what runs across; null for what is no length. */
export function dimension(path, craft, side) {
  const m = /^(wings|weights|floats)\[(\d+)\]\.(?:stations\[(\d+)\]\.)?(.+)$/.exec(path);
  const place = (key, p) => (/^x/.test(key) ? { from: [0, p[1]], to: p, level: true } : /^z/.test(key) ? { from: [p[0], 0], to: p, upright: true } : null);
  if (m?.[1] === "wings") {
    const w = side.wings[+m[2]], all = w?.sections, n = craft.wings[+m[2]]?.stations.length;
    if (!all) return null;
    const section = m[3] == null ? all[0] : all[Math.round(+m[3] / Math.max(1, n - 1) * (all.length - 1))], root = lead(all[0]), tip = all[all.length - 1];
    switch (m[4]) {
      case "x_m": case "z_m": return place(m[4], root);
      case "chord_m": return { from: lead(section), to: tail(section), along: true };
      case "span": case "y_m": return { at: lead(section) };
      case "le_x_m": { const p = lead(m[3] == null ? tip : section); return { from: [root[0], p[1]], to: p, level: true }; }
      case "le_z_m": { const p = lead(m[3] == null ? tip : section); return { from: [p[0], root[1]], to: p, upright: true }; }
      case "incidence_deg": case "twist_deg": return { from: lead(section), to: tail(section), along: true };
      case "tip_plates.down_m": case "tip_plates.up_m": { const p = tail(tip), v = craft.wings[+m[2]].tip_plates?.[m[4].slice(11)] ?? 0; return { from: p, to: [p[0], p[1] + (m[4].includes("up") ? v : -v)], upright: true }; }
      default: return null;
    }
  }
  if (m?.[1] === "weights") { const w = craft.weights?.[+m[2]]; return w && place(m[4], [w.x_m, w.z_m ?? 0]); }
  if (m?.[1] === "floats") { const f = craft.floats?.[+m[2]]; return f && place(m[4], [f.x_m, f.z_m]); }
  const { pilot, tow } = craft;
  if (pilot && path === "pilot.y_m") return { at: [(pilot.x_forward_m + pilot.x_aft_m) / 2, pilot.z_m ?? 0] };
  if (pilot && path === "pilot.z_m") return place("z", [pilot.x_aft_m, pilot.z_m]);
  if (pilot && /^pilot\.x_/.test(path)) return place("x", [path.includes("aft") ? pilot.x_aft_m : pilot.x_forward_m, pilot.z_m ?? 0]);
  if (tow && /^tow\.[xz]_m$/.test(path)) return place(path.slice(4), [tow.x_m, tow.z_m]);
  return null;
}
