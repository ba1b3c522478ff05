// How far to trust the height to let go: what each thing that the calculation leaves out could do to it, to the lowest
// height, to the pilot's position and to the lift-off, in a dialog.

import { $, page, showShare } from "./page.js";
import { h, write } from "./svg.js";
import { minus } from "./words.js";

/** Puts the dialog to work. Returns {draw, share}: draw() shows what is known now, share(part) how much of what it takes is done, null once that is ready. */
export function trust() {
  let done = 0;
  let drawn = null;

  function draw() {
    const known = document.body.dataset.trust === "known", t = page.heights?.towing?.trust;
    write($("trustShare"), known || done == null ? "" : `(${Math.floor(100 * done)} % done)`);
    if (!$("trustView").open) return;
    showShare($("trustProgress"), known ? null : done ?? 0);
    write($("trustState"), known ? (t ? "" : "A craft without weights or without a tow line has no height to let go yet: fill them in first.")
      : "Still being worked out: the figures above the picture are the calculated ones until then. The page works meanwhile.");
    $("trustSaid").hidden = !t;
    if (!t || drawn === t) return;
    drawn = t;
    $("trustWords").replaceChildren(...[
      t.words, t.lift_off && `Lift-off: ${t.lift_off}.`, t.chop,
      t.calm && "No one can react in time on this craft at this speed, so that it is not to be flown; the height to let go told here is what its wings alone would hold.",
      t.rows.some((r) => /none/.test(r.let_go)) && "None: there may be no height at all at which to tow it. A height that may not be there is not used.",
    ].filter(Boolean).map((text) => h("p", {}, minus(text))));
    const heads = ["Left out", `Let go, ${t.units[0]}`, `Lowest, ${t.units[1]}`, `Pilot, ${t.units[2]}`, `Lift-off, ${t.units[3]}`, "Taken as"];
    $("trustTable").replaceChildren(
      h("caption", {}, "How far each could move the calculated figure: minus is lower, further forward, slower."),
      h("thead", {}, h("tr", {}, heads.map((t) => h("th", { scope: "col" }, t)))),
      h("tbody", {}, t.rows.map((r, i) => h("tr", { class: i === t.rows.length - 1 ? "all" : null }, h("th", { scope: "row" }, r.name[0].toUpperCase() + r.name.slice(1)),
        [r.let_go, r.lowest, r.pilot, r.lift_off, r.source].map((text, j) => h("td", { "data-column": heads[j + 1] }, minus(text)))))));
  }

  $("toTrust").onclick = () => { $("trustView").showModal(); draw(); };
  $("trustClose").onclick = () => $("trustView").close();

  return { draw, share(part) { done = part; draw(); } };
}
