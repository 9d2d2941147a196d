// On every page: says what waits, sends it when there is signal, and has the
// worker keep the pages for when there is none.
import { drafts, onChange } from "./db.js";
import { sendAll } from "./send.js";

const place = document.querySelector("p.waiting");
const retry = 15000; // ms between tries while something waits

async function show() {
  const list = await drafts();
  const waiting = list.filter((d) => ["ready", "refused", "conflict"].includes(d.state));
  const live = list.find((d) => d.mode === "live" && d.state === "open" && d.ended === null);
  const parts = [];
  if (live && location.pathname !== "/live") parts.push(link("/live", "A session is under way"));
  if (waiting.length > 0) {
    const ask = waiting.filter((d) => d.state !== "ready").length;
    const n = waiting.length === 1 ? "1 session waits to be sent" : `${waiting.length} sessions wait to be sent`;
    parts.push(link("/waiting", ask > 0 ? `${n}, ${ask} ${ask === 1 ? "needs" : "need"} you` : n));
  }
  if (!place) return waiting;
  place.replaceChildren(...parts.flatMap((p, i) => (i > 0 ? [" · ", p] : [p])));
  place.hidden = parts.length === 0;
  return waiting;
}

function link(href, text) {
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
    if (navigator.onLine) await sendAll();
  }
}

onChange(() => show());
addEventListener("online", attend);
addEventListener("pageshow", attend);
document.addEventListener("visibilitychange", () => { if (!document.hidden) attend(); });

if ("serviceWorker" in navigator) {
  addEventListener("load", () => navigator.serviceWorker.register("/sw.js").catch(() => {}));
}
