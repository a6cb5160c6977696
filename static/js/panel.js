// Panels: dialogs that a button opens by name. One stands at a time; whoever opens one may be told.

const openers = new Map();

export function whenOpened(name, act) { openers.set(name, act); }

export function open(name) {
  const panel = document.getElementById(name);
  if (!panel) return;
  closeAll();
  panel.showModal();
  panel.scrollTop = 0;
  openers.get(name)?.(panel);
}

export function closeAll() { document.querySelectorAll("dialog[open]").forEach((panel) => panel.close()); }

document.addEventListener("click", (event) => {
  const opener = event.target.closest("[data-opens]");
  if (opener) { event.preventDefault(); open(opener.dataset.opens); return; }
  if (event.target.closest("[data-closes]")) closeAll();
});
