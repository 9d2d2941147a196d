// On every page: says what waits, sends it when there is signal, and has the
// worker keep the pages for when there is none.
import { keptOut } from "./api.js";
import { drafts, fishing, newRigs, onChange, waiting } from "./db.js";
import "./trouble.js";
import { key } from "./whose.js";

const place = document.querySelector("p.waiting");
const retry = 15000; // ms between tries while something waits

// As last seen, before the phone's own store has answered, so that the page does not move.
const SEEN = `rigtally-waiting ${key}`;
paint(seen());

function seen() {
  try {
    return JSON.parse(localStorage.getItem(SEEN)) ?? [];
  } catch {
    return []; // a browser may refuse to remember
  }
}

function remember(parts) {
  try {
    localStorage.setItem(SEEN, JSON.stringify(parts));
  } catch {
    // then the page moves a little
  }
}

const some = (n, one, many) => (n === 1 ? `1 ${one}` : `${n} ${many}`);

async function show() {
  const list = await drafts().catch(() => []), rigs = await newRigs().catch(() => []); // where nothing can be kept nothing waits, and the pages that log say so
  const out = await keptOut().catch(() => "");
  const sessions = list.filter((d) => waiting.includes(d.state)), ties = rigs.filter((r) => waiting.includes(r.state));
  const live = list.filter(fishing).length;
  const parts = navigator.onLine ? [] : [["", "No signal"]];
  if (live > 0) parts.push(["/live", live === 1 ? "A session is under way" : `${live} sessions are under way`]);
  if (out === "signed-out") parts.push(["/sign-in", sessions.length + ties.length > 0 ? "Sign in to send what waits" : "Signed out"]);
  const all = [...sessions, ...ties];
  if (all.length > 0) {
    const need = all.filter((d) => d.state !== "ready").length;
    const n = [sessions.length > 0 && some(sessions.length, "session", "sessions"), ties.length > 0 && some(ties.length, "new rig", "new rigs")].filter(Boolean).join(" and ");
    const text = `${n} ${all.length === 1 ? "waits" : "wait"} to be sent`;
    parts.push(["/waiting", need > 0 ? `${text}, ${need} ${need === 1 ? "needs" : "need"} you` : text]);
  }
  remember(parts);
  paint(parts);
  return { ready: all.some((d) => d.state === "ready"), out };
}

/** Links to what waits, those to the page at hand left out. */
function paint(parts) {
  const shown = parts.filter(([href]) => href !== location.pathname && !(href === "/live" && location.pathname === "/"));
  const text = shown.map((p) => p[1]).join();
  if (!place || (place.dataset.shown ?? "") === text) return;
  place.dataset.shown = text;
  place.replaceChildren(...shown.flatMap(([href, words], i) => (i > 0 ? [" · ", part(href, words)] : [part(href, words)])));
  place.hidden = shown.length === 0;
}

function part(href, text) {
  if (!href) return text;
  const a = document.createElement("a");
  a.href = href;
  a.textContent = text;
  return a;
}

let timer;
async function attend() {
  clearTimeout(timer);
  const { ready, out } = await show();
  if (!ready) return;
  if (!out) timer = setTimeout(attend, retry); // who is not let in comes back by another page
  inBackground();
  if (navigator.onLine) await (await import("./send.js")).sendAll(); // hardly ever wanted, so not with every page
}

const worker = key && "serviceWorker" in navigator ? navigator.serviceWorker : null; // a page outside every journal leaves it as it is

/** Asks the browser to send it when there is signal again, also when no page is open any more. */
async function inBackground() {
  if (worker && "SyncManager" in window) await (await worker.ready).sync.register("send").catch(() => {}); // it may say no
}

if (key) {
  onChange(() => show());
  addEventListener("online", attend);
  addEventListener("offline", () => show());
  addEventListener("pageshow", attend);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) attend(); });
}
if (document.querySelector('form[action="/sign-out"]')) import("./signout.js");

if (worker) {
  const sends = "SyncManager" in window;
  const address = `/sw.js?${new URLSearchParams({ for: key, ...(sends && { sends: "yes" }) })}`;
  addEventListener("load", () => worker.register(address, { type: sends ? "module" : "classic" }).catch(() => {}));
}
