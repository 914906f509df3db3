// Looks at the page the way a person does: by labels, texts and edges. `what` is field, button, focused, nameless or
// too_wide.
// field and button give the element, or the list of names there are; focused gives a name; the others give offenders.
const [what, wanted] = arguments;
const tidy = (text) => (text || "").replace(/\s+/g, " ").trim();
const shown = (e) => e.checkVisibility({ visibilityProperty: true }) && e.getClientRects().length > 0;
const show = (e) => e.outerHTML.replace(/\s+/g, " ").slice(0, 120);
const byId = (ids) => tidy((ids || "").split(/\s+/).map((id) => document.getElementById(id)?.textContent).join(" "));
const name = (e) =>
  byId(e.getAttribute("aria-labelledby")) ||
  tidy(e.getAttribute("aria-label")) ||
  tidy([...(e.labels || [])].map((l) => l.textContent).join(" ")) ||
  (e.matches("input[type=submit], input[type=button]") ? tidy(e.value) : "") ||
  (e.matches("input, select, textarea") ? "" : tidy(e.textContent)) ||
  tidy([...e.querySelectorAll("img[alt], svg title")].map((i) => i.alt || i.textContent).join(" ")) ||
  tidy(e.title);
const pick = (selector) => {
  const all = [...document.querySelectorAll(selector)].filter((e) => shown(e) || e.labels?.length);
  const exact = all.filter((e) => name(e) === wanted);
  const open = exact.concat(all.filter((e) => name(e).startsWith(wanted)));
  return open[0] || all.map(name);
};

if (what === "focused") return name(document.activeElement);
if (what === "field") return pick("input:not([type=hidden]), select, textarea");
if (what === "button") {
  return pick(
    "button, a[href], summary, [role=button], [role=tab], input[type=submit], input[type=button], input[type=checkbox], input[type=radio]",
  );
}
if (what === "nameless") {
  const focusable =
    "a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex]:not([tabindex='-1'])";
  return [...document.querySelectorAll(focusable)].filter((e) => shown(e) && !name(e)).map(show);
}
if (what === "too_wide") {
  const width = window.innerWidth;
  // A phone zooms out to show a page that is too wide, so its own width is asked for as well.
  const room = Math.min(width, document.documentElement.clientWidth, window.screen.width);
  if (document.documentElement.scrollWidth <= room) return [];
  return [...document.querySelectorAll("body *")].filter((e) => e.getBoundingClientRect().right > room + 0.5).map(show);
}
