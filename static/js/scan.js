// A scanner is a keyboard that types fast and ends with Enter, often with no field in focus.

const field = document.getElementById("code");
let last = { text: "", at: 0 };

document.addEventListener("keydown", (event) => {
  if (event.target.matches("input, textarea, select") || event.ctrlKey || event.metaKey || event.altKey) return;
  if (/^[a-z0-9-]$/i.test(event.key)) {
    field.focus();
  }
});

document.getElementById("scan-form").addEventListener("submit", (event) => {
  const now = performance.now();
  const again = field.value === last.text && now - last.at < 1000;
  last = { text: field.value, at: now };
  if (again || !field.value.trim()) event.preventDefault();
});
