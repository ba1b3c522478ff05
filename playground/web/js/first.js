// First craft: a way in for a builder with a tape measure. Eight questions, each with a sketch; the craft on the page
// is a whole one from the first question on, and every answer shows in the picture at once. At the end: the card.

import { $, answers, page, question } from "./page.js";
import { Objection, Overtaken } from "./answers.js";
import { Control } from "./form.js";
import { get, set } from "./craft.js";
import { sketch } from "./sketches.js";
import { h, write } from "./svg.js";

/** The craft to begin with: invented round figures, to be replaced one by one. */
const blank = () => ({
  name: "First craft",
  wings: [
    { name: "front", x_m: 0, z_m: 0, incidence_deg: 6, stations: [{ y_m: 0, chord_m: 1.6 }, { y_m: 2.5, chord_m: 1.6 }], camber: { height: 0.03, at: 0.4 }, thickness: 0.12 },
    { name: "rear", x_m: 3.6, z_m: 0.3, incidence_deg: 3, stations: [{ y_m: 0, chord_m: 1.4 }, { y_m: 2.5, chord_m: 1.4 }], camber: { height: 0.03, at: 0.4 }, thickness: 0.12 },
  ],
  pilot: { mass_kg: 80, x_forward_m: 0.9, x_aft_m: 1.7, z_m: 0.4 },
  weights: [{ name: "structure", mass_kg: 70, x_m: 2.2, z_m: 0.1 }],
  tow: { x_m: 0.3, z_m: 0.05, boat_height_m: 1, line_m: 30, boat_length_m: 5 },
  floats: [{ x_m: 0.4, z_m: -0.3 }, { x_m: 3.9, z_m: -0.3 }],
  parasite_area_m2: 0.3,
});

const tip = (w) => w.stations[w.stations.length - 1];
const plain = (path, label, kind, range) => ({ path, label, kind, range, get: (c) => get(c, path), set: (c, v) => set(c, path, v) });
const wing = (i) => [
  { path: `wings[${i}].span`, label: "Span, tip to tip", kind: "length", range: [0.5, 8, 0.02], get: (c) => 2 * tip(c.wings[i]).y_m, set: (c, v) => { tip(c.wings[i]).y_m = +(v / 2).toFixed(6); } },
  { path: `wings[${i}].stations[0].chord_m`, label: "Chord, front edge to back edge", kind: "length", range: [0.1, 3, 0.01], get: (c) => c.wings[i].stations[0].chord_m, set: (c, v) => { for (const t of c.wings[i].stations) t.chord_m = v; } },
];
const place = [-2, 8, 0.01], up = [-0.6, 1.2, 0.01];

const QUESTIONS = [
  { title: "How large is the front wing?", sketch: "station", text: "Measure it from above, flat on the ground. All places are measured from its front edge, the datum.", fields: wing(0) },
  { title: "How large is the rear wing?", sketch: "station", text: "The same for the wing behind.", fields: wing(1) },
  { title: "Where is the rear wing?", sketch: "datum", text: "From front edge to front edge along the craft, and how much higher it sits.", fields: [plain("wings[1].x_m", "Aft of the datum", "length", place), plain("wings[1].z_m", "Above the datum", "length", up)] },
  { title: "How steep are the wings?", sketch: "incidence", text: "Set the craft level and lay an angle gauge on each wing, from front edge to back edge.", fields: [plain("wings[0].incidence_deg", "Front wing, nose-up", "angle", [-5, 15, 0.1]), plain("wings[1].incidence_deg", "Rear wing, nose-up", "angle", [-5, 15, 0.1])] },
  { title: "What does it weigh?", sketch: "gravity", text: "Set the empty craft level on two scales, write down where each stands and what it reads, as in 0.40:34.5,4.40:36.1 with metres and kilograms (inches and pounds in US units). Leave it empty to keep the figure shown.", fields: [], scales: true },
  { title: "Where does the pilot sit?", sketch: "gravity", text: "The pilot's own centre of gravity, about the navel, sitting as far forward and as far back as the craft lets them.", fields: [plain("pilot.mass_kg", "Pilot's mass", "mass", [30, 140, 0.5]), plain("pilot.x_forward_m", "Foremost, aft of the datum", "length", place), plain("pilot.x_aft_m", "Aftmost, aft of the datum", "length", place), plain("pilot.z_m", "Above the datum", "length", up)] },
  { title: "Where is it towed?", sketch: "datum", text: "The ring that the line is tied to, the line, and how high over the water it leaves the boat.", fields: [plain("tow.x_m", "Ring, aft of the datum", "length", place), plain("tow.z_m", "Ring, above the datum", "length", up), plain("tow.line_m", "Line's length", "length", [5, 80, 0.5]), plain("tow.boat_height_m", "Line's height at the boat", "length", [0, 4, 0.05])] },
  { title: "Where are the floats?", sketch: "liftoff", text: "The lowest point of the front and of the rear floats. Below the datum is negative.", fields: [plain("floats[0].x_m", "Front, aft of the datum", "length", place), plain("floats[0].z_m", "Front, above the datum", "length", up), plain("floats[1].x_m", "Rear, aft of the datum", "length", place), plain("floats[1].z_m", "Rear, above the datum", "length", up)] },
];

/**
 * Puts the way in to work. put(craft) shows a new craft; edit(change) changes the present one and settle() ends the
 * change; card() shows the tow card. Returns {object, show}: object(problems) shows what is wrong beside its field
 * and returns the rest, show() puts the craft's figures into the fields.
 */
export function firstCraft({ put, edit, settle, card }) {
  let now = -1, controls = [];

  function ask(n) {
    now = n;
    const q = QUESTIONS[n];
    $("first").hidden = false;
    document.body.dataset.first = String(n + 1);
    write($("firstTitle"), `${n + 1} of ${QUESTIONS.length}: ${q.title}`);
    write($("firstText"), q.text);
    controls = q.fields.map((f) => {
      const c = new Control(f, (v) => edit((craft) => f.set(craft, v)), settle);
      c.f.get = f.get;
      return c;
    });
    $("firstFields").replaceChildren(...controls.map((c) => c.root), ...(q.scales ? [scales()] : []));
    $("firstSketch").replaceChildren(sketch(q.sketch));
    $("firstBack").disabled = n === 0;
    $("firstNext").textContent = n === QUESTIONS.length - 1 ? "Tow card" : "Next";
    show();
    if (matchMedia("(max-width: 920px)").matches) scrollTo({ top: $("picture").getBoundingClientRect().top + scrollY }); // above the question
    $("firstTitle").focus({ preventScroll: true });
  }

  /** The field for what the scales read; the solver makes weights of it. */
  function scales() {
    const error = h("p", { class: "problem", id: "first-scales-e", role: "alert" });
    const box = h("input", { type: "text", class: "text", id: "first-scales", spellcheck: "false", "aria-describedby": "first-scales-e", onchange: async () => {
      if (!box.value.trim()) return write(error, "");
      try {
        const a = await answers.ask("weigh", { ...question(), scales: box.value, raised: "", angle_deg: 15, swing_s: 0, pivot_m: 0 });
        write(error, "");
        box.removeAttribute("aria-invalid");
        if (a.craft) { edit((craft) => { craft.weights = a.craft.weights; }); settle(); }
      } catch (e) {
        if (e instanceof Overtaken) return;
        if (!(e instanceof Objection)) throw e;
        write(error, e.problems.map((p) => p.text).join(" "));
        box.setAttribute("aria-invalid", "true");
      }
    } });
    return h("div", { class: "control" }, h("label", { for: "first-scales" }, "Scales, place:reading"), box, error);
  }

  function show() { for (const c of controls) c.show(c.f.get(page.state.now.craft)); }

  function leave() {
    now = -1;
    controls = [];
    $("first").hidden = true;
    delete document.body.dataset.first;
  }

  $("begin").onclick = () => { put(blank()); ask(0); };
  $("firstBack").onclick = () => ask(now - 1);
  $("firstNext").onclick = () => { if (now === QUESTIONS.length - 1) { leave(); card(); } else ask(now + 1); };
  $("firstLeave").onclick = leave;

  return {
    show() {
      if (now < 0) return;
      const { wings, pilot, tow, floats } = page.state.now.craft;
      // Undone, or another craft: the questions are about one that has all these parts.
      if (wings.length < 2 || !pilot || !tow || (floats ?? []).length < 2) leave(); else show();
    },
    object(problems) {
      const mine = (p) => controls.find((c) => c.f.path === p.path || (c.f.path.endsWith(".span") && p.path.startsWith(c.f.path.replace("span", "stations")) && p.path.endsWith("y_m")));
      for (const c of controls) c.say(problems.filter((p) => mine(p) === c).map((p) => p.text).join(" "));
    },
  };
}
