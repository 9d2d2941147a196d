// The worker that hands out the kept pages without signal. The program puts KEEP
// before it: a version, the pages to keep, and the files. Where the browser can send in the
// background, the program puts sendAll before it as well. For whom it is, its own address says.
"use strict";

const key = new URLSearchParams(location.search).get("for");
const OURS = `rigtally-${key}-`;
const CACHE = OURS + KEEP.version;
const FOR = "Rigtally-For"; // for whom an answer is
const patience = 4000; // ms to wait for Today before the copy is shown
const fresh = (path) => fetch(new Request(path, { cache: "reload" }));

// All or nothing: a worker whose pages could not all be fetched is never used.
self.addEventListener("install", (event) => {
  event.waitUntil(fill().then(() => self.skipWaiting()));
});

// The generation before is kept as well, for pages of it that are still open. What was another person's goes.
self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    const all = (await caches.keys()).filter((k) => k.startsWith("rigtally-") && k !== CACHE);
    const ours = all.filter((k) => k.startsWith(OURS));
    await Promise.all(all.filter((k) => k !== ours.at(-1)).map((k) => caches.delete(k)));
    await self.clients.claim();
  })());
});

const isOurs = (answer) => answer.ok && !answer.redirected && answer.headers.get(FOR) === key;

async function fill() {
  const cache = await caches.open(CACHE);
  try {
    await cache.addAll(KEEP.files);
    await Promise.all(KEEP.pages.map((path) => keepPage(cache, path)));
  } catch (error) {
    await caches.delete(CACHE);
    throw error;
  }
  await keepToday(await fresh("/"));
}

async function keepPage(cache, path) {
  const answer = await fresh(path);
  if (!isOurs(answer)) throw new Error("failed to install: someone else is signed in, or nobody");
  await cache.put(path, answer);
}

async function keepToday(answer) {
  if (isOurs(answer) && (await caches.has(CACHE))) await (await caches.open(CACHE)).put("/", answer);
}

const drop = async () => Promise.all((await caches.keys()).filter((k) => k.startsWith(OURS)).map((k) => caches.delete(k)));

/** Looks for whom an answer is: another's ends what is kept here, ours brings back what was dropped at the door. */
async function heed(answer) {
  const of = answer.headers.get(FOR);
  if (of && of !== key) await drop();
  else if (of && answer.ok && !(await caches.has(CACHE))) await fill().catch(() => {});
}

// What can't be had is a failed request for the page, and no error of the worker.
const fetched = (request) => fetch(request).catch(() => Response.error());

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (url.origin !== location.origin) return;
  if (event.request.method !== "GET") {
    if (/^\/(sign-in|sign-out|join|switch)(\/|$)/.test(url.pathname) && !url.pathname.endsWith("/begin")) event.respondWith(pass(event.request));
    return;
  }
  if (KEEP.pages.includes(url.pathname)) event.respondWith(ownPage(url.pathname, event.request));
  else if (url.pathname === "/" && event.request.mode === "navigate") event.respondWith(today(event));
  else if (event.request.mode === "navigate") event.respondWith(otherPage(event));
  else if (KEEP.files.includes(url.pathname) || url.pathname.startsWith("/static/")) event.respondWith(file(event.request));
});

// Who goes out or comes in may be somebody else: nothing that was kept is shown from then on, until
// the journal has said whose it is.
async function pass(request) {
  const answer = await fetched(request);
  if (answer.ok || answer.type === "opaqueredirect") await drop();
  return answer;
}

async function keptPage(path) {
  return (await caches.has(CACHE)) ? (await caches.open(CACHE)).match(path) : undefined;
}

async function ownPage(path, request) {
  return (await keptPage(path)) ?? fetched(request);
}

async function file(request) {
  return (await caches.match(request)) ?? fetched(request);
}

// Today as it is, or as it was last seen. Where the sign-in has ended, the way on is shown: to sign in, or to log on.
async function today(event) {
  const kept = await keptPage("/");
  const now = fetch(event.request).then(async (answer) => {
    if (answer.type === "opaqueredirect") return (await keptPage("/expired")) ?? answer;
    event.waitUntil(heed(answer));
    await keepToday(answer.clone()).catch(() => {}); // without room for it the answer is as good
    return answer;
  });
  if (!kept) return now.catch(() => ownPage("/offline", event.request));
  event.waitUntil(now.catch(() => {}));
  const late = new Promise((resolve) => setTimeout(resolve, patience, kept));
  return Promise.race([now.catch(() => kept), late]);
}

async function otherPage(event) {
  try {
    const answer = await fetch(event.request);
    event.waitUntil(heed(answer));
    return answer;
  } catch {
    return ownPage("/offline", event.request);
  }
}

// The browser says when there is signal again, also without a page. What could not be sent it tries once more.
self.addEventListener("sync", (event) => {
  if (event.tag === "send") event.waitUntil(sendAll().then((why) => { if (why === "no signal") throw new Error("failed to send: no signal"); }));
});
