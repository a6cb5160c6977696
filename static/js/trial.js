// Measuring a bend on the run page: the dials, what is sent, and the answer to it. Without a network
// the simple rule that operators know is worked out here, and the measurement waits to be sent.

import { pieceNow } from "./count.js";
import { choose } from "./keypad.js";
import { closeAll, open, whenOpened } from "./panel.js";
import { meant } from "./press.js";
import * as queue from "./queue.js";
import { base, show, stepNow } from "./step.js";

const panel = document.getElementById("measure");
const form = document.getElementById("trial-form");
const answer = document.getElementById("trial-answer");
const NEAR_DEG = 12;
let key = "";
let step = null;

const put = (name, words) => panel.querySelectorAll(`[data-${name}]`).forEach((place) => { place.textContent = words; });
const visible = (name, is) => panel.querySelectorAll(`[data-${name}]`).forEach((place) => { place.hidden = !is; });

whenOpened("measure", () => {
  step = stepNow();
  key = queue.newKey();
  form.reset();
  form.hidden = false;
  answer.replaceChildren();
  form.elements.convention.value = usual();
  put("step-number", step.dataset.step);
  put("wanted", step.dataset.wantedWords);
  put("flange-wanted", step.dataset.flangeWords);
  put("piece", pieceNow());
  form.elements.y.value = step.dataset.yWords;
  visible("flange-line", step.dataset.flangeWords !== "");
  visible("other-line", step.dataset.other !== "");
  choose(form.elements.angle);
  lookBack();
});

// Whoever measured here last most likely holds the same protractor now.
const HABIT = "convention";
function usual() { try { return localStorage.getItem(HABIT) ?? ""; } catch { return ""; } }
function remember(convention) { try { localStorage.setItem(HABIT, convention); } catch { /* asked again next time */ } }

async function lookBack() {
  try {
    const told = await fetch(`${base}/trial/${step.dataset.step}`);
    if (told.ok && !form.hidden) answer.innerHTML = await told.text();
  } catch { /* without a network there is nothing to look back at */ }
}

form.addEventListener("submit", (event) => {
  event.preventDefault();
  if (meant()) measured({});
});

async function measured(more) {
  const values = { ...Object.fromEntries(new FormData(form)), position: step.dataset.step, piece: pieceNow(), request_key: key, ...more };
  const label = `step ${values.position} measured: ${values.angle}°`;
  if (values.convention) remember(values.convention);
  const told = await queue.send(`${base}/trial`, values, { label });
  if (told.state === "kept") { form.hidden = true; answer.replaceChildren(...aloneAnswer(values)); key = queue.newKey(); return; }
  if (told.state === "refused") queue.drop(told.key);
  form.hidden = told.state === "sent";
  answer.innerHTML = told.html;
  if (told.state === "sent") key = queue.newKey();
  if (form.hidden) panel.scrollTop = 0; else answer.scrollIntoView({ block: "end" });
}

// delta Y = share x dD/dA x error, the rule operators know; the server's answer comes later.
function aloneAnswer(values) {
  const wanted = Number(step.dataset.wanted);
  const typed = Number(values.angle.replace(",", "."));
  const bend = values.convention === "included" || (values.convention === "" && Math.abs(typed - wanted) > Math.abs(180 - typed - wanted)) ? 180 - typed : typed;
  const note = document.createElement("div");
  note.className = "note care";
  const head = document.createElement("strong");
  const words = document.createElement("p");
  note.append(head, words);
  if (!Number.isFinite(bend) || Math.abs(bend - wanted) > NEAR_DEG) {
    head.textContent = "Kept here. Look at it again.";
    words.textContent = `${values.angle}° is far from the ${wanted}° wanted. The server will ask about it when the network is back.`;
    return [note];
  }
  const keyed = Number(values.y.replace(",", ".").replace("−", "-"));
  const next = (keyed + (Number(step.dataset.yStep) * (wanted - bend)) / Number(step.dataset.mmPerUnit)).toFixed(Number(step.dataset.decimals));
  head.textContent = "Kept here, no network.";
  words.textContent = `By the simple rule the next Y is ${next}. What the shop has learned answers when the network is back.`;
  const take = document.createElement("button");
  take.type = "button";
  take.className = "main-target";
  take.dataset.take = "hand";
  take.dataset.y = next;
  take.textContent = `Key ${next} now`;
  return [note, take];
}

answer.addEventListener("click", (event) => {
  const button = event.target.closest("button");
  if (!button || button.matches("[popovertarget]")) return;
  if (button.dataset.meant) { measured({ meant: button.dataset.meant, convention: button.dataset.convention }); return; }
  if (button.dataset.sure) { measured({ sure: "yes" }); return; }
  if (button.dataset.otherStep) { closeAll(); show(Number(button.dataset.otherStep)); open("measure"); return; }
  if (button.dataset.again) { form.hidden = false; answer.replaceChildren(); choose(form.elements.angle); return; }
  if (button.dataset.take && meant()) take(button);
  if (button.dataset.trial && meant()) judge(button);
});

async function take(button) {
  const ticked = (name) => (answer.querySelector(`[name=${name}]`)?.checked ? "yes" : "");
  const values = { position: step.dataset.step, rule: button.dataset.take, with_x: ticked("with_x"), everywhere: ticked("everywhere"), typed_in: form.elements.typed_in.value };
  if (button.dataset.y) values.y = button.dataset.y;
  const told = await queue.send(`${base}/take-over`, values, { label: `step ${values.position}: Y by the ${values.rule} rule` });
  if (told.state === "refused") { answer.insertAdjacentHTML("afterbegin", told.html); queue.drop(told.key); return; }
  if (told.state === "kept" && button.dataset.y) keyedHere(button.dataset.y);
  closeAll();
  document.dispatchEvent(new Event("look-again"));
}

// Without a network the page itself shows the Y that was taken, marked as kept here.
function keyedHere(y) {
  step.dataset.yWords = y;
  const place = step.querySelector('[data-axis="y"]');
  if (place) place.textContent = y;
}

async function judge(button) {
  const told = await queue.send(`${base}/trial/${button.dataset.trial}/${button.dataset.judge}`, { position: step.dataset.step }, { label: button.textContent.trim() });
  if (told.html) answer.innerHTML = told.html;
  else if (told.state === "sent") { form.hidden = false; answer.replaceChildren(); }
  document.dispatchEvent(new Event("look-again"));
}
