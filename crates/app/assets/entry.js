// One question at a time: what is understood while it is typed, keeping without a new page, going on without a network.
import { begin, drop, end, key, passes, put, send } from "./queue.js";
import { showWaiting } from "./app.js";

const root = document.getElementById("entry");
const test = encodeURIComponent(root.dataset.test);
const sections = [...root.querySelectorAll("section.q")];
const at = (name) => sections.find((s) => s.dataset.key === name);
const now = () => {
  const d = new Date();
  const two = (n) => String(Math.floor(n)).padStart(2, "0");
  const off = -d.getTimezoneOffset();
  const sign = off < 0 ? "-" : "+";
  const local = `${d.getFullYear()}-${two(d.getMonth() + 1)}-${two(d.getDate())}T${two(d.getHours())}:${two(d.getMinutes())}:${two(d.getSeconds())}`;
  return `${local}${sign}${two(Math.abs(off) / 60)}:${two(Math.abs(off) % 60)}`;
};

function go(name, said) {
  const next = at(name);
  for (const s of sections) s.hidden = s !== next;
  for (const i of root.querySelectorAll(".steps i")) i.classList.toggle("here", i.dataset.step === name);
  if (said) next.querySelectorAll("[data-last]").forEach((p) => { p.textContent = `Before: ${said}`; });
  root.querySelector(".happened [name=q]").value = name;
  history.replaceState(null, "", `?q=${name}`);
  window.scrollTo(0, 0);
  const field = next.querySelector("input[name=text]:not([placeholder])");
  if (field) field.focus({ preventScroll: true });
}

root.addEventListener("click", (event) => {
  const link = event.target.closest("[data-go]");
  if (!link) return;
  event.preventDefault();
  // The outcome is computed by the bench.
  if (link.dataset.go === "done") location.assign(`?q=done`);
  else go(link.dataset.go);
});

// --- understood while typed ------------------------------------------------------------------------------------------
function understand(section) {
  const form = section.querySelector("form");
  const text = form?.querySelector("input[name=text], textarea[name=text]");
  if (!text) return;
  const out = section.querySelector(".understood");
  const check = section.querySelector(".check");
  let last = 0;
  let timer = 0;
  const ask = async () => {
    const mine = ++last;
    if (!text.value.trim()) { out.textContent = ""; check.hidden = true; return; }
    const f = form.elements;
    const query = new URLSearchParams({ field: f.field.value, text: text.value, unit: f.unit?.value || "", instrument: f.instrument?.value || "" });
    let answer;
    try {
      answer = await (await fetch(`/test/${test}/understand?${query}`)).json();
    } catch {
      if (mine === last) { out.textContent = ""; show(check, ["The bench cannot be reached. It is kept on this phone and read later."], false); }
      return;
    }
    if (mine !== last) return;
    out.textContent = answer.ok ? answer.words : "";
    const lines = answer.ok ? answer.besides : [`${answer.words}. ${answer.hint}.`];
    show(check, lines, !answer.ok);
  };
  const later = () => { clearTimeout(timer); timer = setTimeout(ask, 150); };
  for (const name of ["input", "change"]) form.addEventListener(name, later);
}

function show(check, lines, alert) {
  check.replaceChildren(...lines.map((line) => { const b = document.createElement("p"); b.textContent = line; return b; }));
  check.hidden = lines.length === 0;
  check.classList.toggle("alert", alert);
}

// --- keeping -----------------------------------------------------------------------------------------------------------
function pressed(form, button) {
  const data = new FormData(form);
  data.set("at", now());
  data.set("once", key());
  if (button?.name === "now") data.set("text", data.get("at"));
  else if (button?.name) data.set(button.name, button.value);
  data.delete("now");
  return [...data].filter(([, v]) => typeof v === "string" || v.size > 0);
}

const value = (fields, name) => fields.find(([n]) => n === name)?.[1] ?? "";

function settle(form, fields, words) {
  const field = value(fields, "field");
  form.elements.was.value = value(fields, "text");
  root.querySelector(`.steps i[data-step="${CSS.escape(field)}"]`)?.classList.add("on");
  const said = root.querySelector(`[data-said="${CSS.escape(field)}"]`);
  if (said) said.textContent = words;
}

async function keep(event) {
  event.preventDefault();
  const form = event.target;
  const section = form.closest("section.q");
  const fields = pressed(form, event.submitter);
  const label = section.dataset.label;
  const check = section.querySelector(".check");
  // Safe on this device first: whatever happens to the network or the page, the answer is not lost.
  let n = null;
  begin();
  try { n = await put(form.getAttribute("action"), fields); } catch { /* no storage: then only the network */ }
  const button = event.submitter;
  button.disabled = true;
  try {
    const answer = await send(form.getAttribute("action"), fields);
    if (passes(answer)) throw new Error(String(answer.status));
    if (n !== null) await drop(n);
    if (answer.status === 422) {
      const t = await answer.json();
      show(check, [`${t.words}. ${t.hint}.`], true);
      return;
    }
    if (!answer.ok) {
      show(check, ["Another screen answered this meanwhile. Load the page again and look."], true);
      return;
    }
    const kept = await answer.json();
    // Times and places that follow from the answer come from the bench.
    if (kept.next === "done" || kept.next === "wait" || !at(kept.next)) location.assign(`?q=${kept.next}&kept=${kept.kept}`);
    else { settle(form, fields, kept.words.slice(label.length + 2)); undoable(kept.kept); go(kept.next, kept.words); }
  } catch {
    if (n === null) { show(check, ["The bench cannot be reached, and this browser keeps nothing. Try again."], true); return; }
    const said = event.submitter.textContent.trim().startsWith("Keep") ? value(fields, "text") : event.submitter.firstChild.textContent;
    settle(form, fields, said);
    go(section.dataset.next, `${label}: ${said}`);
  } finally {
    button.disabled = false;
    end();
    showWaiting();
  }
}

function undoable(stroke) {
  document.querySelectorAll("form.said, p.said:not(#waiting)").forEach((e) => e.remove());
  if (!stroke) return;
  const form = document.createElement("form");
  form.className = "said";
  form.method = "post";
  form.action = `/undo/${stroke}`;
  form.setAttribute("role", "status");
  form.innerHTML = `<span>Kept.</span><button class="link">Undo</button>`;
  document.getElementById("waiting").before(form);
}

for (const section of sections) {
  section.querySelector("form")?.addEventListener("submit", keep);
  understand(section);
  section.querySelector(".photo input")?.addEventListener("change", (e) => {
    const on = e.target.files.length > 0;
    e.target.parentElement.classList.toggle("on", on);
    e.target.parentElement.querySelector("span").textContent = on ? "Photo attached" : "Photo of it";
  });
}

root.querySelector(".happened form").addEventListener("submit", async (event) => {
  event.preventDefault();
  const form = event.target;
  const fields = pressed(form, null);
  begin();
  const n = await put(form.getAttribute("action"), fields).catch(() => null);
  try {
    const answer = await send(form.getAttribute("action"), fields);
    if (answer.ok) { if (n !== null) await drop(n); undoable((await answer.json()).kept); }
  } catch { /* it waits in the queue */ }
  end();
  form.elements.text.value = "";
  location.hash = "entry";
  showWaiting();
});
