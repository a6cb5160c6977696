// A form may wait in line while an earlier change of the same form is answered. What it sends must
// carry the version this page has seen last, not the one it had when it began to wait.

document.addEventListener("htmx:before:request", (event) => {
  const { request, sourceElement } = event.detail.ctx;
  const body = request.body;
  const seen = sourceElement.closest("form")?.elements.namedItem("version");
  if (seen && body instanceof URLSearchParams && body.has("version")) body.set("version", seen.value);
});
