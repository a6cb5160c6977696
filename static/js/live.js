// The live stream. It only says that something changed, and at which version; the page then asks for
// what is new. Silence means that we are alone, and the page says so.

const SILENT_MS = 11000;
const RECONNECT_MS = 2500;
const UNSEEN_MS = 20000;

export function follow(address, { version, boot, onChanged, onState }) {
  let source = null;
  let state = "";
  let silence = 0;
  let resting = false;
  let known = { version, boot };

  function become(next) { if (next !== state) { state = next; onState(next); } }

  function hush() {
    clearTimeout(silence);
    silence = setTimeout(() => { become("stale"); connect(); }, SILENT_MS);
  }

  async function hear(event) {
    hush();
    const told = JSON.parse(event.data);
    const restarted = known.boot !== "" && told.boot !== known.boot;
    if (restarted) become("restarted");
    if (restarted || (told.version && told.version !== known.version)) {
      if (!(await onChanged(told))) return;
      known = { version: told.version || known.version, boot: told.boot };
    }
    become("live");
  }

  async function end() {
    clearTimeout(silence);
    source.close();
    await onChanged({ version: "", boot: known.boot });
    become("ended");
  }

  function connect() {
    if (resting || state === "ended") return;
    source?.close();
    if (state !== "stale") become("connecting");
    source = new EventSource(address);
    source.addEventListener("changed", hear);
    source.addEventListener("here", hear);
    source.addEventListener("ended", end);
    source.onerror = () => {
      become("stale");
      if (source.readyState === EventSource.CLOSED) setTimeout(connect, RECONNECT_MS);
    };
    hush();
  }

  // A page nobody sees lets its line go: a browser has only six to one server.
  let unseen = 0;
  document.addEventListener("visibilitychange", () => {
    clearTimeout(unseen);
    if (document.visibilityState === "hidden") unseen = setTimeout(rest, UNSEEN_MS);
    else if (resting) { resting = false; connect(); }
  });
  function rest() { resting = true; clearTimeout(silence); source?.close(); }

  addEventListener("offline", () => become("stale"));
  addEventListener("online", connect);
  addEventListener("pagehide", () => { clearTimeout(silence); source?.close(); });
  addEventListener("pageshow", (event) => { if (event.persisted) { known = { version: "", boot: known.boot }; state = ""; connect(); } });
  connect();
  return { connect, state: () => state };
}
