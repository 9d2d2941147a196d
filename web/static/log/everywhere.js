// On every page: says what waits, sends it when there is signal, and has the
// worker keep the pages for when there is none.
import { drafts, onChange } from "./db.js";
import "./trouble.js";

const place = document.querySelector("p.waiting");
const retry = 15000; // ms between tries while something waits

// As last seen, before the phone's own store has answered, so that the page does not move.
const SEEN = "rigtally-waiting";
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

async function show() {
  const list = await drafts().catch(() => []); // where nothing can be kept nothing waits, and the pages that log say so
  const waiting = list.filter((d) => ["ready", "refused", "conflict"].includes(d.state));
  const live = list.find((d) => d.mode === "live" && d.state === "open" && d.ended === null);
  const parts = navigator.onLine ? [] : [["", "No signal"]];
  if (live) parts.push(["/live", "A session is under way"]);
  if (waiting.length > 0) {
    const ask = waiting.filter((d) => d.state !== "ready").length;
    const n = waiting.length === 1 ? "1 session waits to be sent" : `${waiting.length} sessions wait to be sent`;
    parts.push(["/waiting", ask > 0 ? `${n}, ${ask} ${ask === 1 ? "needs" : "need"} you` : n]);
  }
  remember(parts);
  paint(parts);
  return waiting;
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
  const waiting = await show();
  if (waiting.some((d) => d.state === "ready")) {
    timer = setTimeout(attend, retry);
    if (navigator.onLine) await (await import("./send.js")).sendAll(); // hardly ever wanted, so not with every page
  }
}

onChange(() => show());
addEventListener("online", attend);
addEventListener("offline", () => show());
addEventListener("pageshow", attend);
document.addEventListener("visibilitychange", () => { if (!document.hidden) attend(); });

if ("serviceWorker" in navigator) {
  addEventListener("load", () => navigator.serviceWorker.register("/sw.js").catch(() => {}));
}
