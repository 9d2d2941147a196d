// What the phone keeps: sessions under way or waiting, and the lists to choose
// from. Every change is one transaction, so that two open pages can't lose one.

const NAME = "rigtally";

/** The browser could not keep or read something: no room, private browsing, or its store is damaged. */
export class NotKept extends Error {}

/** @type {Promise<IDBDatabase>|undefined} */
let opened;
const forget = () => { opened = undefined; };

function open() {
  opened ??= new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, 1);
    request.onupgradeneeded = () => {
      request.result.createObjectStore("drafts", { keyPath: "id" });
      request.result.createObjectStore("kept");
    };
    request.onsuccess = () => {
      request.result.onversionchange = () => { request.result.close(); forget(); };
      request.result.onclose = forget; // by the browser, which makes room
      resolve(request.result);
    };
    request.onerror = () => reject(request.error);
  }).catch((error) => { forget(); throw error; });
  return opened;
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
if (changes) changes.onmessage = (e) => tell(e.data, true);

function tell(id, fromElsewhere) {
  for (const f of listeners) f(id, fromElsewhere);
  if (!fromElsewhere) changes?.postMessage(id);
}

/** Calls back when a draft changes, here or on another open page. */
export function onChange(f) { listeners.add(f); }

export const drafts = () => run("drafts", "readonly", (s, give) => { s.getAll().onsuccess = (e) => give(e.target.result); });

export const draft = (id) => run("drafts", "readonly", (s, give) => { s.get(id).onsuccess = (e) => give(e.target.result); });

/** Puts a draft that is new. */
export async function add(d) {
  await run("drafts", "readwrite", (s) => s.put(d));
  tell(d.id);
  return d;
}

/**
 * Changes a draft where it lies. Nothing is written when change returns false.
 * @returns the draft as it is now, undefined when it is gone
 */
export async function update(id, change) {
  let changed = false;
  const now = await run("drafts", "readwrite", (s, give) => {
    s.get(id).onsuccess = (e) => {
      const d = e.target.result;
      if (d && change(d) !== false) { changed = true; s.put(d); }
      give(d);
    };
  });
  if (changed) tell(id);
  return now;
}

export async function remove(id) {
  await run("drafts", "readwrite", (s) => s.delete(id));
  tell(id);
}

export const kept = (key) => run("kept", "readonly", (s, give) => { s.get(key).onsuccess = (e) => give(e.target.result); });
export const keep = (key, value) => run("kept", "readwrite", (s) => s.put(value, key));

/** Whether nothing was written into a draft yet. */
export const isEmpty = (d) => d.mode === "after" && d.stints.every((st) => !st.minutes && st.events.length === 0) && !d.notes;

/** Whether it is being fished. */
export const fishing = (d) => d?.mode === "live" && d.state === "open" && d.ended === null;
