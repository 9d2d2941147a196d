// The worker that hands out the kept pages without signal. The program puts KEEP
// before it: a version, the pages that are the same for everybody, and the files.
"use strict";

const CACHE = `rigtally-${KEEP.version}`;
const patience = 4000; // ms to wait for Today before the copy is shown

// All or nothing: a worker whose pages could not all be fetched is never used.
self.addEventListener("install", (event) => {
  event.waitUntil((async () => {
    const cache = await caches.open(CACHE);
    await cache.addAll([...KEEP.files, ...KEEP.pages.map((p) => new Request(p, { cache: "reload" }))]);
    await keepToday(cache, await fetch("/", { cache: "reload" }));
    await self.skipWaiting();
  })());
});

// The generation before is kept as well, for pages of it that are still open.
self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    const ours = (await caches.keys()).filter((k) => k.startsWith("rigtally-") && k !== CACHE);
    await Promise.all(ours.slice(0, -1).map((k) => caches.delete(k)));
    await self.clients.claim();
  })());
});

async function keepToday(cache, answer) {
  if (answer.ok && !answer.redirected) await cache.put("/", answer);
}

// What can't be had is a failed request for the page, and no error of the worker.
const fetched = (request) => fetch(request).catch(() => Response.error());

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== location.origin) return;
  if (KEEP.pages.includes(url.pathname)) event.respondWith(ownPage(url.pathname, event.request));
  else if (url.pathname === "/" && event.request.mode === "navigate") event.respondWith(today(event));
  else if (event.request.mode === "navigate") event.respondWith(otherPage(event.request));
  else if (KEEP.files.includes(url.pathname) || url.pathname.startsWith("/static/")) event.respondWith(file(event.request));
});

async function ownPage(path, request) {
  const cache = await caches.open(CACHE);
  return (await cache.match(path)) ?? fetched(request);
}

async function file(request) {
  return (await caches.match(request)) ?? fetched(request);
}

// Today as it is, or as it was last seen.
async function today(event) {
  const cache = await caches.open(CACHE);
  const kept = await cache.match("/");
  const fresh = fetch(event.request).then(async (answer) => {
    await keepToday(cache, answer.clone()).catch(() => {}); // without room for it the answer is as good
    return answer;
  });
  if (!kept) return fresh.catch(() => ownPage("/offline", event.request));
  event.waitUntil(fresh.catch(() => {}));
  const late = new Promise((resolve) => setTimeout(resolve, patience, kept));
  return Promise.race([fresh.catch(() => kept), late]);
}

async function otherPage(request) {
  try {
    return await fetch(request);
  } catch {
    return ownPage("/offline", request);
  }
}
