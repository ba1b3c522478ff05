// Files the page makes: everything is built here and handed to the browser's own download.

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

function wrap(text, most) {
  const lines = [];
  let l = "";
  for (const w of text.split(/\s+/)) {
    if (l && l.length + w.length + 1 > most) { lines.push(l); l = w; } else l = l ? `${l} ${w}` : w;
  }
  if (l) lines.push(l);
  return lines;
}

/**
 * One sheet: the sentence, the height picture, the small pictures in a row, the cautions.
 * picture: {svg, w, h}; small: [{title, svg, w, h}].
 */
export function sheet({ title, sentence, note, cautions, picture, small, palette: p }) {
  const pad = 24, w = picture.w + 2 * pad;
  const head = wrap(sentence, Math.floor(w / 8.6)), foot = wrap(cautions, Math.floor(w / 6.1));
  const g = element(s("g"));
  let y = pad + 12;
  const say = (t, size, weight) => { g.append(element(words(pad, y, t, p, { "font-size": size, "font-weight": weight, stroke: null }))); y += size * 1.4; };
  say(title, 13, 650);
  y += 4;
  for (const l of head) say(l, 17, 400);
  const put = (svg, x, at, sw, sh) => {
    const c = svg.cloneNode(true);
    for (const [k, v] of Object.entries({ x, y: at, width: sw, height: sh })) c.setAttribute(k, v);
    g.append(c);
  };
  put(picture.svg, pad, y, picture.w, picture.h);
  y += picture.h + 16;
  say(note, 12, 400);
  y += 6;
  const gapX = 18, per = (picture.w - gapX * (small.length - 1)) / small.length;
  const scale = Math.min(...small.map((q) => per / q.w));
  small.forEach((q, i) => {
    const x = pad + i * (per + gapX);
    g.append(element(words(x, y + 12, q.title, p, { "font-size": 12, "font-weight": 650, stroke: null })));
    put(q.svg, x, y + 18, q.w * scale, q.h * scale);
  });
  if (small.length) y += 26 + Math.max(...small.map((q) => q.h * scale)) + 10;
  for (const l of foot) say(l, 11, 400);
  const tall = y + 8;
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
