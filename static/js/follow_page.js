// A page that follows what is done on other tablets: its part marked `data-follows` is morphed in place
// when the server has it new. Where somebody has typed or ticked and not sent it yet, nothing moves under
// the hand; a note says that what stands here is older.

import { follow } from "./live.js";

const REST_MS = 1500; // a tap is answered by the server itself; an older answer must not overtake that one
const WORDS = { connecting: "connecting", live: "live", stale: "offline", ended: "finished", restarted: "server restarted" };
const line = document.getElementById("line-word");
const note = document.getElementById("older");
const part = () => document.querySelector("[data-follows]");
const inside = (text) => new DOMParser().parseFromString(text, "text/html").querySelector("[data-follows]")?.outerHTML;
let shown = part().outerHTML;
let touched = false;
let tapped = 0;
const isBusy = () => Date.now() - tapped < REST_MS;

async function renew() {
  if (isBusy()) return false; // the stream tells it again
  let now;
  try {
    const answer = await fetch(location.pathname, { headers: { accept: "text/html" } });
    if (!answer.ok) return false;
    now = inside(await answer.text());
  } catch { return false; }
  if (now === shown) return true;
  if (isBusy()) return false;
  if (touched) { note.hidden = false; return true; }
  await htmx.ajax("GET", location.pathname, { target: "[data-follows]", select: "[data-follows]", swap: "outerMorph" });
  shown = now;
  return true;
}

function become(state) {
  line.dataset.state = state;
  line.textContent = WORDS[state];
}

document.addEventListener("input", (event) => { if (note && event.target.closest("[data-follows]")) touched = true; });
document.addEventListener("click", () => { tapped = Date.now(); }, true);
follow(part().dataset.follows, { version: "", boot: "", onChanged: renew, onState: become });
