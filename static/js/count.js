// Counting parts. What the server knows, plus what waits here; the last count can be taken back.

import { meant } from "./press.js";
import * as queue from "./queue.js";
import { base, lastStep, onShown, show } from "./step.js";

const run = document.getElementById("run");
const note = document.getElementById("undo");
const NAMES = ["good", "scrap", "rework"];
const SHOWN_MS = 15000;
let last = null;
let fading = 0;

const waiting = (name) => queue.state().waiting.reduce((sum, entry) => sum + (entry.path === `${base}/count` ? Number(entry.values[name] ?? 0) : 0), 0);
export const counted = (name) => Number(run.dataset[name]) + waiting(name);
export const pieceNow = () => counted("good") + counted("scrap") + counted("rework") + 1;
export const isWhole = () => counted("good") >= Number(run.dataset.quantity);

export function tell() {
  const good = counted("good");
  document.getElementById("part-now").textContent = Math.min(good + 1, Number(run.dataset.quantity));
  document.getElementById("finish-good").textContent = good;
  document.getElementById("one-too-many").hidden = good < 1;
  document.getElementById("reworked").hidden = counted("rework") < 1;
  const bad = ["scrap", "rework"].filter((name) => counted(name) > 0).map((name) => ` · ${counted(name)} ${name}`);
  document.getElementById("bad-now").textContent = bad.join("");
}

export function count(values, words) {
  last = values;
  note.querySelector("span").textContent = words;
  queue.send(`${base}/count`, values, { label: words });
  tell();
  if (NAMES.some((name) => values[name] > 0)) show(1);
  note.hidden = false;
  clearTimeout(fading);
  fading = setTimeout(() => { note.hidden = true; }, SHOWN_MS);
}

document.getElementById("undo-last").addEventListener("click", () => {
  if (!last || !meant()) return;
  const back = Object.fromEntries(NAMES.filter((name) => last[name]).map((name) => [name, -last[name]]));
  last = null;
  note.hidden = true;
  queue.send(`${base}/count`, { ...back, reason: "taken back" }, { label: "a count taken back" });
  tell();
  if (back.good < 0) show(lastStep());
});
onShown((_, own) => { if (own) note.hidden = true; });

// The answer to a count carries the counts as they are now, also those of other devices.
queue.whenAnswered((entry, answer) => {
  const now = answer.headers.get("run-counts");
  if (now && entry.path === `${base}/count`) now.split(",").forEach((number, place) => { run.dataset[NAMES[place]] = number; });
});
