// The craft file as the page edits it: paths into it, and every control a builder has, with unit and range.

/** "wings[0].stations[1].chord_m" -> ["wings", 0, "stations", 1, "chord_m"]. */
export const keys = (path) => (path.match(/[^.[\]]+/g) ?? []).map((k) => (/^\d+$/.test(k) ? +k : k));

export const get = (craft, path) => keys(path).reduce((o, k) => o?.[k], craft);

export function set(craft, path, v) {
  const ks = keys(path), last = ks.pop();
  let o = craft;
  ks.forEach((k, i) => { o[k] ??= typeof (ks[i + 1] ?? last) === "number" ? [] : {}; o = o[k]; });
  o[last] = v;
}

const rad = Math.PI / 180;
const tan = (d) => Math.tan(d * rad);
const tidy = (v) => +v.toFixed(6);
const tipOf = (w) => w.stations[w.stations.length - 1];

/** Range of a control in SI: [least, most, step]. A value outside simply widens the slider. */
const R = {
  place: [-2, 8, 0.01], up: [-0.6, 1.2, 0.01], chord: [0.1, 3, 0.01], half: [0.1, 5, 0.01], span: [0.5, 8, 0.02],
  incidence: [-5, 15, 0.1], twist: [-6, 6, 0.1], sweep: [-30, 50, 0.5], dihedral: [-20, 20, 0.5],
  camber: [0, 0.09, 0.001], camberAt: [0.1, 0.8, 0.01], thick: [0.02, 0.2, 0.002], plate: [0, 0.6, 0.005],
  mass: [0, 200, 0.5], pilot: [30, 140, 0.5], boat: [0, 4, 0.05], line: [5, 80, 0.5], hull: [2, 15, 0.1], area: [0, 2, 0.01], gyration: [0, 3, 0.01], shift: [0, 2, 0.05], lean: [0.01, 0.6, 0.01], stiff: [0, 100000, 500], linear: [0, 0.2, 0.001],
};

/** How far the solver takes a pilot to lean to either side whose file does not tell, m. */
export const LEAN = 0.15;

/** What the solver takes a line to weigh whose file does not tell, kg per m. */
export const LINE = 0.045;

const simple = (path, label, kind, range, fallback) => ({
  path, label, kind, range,
  get: (c) => get(c, path) ?? fallback,
  set: (c, v) => set(c, path, v),
});

/** A shear of all stations: the value is the tip's, and kinks between the stations stay. */
const shear = (i, key, label, range) => ({
  path: `wings[${i}].${key}`, also: `wings[${i}].stations`, label, kind: "angle", range,
  get(c) { return +this.exact(c).toFixed(1); }, // derived from lengths, it has no more digits than it shows
  exact(c) { const t = tipOf(c.wings[i]); return t.y_m > 0 ? Math.atan2(t[key] ?? 0, t.y_m) / rad : 0; },
  set(c, v) {
    const d = tan(v) - tan(this.exact(c));
    for (const t of c.wings[i].stations) if (t.y_m > 0) t[key] = tidy((t[key] ?? 0) + d * t.y_m);
  },
});

/** The groups of controls of a craft, in the order they are shown. */
export function groups(craft) {
  const out = [];
  craft.wings.forEach((w, i) => {
    const at = `wings[${i}]`;
    const parts = [{
      fields: [
        { path: `${at}.name`, label: "Name", kind: "text", get: (c) => c.wings[i].name, set: (c, v) => { c.wings[i].name = v; } },
        {
          path: `${at}.span`, also: `${at}.stations`, label: "Span", kind: "length", range: R.span,
          get: (c) => 2 * tipOf(c.wings[i]).y_m,
          set(c, v) {
            const old = this.get(c);
            if (!(old > 0) || !(v > 0)) tipOf(c.wings[i]).y_m = v / 2;
            else for (const t of c.wings[i].stations) { for (const k of ["y_m", "le_x_m", "le_z_m"]) if (t[k]) t[k] = tidy(t[k] * v / old); }
          },
        },
        simple(`${at}.incidence_deg`, "Incidence", "angle", R.incidence, 0),
        simple(`${at}.x_m`, "Aft of the datum", "length", R.place, 0),
        simple(`${at}.z_m`, "Above the datum", "length", R.up, 0),
        shear(i, "le_x_m", "Sweep", R.sweep),
        shear(i, "le_z_m", "Dihedral", R.dihedral),
        simple(`${at}.camber.height`, "Camber", "share", R.camber, 0),
        simple(`${at}.camber.at`, "Camber's place", "share", R.camberAt, 0.4),
        simple(`${at}.thickness`, "Thickness", "share", R.thick, 0.1),
        simple(`${at}.tip_plates.down_m`, "Tip plate below", "length", R.plate, 0),
        simple(`${at}.tip_plates.up_m`, "Tip plate above", "length", R.plate, 0),
      ],
    }];
    w.stations.forEach((t, j) => {
      const st = `${at}.stations[${j}]`, root = j === 0;
      parts.push({
        title: root ? "Station at the root" : j === w.stations.length - 1 ? "Station at the tip" : `Station ${j + 1}`,
        fields: [
          simple(`${st}.chord_m`, "Chord", "length", R.chord, 0),
          ...(root ? [] : [simple(`${st}.y_m`, "Out from the centre", "length", R.half, 0)]),
          ...(root ? [] : [simple(`${st}.le_x_m`, "Edge aft of the root's", "length", R.up, 0), simple(`${st}.le_z_m`, "Edge above the root's", "length", R.up, 0)]),
          simple(`${st}.twist_deg`, "Twist", "angle", R.twist, 0),
        ],
        remove: w.stations.length > 2 && !root ? { label: "Remove this station", do: (c) => c.wings[i].stations.splice(j, 1) } : null,
      });
    });
    out.push({
      key: at, title: !w.name ? `wing ${i + 1}` : /\bwing\b/i.test(w.name) ? w.name : `${w.name} wing`, parts,
      actions: [
        { label: "Add a station", do: (c) => addStation(c.wings[i]) },
        craft.wings.length > 1 ? { label: "Remove this wing", do: (c) => c.wings.splice(i, 1) } : null,
      ].filter(Boolean),
    });
  });
  out.push({ key: "addWing", bare: true, actions: [{ label: "Add a wing", do: addWing }] });

  out.push(craft.pilot ? {
    key: "pilot", title: "Pilot and travel", parts: [{
      fields: [
        simple("pilot.mass_kg", "Pilot's mass", "mass", R.pilot, 0), simple("pilot.x_forward_m", "Foremost seat", "length", R.place, 0),
        simple("pilot.x_aft_m", "Aftmost seat", "length", R.place, 0), simple("pilot.z_m", "Above the datum", "length", R.up, 0),
        {
          path: "pilot.y_m", label: "Leans to either side", kind: "length", range: R.lean,
          get: (c) => c.pilot.y_m || LEAN,
          set: (c, v) => set(c, "pilot.y_m", v),
          about: (c) => (c.pilot.y_m ? "" : "The file does not tell: this is taken, a guess of what leaning over does."),
        },
        simple("pilot.radius_m", "Radius of gyration", "length", R.gyration, 0), simple("pilot.max_shift_mps", "Fastest shift", "pace", R.shift, 0),
      ],
    }], actions: [{ label: "Take the pilot off", do: (c) => { delete c.pilot; } }],
  } : { key: "pilot", title: "Pilot and travel", parts: [], actions: [{ label: "Put a pilot on", do: (c) => { c.pilot = { mass_kg: 80, x_forward_m: 0.9, x_aft_m: 1.5, z_m: 0.5 }; } }] });

  out.push(list(craft, "weights", "Weights", (w, i) => w.name || `weight ${i + 1}`, (at) => [
    { path: `${at}.name`, label: "Name", kind: "text", get: (c) => get(c, `${at}.name`) ?? "", set: (c, v) => set(c, `${at}.name`, v) },
    simple(`${at}.mass_kg`, "Mass", "mass", R.mass, 0), simple(`${at}.x_m`, "Aft of the datum", "length", R.place, 0), simple(`${at}.z_m`, "Above the datum", "length", R.up, 0),
    simple(`${at}.radius_m`, "Radius of gyration", "length", R.gyration, 0),
  ], "weight", () => ({ name: "ballast", mass_kg: 5, x_m: 0.5, z_m: 0 }), { label: "Weigh the craft", open: "weighing" }));

  out.push(craft.tow ? {
    key: "tow", title: "Tow", parts: [{
      fields: [
        simple("tow.x_m", "Tow point, aft of the datum", "length", R.place, 0), simple("tow.z_m", "Tow point, above the datum", "length", R.up, 0),
        simple("tow.boat_height_m", "Line's height at the boat", "length", R.boat, 0), simple("tow.line_m", "Line's length", "length", R.line, 0), simple("tow.boat_length_m", "Boat's waterline", "length", R.hull, 0),
        {
          path: "tow.line_mass_kg_per_m", label: "Line's mass along it", kind: "linear", range: R.linear,
          get: (c) => c.tow.line_mass_kg_per_m ?? LINE,
          set: (c, v) => set(c, "tow.line_mass_kg_per_m", v),
          about: (c) => (c.tow.line_mass_kg_per_m == null ? "The file does not tell: this is taken, a laid polypropylene rope of 10 mm." : ""),
        },
        simple("tow.line_stiffness_n", "Line's stiffness, EA", "force", R.stiff, 0),
      ],
    }], actions: [{ label: "Take the tow off", do: (c) => { delete c.tow; } }],
  } : { key: "tow", title: "Tow", parts: [], actions: [{ label: "Put a tow line on", do: (c) => { c.tow = { x_m: 0.1, z_m: 0.1, boat_height_m: 1, line_m: 30, boat_length_m: 6 }; } }] });

  out.push(list(craft, "floats", "Floats", (_, i) => `Float ${i + 1}`, (at) => [
    simple(`${at}.x_m`, "Keel aft of the datum", "length", R.place, 0), simple(`${at}.z_m`, "Keel above the datum", "length", R.up, 0),
  ], "float", () => ({ x_m: 0.3, z_m: -0.3 })));

  out.push({ key: "whole", title: "The whole", parts: [{ fields: [
    { path: "name", label: "Name", kind: "text", get: (c) => c.name ?? "", set: (c, v) => { c.name = v; } },
    simple("parasite_area_m2", "Parasite drag area", "area", R.area, 0),
  ] }], actions: [] });
  return out;
}

function list(craft, key, title, name, fields, one, fresh, ...more) {
  return {
    key, title,
    parts: (craft[key] ?? []).map((w, i) => ({
      title: name(w, i), fields: fields(`${key}[${i}]`),
      remove: { label: `Remove this ${one}`, do: (c) => { c[key].splice(i, 1); if (!c[key].length) delete c[key]; } },
    })),
    actions: [{ label: `Add a ${one}`, do: (c) => { (c[key] ??= []).push(fresh()); } }, ...more],
  };
}

/** Halves the outermost panel. */
function addStation(w) {
  const b = tipOf(w), a = w.stations[w.stations.length - 2] ?? { y_m: 0, chord_m: b.chord_m };
  const mid = { y_m: tidy((a.y_m + b.y_m) / 2), chord_m: tidy((a.chord_m + b.chord_m) / 2) };
  for (const k of ["le_x_m", "le_z_m", "twist_deg"]) if (a[k] || b[k]) mid[k] = tidy(((a[k] ?? 0) + (b[k] ?? 0)) / 2);
  w.stations.splice(w.stations.length - 1, 0, mid);
}

/** A plain wing behind the last one, a little higher. */
function addWing(c) {
  const last = c.wings[c.wings.length - 1];
  const behind = Math.max(...c.wings.map((w) => w.x_m + Math.max(...w.stations.map((t) => (t.le_x_m ?? 0) + t.chord_m))));
  let n = c.wings.length + 1;
  while (c.wings.some((w) => w.name === `wing ${n}`)) n++;
  const half = tipOf(last).y_m;
  c.wings.push({
    name: `wing ${n}`, x_m: tidy(behind + 0.6), z_m: tidy((last.z_m ?? 0) + 0.2), incidence_deg: last.incidence_deg ?? 0,
    stations: [{ y_m: 0, chord_m: 0.8 }, { y_m: half, chord_m: 0.8 }],
    camber: { ...(last.camber ?? { height: 0.02, at: 0.4 }) }, thickness: last.thickness ?? 0.1,
  });
}
