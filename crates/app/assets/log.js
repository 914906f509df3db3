// A log or a capture looked at: what the cursor stands on, a stretch pulled out to be seen closer, choices that take effect at once.
const frame = document.querySelector(".tracing");
if (frame) {
  const out = frame.querySelector("output");
  const shown = () => [...frame.querySelectorAll("svg.trace")].find((s) => s.getBoundingClientRect().width > 0);
  const pad = (n) => String(Math.floor(n)).padStart(2, "0");
  const clock = (s) => `${Math.floor(s / 3600)}:${pad((s / 60) % 60)}:${pad(s % 60)}`;
  const number = (w) => w.toFixed(Math.abs(w) < 100 ? 2 : 1).replace("-", "−");
  // As many digits as tell two neighbours apart.
  const millis = (s, k) => (s * 1e3).toFixed(Math.min(4, Math.max(1, Math.ceil(-Math.log10((k.to - k.from) * 1e3 / k.points.length))))).replace("-", "−");
  const known = new WeakMap();
  const parts = (svg) => {
    if (!known.has(svg)) {
      const d = svg.dataset;
      const points = d.points.split(";").map((p) => p.split(",").map(Number));
      known.set(svg, { points, left: +d.left, right: +d.right, wide: +d.wide, from: +d.from, to: +d.to });
    }
    return known.get(svg);
  };
  const second = (svg, event) => {
    const k = parts(svg);
    const box = svg.getBoundingClientRect();
    const x = ((event.clientX - box.left) / box.width) * k.wide;
    return k.from + (Math.min(Math.max(x, k.left), k.right) - k.left) / (k.right - k.left) * (k.to - k.from);
  };
  let at = -1;
  function stand(svg, n) {
    const k = parts(svg);
    at = Math.min(Math.max(n, 0), k.points.length - 1);
    const [s, low, high] = k.points[at];
    const x = k.left + (s - k.from) / (k.to - k.from) * (k.right - k.left);
    const line = svg.querySelector(".cursor");
    line.setAttribute("transform", `translate(${x.toFixed(1)} 0)`);
    line.setAttribute("visibility", "visible");
    const [when, unit] = svg.dataset.of === "voltage" ? [`${millis(s, k)} ms`, "V"] : [`${clock(s)} from the first row`, "W"];
    out.textContent = `${when}: ${number(high)} ${unit}${high - low > 0.005 ? `, lowest ${number(low)} ${unit}` : ""}`;
  }
  function nearest(svg, s) {
    const p = parts(svg).points;
    let n = p.findIndex((q) => q[0] >= s);
    if (n < 0) n = p.length - 1;
    return n > 0 && s - p[n - 1][0] < p[n][0] - s ? n - 1 : n;
  }
  let begun = null;
  const band = document.createElementNS("http://www.w3.org/2000/svg", "rect");
  band.setAttribute("class", "chosen");
  frame.addEventListener("pointerdown", (e) => {
    const svg = e.target.closest("svg.trace");
    if (!svg || e.button !== 0) return;
    begun = second(svg, e);
    stand(svg, nearest(svg, begun));
  });
  frame.addEventListener("pointermove", (e) => {
    const svg = e.target.closest("svg.trace");
    if (!svg) return;
    const s = second(svg, e);
    stand(svg, nearest(svg, s));
    if (begun === null || e.pointerType === "touch") return;
    const k = parts(svg);
    const x = (t) => k.left + (t - k.from) / (k.to - k.from) * (k.right - k.left);
    const [a, b] = [Math.min(x(begun), x(s)), Math.max(x(begun), x(s))];
    band.setAttribute("x", a);
    band.setAttribute("width", b - a);
    band.setAttribute("y", 22);
    band.setAttribute("height", svg.viewBox.baseVal.height - 52);
    svg.append(band);
  });
  const closer = (a, b) => {
    const to = new URL(location.href);
    to.searchParams.set("from", a.toFixed(7));
    to.searchParams.set("to", b.toFixed(7));
    to.hash = "trace";
    location.assign(to);
  };
  window.addEventListener("pointerup", (e) => {
    const svg = e.target.closest?.("svg.trace");
    band.remove();
    if (begun !== null && svg && e.pointerType !== "touch") {
      const s = second(svg, e);
      const k = parts(svg);
      // A press without pulling is no wish to look closer.
      if (Math.abs(s - begun) > (k.to - k.from) / 100) closer(Math.min(s, begun), Math.max(s, begun));
    }
    begun = null;
  });
  frame.addEventListener("keydown", (e) => {
    const svg = shown();
    if (!svg || e.target !== frame) return;
    const k = parts(svg);
    const step = e.shiftKey ? 10 : 1;
    if (e.key === "ArrowRight") stand(svg, at + step);
    else if (e.key === "ArrowLeft") stand(svg, at < 0 ? k.points.length - 1 : at - step);
    else if (e.key === "Home") stand(svg, 0);
    else if (e.key === "End") stand(svg, k.points.length - 1);
    else return;
    e.preventDefault();
  });
}
// A choice of a column takes effect without a second press; without scripts there is the button.
document.querySelectorAll("form.mapping select").forEach((s) => s.addEventListener("change", () => s.form.requestSubmit()));
// A file chosen is sent at once; the page says that it is on its way.
document.querySelectorAll("form.arriving input[type=file]").forEach((f) => f.addEventListener("change", () => {
  if (!f.files.length) return;
  const says = f.form.querySelector("[role=status]");
  // What would be refused is not sent for minutes first.
  const most = Number(f.form.dataset.most || Infinity);
  if ([...f.files].reduce((sum, one) => sum + one.size, 0) > most) {
    says.textContent = `More than ${most / 2 ** (most < 2 ** 30 ? 20 : 30)} ${most < 2 ** 30 ? "MiB" : "GiB"} cannot be taken at once; choose fewer files, or pack them with gzip.`;
    f.value = "";
    return;
  }
  const what = f.files.length === 1 ? "it" : `${f.files.length} files`;
  says.textContent = `Sending and reading ${what} …`;
  f.form.requestSubmit();
}));
// Files may be dropped anywhere on the page.
document.querySelectorAll("form.drop").forEach((form) => {
  const field = form.querySelector("input[type=file]");
  const carries = (e) => [...(e.dataTransfer?.types ?? [])].includes("Files");
  const mark = (on) => form.classList.toggle("over", on);
  window.addEventListener("dragover", (e) => { if (carries(e)) { e.preventDefault(); mark(true); } });
  window.addEventListener("dragleave", (e) => { if (!e.relatedTarget) mark(false); });
  window.addEventListener("drop", (e) => {
    if (!carries(e)) return;
    e.preventDefault();
    mark(false);
    field.files = e.dataTransfer.files;
    field.dispatchEvent(new Event("change"));
  });
});
