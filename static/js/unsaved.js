// An edit form keeps nothing until it is sent: leaving the page, or changing the unit of length, would
// lose what was typed. The browser asks first. A form that came back with problems is not kept yet.

const EDITED = "main form.stack-l";
let touched = document.querySelector(`${EDITED} [aria-invalid="true"]`) !== null;

document.addEventListener("input", (event) => {
  if (event.target.closest(EDITED)) touched = true;
});
document.addEventListener("submit", (event) => {
  if (event.target.matches(EDITED)) touched = false;
});
addEventListener("beforeunload", (event) => {
  if (touched) event.preventDefault();
});
