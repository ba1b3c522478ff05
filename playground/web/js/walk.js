// "Why does it run forward?": a walk of eight steps for a student. Each sets the craft, moves one thing, lights a
// curve and says in a few words what is seen, with the live solver's figures. It can be left at any step, with the
// craft as it is, and every step has its own link.

import { $, page } from "./page.js";
import { at } from "./curve.js";
import { write } from "./svg.js";
import { tell } from "./units.js";

const calm = matchMedia("(prefers-reduced-motion: reduce)");
const narrow = matchMedia("(max-width: 920px)");
const HASH = /^#walk=([1-8])$/;
const SECONDS = 2.5; // that a move takes

const length = (v) => tell("length", v), degrees = (v) => tell("angle", v);
/** A figure of the sweep at a clearance. */
const of = (key, c) => at(page.heights.points, c)?.[key];
/** How far a figure goes between two clearances, in words, forward being negative; "does not move" where it does not. */
function run(from, to) {
  if (from == null || to == null) return "is not known here";
  const d = to - from;
  return Math.abs(d) < 0.005 ? "stays where it is" : `moves ${length(Math.abs(d))} ${d < 0 ? "forward" : "aft"}`;
}

// A thin, flat wing: what the water does to it is plain to see; camber alone already moves the lift.
const oneWing = (tandem) => ({ name: "One wing", wings: [{ ...structuredClone(tandem.wings[0]), x_m: 0, z_m: 0, incidence_deg: 0, camber: { height: 0, at: 0.4 }, thickness: 0.04 }] });
const alone = { craft: oneWing, flight: { pitch_deg: 4 }, top: 2 };
const whole = { craft: (c) => structuredClone(c), flight: { pitch_deg: null, pilot_x_m: null }, top: 1 };

/** Steps: the craft and its flight, what moves (a clearance, or a change of the state), the curve lit, the words. */
const STEPS = [
  { title: "A wing in free air", ...alone, clearance: [2, 1.4], lights: "cp_m",
    text: () => `High over the water a wing flies as in free air. Its lift acts at the centre of pressure, ${length(of("cp_m", 2))} aft of its nose, and a little lower it ${run(of("cp_m", 2), of("cp_m", 1.4))}.` },
  { title: "The water's mirror", ...alone, clearance: [1.4, 0.3], lights: "cp_m",
    text: () => `Air cannot pass through the water, so it flows as if a mirrored wing flew upside down below. The nearer the two come, the more each changes the other's flow: from 1.4 m down to 0.3 m the lift goes from ${tell("force", of("lift_n", 1.4))} to ${tell("force", of("lift_n", 0.3))}.` },
  { title: "The cushion and where it pushes", ...alone, clearance: [0.3, 0.08], lights: "cp_m",
    text: () => `Close to the water the air is held up under the wing, and the pressure there reaches further towards its tail. From 0.3 m down to 0.08 m the centre of pressure ${run(of("cp_m", 0.3), of("cp_m", 0.08))}.` },
  { title: "Pitch held: it runs forward", ...alone, top: 1, clearance: [0.08, 1], lights: "cp_m",
    text: () => `Now the same the other way: the pitch is held and the wing rises. The cushion is left behind, and the centre of pressure ${run(of("cp_m", 0.08), of("cp_m", 1))}.` },
  { title: "Trimmed flight", ...whole, held: true, clearance: [0.1, 0.8], lights: "cp_m",
    text() {
      const held = page.pose?.sweep?.length ? run(at(page.pose.sweep, 0.1)?.cp_m, at(page.pose.sweep, 0.8)?.cp_m) : "is not known here";
      return `A craft in flight carries the same weight at every height, so its pitch changes too: from ${degrees(of("pitch_deg", 0.1))} at 0.1 m to ${degrees(of("pitch_deg", 0.8))} at 0.8 m. The pitch moves the lift as well as the height does, so that the two must be taken together: trimmed it ${run(of("cp_m", 0.1), of("cp_m", 0.8))}, with the pitch held it ${held}.`;
    } },
  { title: "The two neutral points", ...whole, clearance: [0.1, 0.6], lights: "pitch_neutral_m height_neutral_m",
    text() {
      const pass = page.heights.lines.self_holding_m;
      return `A change of pitch adds lift at the pitch neutral point, a change of height takes lift away at the height neutral point. While the height neutral point lies ahead, a craft that rises comes down again; ${pass == null ? "in this picture they do not pass each other" : `at ${length(pass)} the order ends, and higher up only the pilot keeps it from rising on`}.`;
    } },
  { title: "Two wings", ...whole, clearance: [0.2, 0.2], lights: "cp_m", change: [(now, t) => { now.craft.wings[1].incidence_deg = +((now.base ??= now.craft.wings[1].incidence_deg) + 1.5 * t).toFixed(2); }],
    text: () => `Two wings share the load, and the lift acts between them. The rear wing is turned nose-up by 1.5°: it takes more of the load, and at 0.2 m the centre of pressure now lies at ${length(of("cp_m", 0.2))}.` },
  { title: "The pilot", ...whole, clearance: [0.2, 0.2], lights: "cp_m", change: [(now, t) => { const p = now.craft.pilot; now.pilot_x_m = +(p.x_forward_m + (p.x_aft_m - p.x_forward_m) * t).toFixed(3); }],
    text: () => `The pilot's place sets where the weight acts, and it must come under the lift. From front to back of the travel the centre of gravity moves ${page.heights.band ? length(page.heights.band.aft_m - page.heights.band.forward_m) : "a little"}; as the lift runs forward, the pilot has to follow it.` },
];

/**
 * Puts the walk to work. set(state, clearance, top) shows a craft and its flight; moveTo(clearance) moves it; edit(change)
 * changes the state; held(on) shows the pitch-held curve; tandem() is the craft of the walk. Returns {take, redraw}:
 * take() begins a walk that the address asks for, true if it does; redraw() writes its words anew.
 */
export function walk({ set, moveTo, edit, held, tandem }) {
  let now = -1, frame = 0, told = 0;

  function stop() { cancelAnimationFrame(frame); frame = 0; }

  /** Moves from 0 to 1; a hand that takes over ends it. */
  function move(go) {
    stop();
    if (calm.matches) return go(1);
    const begun = performance.now(), n = told;
    const tick = (time) => {
      if (n !== told) return;
      const t = Math.min(1, Math.max(0, (time - begun) / 1000 / SECONDS));
      go(t * t * (3 - 2 * t));
      frame = t < 1 ? requestAnimationFrame(tick) : 0;
    };
    frame = requestAnimationFrame(tick);
  }

  function step(n) {
    stop();
    told++;
    now = n;
    const s = STEPS[n], [from, to] = s.clearance;
    $("walk").hidden = false;
    document.body.dataset.walk = String(n + 1);
    document.body.dataset.lights = s.lights;
    write($("walkTitle"), `${n + 1} of ${STEPS.length}: ${s.title}`);
    $("walkBack").disabled = n === 0;
    $("walkNext").textContent = n === STEPS.length - 1 ? "End" : "Next";
    history.replaceState(null, "", `#walk=${n + 1}`);
    held(!!s.held);
    set({ ...s.flight, craft: s.craft(tandem()) }, from, s.top);
    redraw();
    if (narrow.matches) scrollTo({ top: $("picture").getBoundingClientRect().top + scrollY }); // above the walk's words
    const first = {};
    move((t) => {
      if (from !== to) moveTo(from + (to - from) * t);
      for (const change of s.change ?? []) edit((state) => { const w = Object.assign(first, { craft: state.craft }); change(w, t); if ("pilot_x_m" in w) state.pilot_x_m = w.pilot_x_m; });
    });
  }

  function leave() {
    stop();
    told++;
    now = -1;
    $("walk").hidden = true;
    delete document.body.dataset.walk;
    delete document.body.dataset.lights;
    history.replaceState(null, "", location.pathname + location.search);
  }

  function redraw() {
    if (now < 0 || !page.heights) return;
    write($("walkText"), STEPS[now].text());
  }

  $("why").onclick = () => step(0);
  $("walkBack").onclick = () => step(now - 1);
  $("walkNext").onclick = () => (now === STEPS.length - 1 ? leave() : step(now + 1));
  $("walkAgain").onclick = () => step(now);
  $("walkLeave").onclick = leave;
  // A hand on the craft takes over.
  for (const kind of ["pointerdown", "keydown"]) document.addEventListener(kind, (e) => { if (frame && !e.target.closest?.("#walk")) { stop(); told++; } });

  return {
    take() {
      const m = HASH.exec(location.hash);
      if (m) step(+m[1] - 1);
      return !!m;
    },
    redraw,
  };
}
