// The live stream. It only says that something changed, and at which version; the page then asks for
// what is new. Silence means that we are alone, and the page says so.

const SILENT_MS = 11000;
const RECONNECT_MS = 2500;

export function follow(address, { version, boot, onChanged, onState }) {
  let source = null;
  let state = "";
  let silence = 0;
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

  addEventListener("offline", () => become("stale"));
  addEventListener("online", connect);
  addEventListener("pagehide", () => { clearTimeout(silence); source?.close(); });
  addEventListener("pageshow", (event) => { if (event.persisted) { known = { version: "", boot: known.boot }; connect(); } });
  connect();
  return { connect, state: () => state };
}
