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

// Texts that are pasted elsewhere: copied by a button, which without scripts is not there.
function copying() {
  for (const button of document.querySelectorAll("[data-copy]")) {
    button.hidden = false;
    button.addEventListener("click", async () => {
      const field = document.getElementById(button.dataset.copy);
      const old = button.textContent;
      try {
        await navigator.clipboard.writeText(field.value ?? field.textContent);
        button.textContent = "Copied";
      } catch {
        field.focus();
        field.select?.();
        button.textContent = "Selected: copy it with the keyboard";
      }
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

// What is copied is said politely; where the clipboard is closed to pages (plain http from another device), the older way.
async function copied(text) {
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
for (const button of document.querySelectorAll("button.copy")) {
  button.hidden = false;
  button.addEventListener("click", async () => {
    const done = await copied(button.dataset.text);
    button.focus();
    const word = done ? "copied" : "not copied";
    document.getElementById("copied").textContent = `${word}: ${button.dataset.text}`;
    button.textContent = word;
    setTimeout(() => { button.textContent = "copy"; }, 2000);
  });
}

clocks();
copying();
setInterval(clocks, 1000);
live();
const tell = async () => { await flush(); await showWaiting(); };
window.addEventListener("online", tell);
setInterval(async () => { if (await waiting()) tell(); }, 5000);
tell();
