// The drawing board of a flat part by hand: pull a corner, a bend line or a hole, undo with the keys.
// Every change ends as a change of a field, so typing and pulling go the same way.

const STEP_MM = 1;
const STEP_IN = 1 / 16;
let held = null;

const board = () => document.getElementById("board");
const field = (name) => board().elements.namedItem(name);

function inDrawing(svg, event) {
  const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
  return { x: point.x, y: -point.y };
}

const rounded = (value) => String(Number(value.toFixed(5)));

// How far the hand has gone, in the reader's unit, by whole steps.
function gone(from, to) {
  const per = Number(board().dataset.per);
  const step = per === 1 ? STEP_MM : STEP_IN;
  return Math.round((to - from) / per / step) * step;
}

const numbers = (text) => text.split(";").map((piece) => piece.trim()).filter(Boolean).map((piece) => piece.split(/\s+/).map((word) => Number(word.replace(",", ".").replace("−", "-"))));
const words = (points) => points.map(([x, y]) => `${rounded(x)} ${rounded(y)}`).join("; ");

function pullPoint(data, dx, dy) {
  const points = numbers(held.typed.outline);
  const point = points[Number(data.point) - 1];
  point[0] += dx;
  point[1] += dy;
  field("outline").value = words(points);
}

function pullLine(data, dx, dy) {
  const [nx, ny] = [Number(data.x), Number(data.y)];
  const along = dx * nx + dy * ny;
  const name = `line_${data.line}`;
  field(name).value = words(numbers(held.typed[name]).map(([x, y]) => [x + nx * along, y + ny * along]));
}

function pullCut(data, dx, dy) {
  for (const [axis, by] of [["u", dx], ["v", dy]]) {
    const name = `cut_${data.cut}_${axis}`;
    const was = Number(held.typed[name].replace(",", "."));
    field(name).value = rounded(was + by);
  }
}

function hold(event) {
  const handle = event.target.closest?.(".pull-point, .pull-line, .pull-cut");
  if (!handle || event.button > 0) return;
  const svg = handle.ownerSVGElement;
  const typed = Object.fromEntries(new FormData(board()));
  held = { handle, svg, typed, from: inDrawing(svg, event), moved: false };
  handle.classList.add("held");
  svg.setPointerCapture(event.pointerId);
  event.preventDefault();
}

function move(event) {
  if (!held) return;
  const { handle, svg, from } = held;
  const to = inDrawing(svg, event);
  const [dx, dy] = [gone(from.x, to.x), gone(from.y, to.y)];
  held.moved ||= dx !== 0 || dy !== 0;
  const data = handle.dataset;
  if (data.point) pullPoint(data, dx, dy);
  else if (data.line) pullLine(data, dx, dy);
  else pullCut(data, dx, dy);
  const per = Number(board().dataset.per);
  let [sx, sy] = [dx * per, dy * per];
  if (data.line) {
    const along = sx * Number(data.x) + sy * Number(data.y);
    [sx, sy] = [along * Number(data.x), along * Number(data.y)];
  }
  handle.setAttribute("transform", `translate(${sx} ${-sy})`);
}

function release() {
  if (!held) return;
  const { handle, moved } = held;
  held = null;
  handle.classList.remove("held");
  const data = handle.dataset;
  const name = data.point ? "outline" : data.line ? `line_${data.line}` : `cut_${data.cut}_u`;
  if (moved) field(name).dispatchEvent(new Event("change", { bubbles: true }));
}

function keys(event) {
  if (!(event.ctrlKey || event.metaKey) || event.target.matches("input, textarea")) return;
  const key = event.key.toLowerCase();
  const what = key === "z" && !event.shiftKey ? "undo" : key === "y" || (key === "z" && event.shiftKey) ? "redo" : null;
  if (!what) return;
  event.preventDefault();
  board().querySelector(`button[value=${what}]`)?.click();
}

document.addEventListener("pointerdown", hold);
document.addEventListener("pointermove", move);
document.addEventListener("pointerup", release);
document.addEventListener("pointercancel", release);
document.addEventListener("keydown", keys);
