// A page that is meant for paper has a button that prints it.

document.getElementById("print")?.addEventListener("click", () => print());
