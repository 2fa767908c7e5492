// Run inside a page: measures what stands there and returns what breaks a rule, one line each.
// Sources: WCAG 2.2 (1.4.3, 1.4.6, 1.4.10, 1.4.11, 2.4.7, 2.4.13, 2.5.5, 2.5.8) for how it is measured;
// the least values are the house's own, and stricter.
(least) => {
  "use strict";
  const found = new Set();
  const bench = document.body.classList.contains("bench");
  const TARGETS = "a[href],button,input:not([type=hidden]),select,textarea,summary,[role=button]";

  const name = (el) => {
    const words = (el.getAttribute("aria-label") || el.innerText || el.name || el.id || "").trim().replace(/\s+/g, " ");
    const cls = el.getAttribute("class");
    return `${el.localName}${cls ? "." + cls.split(" ").join(".") : ""} “${words.slice(0, 40)}”`;
  };
  const seen = (el) => {
    if (!el.checkVisibility({ visibilityProperty: true, opacityProperty: true })) return false;
    const r = el.getBoundingClientRect();
    return r.width > 1 && r.height > 1;
  };

  // ---- colour
  const parse = (text) => {
    const n = text.match(/[\d.]+/g).map(Number);
    return { r: n[0], g: n[1], b: n[2], a: n.length > 3 ? n[3] : 1 };
  };
  const over = (top, under) => ({
    r: top.r * top.a + under.r * (1 - top.a),
    g: top.g * top.a + under.g * (1 - top.a),
    b: top.b * top.a + under.b * (1 - top.a),
    a: 1,
  });
  const light = (c) => {
    const part = (v) => ((v /= 255) <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
    return 0.2126 * part(c.r) + 0.7152 * part(c.g) + 0.0722 * part(c.b);
  };
  const contrast = (a, b) => {
    const [x, y] = [light(a), light(b)].sort((p, q) => q - p);
    return (x + 0.05) / (y + 0.05);
  };
  const grounds = new Map();
  const ground = (el) => {
    if (!el) return { r: 255, g: 255, b: 255, a: 1 };
    if (grounds.has(el)) return grounds.get(el);
    const own = parse(getComputedStyle(el).backgroundColor);
    const under = own.a < 1 ? ground(el.parentElement) : null;
    const got = under ? over(own, under) : own;
    grounds.set(el, got);
    return got;
  };

  // ---- targets
  // A tick box is hit by its label; a field by the box drawn around it.
  const hit = (el) => {
    if (el.matches("input[type=checkbox],input[type=radio]")) return el.closest("label") || el;
    return el.closest(".box") || el;
  };
  const inline = (el) => el.localName === "a" && getComputedStyle(el).display === "inline";
  const targets = [...new Set([...document.querySelectorAll(TARGETS)].filter((el) => seen(el)).map(hit))];
  const boxes = targets.map((el) => {
    const rects = [...el.getClientRects()];
    return { el, all: inline(el) ? rects : [el.getBoundingClientRect()], label: name(el) };
  });
  for (const { el, all, label } of boxes) {
    if (el.matches(".unseen")) continue;
    const want = bench && el.matches("button.act,a.act,.key") && !el.matches(".small") ? least.bench : least.target;
    const high = Math.max(...all.map((r) => r.height)), wide = Math.max(...all.map((r) => r.width));
    if (high < want - 0.5) found.add(`target ${high.toFixed(0)} high, least ${want}: ${label}`);
    if (wide < want - 0.5) found.add(`target ${wide.toFixed(0)} wide, least ${want}: ${label}`);
  }
  for (let i = 0; i < boxes.length; i++) {
    for (let j = i + 1; j < boxes.length; j++) {
      const a = boxes[i], b = boxes[j];
      if (a.el.closest("svg") || b.el.closest("svg")) continue; // vessels stand as close as on the plank
      if (a.el.contains(b.el) || b.el.contains(a.el) || a.el.matches(".unseen") || b.el.matches(".unseen")) continue;
      if (layered(a.el) !== layered(b.el)) continue;
      for (const p of a.all) for (const q of b.all) {
        const gap = Math.max(Math.max(p.left, q.left) - Math.min(p.right, q.right), Math.max(p.top, q.top) - Math.min(p.bottom, q.bottom));
        if (gap < least.gap - 0.5) found.add(`gap ${gap.toFixed(0)}, least ${least.gap}: ${a.label} | ${b.label}`);
      }
    }
  }
  // What lies in a sheet above the page, or stays in place while the page scrolls, is no neighbour of what is under it.
  function layered(el) {
    for (let at = el; at; at = at.parentElement) {
      const place = getComputedStyle(at).position;
      if (place === "absolute" || place === "fixed" || place === "sticky") return at;
    }
    return null;
  }

  // ---- words
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  const styled = new Map();
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    const el = node.parentElement;
    if (!node.data.trim() || el.closest("svg,option,script,style,.unseen") || styled.has(el) || !seen(el)) continue;
    const style = getComputedStyle(el), size = parseFloat(style.fontSize);
    const small = el.closest("small,.small,.hint,.soft,.over,.when,.working,.may,.echo,sub,sup") !== null;
    const amount = el.closest("td.num,summary .num,.code,.deciding,.box.amount") !== null && !small;
    const colour = over(parse(style.color), ground(el)), ratio = contrast(colour, ground(el));
    const off = el.closest("[disabled],[aria-disabled=true]") !== null;
    const want = off ? least.control : amount ? least.quantity : least.text;
    if (ratio < want) found.add(`contrast ${ratio.toFixed(1)}, least ${want}: ${name(el)}`);
    if (size < least.small) found.add(`type ${size} px, least ${least.small}: ${name(el)}`);
    styled.set(el, size);
  }
  const body = parseFloat(getComputedStyle(document.body).fontSize);
  if (body < (bench ? least.benchType : least.type)) found.add(`body type ${body} px`);
  document.querySelectorAll(".box.amount input").forEach((el) => {
    const size = parseFloat(getComputedStyle(el).fontSize);
    if (seen(el) && size < least.typed) found.add(`type ${size} px in a quantity, least ${least.typed}: ${name(el)}`);
  });

  // ---- edges of controls
  document.querySelectorAll(".box,.act,.key,input[type=text]").forEach((el) => {
    if (!seen(el) || el.closest(".unseen")) return;
    const style = getComputedStyle(el);
    if (parseFloat(style.borderTopWidth) < 1) return;
    const around = ground(el.parentElement), edge = over(parse(style.borderTopColor), around);
    const ratio = contrast(edge, around);
    if (ratio < least.control) found.add(`edge ${ratio.toFixed(1)}, least ${least.control}: ${name(el)}`);
  });

  // ---- nothing to scroll sideways
  const wide = document.documentElement.scrollWidth - document.documentElement.clientWidth;
  if (wide > 0) {
    const edge = document.documentElement.clientWidth;
    const out = [...document.querySelectorAll("body *")].filter((el) => el.getBoundingClientRect().right > edge + 1 && !el.closest(".scrolls,svg"));
    found.add(`${wide} px to scroll sideways: ${out.slice(0, 3).map(name).join(" | ")}`);
  }
  return [...found];
}
