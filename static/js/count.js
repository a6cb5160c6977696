// Counting parts. What the server knows, plus what waits here; the last count can be taken back.

import { meant } from "./press.js";
import * as queue from "./queue.js";
import { base, show } from "./step.js";

const run = document.getElementById("run");
const note = document.getElementById("undo");
let last = null;

const waiting = (name) => queue.state().waiting.reduce((sum, entry) => sum + (entry.path.endsWith("/count") ? Number(entry.values[name] ?? 0) : 0), 0);
export const counted = (name) => Number(run.dataset[name]) + waiting(name);
export const pieceNow = () => counted("good") + counted("scrap") + 1;
export const isWhole = () => counted("good") >= Number(run.dataset.quantity);

export function tell() {
  const good = counted("good");
  document.getElementById("part-now").textContent = Math.min(good + 1, Number(run.dataset.quantity));
  document.getElementById("finish-good").textContent = good;
  const bad = [[counted("scrap"), "scrap"], [counted("rework"), "rework"]].filter(([count]) => count > 0);
  document.getElementById("bad-now").textContent = bad.map(([count, word]) => ` · ${count} ${word}`).join("");
}

export function count(values, words) {
  queue.send(`${base}/count`, values, { label: words });
  last = values;
  note.querySelector("span").textContent = words;
  note.hidden = false;
  tell();
  if (values.good || values.scrap) show(1);
}

document.getElementById("undo-last").addEventListener("click", () => {
  if (!last || !meant()) return;
  const back = Object.entries(last).filter(([, value]) => typeof value === "number").map(([name, value]) => [name, -value]);
  last = null;
  note.hidden = true;
  queue.send(`${base}/count`, { ...Object.fromEntries(back), reason: "taken back" }, { label: "a count taken back" });
  tell();
});
