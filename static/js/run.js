// The run page. Every step is in the page already; this shows one of them, remembers which, and
// tells the server. What cannot be sent now waits on this device and is sent once, in order.

const run = document.getElementById("run");
const base = `/brake/run/${run.dataset.run}`;
const steps = [...run.querySelectorAll(".run")];
const WAITING = `waiting-${run.dataset.run}`;
const PLACE = `place-${run.dataset.run}`;
const RETRY_MS = 3000;
let position = 1;

function show(next, tell = true) {
  position = Math.max(1, Math.min(steps.length, next));
  steps.forEach((step) => { step.hidden = Number(step.dataset.step) !== position; });
  run.querySelectorAll("[data-go]").forEach((button) => {
    const at = Number(button.dataset.go);
    button.toggleAttribute("aria-current", at === position);
    if (at === position) button.setAttribute("aria-current", "step");
    button.classList.toggle("past", at < position);
  });
  document.getElementById("step-now").textContent = position;
  document.getElementById("back").disabled = position === 1;
  const last = position === steps.length;
  document.getElementById("next").hidden = last;
  document.getElementById("part-done").hidden = !last;
  localStorage.setItem(PLACE, String(position));
  if (tell) send("step", { position });
}

function newKey() {
  return [...crypto.getRandomValues(new Uint8Array(12))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

function waiting() {
  try { return JSON.parse(localStorage.getItem(WAITING) ?? "[]"); } catch { return []; }
}

function keepWaiting(list) { localStorage.setItem(WAITING, JSON.stringify(list)); tellState(); }

function send(what, values) {
  const list = waiting().filter((entry) => !(what === "step" && entry.what === "step"));
  keepWaiting([...list, { what, values: { ...values, request_key: newKey() } }]);
  drain();
}

let draining = false;
async function drain() {
  if (draining) return;
  draining = true;
  try {
    for (let list = waiting(); list.length; list = waiting()) {
      const [first] = list;
      const answer = await fetch(`${base}/${first.what}`, { method: "POST", body: new URLSearchParams(first.values), headers: { "hx-request": "true" } });
      if (answer.status >= 500) throw new Error(String(answer.status));
      if (!answer.ok) document.getElementById("problem").innerHTML = await answer.text();
      keepWaiting(waiting().filter((entry) => entry.values.request_key !== first.values.request_key));
      online = true;
    }
  } catch { online = false; setTimeout(drain, RETRY_MS); } finally { draining = false; tellState(); }
}

let online = true;
function tellState() {
  const count = waiting().length;
  const state = document.getElementById("line-state");
  const words = online ? (count ? "saving" : "live") : `offline, ${count} kept here`;
  state.dataset.state = online ? "live" : "stale";
  if (state.textContent !== words) state.textContent = words;
}

function partDone() {
  const good = Number(run.dataset.good) + 1;
  run.dataset.good = good;
  document.getElementById("part-now").textContent = Math.min(good + 1, Number(run.dataset.quantity));
  send("count", { good: 1 });
  show(1);
}

let lastTap = 0;
function once(act) {
  return () => {
    const now = performance.now();
    if (now - lastTap < 350) return; // a gloved hand taps twice
    lastTap = now;
    act();
  };
}

document.getElementById("back").addEventListener("click", once(() => show(position - 1)));
document.getElementById("next").addEventListener("click", once(() => show(position + 1)));
document.getElementById("part-done").addEventListener("click", once(partDone));
run.querySelectorAll("[data-go]").forEach((button) => button.addEventListener("click", () => show(Number(button.dataset.go))));
document.addEventListener("keydown", (event) => {
  if (event.target.matches("input, textarea, select") || document.querySelector(":popover-open")) return;
  const by = { ArrowRight: 1, PageDown: 1, " ": 1, Enter: 1, ArrowLeft: -1, PageUp: -1 }[event.key];
  if (!by || (event.key === "Enter" && event.target.matches("button, a"))) return;
  event.preventDefault();
  show(position + by);
});
addEventListener("online", drain);

const kept = waiting().some((entry) => entry.what === "step") ? Number(localStorage.getItem(PLACE)) : 0;
show(kept || Number(run.dataset.position), false);
tellState();
drain();
