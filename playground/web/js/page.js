// What the page is about at this moment: one object that its parts read and the edits write. And the one way
// to the solver.

import { Answers } from "./answers.js";
import { State } from "./state.js";
import { at } from "./curve.js";
import { h } from "./svg.js";
import { palette } from "./theme.js";
import { tell, units } from "./units.js";

export const $ = (id) => document.getElementById(id);

/** Clearances, m, between which the solver answers. */
export const LOWEST = 0.05, HIGHEST = 2;

export const page = {
  state: new State(null), // {craft, speed_mps, pitch_deg|null, pilot_x_m|null, limit_m} and its past
  clearance: 0.25, // m, where the craft is shown
  top_m: 1, // m, how far up the picture goes
  heights: null, // the last good answers
  pose: null,
  nearby: [], // where the pilot sits a little slower and faster
  pin: null, // the pinned craft and its flight, as in state
  ghost: null, // what is shown of it: {heights, pose, pilot_x_m}
  held: false, // the curve with the pitch held is shown too
  built: null, // what builds of the craft do, while it is shown
  lit: null, // the number of the craft under the hand: {path, label, kind, get(craft)}
  pal: palette(),
};

/** Shows on a bar how much is done, 0..1: 0 while that is not known, null once nothing is being done. */
export function showShare(bar, share) {
  bar.hidden = share == null;
  bar.firstElementChild.style.width = share ? `${Math.round(100 * Math.min(1, share))}%` : "";
  bar.classList.toggle("unknown", !share);
}

export const answers = new Answers((share) => showShare($("progress"), share));

/** What every question about the present craft carries; a copy, for the craft may be edited while it is asked about. */
export function question() {
  const { craft, speed_mps, pitch_deg, pilot_x_m, limit_m } = page.state.now;
  return structuredClone({ craft, speed_mps, pitch_deg, pilot_x_m, limit_m, clearance_m: page.clearance, top_m: page.top_m, units: units.system });
}

/**
 * The figures at the present clearance: between the sweep's points while the craft is moved, exact once the
 * fine answer for its place is there.
 */
export function shownAt() {
  const { heights, pose, clearance } = page;
  return heights && { ...at(heights.points, clearance), ...(pose?.exact && pose.clearance_m === clearance ? pose : {}) };
}

/** What the height picture draws; with a pitch even where none carries the craft. */
export function view() {
  const { heights, pose, ghost, clearance, state } = page, q = shownAt();
  return {
    heights, side: heights.side, thickness: heights.thickness, at: { ...q, pitch_deg: q.pitch_deg ?? pose.pitch_deg },
    pilot_x_m: state.now.pilot_x_m, line: state.now.craft.tow, craft: state.now.craft,
    built: page.built,
    held: page.held && state.now.pitch_deg == null ? pose.sweep : null, held_deg: pose.pitch_deg,
    lit: page.lit && { path: page.lit.path, label: page.lit.label, text: page.lit.kind === "text" ? "" : tell(page.lit.kind, page.lit.get(state.now.craft)) },
    ghost: ghost && { heights: ghost.heights, side: ghost.heights.side, thickness: ghost.heights.thickness, at: at(ghost.heights.points, clearance) ?? {} },
  };
}

/** A word in passing. */
export function said(text) {
  $("said").textContent = text;
  clearTimeout(said.timer);
  said.timer = setTimeout(() => { $("said").textContent = ""; }, 6000);
}

/** What is wrong with a file or a link; stays until something else is opened or edited. */
export function notice(...texts) {
  $("notice").replaceChildren(...texts.map((t) => h("p", {}, t)));
  $("notice").hidden = !texts.length;
}
