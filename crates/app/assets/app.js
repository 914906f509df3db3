// What scripts add to every screen: running clocks, a figure understood while it is typed, the queue's word.
import { flush, waiting } from "./queue.js";

const say = (n) => (n === 1 ? "1 answer waits on this device for the bench." : `${n} answers wait on this device for the bench.`);

export async function showWaiting() {
  const line = document.getElementById("waiting");
  const n = await waiting();
  line.hidden = n === 0;
  line.textContent = n ? say(n) : "";
}

// Elapsed since an instant, as 1:34 or 0:07:12 in the first hour.
function clocks() {
  for (const time of document.querySelectorAll("time[data-since]")) {
    const s = Math.max(0, Math.floor((Date.now() - Date.parse(time.dataset.since)) / 1000));
    const two = (n) => String(n).padStart(2, "0");
    const [h, m] = [Math.floor(s / 3600), Math.floor(s / 60) % 60];
    time.textContent = h ? `${h} h ${two(m)} min` : `${m}:${two(s % 60)}`;
  }
}

// Where the clipboard is closed to pages (plain http from another device), the older way.
async function put(text) {
  try {
    await navigator.clipboard.writeText(text);
    return true;
  } catch {
    const area = document.body.appendChild(document.createElement("textarea"));
    area.value = text;
    area.className = "unseen";
    area.select();
    const done = document.execCommand("copy");
    area.remove();
    return done;
  }
}

// Texts that are pasted elsewhere: the text itself, or the field it stands in, copied by a button, which without
// scripts is not there. What happened is said politely.
function copying() {
  const buttons = document.querySelectorAll("[data-copy], [data-text]");
  if (!buttons.length) return;
  const said = document.body.appendChild(document.createElement("p"));
  said.className = "unseen";
  said.setAttribute("role", "status");
  for (const button of buttons) {
    button.hidden = false;
    const old = button.textContent;
    button.addEventListener("click", async () => {
      const field = document.getElementById(button.dataset.copy);
      const text = field ? field.value ?? field.textContent : button.dataset.text;
      const done = await put(text);
      if (!done && field) {
        field.focus();
        field.select?.();
      } else {
        button.focus();
      }
      button.textContent = done ? "Copied" : field ? "Selected: copy it with the keyboard" : "Not copied";
      said.textContent = field ? button.textContent : `${button.textContent}: ${text}`;
      setTimeout(() => { button.textContent = old; }, 2000);
    });
  }
  for (const button of document.querySelectorAll("[data-print]")) {
    button.hidden = false;
    button.addEventListener("click", () => print());
  }
}

// A form part that asks the bench what it understands.
function live() {
  const place = document.querySelector("[data-live]");
  if (!place) return;
  const form = place.closest("form");
  const [key, text] = [form.elements.key, form.elements.text];
  let last = 0;
  const ask = async () => {
    const mine = ++last;
    const query = new URLSearchParams({ key: key.value, text: text.value });
    const answer = await fetch(`${place.dataset.live}?${query}`).then((r) => r.json()).catch(() => null);
    if (!answer || mine !== last) return;
    place.textContent = answer.words;
    place.classList.toggle("trouble", !answer.ok && text.value !== "" && key.value !== "");
  };
  const axes = () => {
    for (const axis of form.querySelectorAll("[data-of]")) axis.hidden = !axis.dataset.of.split(" ").includes(key.value);
  };
  for (const field of [key, text]) field.addEventListener("input", () => { axes(); ask(); });
  axes();
}

// The zone of this device is offered while the bench has none of its own.
const zone = document.querySelector("#settings [name=zone]");
if (zone && zone.value === "UTC" && !document.querySelector("#settings [name=tester]").value) {
  zone.value = Intl.DateTimeFormat().resolvedOptions().timeZone || zone.value;
}
// An open menu closes when the person turns elsewhere.
const more = document.querySelector(".more");
document.addEventListener("click", (e) => { if (more && !more.contains(e.target)) more.open = false; });
document.addEventListener("keydown", (e) => { if (e.key === "Escape" && more) more.open = false; });

clocks();
copying();
setInterval(clocks, 1000);
live();
const tell = async () => { await flush(); await showWaiting(); };
window.addEventListener("online", tell);
setInterval(async () => { if (await waiting()) tell(); }, 5000);
tell();
