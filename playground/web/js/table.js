// Pictures as tables, for readers who cannot or would rather not look.

import { h } from "./svg.js";
import { bare, unit } from "./units.js";

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

/** The sweep over height; places are metres (feet) aft of the datum. */
export function sweepTable(heights, caption) {
  const head = [...COLUMNS.map(([, name, kind]) => (unit(kind) ? `${name}, ${unit(kind)}` : name)), "Height-stable", "In the pilot's reach"];
  const yes = (v) => (v == null ? "–" : v ? "yes" : "no");
  return table(caption, head, heights.points.map((q) => [...COLUMNS.map(([key, , kind]) => bare(kind, q[key])), yes(q.stable), yes(q.reachable)]));
}

/** Span loads of every surface. */
export const spanTable = (pose) => table("Lift along the span, starboard half", ["Place", `From the centreline, ${unit("length")}`, `Lift along the span, ${unit("load")}`, "Section lift coefficient"],
  pose.spans.flatMap((q) => q.y_m.map((y, i) => [q.surface, bare("length", y), bare("load", q.lift_n_per_m[i]), q.cl[i] == null ? "–" : q.cl[i].toFixed(2)])));
