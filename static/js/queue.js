// What this device has to send. Everything waits here until the server has answered, in order, under
// a name of its own, so that it is carried out exactly once however often it is sent. What the
// server refuses is kept and shown, never dropped in silence.

const RETRY_MS = 3000;
const GIVE_UP_MS = 6000;
const GIVE_UP_FILE_MS = 60000;
const STORE = "bendwright-sends";
const listeners = new Set();
const hearers = new Set();
const answers = new Map();
let entries = [];
let refused = [];
let store = null;
let online = true;
let draining = false;
let timer = 0;

export function newKey() {
  return [...crypto.getRandomValues(new Uint8Array(12))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

function asked(request) {
  return new Promise((done, failed) => { request.onsuccess = () => done(request.result); request.onerror = () => failed(request.error); });
}

function table(mode) { return store?.transaction("sends", mode).objectStore("sends"); }

async function openStore() {
  const request = indexedDB.open(STORE, 1);
  request.onupgradeneeded = () => request.result.createObjectStore("sends", { keyPath: "key" });
  return asked(request);
}

// Everything that waited when a page of this device was last open comes back, whatever run it is of; a browser that keeps nothing for us
// (a private window) still works while the page stays open.
export async function begin() {
  try {
    store = await openStore();
    const kept = (await asked(table("readonly").getAll())).sort((a, b) => a.at - b.at || a.order - b.order);
    const known = new Set([...kept, ...entries].map((one) => one.key));
    entries = [...kept.filter((one) => !one.refusal), ...atOnce().filter((one) => !known.has(one.key)), ...entries];
    refused = kept.filter((one) => one.refusal);
  } catch { store = null; }
  tell();
  drain();
}

export function onChange(act) { listeners.add(act); act(state()); }

export function state() { return { online, waiting: entries, refused, lasting: store !== null }; }

export function whenAnswered(act) { hearers.add(act); }

function tell() { listeners.forEach((act) => act(state())); }

let order = 0;
const ATONCE = `${STORE}:`;

// The store takes some milliseconds, and a page that is closed within them would lose what it has shown.
// So an entry is written at once beside it, until the store has it. Files are too large for that.
function atOnce() {
  try {
    const names = Object.keys(localStorage).filter((name) => name.startsWith(ATONCE));
    return names.map((name) => JSON.parse(localStorage.getItem(name))).sort((a, b) => a.at - b.at || a.order - b.order);
  } catch { return []; }
}
function writeAtOnce(entry) { try { if (!entry.file) localStorage.setItem(ATONCE + entry.key, JSON.stringify(entry)); } catch { /* the store will */ } }
function clearAtOnce(key) { try { localStorage.removeItem(ATONCE + key); } catch { /* was never there */ } }

async function keep(entry) { writeAtOnce(entry); try { await asked(table("readwrite").put(entry)); clearAtOnce(entry.key); } catch { /* stays in memory */ } }
async function forget(key) { clearAtOnce(key); try { await asked(table("readwrite").delete(key)); } catch { /* was never there */ } }

// Resolves when the server has answered, or at once with `kept` when there is no network.
export function send(path, values, { file = null, fileName = "", label = "", replaces = "" } = {}) {
  if (replaces) entries.filter((one) => one.replaces === replaces).slice(draining ? 1 : 0).forEach((one) => { drop(one.key); });
  const entry = { key: values.request_key ?? newKey(), at: Date.now(), order: order++, path, values, file, fileName, label, replaces, refusal: "" };
  entries.push(entry);
  const answered = new Promise((done) => { answers.set(entry.key, done); });
  keep(entry);
  tell();
  drain();
  return Promise.race([answered, whenOffline(entry.key)]);
}

function whenOffline(key) {
  return new Promise((done) => {
    const look = () => {
      if (!answers.has(key)) return;
      if (!online) done({ state: "kept" }); else setTimeout(look, 250);
    };
    setTimeout(look, 250);
  });
}

export function drop(key) {
  entries = entries.filter((one) => one.key !== key);
  refused = refused.filter((one) => one.key !== key);
  forget(key);
  tell();
}

// Sends what was refused once more, with an answer to what was asked about it.
export function again(key, more = {}) {
  const entry = refused.find((one) => one.key === key);
  if (!entry) return;
  refused = refused.filter((one) => one !== entry);
  entry.refusal = "";
  Object.assign(entry.values, more);
  entries.push(entry);
  keep(entry);
  drain();
}

function body(entry) {
  const values = { ...entry.values, request_key: entry.key, waited_s: ((Date.now() - entry.at) / 1000).toFixed(1) };
  if (!entry.file) return new URLSearchParams(values);
  const form = new FormData();
  Object.entries(values).forEach(([name, value]) => form.append(name, value));
  form.append("photo", entry.file, entry.fileName || "photo.jpg");
  return form;
}

async function post(entry) {
  const stop = new AbortController();
  const late = setTimeout(() => stop.abort(), entry.file ? GIVE_UP_FILE_MS : GIVE_UP_MS);
  try {
    return await fetch(entry.path, { method: "POST", body: body(entry), headers: { "hx-request": "true" }, signal: stop.signal });
  } finally { clearTimeout(late); }
}

export async function drain() {
  if (draining) return;
  draining = true;
  clearTimeout(timer);
  try {
    while (entries.length) {
      const [entry] = entries;
      const answer = await post(entry);
      if (answer.status >= 500) throw new Error(String(answer.status));
      const html = answer.status === 204 ? "" : await answer.text();
      online = true;
      settle(entry, answer, html);
    }
  } catch {
    online = false;
    timer = setTimeout(drain, RETRY_MS);
  } finally { draining = false; tell(); }
}

function settle(entry, answer, html) {
  entries = entries.filter((one) => one !== entry);
  const done = answers.get(entry.key);
  answers.delete(entry.key);
  if (answer.ok) forget(entry.key);
  else { entry.refusal = html || `refused (${answer.status})`; refused.push(entry); keep(entry); }
  hearers.forEach((act) => act(entry, answer));
  tell();
  done?.({ state: answer.ok ? "sent" : "refused", html, status: answer.status, key: entry.key, redirect: answer.headers.get("HX-Redirect") ?? "" });
}

export function heard(is) { if (is && !online) drain(); else if (!is && online) { online = false; tell(); } }

addEventListener("online", () => drain());
addEventListener("offline", () => heard(false));
addEventListener("pageshow", () => drain());
