// A part chosen from the hits goes into the field, as if it had been typed.

document.addEventListener("click", (event) => {
  const hit = event.target.closest("[data-part]");
  if (!hit) return;
  const field = document.getElementById("part_number");
  field.value = hit.dataset.part;
  document.getElementById("part-hits").replaceChildren();
  field.dispatchEvent(new Event("change", { bubbles: true }));
  field.closest("form").querySelector("#quantity, [name=quantities]")?.focus();
});
