// Pictures as tables, for readers who cannot or would rather not look.

import { h } from "./svg.js";
import { figure, unit, unitBeside } from "./units.js";

const COLUMNS = [
  ["clearance_m", "Clearance", "length"], ["height_m", "Datum's height", "length"], ["pitch_deg", "Pitch", "angle"],
  ["lift_n", "Lift", "force"], ["drag_n", "Drag", "force"], ["l_over_d", "Lift/drag", "ratio"],
  ["cp_m", "Centre of pressure", "length"], ["pitch_neutral_m", "Pitch neutral point", "length"], ["height_neutral_m", "Height neutral point", "length"],
  ["cg_needed_m", "CG needed", "length"], ["pilot_needed_m", "Pilot needed at", "length"], ["line_n", "Line's pull", "force"],
];

/** A table; rows of cells, the first of each row its header. */
export function table(caption, head, rows) {
  return h("table", {}, h("caption", {}, caption),
    h("thead", {}, h("tr", {}, head.map((t) => h("th", { scope: "col" }, t)))),
    h("tbody", {}, rows.map((r) => h("tr", {}, r.map((c, i) => (i ? h("td", {}, c) : h("th", { scope: "row" }, c)))))));
}

/** A column's name with the unit of its figures. */
const named = (name, kind) => (unitBeside(kind) ? `${name}, ${unitBeside(kind)}` : name);

/** The sweep over height; places are aft of the datum. */
export function sweepTable(heights, caption) {
  const head = [...COLUMNS.map(([, name, kind]) => named(name, kind)), "Height-stable", "In the pilot's reach"];
  const yes = (v) => (v == null ? "–" : v ? "yes" : "no");
  return table(caption, head, heights.points.map((q) => [...COLUMNS.map(([key, , kind]) => figure(kind, q[key])), yes(q.stable), yes(q.reachable)]));
}

/** Span loads of every surface. */
export const spanTable = (pose) => table("Lift along the span, starboard half", ["Place", named("From the centreline", "length"), `Lift along the span, ${unit("load")}`, "Section lift coefficient"],
  pose.spans.flatMap((q) => q.y_m.map((y, i) => [q.surface, figure("length", y), figure("load", q.lift_n_per_m[i]), q.cl[i] == null ? "–" : q.cl[i].toFixed(2)])));

/** Pressures of every wing: a row across the wing for every strip along it, a column for every row from nose to tail. */
export function pressureTables(pose) {
  const pct = (v) => `${(100 * v).toFixed(0)}`;
  return pose.plan.map((q) => {
    const strips = [];
    for (let i = 0; i < q.cells.length; i += q.rows) strips.push(q.cells.slice(i, i + q.rows));
    // The chord's share that a cell covers is the same along the span.
    const share = (c, first) => (c.corners[1][0] - c.corners[0][0]) / (first[first.length - 1].corners[1][0] - first[0].corners[0][0]);
    let past = 0;
    const head = strips[0].map((c) => { const from = past; past += share(c, strips[0]); return `${pct(from)} to ${pct(past)} % of the chord, ${unit("pressure")}`; });
    return table(`${q.surface}: pressure below less above, starboard half`, [named("From the centreline", "length"), ...head],
      strips.map((row) => [`${figure("length", row[0].corners[0][1])} to ${figure("length", row[0].corners[3][1])}`, ...row.map((c) => figure("pressure", c.pressure_pa))]));
  });
}
