// Answers that could not be sent yet: kept in this browser, sent in order, each exactly once by its key.
const NAME = "bench-queue";

function open() {
  return new Promise((done, failed) => {
    const asked = indexedDB.open(NAME, 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore("answers", { keyPath: "n", autoIncrement: true });
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => failed(asked.error);
  });
}

async function within(mode, act) {
  const db = await open();
  try {
    return await new Promise((done, failed) => {
      const deal = db.transaction("answers", mode);
      const asked = act(deal.objectStore("answers"));
      deal.oncomplete = () => done(asked.result);
      deal.onerror = () => failed(deal.error);
    });
  } finally {
    db.close();
  }
}

// Not crypto.randomUUID: it is missing on plain http, as in a home network.
export function key() {
  return [...crypto.getRandomValues(new Uint8Array(16))].map((b) => b.toString(16).padStart(2, "0")).join("");
}

export const waiting = () => within("readonly", (s) => s.count()).catch(() => 0);

// Resolves when the answer is safe on this device; gives its number in the queue.
export const put = (url, fields) => within("readwrite", (s) => s.add({ url, fields }));
export const drop = (n) => within("readwrite", (s) => s.delete(n));

export function body(fields, multipart) {
  if (!multipart) return new URLSearchParams(fields);
  const form = new FormData();
  for (const [name, value] of fields) form.append(name, value);
  return form;
}

// A line that hangs counts as lost after ten seconds, a photo after two minutes; the key keeps the answer from being kept twice.
export function send(url, fields) {
  const patience = fields.some(([, v]) => typeof v !== "string") ? 120_000 : 10_000;
  const form = body(fields, url.endsWith("/keep"));
  return fetch(url, { method: "POST", headers: { Accept: "application/json" }, body: form, signal: AbortSignal.timeout(patience) });
}

// While a page sends an answer of its own, the queue leaves it alone: what cannot be read shall be refused to the
// person who is still there, not kept as if it had waited.
let own = 0;
export const begin = () => { own += 1; };
export const end = () => { own -= 1; };

// What passes by itself or is put right elsewhere: a fault of the program, or a device that has to be let in again. The answer
// is kept until then.
export const passes = (answer) => answer.status >= 500 || answer.status === 401;

let busy = false;
// Sends what waits, oldest first. Stops at the first that the network does not take.
export async function flush() {
  if (busy || own) return 0;
  busy = true;
  let sent = 0;
  try {
    for (const item of await within("readonly", (s) => s.getAll())) {
      const answer = await send(item.url, [...item.fields, ["waited", "1"]]);
      // A refusal does not pass, and the page of the test tells of it.
      if (passes(answer)) break;
      if (!answer.ok) refused(item, answer.status);
      await drop(item.n);
      sent += 1;
    }
  } catch {
    // Still no network.
  } finally {
    busy = false;
  }
  return sent;
}

function refused(item, status) {
  const said = Object.fromEntries(item.fields.filter(([, v]) => typeof v === "string"));
  const why = status === 409 ? "another screen had answered it meanwhile" : "the bench did not take it";
  const line = document.createElement("p");
  line.className = "said waiting";
  line.setAttribute("role", "alert");
  line.textContent = `Not kept: ${said.field || "remark"} “${said.text}”; ${why}. Enter it once more under All answers.`;
  document.getElementById("waiting").after(line);
}
