// Parts of a page marked `data-live` are replaced when the server has them new; nothing else moves.

const shown = new Map();

export function remember() {
  document.querySelectorAll("[data-live]").forEach((part) => shown.set(part.id, part.outerHTML));
}

// What was shown ahead of the server turned out wrong: the next renewal swaps everything.
export function doubt() { shown.clear(); }

// Fetches the page again and swaps what differs; null when it could not be fetched.
export async function renew(address = location.pathname + location.search) {
  let text;
  try {
    const answer = await fetch(address, { headers: { accept: "text/html" } });
    if (!answer.ok) return null;
    text = await answer.text();
  } catch { return null; }
  const fresh = new DOMParser().parseFromString(text, "text/html");
  for (const part of fresh.querySelectorAll("[data-live]")) {
    const old = document.getElementById(part.id);
    const html = part.outerHTML;
    if (!old || shown.get(part.id) === html) continue;
    shown.set(part.id, html);
    old.replaceWith(document.importNode(part, true));
  }
  return fresh;
}
