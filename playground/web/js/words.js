// What Go says of a craft file, in the words and units of the page: the file's keys by the names of their
// controls, lengths, masses, forces and speeds in the page's units.

import { bare, inFeet, tell, unit } from "./units.js";

const KEYS = {
  x_m: "place aft of the datum", z_m: "height above the datum", y_m: "place out from the centre", chord_m: "chord",
  le_x_m: "edge's place aft of the root's", le_z_m: "edge's height above the root's", twist_deg: "twist", incidence_deg: "incidence",
  mass_kg: "mass", radius_m: "radius of gyration", x_forward_m: "foremost seat", x_aft_m: "aftmost seat", max_shift_mps: "fastest shift",
  boat_height_m: "line's height at the boat", line_m: "line's length", boat_length_m: "boat's waterline", line_stiffness_n: "line's stiffness, EA,", line_mass_kg_per_m: "line's mass along it",
  parasite_area_m2: "parasite drag area", down_m: "tip plate below", up_m: "tip plate above", tip_plates: "tip plates",
};
// Of a unit as a sentence writes it, and as a key ends in it.
const KINDS = { m: "length", kg: "mass", N: "force", n: "force", "m/s": "pace", mps: "pace", m2: "area", deg: "angle" };

const number = "-?\\d+(?:\\.\\d+)?(?:e[+-]?\\d+)?";
const UNITS = "m/s|m2|kg|deg|N|m";

// A figure with as many digits as the sentence gave, or a few in other units.
function figure(kind, text, withUnit) {
  if (inFeet(kind)) return tell(kind, +text);
  const v = +text, [whole, digits = ""] = text.split("."), plain = bare(kind, v);
  const kept = /e/.test(text) || +plain.replace("−", "-") !== v ? bare(kind, v, 2).replace(/(\.\d*?)0+$/, "$1").replace(/\.$/, "") : `${whole}${digits ? `.${digits}` : ""}`.replace("-", "−");
  return withUnit ? `${kept}${unit(kind) === "°" ? "" : "\u00a0"}${unit(kind)}` : kept;
}

/** A text with its minus signs as the page writes them. */
export const minus = (t) => t.replace(/(^|\s)-(?=[\d.])/g, "$1−");

/** A sentence of the solver as the page says it. */
export function inPageWords(text) {
  return text
    .replace(new RegExp(`\\b([a-z]+(?:_[a-z0-9]+)+) is (${number})(?![\\d.])`, "g"), (all, key, v) => {
      const kind = KINDS[key.slice(key.lastIndexOf("_") + 1)];
      return KEYS[key] && kind ? `${KEYS[key]} is ${figure(kind, v, true)}` : all;
    })
    .replace(new RegExp(`between (${number}) and (${number}) (${UNITS})(?![\\w/])`, "g"), (_, a, b, u) => `between ${figure(KINDS[u], a, false)} and ${figure(KINDS[u], b, true)}`)
    .replace(new RegExp(`(^|[^\\w.])(${number}) (${UNITS})(?![\\w/])`, "g"), (_, before, v, u) => `${before}${figure(KINDS[u], v, true)}`)
    .replace(/\b[a-z]+(?:_[a-z0-9]+)+\b/g, (key) => KEYS[key] ?? key.replace(/_(m|kg|deg|mps|n|m2)$/, "").replaceAll("_", " "));
}

/** What is wrong with a figure that lies outside of its range. */
export const outside = (what, kind, v, lo, hi) => `${what} is ${tell(kind, v)}; give one between ${tell(kind, lo)} and ${tell(kind, hi)}.`;
