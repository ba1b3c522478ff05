// A colour scale for the pressure jump, laid out in CIELAB (CIE 15; sRGB and D65 per IEC 61966-2-1) so that
// equal steps of pressure are equal steps of lightness. It runs from the paper through the hue of Okabe-Ito
// blue for pressure that lifts and through Okabe-Ito vermilion for pressure that pulls down: the pair that
// readers with any common colour blindness tell apart, and lightness alone still orders each side.

const WHITE = [0.95047, 1, 1.08883];

const toLinear = (c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4);
const toGamma = (c) => (c <= 0.0031308 ? 12.92 * c : 1.055 * c ** (1 / 2.4) - 0.055);

/** CIELAB of "#rrggbb". */
export function lab(hex) {
  const [r, g, b] = [1, 3, 5].map((i) => toLinear(parseInt(hex.slice(i, i + 2), 16) / 255));
  const f = (t) => (t > 216 / 24389 ? Math.cbrt(t) : (24389 / 27 * t + 16) / 116);
  const x = f((0.4124564 * r + 0.3575761 * g + 0.1804375 * b) / WHITE[0]);
  const y = f(0.2126729 * r + 0.7151522 * g + 0.072175 * b);
  const z = f((0.0193339 * r + 0.119192 * g + 0.9503041 * b) / WHITE[2]);
  return [116 * y - 16, 500 * (x - y), 200 * (y - z)];
}

function rgb([L, a, b]) {
  const inv = (t) => (t ** 3 > 216 / 24389 ? t ** 3 : (116 * t - 16) * 27 / 24389);
  const fy = (L + 16) / 116;
  const [x, y, z] = [inv(fy + a / 500) * WHITE[0], inv(fy), inv(fy - b / 200) * WHITE[2]];
  return [
    3.2404542 * x - 1.5371385 * y - 0.4985314 * z,
    -0.969266 * x + 1.8760108 * y + 0.041556 * z,
    0.0556434 * x - 0.2040259 * y + 1.0572252 * z,
  ];
}

/** "#rrggbb" of CIELAB; a colour outside the screen's range gives up chroma, never lightness. */
function hex(L, a, b) {
  let lin = rgb([L, a, b]);
  for (let k = 0.95; k > 0 && lin.some((c) => c < -0.0005 || c > 1.0005); k -= 0.05) lin = rgb([L, a * k, b * k]);
  return "#" + lin.map((c) => Math.round(255 * toGamma(Math.min(1, Math.max(0, c)))).toString(16).padStart(2, "0")).join("");
}

const LIFT = lab("#0072B2"), SINK = lab("#D55E00");

/** Colour of t in -1..1; night runs from dark to light, day from light to dark. */
function pressureColour(t, night) {
  t = Math.max(-1, Math.min(1, t));
  const [, a, b] = t >= 0 ? LIFT : SINK;
  const m = Math.abs(t), L = night ? 20 + 68 * m : 95 - 68 * m;
  const chroma = Math.sin(Math.PI * (0.06 + 0.78 * m)) * 1.05;
  return hex(L, a * chroma, b * chroma);
}

/** 2n+1 colours from -1 to 1. */
export const pressureScale = (n, night) => Array.from({ length: 2 * n + 1 }, (_, i) => pressureColour(i / n - 1, night));
