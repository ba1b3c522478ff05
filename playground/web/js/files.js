// Files in and out: opening, dropping, saving, the link, tables, pictures and the tow card. Everything is
// made here in the browser and handed to its own download.

import { $, answers, notice, page, question, said, view } from "./page.js";
import { Objection } from "./answers.js";
import { smallPictures } from "./figures.js";
import { moving, scales, still } from "./picture.js";
import { download, fileName, png, sheet, svgText } from "./export.js";
import { pack } from "./link.js";
import { keepOwn } from "./memory.js";
import { element, h, s } from "./svg.js";
import { palette } from "./theme.js";
import { tell, units } from "./units.js";

/** What a link and the browser's memory carry: all that is on the screen. */
export const linked = () => ({ ...page.state.now, clearance_m: page.clearance, top_m: page.top_m, units: units.system, ...(page.pin ? { pin: page.pin } : {}), ...(page.held ? { held: true } : {}) });

/** The craft file with the view of it in a block that other readers pass over. */
function saved() {
  const { craft, ...shown } = linked();
  return JSON.stringify({ ...craft, view: shown }, null, 2) + "\n";
}

/**
 * Puts the buttons to work. put(craft) shows a craft that was opened, take(view) one with the view of it;
 * failed(error) says what went wrong; listed() shows the list of craft anew.
 */
export function files({ put, take, failed, listed }) {
  async function openText(text) {
    try {
      const a = await answers.ask("read", { text });
      const { view: shown } = JSON.parse(text.replace(/^\uFEFF/, ""));
      if (shown && typeof shown === "object") { notice(); await take({ ...shown, craft: a.craft }); } else put(a.craft);
      said(`${a.craft.name || "The craft"} is open.`);
    } catch (e) {
      if (!(e instanceof Objection)) throw e;
      // Nothing of the open craft is touched; the file's problems are said together.
      notice("That file is no craft that can be calculated; the craft on the page stays as it was.", ...e.problems.map((p) => (p.path && !p.text.includes(p.path) ? `${p.path}: ${p.text}` : p.text)));
    }
  }
  const openFile = async (f) => { if (f.size > 1 << 20) notice("That file is larger than a craft file can be (1 MB)."); else await openText(await f.text()); };
  $("open").onclick = () => $("file").click();
  $("file").onchange = async () => { const f = $("file").files[0]; if (f) await openFile(f); $("file").value = ""; };
  let within = 0;
  const files = (e) => [...(e.dataTransfer?.types ?? [])].includes("Files");
  document.addEventListener("dragenter", (e) => { if (files(e)) { within++; $("dropHint").hidden = false; e.preventDefault(); } });
  document.addEventListener("dragover", (e) => { if (files(e)) e.preventDefault(); });
  document.addEventListener("dragleave", (e) => { if (files(e) && --within <= 0) { within = 0; $("dropHint").hidden = true; } });
  document.addEventListener("drop", (e) => {
    if (!files(e)) return;
    e.preventDefault();
    within = 0;
    $("dropHint").hidden = true;
    const f = e.dataTransfer.files[0];
    if (f) openFile(f);
  });

  $("save").onclick = () => { keepOwn(linked()); listed(); download(fileName(page.state.now.craft, ".json"), "application/json", saved()); };

  $("link").onclick = async () => {
    const fragment = await pack(linked());
    history.replaceState(null, "", `#${fragment}`);
    try {
      await navigator.clipboard.writeText(location.href);
      said("The link is copied. It carries the whole craft.");
    } catch {
      said("The link now stands in the address bar: copy it from there. It carries the whole craft.");
    }
  };

  $("csv").onclick = async () => {
    try {
      const a = await answers.ask("csv", { ...question(), fidelity: "fine" }, { lane: "fine" });
      download(fileName(page.state.now.craft, ".csv"), "text/csv", a.text);
    } catch (e) { failed(e); }
  };

  /** The pictures on one sheet, drawn anew at a size of their own, so that a phone's are as legible. */
  function exported({ w, hgt, across, tall, pal }) {
    const v = view(), k = scales(v, w, hgt), { under, over } = still(v, k, pal, "out");
    const svg = element(s("svg", { width: w, height: hgt, viewBox: `0 0 ${w} ${hgt}` }, under, moving(v, k, pal, "out"), over));
    return sheet({
      title: `${page.state.now.craft.name} at ${tell("speed", page.state.now.speed_mps)}, ${tell("length", page.clearance)} clear`,
      sentence: page.heights.sentence, notes: [$("pictureNote").textContent, $("window").textContent], cautions: $("cautions").textContent,
      picture: { svg, w, h: hgt }, small: (width) => smallPictures(pal, width, tall), across, palette: pal,
    });
  }
  const wide = () => exported({ w: 1120, hgt: 600, across: 5, tall: 210, pal: page.pal });
  $("svg").onclick = () => { if (page.heights && page.pose) download(fileName(page.state.now.craft, ".svg"), "image/svg+xml", svgText(wide())); };
  $("png").onclick = async () => {
    if (!page.heights || !page.pose) return;
    try { download(fileName(page.state.now.craft, ".png"), "image/png", await png(wide())); } catch (e) { said(e.message); }
  };

  // On paper stands one sheet, by day, whatever the screen shows; an open card or dialog prints itself.
  addEventListener("beforeprint", () => {
    if (page.heights && page.pose && !document.querySelector("dialog[open]")) $("paper").replaceChildren(exported({ w: 672, hgt: 370, across: 3, tall: 160, pal: palette("light") }));
  });
  addEventListener("afterprint", () => $("paper").replaceChildren());

  let cardText = { html: "", text: "", log_html: "", log_csv: "" };
  const shownLog = () => $("cardLog").getAttribute("aria-pressed") === "true";
  $("cardLog").onclick = () => showSheet(!shownLog());
  $("cardLogKeep").onclick = () => download(fileName(page.state.now.craft, "-log.csv"), "text/csv", cardText.log_csv);
  $("card").onclick = async () => {
    try {
      await answers.afterBehind(); // the card takes it, and would make it anew
      const a = await answers.ask("card", { ...question(), fidelity: "fine" }, { lane: "fine" });
      cardText = a;
      showSheet(false);
      $("cardView").showModal();
    } catch (e) { failed(e); }
  };
  /** Shows the tow card, or its log sheet, in the dialog. */
  function showSheet(log) {
    // The sheet is ours, but the names in it are the builder's: keep its structure, nothing that could act.
    // (Its style goes before parsing: the page's policy would object to it, and card.css has the same.)
    const doc = new DOMParser().parseFromString((log ? cardText.log_html : cardText.html).replace(/<style>[^]*?<\/style>/, ""), "text/html");
    for (const e of doc.querySelectorAll("script,style,link,iframe,object,embed,img,meta,base,form")) e.remove();
    for (const e of doc.body.querySelectorAll("*")) for (const { name } of [...e.attributes]) if (name.startsWith("on") || name === "style" || name === "href" || name === "src") e.removeAttribute(name);
    for (const td of doc.querySelectorAll(".tow td")) if (td.textContent.trim() === "–") td.className = "none";
    for (const table of doc.querySelectorAll("table.fill")) table.setAttribute("tabindex", "0"); // on a telephone it scrolls sideways
    const below = doc.querySelector(".below");
    if (below && page.heights && page.pose) below.prepend(h("figure", {}, cardPicture()));
    const sheet = doc.querySelector("main");
    $("cardBody").className = sheet.className;
    $("cardBody").replaceChildren(...sheet.childNodes);
    $("cardLog").setAttribute("aria-pressed", String(log));
    $("cardText").hidden = log;
  }
  /** The height picture for paper: by day, whatever the screen shows. */
  function cardPicture() {
    const day = palette("light"), w = 820, hgt = 440, v = view(), k = scales(v, w, hgt), { under, over } = still(v, k, day, "card");
    return element(s("svg", { viewBox: `0 0 ${w} ${hgt}`, role: "img", "aria-label": `Height picture of ${page.state.now.craft.name} at ${tell("speed", page.state.now.speed_mps)}` }, under, moving(v, k, day, "card"), over));
  }
  $("cardPrint").onclick = () => print();
  $("cardKeep").onclick = () => (shownLog()
    ? download(fileName(page.state.now.craft, "-log.html"), "text/html", cardText.log_html)
    : download(fileName(page.state.now.craft, "-tow-card.html"), "text/html", cardText.html));
  $("cardText").onclick = () => download(fileName(page.state.now.craft, "-tow-card.txt"), "text/plain", cardText.text);
  $("cardClose").onclick = () => $("cardView").close();
}
