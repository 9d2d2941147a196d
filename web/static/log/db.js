// What the phone keeps: sessions under way or waiting, rigs made here, and the lists to
// choose from, each for whom it belongs to. Every change is one transaction, so that two
// open pages can't lose one.
import { alone, key } from "./whose.js";

const NAME = "rigtally";

/** The states of what waits to be sent. */
export const waiting = ["ready", "refused", "conflict"];

/** The browser could not keep or read something: no room, private browsing, or its store is damaged. */
export class NotKept extends Error {}

/** @type {Promise<IDBDatabase>|undefined} */
let opened;
const forget = () => { opened = undefined; };

function open() {
  opened ??= new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, 2);
    request.onupgradeneeded = (e) => upgrade(request.result, request.transaction, e.oldVersion);
    request.onsuccess = () => {
      request.result.onversionchange = () => { request.result.close(); forget(); };
      request.result.onclose = forget; // by the browser, which makes room
      resolve(request.result);
    };
    request.onerror = () => reject(request.error);
  }).catch((error) => { forget(); throw error; });
  return opened;
}

function upgrade(db, t, from) {
  if (from < 1) {
    db.createObjectStore("drafts", { keyPath: "id" });
    db.createObjectStore("kept");
  }
  db.createObjectStore("rigs", { keyPath: "id" }).createIndex("for", "for");
  t.objectStore("drafts").createIndex("for", "for");
  if (from === 1 && alone) claim(t);
}

/** What was kept before it was told whose it is belongs to who works alone on this machine. */
function claim(t) {
  t.objectStore("drafts").openCursor().onsuccess = (e) => {
    const at = e.target.result;
    if (!at) return;
    at.update({ ...at.value, for: key });
    at.continue();
  };
  const s = t.objectStore("kept");
  s.openCursor().onsuccess = (e) => {
    const at = e.target.result;
    if (!at) return;
    if (!at.key.includes(" ")) {
      s.put(at.value, ours(at.key));
      at.delete();
    }
    at.continue();
  };
}

/**
 * Runs work in a transaction and returns what it asked for, once it is on disk. Throws NotKept.
 * @param {string} store
 * @param {"readonly"|"readwrite"} mode
 * @param {(s: IDBObjectStore, give: (v: any) => void) => void} work
 */
async function run(store, mode, work) {
  try {
    return await transact(await open(), store, mode, work);
  } catch (error) {
    throw new NotKept("the browser did not keep it", { cause: error });
  }
}

function transact(db, store, mode, work) {
  return new Promise((resolve, reject) => {
    const t = db.transaction(store, mode, mode === "readwrite" ? { durability: "strict" } : undefined);
    let result;
    work(t.objectStore(store), (v) => { result = v; });
    t.oncomplete = () => resolve(result);
    t.onabort = () => reject(t.error); // also after an error, whose cause is known by then
  });
}

const changes = "BroadcastChannel" in self ? new BroadcastChannel("rigtally") : null;
const listeners = new Set();
if (changes) changes.onmessage = (e) => hear(e.data, true);

function hear(id, fromElsewhere) {
  for (const f of listeners) f(id, fromElsewhere);
}

/** Says here and on other open pages that something has changed. */
export function tell(id) {
  hear(id, false);
  changes?.postMessage(id);
}

/** Calls back when a draft changes, here or on another open page. */
export function onChange(f) { listeners.add(f); }

const mine = (record) => (record?.for === key ? record : undefined);

const all = (store) => run(store, "readonly", (s, give) => { s.index("for").getAll(key).onsuccess = (e) => give(e.target.result); });

async function put(store, record) {
  const owned = { ...record, for: key };
  await run(store, "readwrite", (s) => s.put(owned));
  tell(record.id);
  return owned;
}

async function change(store, id, work) {
  let changed = false;
  const now = await run(store, "readwrite", (s, give) => {
    s.get(id).onsuccess = (e) => {
      const d = mine(e.target.result);
      if (d && work(d) !== false) { changed = true; s.put(d); }
      give(d);
    };
  });
  if (changed) tell(id);
  return now;
}

async function take(store, id) {
  await run(store, "readwrite", (s) => { s.get(id).onsuccess = (e) => { if (mine(e.target.result)) s.delete(id); }; });
  tell(id);
}

/** Those of who is signed in; there are no others. */
export const drafts = () => all("drafts");

export const draft = (id) => run("drafts", "readonly", (s, give) => { s.get(id).onsuccess = (e) => give(mine(e.target.result)); });

/** Puts a draft that is new. */
export const add = (d) => put("drafts", d);

/**
 * Changes a draft where it lies. Nothing is written when work returns false.
 * @returns the draft as it is now, undefined when it is gone
 */
export const update = (id, work) => change("drafts", id, work);

export const remove = (id) => take("drafts", id);

/** The rigs that were made here and that the journal is not known to have yet. */
export const newRigs = () => all("rigs");
export const addRig = (r) => put("rigs", r);
export const updateRig = (id, work) => change("rigs", id, work);
export const removeRig = (id) => take("rigs", id);

const ours = (name) => `${key} ${name}`;
export const kept = (name) => run("kept", "readonly", (s, give) => { s.get(ours(name)).onsuccess = (e) => give(e.target.result); });
export const keep = (name, value) => run("kept", "readwrite", (s) => s.put(value, ours(name)));

/** Whether nothing was written into a draft yet. */
export const isEmpty = (d) => d.mode === "after" && d.stints.every((st) => !st.minutes && st.events.length === 0) && !d.notes;

/** Whether it is being fished. */
export const fishing = (d) => d?.mode === "live" && d.state === "open" && d.ended === null;
