// The screen should stay on while a job runs. Browsers allow it on a secure page only; elsewhere the
// tablet's own setting has to do it, and nothing here complains. The same holds for the service
// worker that lets the page open without a network.

let lock = null;

async function hold() {
  if (!("wakeLock" in navigator) || document.visibilityState !== "visible" || lock) return;
  try {
    lock = await navigator.wakeLock.request("screen");
    lock.addEventListener("release", () => { lock = null; });
  } catch { lock = null; }
}

document.addEventListener("visibilitychange", hold);
document.addEventListener("click", hold, { once: true });
hold();
if (window.isSecureContext && location.protocol === "https:" && "serviceWorker" in navigator) {
  navigator.serviceWorker.register("/worker.js").catch(() => {});
}
