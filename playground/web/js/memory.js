// What this browser remembers of the craft: the one last shown, with speed, limits, height and units, and those
// that were saved, by name. Nothing of it leaves the browser, and "Forget" throws it away.

import { forget as forgetKey, keep, recall } from "./theme.js";

const LAST = "last", OWN = "own", MOST = 30;

const read = (key) => { try { return JSON.parse(recall(key)); } catch { return null; } };

/** The view last shown, or null. */
export const last = () => read(LAST);

let timer = 0;
/** Remembers a view once the hand rests. view() makes it. */
export function remember(view) {
  clearTimeout(timer);
  timer = setTimeout(() => keep(LAST, JSON.stringify(view())), 250);
}

/** The saved craft, {name: view}. */
export const own = () => read(OWN) ?? {};

/** Keeps a view under its craft's name, the oldest going where there are too many. */
export function keepOwn(view) {
  const all = own(), name = view.craft.name || "craft";
  delete all[name];
  all[name] = view;
  for (const old of Object.keys(all).slice(0, -MOST)) delete all[old];
  keep(OWN, JSON.stringify(all));
}

/** Throws all of it away. */
export function forget() {
  clearTimeout(timer);
  for (const k of [LAST, OWN]) forgetKey(k);
}
