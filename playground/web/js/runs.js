// The log of runs on the page: a table to type or paste into, the prediction beside each run, the correction fitted
// to them and its switch, what is left as a picture. gecp/lake does the work; this keeps what was typed as typed.

import { $, answers, page, question, said } from "./page.js";
import { Objection, Overtaken } from "./answers.js";
import { Chart } from "./chart.js";
import { Control } from "./form.js";
import { download, fileName } from "./export.js";
import { h, write } from "./svg.js";
import { units } from "./units.js";
import { inPageWords } from "./words.js";

const HEADS = { metric: ["speed_kmh", "clearance_m", "pilot_m", "pitch_deg", "pull_N", "note"], us: ["speed_mph", "clearance_in", "pilot_in", "pitch_deg", "pull_lbf", "note"] };
const NAMES = { speed: "Speed", clearance: "Clearance", pilot: "Pilot at", pitch: "Pitch", pull: "Line's pull", air_temp: "Air" };
const UNITS = { mps: "m/s", kmh: "km/h", mph: "mph", kn: "kn", m: "m", ft: "ft", in: "in", deg: "°", N: "N", lbf: "lbf", C: "°C" };

/** A column's head as people read it; an unknown one as it stands. */
function named(head) {
  const m = /^([a-z_]+)_([A-Za-z]+)$/.exec(head);
  return m && NAMES[m[1]] ? `${NAMES[m[1]]}, ${UNITS[m[2]] ?? m[2]}` : head === "note" ? "Note" : head;
}

/** The cells of a table as text: commas, semicolons or tabs, quotes as in CSV. */
export function readTable(text) {
  const first = text.replace(/"[^"]*"/g, "").split(/\r?\n/, 1)[0];
  const by = first.includes("\t") ? "\t" : first.includes(";") ? ";" : ",";
  const rows = [[]];
  let cell = "", quoted = false;
  for (let i = 0; i < text.length; i++) {
    const c = text[i];
    if (quoted) {
      if (c !== '"') cell += c;
      else if (text[i + 1] === '"') { cell += c; i++; } else quoted = false;
    } else if (c === '"' && cell === "") quoted = true;
    else if (c === by || c === "\n") {
      rows.at(-1).push(cell.replace(/\r$/, ""));
      cell = "";
      if (c === "\n") rows.push([]);
    } else cell += c;
  }
  rows.at(-1).push(cell.replace(/\r$/, ""));
  return rows.filter((r) => r.some((v) => v.trim()));
}

/** The table as CSV. */
export const writeTable = (rows) => rows.map((r) => r.map((v) => (/[",\n]/.test(v) ? `"${v.replaceAll('"', '""')}"` : v)).join(",")).join("\n") + "\n";

/** How far off the log's figures may be: key, name, kind, the slider's range and what gecp/lake takes for usual, SI and degrees. */
const ACCURACY = [
  ["speed_mps", "Speed, off by", "speed", [0.05, 2, 0.05], 0.3],
  ["clearance_m", "Clearance, off by", "length", [0.005, 0.3, 0.005], 0.05],
  ["pilot_m", "Pilot's place, off by", "length", [0.005, 0.2, 0.005], 0.02],
  ["pitch_deg", "Pitch, off by", "angle", [0.1, 3, 0.1], 0.5],
];
const USUAL = Object.fromEntries(ACCURACY.map(([key,,,, v]) => [key, v]));

/** The accuracies that a link, a file or the browser's memory carries; absent where it has no such numbers. */
export const accuracyOf = (v) => (ACCURACY.every(([key]) => Number.isFinite(v?.[key])) ? Object.fromEntries(ACCURACY.map(([key]) => [key, v[key]])) : undefined);

const left = new Chart("What is left of the pilot's place, run by run", 260);

/** Puts the log to work. edit(change), settle() change the state. Returns {open, redraw}. */
export function runs({ edit, settle }) {
  let rows = [], said0 = null; // head and cells; the last answer
  $("runsPicture").append(left.figure);
  const exact = () => page.state.now.log_accuracy ?? USUAL;
  const controls = ACCURACY.map(([key, label, kind, range]) => new Control({ path: `log_accuracy.${key}`, label, kind, range }, (v) => {
    edit((now) => { now.log_accuracy = { ...exact(), [key]: v }; });
    ask();
  }, settle));
  $("runsAccuracy").append(...controls.map((c) => c.root));

  function load() {
    rows = readTable(page.state.now.log ?? "");
    controls.forEach((c, i) => { c.reface(); c.show(exact()[ACCURACY[i][0]]); });
    if (!rows.length) rows = [HEADS[units.system], ...Array.from({ length: 5 }, () => [])].map((r) => [...r]);
    table();
  }

  const text = () => { const kept = rows.filter((r, i) => i === 0 || r.some((v) => (v ?? "").trim())); return kept.length > 1 ? writeTable(kept.map((r) => rows[0].map((_, j) => r[j] ?? ""))) : ""; };

  function changed() {
    const log = text();
    edit((now) => { if (log) now.log = log; else delete now.log; });
    ask();
  }

  function table() {
    const head = rows[0];
    $("runsTable").replaceChildren(
      h("thead", {}, h("tr", {}, [...head.map(named), "Predicted", "Run less prediction", "Remark"].map((t) => h("th", { scope: "col" }, t)))),
      h("tbody", {}, rows.slice(1).map((r, i) => h("tr", {}, ...head.map((name, j) => h("td", { "data-column": named(name) }, h("input", {
        type: "text", value: r[j] ?? "", inputmode: name === "note" || !/_/.test(name) ? "text" : "decimal", class: name === "note" ? "wide" : "", "aria-label": `${named(name)}, run ${i + 1}`, spellcheck: "false",
        oninput: (e) => { r[j] = e.target.value; changed(); }, onchange: settle, onpaste: (e) => paste(e, i + 1, j),
      }))), h("td", { class: "says", "data-column": "Predicted" }), h("td", { class: "says", "data-column": "Run less prediction" }), h("td", { class: "says why", "data-column": "Remark" })))));
  }

  /** A block of cells goes in from the place where it is pasted; one with heads takes the table's place. */
  function paste(e, i, j) {
    const block = e.clipboardData.getData("text");
    if (!/[\t\n]/.test(block.trim()) && !/^\s*speed_/.test(block)) return;
    e.preventDefault();
    take(block, i, j);
  }

  function take(block, i = 1, j = 0) {
    const cells = readTable(block);
    if (!cells.length) return;
    if (cells[0].some((v) => /^\uFEFF?speed_/.test(v.trim()))) rows = cells.map((r) => r.map((v) => v.replace(/^\uFEFF/, "").trim()));
    else {
      cells.forEach((r, a) => { const row = rows[i + a] ??= []; r.forEach((v, b) => { if (j + b < rows[0].length) row[j + b] = v.trim(); }); });
    }
    table();
    changed();
    settle();
  }

  async function ask() {
    $("runsProblem").hidden = true;
    try {
      show(await answers.ask("log", { ...question(), fidelity: "fine", text: text(), log_accuracy: exact() }, { lane: "fine" }));
    } catch (e) {
      if (e instanceof Overtaken) return;
      if (!(e instanceof Objection)) throw e;
      show(null);
      const of = (c) => e.problems.filter((p) => p.path === c.f.path), rest = e.problems.filter((p) => !controls.some((c) => c.f.path === p.path));
      for (const c of controls) c.say(of(c).map((p) => inPageWords(p.text)).join(" "));
      $("runsProblem").replaceChildren(...rest.map((p) => h("p", {}, p.text)));
      $("runsProblem").hidden = !rest.length;
      return;
    }
    for (const c of controls) c.say("");
  }

  function show(a) {
    said0 = a;
    const shown = rows.slice(1).map((r, i) => [r, i]).filter(([r]) => r.some((v) => (v ?? "").trim())).map(([, i]) => i);
    for (const tr of $("runsTable").tBodies[0].rows) for (const td of tr.querySelectorAll(".says")) write(td, "");
    for (const run of a?.runs ?? []) {
      const tr = $("runsTable").tBodies[0].rows[shown[run.line - 2]], cells = tr?.querySelectorAll(".says");
      if (!cells) continue;
      write(cells[0], run.predicted);
      write(cells[1], run.difference);
      write(cells[2], run.why);
    }
    $("runsSaid").replaceChildren(...(a ? [...a.estimates, ...a.sentences, ...a.ignored, a.corrected ? `The predictions are ${a.corrected}.` : ""] : []).filter(Boolean).map((t) => h("p", {}, t)));
    const on = page.state.now.craft.correction?.on === true;
    $("runsUse").checked = on;
    $("runsUse").disabled = !on && !a?.correction;
    redraw();
  }

  /** What is left, with its standard error, before the fit in grey and after it in the curve's colour. */
  function redraw() {
    const list = (said0?.runs ?? []).filter((r) => r.off_m != null);
    left.figure.hidden = !list.length || !$("runsView").open;
    if (left.figure.hidden) return;
    const all = list.flatMap((r) => [r.off_m, r.left_m ?? r.off_m]), reach = Math.max(0.05, ...all.map(Math.abs)) * 1.2, top = Math.max(...list.map((r) => r.clearance_m)) * 1.1;
    const mark = (x, y, e) => [[x - e, y], [x + e, y], [NaN, NaN], [x, y - 0.012 * top], [x, y + 0.012 * top]];
    left.draw({
      x: { label: "run less prediction, aft", kind: "length", lo: -reach, hi: reach }, y: { label: "clearance", kind: "length", lo: 0, hi: top }, along: "y", mark: null,
      read: () => "", lines: [
        { points: [[0, 0], [0, top]], colour: page.pal.ink, width: 1 },
        ...list.map((r) => ({ points: mark(r.off_m, r.clearance_m, 0.01 * reach), colour: page.pal.ghost, width: 2 })),
        ...list.filter((r) => r.left_m != null).map((r) => ({ points: mark(r.left_m, r.clearance_m, r.error_m || 0.01 * reach), colour: page.pal.cp, width: 2 })),
      ],
    }, page.pal);
    write(left.value, "Grey: as calculated. Coloured: what the fit leaves, with its standard error.");
  }

  $("runsUse").onchange = () => {
    const on = $("runsUse").checked, found = said0?.correction;
    edit(({ craft }) => {
      if (on && found) craft.correction = { ...found, on: true };
      else if (craft.correction) craft.correction.on = on;
    });
    settle();
    ask();
  };
  $("runsAdd").onclick = () => { rows.push([]); table(); ask(); $("runsTable").tBodies[0].lastElementChild.querySelector("input").focus(); };
  $("runsKeep").onclick = () => download(fileName(page.state.now.craft, "-runs.csv"), "text/csv", text() || writeTable([rows[0]]));
  $("runsOpen").onclick = () => $("runsFile").click();
  $("runsFile").onchange = async () => {
    const f = $("runsFile").files[0];
    if (f && f.size > 1 << 20) said("That file is larger than a log of runs can be (1 MB).");
    else if (f) take(await f.text());
    $("runsFile").value = "";
  };
  $("runsClose").onclick = () => $("runsView").close();
  $("runs").onclick = () => { load(); $("runsView").showModal(); ask(); };
  return { redraw };
}
