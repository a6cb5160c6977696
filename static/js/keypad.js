// Our own keypad. It types into the dial that was tapped last in the same form.

function dials(form) { return [...form.querySelectorAll("[data-dial]")].filter((dial) => dial.checkVisibility()); }

export function choose(dial) {
  dial.form.querySelectorAll("[data-dial]").forEach((one) => one.classList.toggle("chosen", one === dial));
}

export function chosen(form) {
  return form.querySelector("[data-dial].chosen") ?? dials(form)[0];
}

export function type(dial, key) {
  if (key === "back") dial.value = dial.value.slice(0, -1);
  else if (key === "." && /[.,]/.test(dial.value)) return;
  else if (dial.value.length < 12) dial.value += key;
  dial.dispatchEvent(new Event("input", { bubbles: true }));
}

document.addEventListener("focusin", (event) => { if (event.target.matches("[data-dial]")) choose(event.target); });
document.addEventListener("click", (event) => {
  const key = event.target.closest("[data-key]");
  const form = key?.closest("form");
  if (!form) return;
  const dial = chosen(form);
  if (dial) { choose(dial); type(dial, key.dataset.key); }
});
