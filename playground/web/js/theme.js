// Day and night. The colours live in page.css; pictures get them resolved, so that an exported picture needs no style.

const NAMES = ["ink", "paper", "hair", "water", "shore", "ghost", "cp", "pitch", "height", "band", "wrong"];

/** The colours as they are now, or those of "light" or "dark". */
export function palette(scheme) {
  const probe = document.createElement("i");
  if (scheme) probe.style.colorScheme = scheme;
  document.body.append(probe);
  const p = { font: "system-ui, -apple-system, 'Segoe UI', Roboto, 'Helvetica Neue', sans-serif" };
  for (const n of NAMES) {
    probe.style.color = `var(--${n})`;
    p[n] = getComputedStyle(probe).color;
  }
  probe.remove();
  const [r, g, b] = p.paper.match(/[\d.]+/g).map(Number);
  p.night = r + g + b < 384;
  return p;
}

const ORDER = ["auto", "day", "night"];

/** The switch: as the system has it, day, night. change() is called after every change, the system's too. */
export function themeSwitch(button, change) {
  let now = ORDER.includes(recall("theme")) ? recall("theme") : "auto";
  const apply = () => {
    if (now === "auto") document.documentElement.removeAttribute("data-theme");
    else document.documentElement.setAttribute("data-theme", now);
    button.textContent = now;
    button.setAttribute("aria-label", `Colours: ${now === "auto" ? "as the system has it" : now}; switch`);
  };
  button.addEventListener("click", () => {
    now = ORDER[(ORDER.indexOf(now) + 1) % ORDER.length];
    keep("theme", now);
    apply();
    change();
  });
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", change);
  apply();
}

/** What this browser remembers between visits; a browser that refuses is no error. */
export function recall(key) { try { return localStorage.getItem(`craft-${key}`); } catch { return null; } }
export function forget(key) { try { localStorage.removeItem(`craft-${key}`); } catch { /* there was nothing */ } }
export function keep(key, v) { try { localStorage.setItem(`craft-${key}`, v); } catch { /* not kept */ } }
