// The run page: its buttons, and keeping in step with the other pages.

import * as counting from "./count.js";
import { doubt, remember, renew } from "./fragment.js";
import * as line from "./line.js";
import { follow } from "./live.js";
import { closeAll, open, whenOpened } from "./panel.js";
import { smaller } from "./photo.js";
import { meant } from "./press.js";
import * as queue from "./queue.js";
import { base, followTo, isLast, onShown, positionNow, resume, show, stepNow } from "./step.js";

const run = document.getElementById("run");
const press = (id, act) => document.getElementById(id).addEventListener("click", () => { if (meant()) act(); });

function buttons() {
  const last = isLast();
  const { state } = run.dataset;
  document.getElementById("back").disabled = positionNow() === 1;
  document.getElementById("next").hidden = last;
  document.getElementById("part-done").hidden = !last || state === "setting_up" || state === "done";
  document.getElementById("set-up-first").hidden = !last || state !== "setting_up";
  document.getElementById("measure-step").disabled = !stepNow()?.dataset.measured || state === "setting_up";
  document.getElementById("part-done").textContent = state === "first_article" ? "✔ First part" : "✔ Part done";
}

// What was pressed here shows at once; the server's own words replace it when they come.
function become(state, words = "") {
  run.dataset.state = state;
  doubt();
  const band = document.querySelector("#run-band");
  if (state === "held" && !band.querySelector(".stop")) {
    band.innerHTML = '<div class="band care"><span><strong>▲ On hold:</strong> <span></span></span><button type="button" data-send="resume">Go on</button></div>';
    band.querySelector("span span").textContent = words;
  } else band.querySelector(".band:not(.stop)")?.remove();
  buttons();
}

function partDone() {
  if (run.dataset.state === "first_article") { open("first-part"); return; }
  counting.count({ good: 1 }, `Part ${counting.counted("good") + 1} counted good.`);
  if (counting.isWhole()) open("finish");
}

const SENDS = {
  count: ({ field, reason }) => counting.count({ [field]: 1, reason }, `One part ${field === "scrap" ? "scrapped" : "to rework"}: ${reason}.`),
  "one-too-many": () => counting.count({ good: -1, reason: "one too many" }, "One good part taken back."),
  reworked: () => counting.count({ good: 1, rework: -1, reason: "reworked" }, "A reworked part counted good."),
  hold: ({ reason }) => { queue.send(`${base}/hold`, { reason }, { label: `on hold: ${reason}` }); become("held", reason); },
  resume: () => { queue.send(`${base}/resume`, {}, { label: "gone on" }); become("running"); },
  "first-article": () => {
    queue.send(`${base}/first-article`, {}, { label: "first article signed" });
    run.dataset.good = Number(run.dataset.good) + 1;
    become("running");
    counting.tell();
    show(1);
  },
};

document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-send]");
  if (button && meant()) { closeAll(); SENDS[button.dataset.send]?.(button.dataset); }
  const place = event.target.closest("[data-go]");
  if (place) show(Number(place.dataset.go));
});
press("back", () => show(positionNow() - 1));
press("next", () => show(positionNow() + 1));
press("part-done", partDone);
document.addEventListener("keydown", (event) => {
  if (event.target.matches("input, textarea, select") || document.querySelector(":popover-open, dialog[open]")) return;
  const by = { ArrowRight: 1, PageDown: 1, " ": 1, Enter: 1, ArrowLeft: -1, PageUp: -1 }[event.key];
  if (!by || (event.key === "Enter" && event.target.matches("button, a"))) return;
  event.preventDefault();
  show(positionNow() + by);
});

// What is fetched when somebody looks at it.

async function fill(panel, id) {
  const place = panel.querySelector(id);
  try { place.innerHTML = await (await fetch(place.dataset.from)).text(); } catch { place.textContent = "Not to be had without a network."; }
}

whenOpened("note", (panel) => fill(panel, "#notes"));
const SIGNS = { good: "✔ Sign it, bend the rest", "not good": "Sign it as not good", "not measured": "Sign it, not all measured" };
whenOpened("first-part", async (panel) => {
  await fill(panel, "#first-part-lines");
  const verdict = panel.querySelector("[data-verdict]")?.dataset.verdict ?? "not measured";
  const sign = document.getElementById("sign-first");
  sign.textContent = SIGNS[verdict];
  sign.classList.toggle("good-part", verdict === "good");
  sign.classList.toggle("second", verdict !== "good");
});

const photoName = document.getElementById("photo-name");
document.getElementById("note-photo").addEventListener("change", (event) => { photoName.textContent = event.target.files[0]?.name ?? "no photo"; });
document.getElementById("note-form").addEventListener("submit", async (event) => {
  event.preventDefault();
  const { photo, text } = event.target.elements;
  const [file] = photo.files;
  const words = text.value.trim();
  if ((!file && !words) || !meant()) return;
  const small = file ? await smaller(file) : null;
  queue.send(`${base}/note`, { text: words, position: positionNow() }, { file: small, label: words ? `note: ${words.slice(0, 40)}` : "photo" });
  event.target.reset();
  photoName.textContent = "no photo";
  closeAll();
});

// A finish goes the same way as everything else, after what waits; only then the end is shown.

document.getElementById("finish-form").addEventListener("submit", async (event) => {
  event.preventDefault();
  if (!meant()) return;
  const answered = await queue.send(event.target.getAttribute("action"), {}, { label: "the run is finished" });
  if (answered.redirect) { location.assign(answered.redirect); return; }
  closeAll();
  become("done");
});

// Keeping in step. A page that is not of this sequence or number of steps any more is loaded anew.

let told = run.dataset.superseded !== "";
async function changed() {
  const fresh = (await renew())?.getElementById("run");
  if (!fresh) return false;
  if (fresh.dataset.steps !== run.dataset.steps || fresh.dataset.sequence !== run.dataset.sequence) { location.reload(); return true; }
  const moved = fresh.dataset.position !== run.dataset.position;
  Object.assign(run.dataset, fresh.dataset);
  if (run.dataset.superseded && !told) { told = true; open("superseded"); }
  followTo(Number(fresh.dataset.position), moved);
  counting.tell();
  return true;
}

onShown(buttons);
remember();
show(Number(run.dataset.position), false);
queue.onChange(counting.tell);
queue.begin().then(resume);
queue.whenAnswered((entry, answer) => { if (!answer.ok && entry.path.startsWith(base)) { doubt(); changed(); } });
document.addEventListener("look-again", changed);
follow(`${base}/live`, { version: run.dataset.mark, boot: run.dataset.boot, onChanged: changed, onState: line.become });
