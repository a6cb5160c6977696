// One tick for every job on the page.

document.addEventListener("change", (event) => {
  if (event.target.id !== "tick-all") return;
  for (const box of document.querySelectorAll('#job-rows input[name="job"]')) box.checked = event.target.checked;
});
