// The line to the server: what it says in a word, and what waits on this device.

import * as queue from "./queue.js";

const WORDS = { connecting: "connecting", live: "live", stale: "offline", ended: "finished", restarted: "server restarted" };
let line = "connecting";

export function become(state) { line = state; queue.heard(state !== "stale"); tell(); }

function tell() {
  const { waiting, refused, online, lasting } = queue.state();
  const place = document.getElementById("line-state");
  const state = !online && line === "live" ? "stale" : line;
  const kept = [waiting.length ? `${waiting.length} kept here` : "", refused.length ? `${refused.length} refused` : ""].filter(Boolean);
  const words = [WORDS[state], ...kept].join(", ");
  place.dataset.state = refused.length ? "refused" : state;
  if (place.textContent !== words) place.textContent = words;
  const words2 = document.getElementById("line-words");
  if (!words2) return;
  if (state === "stale") words2.textContent = "No network. Go on: what you count, measure and note is kept here, and sent once when the network is back.";
  else if (!lasting) words2.textContent = "This browser keeps nothing when the page is closed: leave it open until all is sent.";
  else words2.textContent = waiting.length ? "Sending what was kept." : "Everything has been sent.";
  document.getElementById("kept-list").replaceChildren(...waiting.map(waitingLine), ...refused.map(refusedLine));
}

function words(entry, state) {
  const line = document.createElement("li");
  const text = document.createElement("p");
  text.textContent = `${entry.label || entry.path.split("/").pop()}, ${new Date(entry.at).toLocaleTimeString()}: ${state}`;
  line.append(text);
  return line;
}

const waitingLine = (entry) => words(entry, "waiting");

function refusedLine(entry) {
  const line = words(entry, "not accepted");
  const why = document.createElement("div");
  why.innerHTML = entry.refusal;
  why.addEventListener("click", (event) => {
    const chosen = event.target.closest("[data-meant], [data-sure]");
    if (chosen) queue.again(entry.key, chosen.dataset.meant ? { meant: chosen.dataset.meant, convention: chosen.dataset.convention } : { sure: "yes" });
  });
  line.append(why, button("Send again", "", () => queue.again(entry.key)), button("Leave it out", "second", () => queue.drop(entry.key)));
  return line;
}

function button(text, kind, act) {
  const made = document.createElement("button");
  made.type = "button";
  made.className = kind;
  made.textContent = text;
  made.addEventListener("click", act);
  return made;
}

queue.onChange(tell);
