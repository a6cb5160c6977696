// The drawing board by hand: pull a leg's end, turn a bend, undo with the keyboard.
// Every change ends as a change of a field, so typing and drawing go the same way.

const STEP_MM = 1;
const STEP_IN = 1 / 16;
const STEP_DEG = 5;
let held = null;

const board = () => document.getElementById("board");
function inDrawing(svg, event) {
  const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
  return { x: point.x, y: -point.y };
}

function hold(event) {
  const handle = event.target.closest("circle.pull, circle.turn");
  if (!handle) return;
  const svg = handle.ownerSVGElement;
  const cx = Number(handle.getAttribute("cx"));
  const cy = Number(handle.getAttribute("cy"));
  held = { handle, svg, cx, cy, from: inDrawing(svg, event) };
  handle.classList.add("held");
  svg.setPointerCapture(event.pointerId);
  event.preventDefault();
}

function pulled(event) {
  const { handle, from, svg } = held;
  const to = inDrawing(svg, event);
  const data = handle.dataset;
  const input = document.getElementById(`leg_${data.leg}`);
  const start = Number(input.dataset.mm);
  const along = (to.x - from.x) * Number(data.dx) + (to.y - from.y) * Number(data.dy);
  const length = Math.max(1, start + along);
  write(input, length);
  handle.setAttribute("cx", held.cx + Number(data.dx) * (length - start));
  handle.setAttribute("cy", held.cy - Number(data.dy) * (length - start));
}

function turned(event) {
  const { handle, svg } = held;
  const to = inDrawing(svg, event);
  const data = handle.dataset;
  const heading = (Math.atan2(to.y - Number(data.y), to.x - Number(data.x)) * 180) / Math.PI;
  let angle = heading - Number(data.heading);
  angle = ((((angle + 180) % 360) + 360) % 360) - 180;
  const step = event.shiftKey ? 1 : STEP_DEG;
  angle = Math.max(-170, Math.min(170, Math.round(angle / step) * step)) || step;
  document.getElementById(`bend_${data.bend}`).value = String(Math.abs(angle));
  board().elements[`side_${data.bend}`].value = angle < 0 ? "down" : "up";
}

function write(input, length) {
  const per = Number(input.dataset.per);
  const step = per === 1 ? STEP_MM : STEP_IN;
  const value = Math.max(step, Math.round(length / per / step) * step);
  input.value = String(Number(value.toFixed(4)));
}

function move(event) {
  if (!held) return;
  if (held.handle.classList.contains("pull")) pulled(event);
  else turned(event);
}

function release() {
  if (!held) return;
  const { handle } = held;
  held = null;
  handle.classList.remove("held");
  const name = handle.dataset.leg ? `leg_${handle.dataset.leg}` : `bend_${handle.dataset.bend}`;
  document.getElementById(name).dispatchEvent(new Event("change", { bubbles: true }));
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
