// Which step of the run is shown. Every step is in the page; the server is told which one, so that
// another device, or this one after a power loss, opens at the same place.

import * as queue from "./queue.js";

const run = document.getElementById("run");
export const base = `${document.body.dataset.brake}/run/${run.dataset.run}`;
const SENT = `step of ${base}`;
const OWN_STEP_MS = 20000;
const watchers = [];
let position = 1;
let steppedAt = 0;

const steps = () => [...run.querySelectorAll(".run")];
export const stepNow = () => run.querySelector(`.run[data-step="${position}"]`);
export const positionNow = () => position;
export const lastStep = () => steps().length;
export const isLast = () => position === lastStep();

export function onShown(act) { watchers.push(act); }

export function show(next, tell = true) {
  const all = steps();
  position = Math.max(1, Math.min(all.length, next));
  all.forEach((step) => { step.hidden = Number(step.dataset.step) !== position; });
  run.querySelectorAll("[data-go]").forEach((button) => {
    const at = Number(button.dataset.go);
    if (at === position) button.setAttribute("aria-current", "step"); else button.removeAttribute("aria-current");
    button.classList.toggle("past", at < position);
  });
  document.getElementById("step-now").textContent = position;
  watchers.forEach((act) => act(position, tell));
  if (!tell) return;
  steppedAt = Date.now();
  queue.send(`${base}/step`, { position }, { replaces: SENT, label: `at step ${position}` });
}

// Another device may have moved on. This page follows, unless somebody works on it just now.
export function followTo(theirs, moved) {
  const waits = queue.state().waiting.some((entry) => entry.replaces === SENT);
  const busy = waits || Date.now() - steppedAt < OWN_STEP_MS || document.querySelector("dialog[open]") !== null;
  show(moved && !busy ? theirs : position, false);
}

// After a reload: the step that waits here to be sent, else the one the server knows.
export function resume() {
  const held = queue.state().waiting.find((entry) => entry.replaces === SENT);
  show(held ? Number(held.values.position) : Number(run.dataset.position), false);
}
