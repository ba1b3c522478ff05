// Every term explained in place: in a text that is shown, the first mention of a term becomes a dotted word that
// opens two sentences, by mouse, touch and keyboard. The text itself stays as it is.

import { $ } from "./page.js";
import { sketch } from "./sketches.js";
import { h } from "./svg.js";

const TERMS = [
  ["centre of pressure", "The place along the craft where all lift together acts. Close to the water it lies aft; as the craft rises it runs forward.", "pressure"],
  ["pitch neutral point", "Where the change of lift acts when the craft pitches. The centre of gravity must lie ahead of it, or a raised nose goes on rising.", "pitch"],
  ["height neutral point", "Where the change of lift acts when the craft rises or sinks. Ahead of the pitch neutral point, it brings a craft that has risen down again.", "height"],
  ["holds its height by itself|holds by itself|hold its height by itself|holding", "A craft that is lifted a little comes down again, and one that is pressed down comes up, with the pilot still. Above its self-holding ceiling only the pilot's moves keep it from rising on.", "holds"],
  ["lifts off|lift-off", "The speed at which the wings carry the whole weight and the floats leave the water. It depends on where the pilot sits.", "liftoff"],
  ["speed window|window", "The speeds between lift-off and the one at which a craft with its pilot still finds no height to hold. A boat must be able to stay within it.", "window"],
  ["react in time|reaction margin|Reaction margin", "How late a pilot may begin to move after the boat has gained speed, for the craft to come to rest and not rise past the let-go height. People need a third to half a second.", "react"],
  ["section's limit|section lift|leave wing", "Beyond a certain lift the air no longer follows a wing's upper side. There the figures of this page are too good to be true.", "section"],
  ["Let go above|let go above|let-go height", "The clearance above which to let the line go at once. It is the lowest of several limits, each less a margin, and the sentence names the one that rules.", "letgo"],
  ["what the calculation leaves out|what that leaves out", "The boat's air, the boundary layer on the wings, the size of the calculation's cells and the like. What each could do, and all at once, stands under “How far to trust it”.", "band"],
  ["dropped tip", "A wing tip that has come down, the craft leaning to that side. Close to the water the air under the low side pushes it up again; higher up the pilot has to.", "bank"],
  ["CG|centre of gravity", "The place where the weight of craft and pilot acts. The pilot moves it by moving along the craft; in steady flight it lies where lift, drag and the line's pull balance.", "gravity"],
  ["datum|Datum", "The point from which all places along the craft are measured, usually the nose. Aft is positive, and so is up.", "datum"],
  ["clearance|Clearance", "The height of the lowest point of the wings above the water.", "clearance"],
  ["ceiling", "A height above which something ends: the craft holding its height, the pilot's travel, or the time to react. The lowest of them, less a margin, is the let-go height.", "ceiling"],
  ["station|Station", "A section of a wing: its chord, its twist, and where it stands. Between two stations the wing is straight.", "station"],
  ["Incidence", "The angle at which a wing is set on the craft, nose-up. It turns the whole wing about its root's leading edge.", "incidence"],
  ["Radius of gyration", "How far from its centre a mass seems to sit when it is turned: the root of its inertia over its mass. Far-out masses make a craft turn slowly.", "gyration"],
];
const FIND = TERMS.map(([words, text, picture]) => ({ find: new RegExp(`\\b(?:${words})(?![\\w-])`, "i"), text, picture }));

let open = null; // the button whose term is shown
const box = () => $("term");

function close() {
  if (!open) return;
  open.setAttribute("aria-expanded", "false");
  open = null;
  box().hidden = true;
}

function show(button, text, picture) {
  const same = open === button;
  close();
  if (same) return;
  open = button;
  button.setAttribute("aria-expanded", "true");
  const b = box(), r = button.getBoundingClientRect();
  b.replaceChildren(sketch(picture), h("p", {}, text));
  b.hidden = false;
  const w = b.offsetWidth, left = Math.max(8, Math.min(innerWidth - w - 8, r.left));
  const below = r.bottom + 6 + b.offsetHeight < innerHeight;
  Object.assign(b.style, { left: `${left + scrollX}px`, top: `${(below ? r.bottom + 6 : r.top - b.offsetHeight - 6) + scrollY}px` });
}

document.addEventListener("keydown", (e) => { if (e.key === "Escape" && open) { const b = open; close(); b.focus(); } });
document.addEventListener("pointerdown", (e) => { if (open && !e.target.closest(".term, #term")) close(); });

/** Makes the terms of an element's text openable, each at its first mention. Nothing is done twice. */
export function explain(e) {
  if (e.querySelector(":scope > .term")) return;
  if (open && !open.isConnected) close();
  for (const { find, text, picture } of FIND) {
    for (const node of [...e.childNodes]) {
      if (node.nodeType !== Node.TEXT_NODE) continue;
      const m = find.exec(node.data);
      if (!m) continue;
      const word = node.splitText(m.index);
      word.splitText(m[0].length);
      const button = h("button", { type: "button", class: "term", "aria-expanded": "false", "aria-controls": "term", onclick: (ev) => { ev.preventDefault(); show(button, text, picture); } }, m[0]);
      word.replaceWith(button);
      break;
    }
  }
}

/** Writes a text, with its terms. */
export function writeTerms(e, text) {
  if (e.textContent === text) return;
  e.textContent = text;
  explain(e);
}
