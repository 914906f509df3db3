// Will it run yours: what is typed goes to core, compiled for the browser; its answers come back in words and are put on
// the page as text. Nothing is computed, rounded or worded here. The engine is loaded when somebody first asks.
"use strict";
(() => {
  const at = (id) => document.getElementById(id);
  const form = at("ask"), lines = at("lines"), said = at("said"), status = at("status"), back = at("back");
  if (!form || !window.WebAssembly || !window.DecompressionStream) return;
  const source = JSON.parse(at("grounds").textContent);
  let engine = null, loading = null, waiting = 0, serial = 0, removed = "";

  const make = (name, text, attributes) => {
    const element = document.createElement(name);
    if (text) element.textContent = text;
    for (const key in attributes || {}) element.setAttribute(key, attributes[key]);
    return element;
  };
  const named = (text) => make("bdi", text);

  // --- The engine ---

  const script = (address) => new Promise((done, failed) => {
    const element = make("script", "", { src: address });
    element.onload = done;
    element.onerror = () => failed(new Error(address + " did not load"));
    document.head.append(element);
  });
  async function load() {
    await script("run/engine.js");
    const packed = Uint8Array.from(atob(window.benchEngine), (c) => c.charCodeAt(0));
    delete window.benchEngine;
    const plain = new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"));
    const bytes = await new Response(plain).arrayBuffer();
    const { instance } = await WebAssembly.instantiate(bytes, {});
    const { memory, buf, call } = instance.exports;
    engine = (message) => {
      const bytes = new TextEncoder().encode(JSON.stringify(message));
      const room = buf(bytes.length);
      new Uint8Array(memory.buffer, room, bytes.length).set(bytes);
      const length = call();
      const told = new TextDecoder().decode(new Uint8Array(memory.buffer, buf(length), length));
      return JSON.parse(told);
    };
    const opened = engine({ open: source.published });
    if (!opened.opened) throw new Error(opened.trouble);
  }
  function ready() {
    loading = loading || load().catch((why) => {
      engine = null;
      status.textContent = "This browser cannot answer here (" + why.message + "). The table below has the usual loads.";
      throw why;
    });
    return loading;
  }

  // --- What is typed ---

  function line(text, focus) {
    const item = make("li"), id = "line-" + ++serial;
    const input = make("input", "", { id, type: "text", "aria-label": "Device", autocomplete: "off", spellcheck: "false",
      enterkeyhint: "enter", placeholder: "fridge, 85 W, start 900 W, avg 38 W" });
    const remove = make("button", "×", { type: "button", "aria-label": "Remove this device", title: "Remove" });
    input.value = text;
    input.addEventListener("input", soon);
    input.addEventListener("keydown", (event) => {
      if (event.key !== "Enter") return;
      event.preventDefault();
      const next = item.nextElementSibling;
      if (next) next.querySelector("input").focus(); else line("", true);
    });
    remove.addEventListener("click", () => {
      const beside = item.nextElementSibling || item.previousElementSibling;
      removed = input.value.trim();
      item.remove();
      back.hidden = !removed;
      back.textContent = "Put back: " + removed.split(",")[0];
      (beside ? beside.querySelector("input") : at("own")).focus();
      soon();
    });
    item.append(input, remove);
    lines.append(item);
    if (focus) input.focus();
  }
  const texts = () => [...lines.querySelectorAll("input")].map((i) => i.value.trim()).filter(Boolean);
  const typed = () => ({
    devices: texts(), time: at("time").value, solar: at("solar").value,
    switch_off_disabled: at("disabled").checked, outlet_stays_on: !at("off").checked,
  });

  // The question stands in the address, so that it can be sent to somebody and survives a reload.
  function keep(question) {
    const kept = new URLSearchParams(question.devices.map((d) => ["device", d]));
    if (question.time) kept.set("time", question.time);
    if (question.solar) kept.set("solar", question.solar);
    if (question.switch_off_disabled) kept.set("disabled", "1");
    if (!question.outlet_stays_on) kept.set("off", "1");
    try { history.replaceState(null, "", "#" + kept); } catch { /* an address that may not be changed is no loss */ }
  }
  function restore() {
    const kept = new URLSearchParams(location.hash.slice(1));
    kept.getAll("device").forEach((text) => line(text, false));
    at("time").value = kept.get("time") || "";
    at("solar").value = kept.get("solar") || "";
    at("disabled").checked = kept.has("disabled");
    at("off").checked = kept.has("off");
    if (!texts().length) line("", false);
    return texts().length > 0;
  }

  // --- The answers ---

  function soon() {
    clearTimeout(waiting);
    waiting = setTimeout(ask, 150);
  }
  async function ask() {
    const question = typed();
    keep(question);
    if (!question.devices.length) return show("nothing");
    if (!engine) status.textContent = "Loading what answers here, once …";
    try { await ready(); } catch { return; }
    const told = engine({ ask: typed() });
    if (told.reply) show(told.reply);
    else status.textContent = told.trouble;
  }
  function show(reply) {
    said.replaceChildren();
    if (reply === "nothing") { status.textContent = ""; return; }
    if (reply.misread) {
      const list = make("ul", "", { class: "plain notes" });
      for (const { typed, text, hint } of reply.misread) {
        const item = make("li");
        item.append(make("b", "Not understood: "), named(typed), make("small", text + "; " + hint));
        list.append(item);
      }
      said.append(list);
      status.textContent = "Something typed is not understood; it is named below.";
      return;
    }
    sheet(reply.answers);
  }
  function sheet(answers) {
    const enough = answers.rows.filter((r) => r.suffices).length;
    status.textContent = answers.rows.length ? enough + " of " + answers.rows.length + " stations run all of it." : "";
    said.append(make("h2", "What the bench says"));
    if (answers.caution) said.append(make("p", answers.caution, { class: "caution" }));
    for (const choice of answers.choices) {
      const line = make("p", choice.label + ": ", { class: "answer" });
      line.append(station(choice));
      said.append(line, make("p", choice.price + " · " + choice.why, { class: "facts" }));
    }
    for (const [text, hint] of answers.noticed) said.append(make("p", text + "; " + hint, { class: "facts" }));
    if (answers.rows.length) said.append(table(answers.rows));
    const more = make("details"), list = make("ul", "", { class: "plain" });
    answers.assumed.forEach((text) => list.append(make("li", text)));
    more.append(make("summary", "Taken for granted"), list);
    said.append(more);
  }
  function station({ id, name }) {
    const link = source.pages[id] ? make("a", "", { href: source.pages[id] }) : make("span");
    link.append(named(name));
    return link;
  }
  function table(rows) {
    const table = make("table", "", { class: "replies" }), head = make("tr"), body = make("tbody");
    for (const [title, side] of [["station"], ["runs it"], ["lasts", "r"], ["why"]])
      head.append(make("th", title, side ? { scope: "col", class: side } : { scope: "col" }));
    for (const row of rows) {
      const line = make("tr"), name = make("th", "", { scope: "row" }), word = make("td"), why = make("td", row.why);
      name.append(station(row));
      word.append(make(row.suffices ? "b" : "span", row.word));
      if (row.limits.length > 1) {
        const more = make("details"), list = make("ul", "", { class: "plain" });
        for (const limit of row.limits) {
          const item = make("li");
          item.append(make("b", limit.word + ": "), limit.text);
          list.append(item);
        }
        more.append(make("summary", "every limit"), list);
        why.append(more);
      }
      line.append(name, word, make("td", row.hours, { class: "r" }), why);
      body.append(line);
    }
    const top = make("thead");
    top.append(head);
    table.append(top, body);
    return table;
  }

  // --- Begin ---

  form.addEventListener("submit", (event) => { event.preventDefault(); ask(); });
  form.addEventListener("focusin", () => { ready().catch(() => {}); }, { once: true });
  for (const id of ["time", "solar"]) at(id).addEventListener("input", soon);
  for (const id of ["disabled", "off"]) at(id).addEventListener("change", soon);
  at("own").addEventListener("click", () => line("", true));
  back.addEventListener("click", () => {
    line(removed, true);
    back.hidden = true;
    soon();
  });
  for (const chip of form.querySelectorAll(".chip")) chip.addEventListener("click", () => {
    const empty = [...lines.querySelectorAll("input")].find((i) => !i.value.trim());
    if (empty) empty.value = chip.dataset.line; else line(chip.dataset.line, false);
    soon();
  });
  form.hidden = false;
  if (restore()) ask();
})();
