// Stations side by side: order by a column, show only some. Works on what the page says already; a missing figure is not
// zero, so it stands last in every order and fails every condition.
"use strict";
(() => {
  const make = (name, text, attributes) => {
    const element = document.createElement(name);
    if (text) element.textContent = text;
    for (const key in attributes || {}) element.setAttribute(key, attributes[key]);
    return element;
  };
  const value = (row, column) => {
    const cell = row.cells[column];
    return cell && cell.dataset.v !== undefined ? Number(cell.dataset.v) : null;
  };
  const name = (row) => row.cells[0].textContent;
  const columns = (head) => {
    const all = [];
    let at = 0;
    // A head over two cells belongs to the last of them: the first holds the drawing.
    for (const cell of head.cells) {
      at += cell.colSpan;
      all.push({ cell, at: at - 1, better: cell.dataset.better });
    }
    return all;
  };

  function sortable(table) {
    const body = table.tBodies[0], first = [...body.rows], all = columns(table.tHead.rows[0]);
    let by = null, up = false;
    const order = () => {
      const rows = [...first];
      if (by) rows.sort((a, b) => {
        if (by.at === 0) return (up ? 1 : -1) * name(a).localeCompare(name(b));
        const x = value(a, by.at), y = value(b, by.at);
        if (x === null || y === null) return (x === null) - (y === null);
        return up ? x - y : y - x;
      });
      body.append(...rows);
      ties(body, by);
    };
    for (const column of all) {
      const { cell } = column, button = make("button", "", { type: "button", class: "sort" });
      button.append(...cell.childNodes);
      cell.append(button);
      button.addEventListener("click", () => {
        // First the way people mean: the best first, names from A on; then turned round.
        up = by === column ? !up : column.at === 0 || column.better === "less";
        by = column;
        for (const other of all) other.cell.removeAttribute("aria-sort");
        cell.setAttribute("aria-sort", up ? "ascending" : "descending");
        order();
      });
    }
    table.classList.add("on");
    return all;
  }
  // Neighbours in the order that the measurement cannot tell apart.
  function ties(body, by) {
    for (const old of body.querySelectorAll(".tie")) old.remove();
    if (!by || by.at === 0) return;
    let above = null;
    for (const row of body.rows) {
      if (row.hidden) continue;
      const cell = row.cells[by.at];
      const { ties, like } = cell.dataset;
      // Few are named; of many it is said from where to where they reach.
      const [least, most] = like ? like.split(" ").map(Number) : [1, 0];
      const next = above ? value(above, by.at) : null;
      const tied = above && ((ties && ties.split(" ").includes(above.dataset.id)) || (next !== null && next >= least && next <= most));
      if (tied) cell.append(make("small", "may equal the one above", { class: "tie" }));
      above = row;
    }
  }

  function filter(tables) {
    const place = document.getElementById("filter");
    if (!place) return;
    const find = make("input", "", { id: "find", type: "search", autocomplete: "off" });
    const which = make("select", "", { id: "which" }), least = make("input", "", { id: "least", type: "number", step: "any" });
    const sense = make("select", "", { id: "sense" });
    sense.append(make("option", "at least", { value: "least" }), make("option", "at most", { value: "most" }));
    which.append(make("option", "any", { value: "" }));
    tables.forEach(({ all }, t) => all.forEach(({ cell, at }, c) => {
      if (at > 0) which.append(make("option", cell.dataset.name, { value: t + " " + c }));
    }));
    const labelled = (label, field) => {
      const box = make("div", "", { class: "field" });
      box.append(make("label", label, { for: field.id }), field);
      return box;
    };
    const said = make("p", "", { class: "facts", role: "status" });
    const box = make("div", "", { class: "filter" });
    box.append(labelled("Only stations named", find), labelled("whose", which), labelled("is", sense),
      labelled("value", least));
    // On a phone the stations come first; on a wide page there is room for both.
    const fold = make("details", "", { class: "choose" });
    fold.append(make("summary", "Order and choose"), box);
    fold.addEventListener("toggle", () => document.body.classList.toggle("choosing", fold.open));
    fold.open = window.matchMedia("(min-width: 761px)").matches;
    place.append(fold, said);
    const apply = () => {
      const [t, c] = which.value ? which.value.split(" ").map(Number) : [];
      const column = which.value ? tables[t].all[c] : null;
      const limit = column && least.value !== "" ? Number(least.value) : null;
      const words = find.value.trim().toLowerCase();
      let unknown = 0;
      const keep = new Map();
      if (limit !== null) for (const row of tables[t].table.tBodies[0].rows) {
        const v = value(row, column.at);
        if (v === null) unknown += 1;
        keep.set(row.dataset.id, v !== null && (sense.value === "least" ? v >= limit : v <= limit));
      }
      let shown = 0, all = 0;
      for (const { table } of tables) for (const row of table.tBodies[0].rows) {
        row.hidden = !(name(row).toLowerCase().includes(words) && (limit === null || keep.get(row.dataset.id)));
        if (table === tables[0].table) { all += 1; shown += !row.hidden; }
      }
      for (const { table } of tables) for (const old of table.querySelectorAll(".tie")) old.remove();
      said.textContent = words || limit !== null ? shown + " of " + all + " stations shown" +
        (unknown ? "; " + unknown + " not tested there, so not known to fit" : "") : "";
    };
    for (const field of [find, which, sense, least]) field.addEventListener("input", apply);
    which.addEventListener("input", () => {
      const [t, c] = which.value ? which.value.split(" ").map(Number) : [];
      if (which.value) sense.value = tables[t].all[c].better === "less" ? "most" : "least";
    });
  }

  const tables = [...document.querySelectorAll("table.sorts")].map((table) => ({ table, all: sortable(table) }));
  if (tables.length) filter(tables);
})();
