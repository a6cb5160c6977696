// Bars of the plan: choose one to see it, drag it (or move it with the arrow keys) to propose a pin.

const box = document.querySelector(".gantt-box");
const chart = document.querySelector("svg.gantt");
const form = document.getElementById("drag");
const told = document.getElementById("drag-told");
const STEP_MIN = 5;
const KEY_STEP_MIN = 30;
const FAR_ENOUGH = 6;
const SVG = "http://www.w3.org/2000/svg";

if (chart && form) {
  const pieces = chart.dataset.pieces.split(";").filter(Boolean).map((text) => {
    const [left, right, at] = text.split(",");
    return { left: Number(left), right: Number(right), at: new Date(`${at}Z`).getTime() };
  });
  const rows = chart.dataset.rows.split(";");
  const head = Number(chart.dataset.head);
  const rowHeight = Number(chart.dataset.row);
  const perPixel = hourWidth();
  let held = null;

  // A moment by the shop's clock: the times here have no zone and are counted as if in UTC.
  function hourWidth() {
    const first = pieces[0];
    return first ? 3600000 / Number(chart.dataset.hour) : 0;
  }

  function momentAt(x) {
    let nearest = pieces[0];
    for (const piece of pieces) {
      if (x >= piece.left) nearest = piece;
    }
    const inside = Math.min(Math.max(x, nearest.left), nearest.right) - nearest.left;
    const at = nearest.at + inside * perPixel;
    return new Date(Math.round(at / (STEP_MIN * 60000)) * STEP_MIN * 60000);
  }

  const written = (at) => at.toISOString().slice(0, 16);
  const spoken = (at) => at.toLocaleString("en-GB", { timeZone: "UTC", weekday: "short", day: "numeric", month: "short", hour: "2-digit", minute: "2-digit" });

  function place(point) {
    const matrix = chart.getScreenCTM();
    return { x: (point.clientX - matrix.e) / matrix.a, y: (point.clientY - matrix.f) / matrix.d };
  }

  function take(bar) {
    held = { bar, x: Number(bar.dataset.x), row: Number(bar.dataset.row), moved: 0, rows: 0 };
    bar.classList.add("dragged");
    held.line = document.createElementNS(SVG, "path");
    held.line.setAttribute("class", "drop-line");
    held.words = document.createElementNS(SVG, "text");
    held.words.setAttribute("font-size", "14");
    held.words.setAttribute("font-weight", "700");
    chart.append(held.line, held.words);
  }

  function show() {
    const x = held.x + held.moved;
    const row = Math.min(Math.max(held.row + held.rows, 0), rows.length - 1);
    held.target = { at: momentAt(x), row };
    held.bar.setAttribute("transform", `translate(${held.moved} ${(row - held.row) * rowHeight})`);
    held.line.setAttribute("d", `M${x} ${head}V${chart.height.baseVal.value}`);
    held.words.setAttribute("x", String(x + 4));
    held.words.setAttribute("y", String(head + row * rowHeight + 11));
    held.words.textContent = spoken(held.target.at);
    told.textContent = `${spoken(held.target.at)} on ${rows[row]}`;
  }

  function letGo() {
    if (!held) return;
    held.bar.classList.remove("dragged");
    held.bar.removeAttribute("transform");
    held.line.remove();
    held.words.remove();
    held = null;
  }

  function propose() {
    const { bar, target } = held;
    form.elements.job_number.value = bar.dataset.job;
    form.elements.position.value = bar.dataset.position;
    form.elements.start_at.value = written(target.at);
    form.elements.resource_code.value = rows[target.row];
    form.requestSubmit();
  }

  function choose(bar) {
    const query = new URLSearchParams({ job: bar.dataset.job, position: bar.dataset.position });
    htmx.ajax("GET", `/office/schedule/${box.dataset.plan}/task?${query}`, { target: "#task", swap: "outerHTML" })
      .then(() => document.getElementById("task").scrollIntoView({ block: "nearest" }));
  }

  let press = null;
  chart.addEventListener("pointerdown", (event) => {
    const bar = event.target.closest(".bar");
    if (!bar || event.button !== 0) return;
    press = { bar, from: place(event), id: event.pointerId };
  });
  chart.addEventListener("pointermove", (event) => {
    if (!press || event.pointerId !== press.id || press.bar.classList.contains("running")) return;
    const now = place(event);
    const [dx, dy] = [now.x - press.from.x, now.y - press.from.y];
    if (!held) {
      if (Math.hypot(dx, dy) < FAR_ENOUGH) return;
      take(press.bar);
      chart.setPointerCapture(event.pointerId);
    }
    held.moved = dx;
    held.rows = Math.round(dy / rowHeight);
    show();
  });
  chart.addEventListener("pointerup", (event) => {
    if (!press || event.pointerId !== press.id) return;
    const { bar } = press;
    press = null;
    if (held) propose();
    else choose(bar);
  });
  chart.addEventListener("pointercancel", () => { press = null; letGo(); });

  chart.addEventListener("keydown", (event) => {
    const bar = event.target.closest(".bar");
    if (!bar) return;
    const steps = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    if (steps && !bar.classList.contains("running")) {
      if (!held) take(bar);
      held.moved += (steps[0] * KEY_STEP_MIN * 60000) / perPixel;
      held.rows += steps[1];
      show();
    } else if (event.key === "Enter" || event.key === " ") {
      if (held) propose();
      else choose(bar);
    } else if (event.key === "Escape") {
      letGo();
    } else {
      return;
    }
    event.preventDefault();
  });
  chart.addEventListener("focusout", () => { if (!press) letGo(); });
}

document.addEventListener("click", (event) => {
  if (!event.target.closest("[data-close]")) return;
  const panel = document.getElementById("task");
  panel.replaceChildren();
  panel.hidden = true;
  panel.className = "";
});

for (const select of document.querySelectorAll("[data-job-position]")) {
  const fill = () => {
    const [job, position] = select.value.split(" ");
    select.form.elements.job_number.value = job || "";
    select.form.elements.position.value = position || "";
  };
  select.addEventListener("change", fill);
  fill();
}
