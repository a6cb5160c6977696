// Practice: the simulated brake's readings fill the fields that would be typed by hand.

const base = `${document.body.dataset.brake}/run/${location.pathname.split("/run/")[1]?.split("/")[0]}`;

function offer(form, words, fetchFrom) {
  const button = document.createElement("button");
  const told = document.createElement("p");
  button.type = "button";
  button.className = "simulate";
  button.textContent = words;
  told.className = "simulated";
  told.setAttribute("role", "status");
  (form.querySelector(".what-to-type") ?? form).prepend(button, told);
  button.addEventListener("click", async () => {
    try {
      const answer = await fetch(fetchFrom(), { headers: { "HX-Request": "true" } });
      if (!answer.ok) { told.innerHTML = await answer.text(); return; }
      const read = await answer.json();
      told.textContent = read.told ?? "Read off the simulated brake.";
      for (const [name, value] of Object.entries(read)) {
        const dial = form.elements.namedItem(name);
        if (dial && !dial.closest("[hidden]")) dial.value = value;
      }
      const bend = form.querySelector('[name="convention"][value="bend"]');
      if (bend) bend.checked = true;
    } catch { told.textContent = "Not to be had without a network."; }
  });
}

const trial = document.getElementById("trial-form");
if (trial) offer(trial, "Bend it on the simulated brake", () => {
  const step = document.querySelector(".run:not([hidden])")?.dataset.step;
  const piece = document.querySelector("#measure [data-piece]")?.textContent || "1";
  return `${base}/simulated/${step}?piece=${piece}`;
});
for (const id of ["edges", "touch-off"]) {
  const form = document.querySelector(`#${id} form`);
  if (form) offer(form, "Read it off the simulated brake", () => `${base}/simulated`);
}
