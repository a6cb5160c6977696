// Lets an installed app open without a network. Pages of the brake side are asked for first and kept
// for when nobody answers, and so are the modules they load; files whose address carries a mark never
// change. Nothing that changes anything, and no live stream, passes here.

const KEPT = "bendwright-pages-1";
const PATIENCE_MS = 4000;

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname, search } = new URL(request.url);
  if (request.method !== "GET" || origin !== self.location.origin) return;
  if (pathname.startsWith("/static/") && search.startsWith("?v=")) event.respondWith(keptFirst(request));
  else if (pathname.startsWith("/static/")) event.respondWith(askedFirst(request));
  else if (request.mode === "navigate" && pathname.startsWith("/brake")) event.respondWith(askedFirst(request));
});

async function keptFirst(request) {
  const kept = await caches.open(KEPT);
  const found = await kept.match(request);
  if (found) return found;
  const answer = await fetch(request);
  if (answer.ok) kept.put(request, answer.clone());
  return answer;
}

async function askedFirst(request) {
  const kept = await caches.open(KEPT);
  try {
    const answer = await fetch(request, { signal: AbortSignal.timeout(PATIENCE_MS) });
    if (answer.ok && !answer.redirected) kept.put(request, answer.clone());
    return answer;
  } catch {
    const found = await kept.match(request);
    return found ?? new Response("No network, and this page was never opened on this device. Go back.", { status: 503, headers: { "content-type": "text/plain; charset=utf-8" } });
  }
}
