// Files the page makes: everything is built here and handed to the browser's own download.

import { width } from "./labels.js";
import { element, s, words } from "./svg.js";

export function download(name, type, content) {
  const url = URL.createObjectURL(content instanceof Blob ? content : new Blob([content], { type }));
  const a = document.createElement("a");
  a.href = url;
  a.download = name;
  a.click();
  setTimeout(() => URL.revokeObjectURL(url), 10_000);
}

/** A file name out of a craft's name. */
export const fileName = (craft, ending) => `${(craft.name || "craft").toLowerCase().replace(/[^\p{L}\p{N}]+/gu, "-").replace(/^-+|-+$/g, "") || "craft"}${ending}`;

/** A text as lines of at most so many pixels. */
function wrap(text, most, size, font) {
  const lines = [];
  let l = "";
  for (const w of text.split(/[ \n]+/)) {
    if (l && width(`${l} ${w}`, size, font) > most) { lines.push(l); l = w; } else l = l ? `${l} ${w}` : w;
  }
  if (l) lines.push(l);
  return lines;
}

// A copy whose names of parts are its own, so that it may stand beside what it was copied from.
function copy(svg, name) {
  const c = svg.cloneNode(true);
  for (const e of c.querySelectorAll("*")) {
    for (const { name: a, value } of [...e.attributes]) {
      if (a === "id") e.setAttribute(a, name + value);
      else if (value.startsWith("url(#")) e.setAttribute(a, value.replace("url(#", `url(#${name}`));
    }
  }
  return c;
}

/**
 * One sheet of a width, px: title, sentence, height picture, small pictures in rows, cautions. picture: {svg, w, h},
 * as wide as the sheet less its margins; small(width) draws the small pictures for a width: [{title, svg, w, h}];
 * across: how many stand in a row.
 */
export function sheet({ title, sentence, notes, cautions, picture, small, across, palette: p }) {
  const pad = 24, w = picture.w + 2 * pad, gap = 18;
  const g = element(s("g"));
  let y = pad + 12;
  const say = (text, size, weight) => {
    for (const l of wrap(text, picture.w * (weight > 400 ? 0.93 : 0.98), size, p.font)) {
      g.append(element(words(pad, y, l, p, { "font-size": size, "font-weight": weight, stroke: null })));
      y += size * 1.4;
    }
  };
  const put = (svg, x, at, sw, sh, name) => {
    const c = copy(svg, name);
    for (const [k, v] of Object.entries({ x, y: at, width: sw, height: sh })) c.setAttribute(k, v);
    g.append(c);
  };
  say(title, 13, 650);
  y += 4;
  say(sentence, 16, 400);
  for (const n of notes.slice(1)) if (n) say(n, 12, 400);
  put(picture.svg, pad, y, picture.w, picture.h, "sheet-");
  y += picture.h + 16;
  say(notes[0], 12, 400);
  y += 6;
  const per = (picture.w - gap * (across - 1)) / across, drawn = small(Math.floor(per));
  for (let i = 0; i < drawn.length; i += across) {
    const row = drawn.slice(i, i + across);
    row.forEach((q, j) => {
      const x = pad + j * (per + gap);
      wrap(q.title, per * 0.93, 12, p.font).slice(0, 2).forEach((l, n) => g.append(element(words(x, y + 12 + 14 * n, l, p, { "font-size": 12, "font-weight": 650, stroke: null }))));
      put(q.svg, x, y + 32, q.w, q.h, `sheet${i + j}-`);
    });
    y += 40 + Math.max(...row.map((q) => q.h));
  }
  y += 14;
  say(cautions, 11, 400);
  const tall = Math.ceil(y + 8);
  const svg = element(s("svg", { xmlns: "http://www.w3.org/2000/svg", width: w, height: tall, viewBox: `0 0 ${w} ${tall}` },
    s("title", {}, title), s("desc", {}, sentence), s("rect", { width: w, height: tall, fill: p.paper })));
  svg.append(g);
  return svg;
}

export const svgText = (svg) => `<?xml version="1.0" encoding="UTF-8"?>\n${new XMLSerializer().serializeToString(svg)}\n`;

/** The same sheet as PNG, at twice its size. */
export async function png(svg) {
  const w = +svg.getAttribute("width"), hgt = +svg.getAttribute("height");
  const url = URL.createObjectURL(new Blob([svgText(svg)], { type: "image/svg+xml" }));
  try {
    const img = new Image();
    img.src = url;
    await img.decode();
    const c = document.createElement("canvas");
    c.width = 2 * w;
    c.height = 2 * hgt;
    c.getContext("2d").drawImage(img, 0, 0, c.width, c.height);
    return await new Promise((ok, no) => c.toBlob((b) => (b ? ok(b) : no(new Error("The browser could not make a PNG of the picture."))), "image/png"));
  } finally {
    URL.revokeObjectURL(url);
  }
}
