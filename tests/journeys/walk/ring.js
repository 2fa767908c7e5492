// The ring around whatever has the keyboard: 3 px, in sight, nothing before it (WCAG 2.2, 2.4.7, 2.4.12, 2.4.13).
(least) => {
  "use strict";
  const found = new Set();
  const FOCUSABLE = "a[href],button,input:not([type=hidden]),select,textarea,summary";
  const name = (el) => `${el.localName} “${(el.getAttribute("aria-label") || el.innerText || el.name || "").trim().slice(0, 40)}”`;
  for (const el of document.querySelectorAll(FOCUSABLE)) {
    if (el.disabled || !el.checkVisibility({ visibilityProperty: true }) || el.matches(".skip")) continue;
    el.focus({ focusVisible: true });
    if (document.activeElement !== el) { found.add(`takes no focus: ${name(el)}`); continue; }
    if (el.closest("svg")) {
      const drawn = el.querySelector(".ring");
      if (!drawn || parseFloat(getComputedStyle(drawn).strokeWidth) < least || getComputedStyle(drawn).stroke === "none") found.add(`no ring: ${name(el)}`);
      continue;
    }
    let ringed = el;
    const width = (at) => { const s = getComputedStyle(at); return s.outlineStyle === "none" ? 0 : parseFloat(s.outlineWidth); };
    while (ringed && ringed !== document.body && width(ringed) < least) ringed = ringed.parentElement;
    if (!ringed || ringed === document.body) { found.add(`no ring: ${name(el)}`); continue; }
    const r = el.getClientRects()[0];
    if (!r) continue;
    const x = r.left + r.width / 2, y = r.top + Math.min(r.height / 2, 20);
    const top = document.elementFromPoint(x, y);
    if (top && !el.contains(top) && !top.contains(el) && top.closest("label")?.control !== el) found.add(`covered by ${name(top)}: ${name(el)}`);
    if (!top) found.add(`out of sight: ${name(el)}`);
  }
  document.activeElement.blur();
  return [...found];
}
