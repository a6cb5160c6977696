// Arranging steps by hand: drag a step by its grip; the keyboard uses the arrow buttons. Every change
// ends as a button pressed in the form, so dragging, keys and a page without scripts go one way.

let held = null;
let follow = null;

const form = () => document.getElementById("strip");
const steps = () => [...document.querySelectorAll("#steps > .step")];

function hold(event) {
  const grip = event.target.closest("[data-grip]");
  if (!grip || event.button > 0) return;
  const step = grip.closest(".step");
  held = { step, grip, x: event.clientX, y: event.clientY, scroll: scrollY, place: Number(step.dataset.place) };
  grip.setPointerCapture(event.pointerId);
  step.classList.add("held");
  event.preventDefault();
}

function move(event) {
  if (!held) return;
  const { step, x, y, scroll } = held;
  step.style.transform = `translate(${event.clientX - x}px, ${event.clientY - y + scrollY - scroll}px) rotate(1deg)`;
  const over = nearest(event.clientX, event.clientY);
  for (const one of steps()) one.classList.remove("before", "after");
  held.target = over ? Number(over.dataset.place) : held.place;
  if (over) over.classList.add(held.target < held.place ? "before" : "after");
  const edge = 60;
  if (event.clientY < edge + 60) scrollBy(0, -12);
  else if (event.clientY > innerHeight - edge) scrollBy(0, 12);
}

// The step whose middle is nearest to the hand, the held one's own place left out.
function nearest(x, y) {
  let best = null;
  let least = Infinity;
  for (const one of steps()) {
    const box = one === held.step ? gap() : one.getBoundingClientRect();
    const away = Math.hypot(box.left + box.width / 2 - x, box.top + box.height / 2 - y);
    if (away < least) [best, least] = [one, away];
  }
  return best === held.step ? null : best;
}

function gap() {
  const { step } = held;
  const moved = step.style.transform;
  step.style.transform = "";
  const box = step.getBoundingClientRect();
  step.style.transform = moved;
  return box;
}

function drop(event) {
  if (!held) return;
  const { step, place, target } = held;
  held = null;
  step.style.transform = "";
  for (const one of steps()) one.classList.remove("held", "before", "after");
  if (event.type === "pointerup" && target && target !== place) press(`move:${place}:${target}`);
}

function press(what) {
  const button = document.getElementById("move");
  button.value = what;
  button.click();
}

// A step moved with its buttons keeps the focus where it went.
function pressed(event) {
  const button = event.target.closest("button[value^='move:']");
  if (!button || button.id === "move") return;
  const [, from, to] = button.value.split(":").map(Number);
  follow = { place: to, label: to > from ? "later" : "earlier" };
}

function swapped() {
  if (!follow) return;
  const { place, label } = follow;
  follow = null;
  const step = steps().find((one) => Number(one.dataset.place) === place);
  const buttons = [...(step?.querySelectorAll(".places button:not(:disabled)") ?? [])];
  const wanted = buttons.find((one) => one.getAttribute("aria-label")?.endsWith(label)) ?? buttons[0];
  wanted?.focus();
}

function keys(event) {
  if (!(event.ctrlKey || event.metaKey) || event.target.matches("input, textarea, select")) return;
  const key = event.key.toLowerCase();
  const what = key === "z" && !event.shiftKey ? "undo" : key === "y" || (key === "z" && event.shiftKey) ? "redo" : null;
  if (!what) return;
  event.preventDefault();
  form()?.querySelector(`button[value=${what}]:not(:disabled)`)?.click();
}

document.addEventListener("pointerdown", hold);
document.addEventListener("pointermove", move);
document.addEventListener("pointerup", drop);
document.addEventListener("pointercancel", drop);
document.addEventListener("click", pressed, true);
document.addEventListener("keydown", keys);
document.addEventListener("htmx:after:swap", swapped);
