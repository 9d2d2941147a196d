// Fishing now: each tap is stamped with its minute and kept at once.
import { stayAwake } from "./awake.js";
import { chooser, missing, unclear, zoneOf } from "./choose.js";
import { Conditions } from "./conditions.js";
import { countsControl, sayOff } from "./counts.js";
import { add, drafts, fishing, keep, kept, newRigs, onChange, waiting } from "./db.js";
import { by, fill, h } from "./dom.js";
import { changeRig, finish, newDraft, pullsOn, removeEvent, stintOf, tagNow } from "./draft.js";
import { droppers, kinds, keyOf, words } from "./events.js";
import { anglerOf, asLast, known, lastOff, refresh, rigOf, rigTitle } from "./known.js";
import { newRigControl } from "./newrig.js";
import { length } from "./quantity.js";
import { rigPicker } from "./rigs.js";
import { sendAndLeave } from "./send.js";
import { Logging, sentence } from "./session.js";
import { Sheet } from "./sheet.js";
import { summary } from "./summary.js";
import { clockIn, duration } from "./times.js";
import { trialLines } from "./trial.js";

/** @type {Logging} */
let log;
let k, conditions, sheet, sleep;
let several = false; // sessions are under way side by side, as with two clients

async function main() {
  k = await known();
  const live = (await drafts()).filter(fishing), query = new URLSearchParams(location.search);
  const wanted = query.get("draft") ?? (await kept("live"));
  if (live.length > 0 && !query.has("begin")) await run(live.find((d) => d.id === wanted) ?? live[0]);
  else await begin(live);
  const fresh = await refresh();
  if (fresh && k) k.rivers = fresh.rivers;
  conditions?.showCautions();
}

async function begin(live) {
  const who = asLast(k);
  const busy = live.map((d) => d.angler.id);
  if (busy.includes(who.angler.id)) who.angler.id = k.anglers.find((a) => a.active && !busy.includes(a.id))?.id ?? who.angler.id;
  let off = await lastOff();
  const said = () => sayOff(by("begin-off"), off);
  countsControl(by("begin-counts"), by("counts"), () => off, (chosen) => { off = chosen; said(); });
  said();
  fill(by("begin-trial"), trialLines(k));
  by("begin").hidden = false;
  const choose = () => chooser(by("who"), k, who, () => fill(by("begin-wrong")));
  choose();
  by("start").addEventListener("click", async () => {
    const wrong = missing(k, who);
    if (wrong) {
      fill(by("begin-wrong"), sentence(wrong));
      return;
    }
    if (await unclear(by("begin-wrong"), k, who, () => { choose(); fill(by("begin-wrong")); by("start").click(); })) return;
    navigator.storage?.persist?.();
    const d = await add(newDraft("live", { ...who, zone: zoneOf(k, who) }, Date.now(), off));
    keep("off", off);
    history.replaceState(null, "", "/live");
    by("begin").hidden = true;
    await run(d);
    by("live").querySelector("[data-kind]").focus({ preventScroll: true });
  });
}

async function run(d) {
  await keep("live", d.id).catch(() => {}); // shown again when the page is opened anew
  log = new Logging(d, k, show);
  log.holds = fishing;
  log.over = over;
  log.offHint = "What you uncheck now is not counted in any of this stint. What you check again counts from the next stint on.";
  sheet = new Sheet(by("ask"));
  sheet.n = d.asking; // what was not answered before the page was opened is left so
  log.ask = (e) => {
    sheet.back = e && document.querySelector(`[data-kind="${keyOf(e)}"]`);
    sheet.show(e, e ? log.questions(e, log.rig).slice(1) : []); // what it is about stands above
  };
  by("undo").addEventListener("click", () => log.undo());
  by("swap").addEventListener("click", () => change(other()));
  by("rigs-open").addEventListener("click", openRigs);
  newRigControl(by("rig-new"), () => k, change);
  by("end-open").addEventListener("click", openEnd);
  by("save").addEventListener("click", save);
  for (const b of document.querySelectorAll("[data-close]")) b.addEventListener("click", () => b.closest("dialog").close());
  conditions = new Conditions(by("conditions"), log);
  by("conditions-open").addEventListener("click", () => by("conditions-dialog").showModal());
  await log.start();
  by("live").hidden = false;
  sleep = stayAwake();
  setInterval(clock, 5000);
  onChange(signal);
  onChange(beside);
  await beside();
  for (const change of ["online", "offline"]) addEventListener(change, signal);
  await signal();
}

/** Says that another page has ended the session, and what this one could not count. */
function over(d, what) {
  sleep();
  for (const dialog of document.querySelectorAll("dialog[open]")) dialog.close();
  by("live").hidden = true;
  by("over").hidden = false;
  const [says, href, text] = !d ? ["It was ended and sent from another page.", `/sessions/${log.d.id}`, "Open the session"]
    : d.state === "open" ? ["It was ended on another page, and is not saved yet.", `/after?draft=${d.id}`, "Go on there"]
      : ["It was ended on another page, and waits to be sent.", "/waiting", "See what waits"];
  fill(by("over-says"), says, what ? h("strong", {}, ` Your tap on ${what} came after that and was not counted: add it to the session if it happened.`) : " Nothing is counted here any more.");
  fill(by("over-ways"), h("a", { className: "button button-main", href }, text), h("a", { className: "button", href: "/live" }, "Start another session"));
  by("over").focus();
}

const nameOf = (d) => anglerOf(k, d.angler.id)?.name ?? (d.angler.name || "Someone");

/** Leads to the other sessions under way. */
async function beside() {
  const live = (await drafts()).filter(fishing), others = live.filter((d) => d.id !== log.d.id);
  const word = (d) => (live.some((x) => x !== d && nameOf(x) === nameOf(d)) ? `${nameOf(d)}, ${rigTitle(k, stintOf(d).rig)}` : nameOf(d));
  several = others.length > 0;
  by("others").hidden = !several;
  fill(by("others"), others.map((d) => h("a", { className: "button", href: `/live?draft=${d.id}`, "data-key": d.id }, h("span", { className: "unseen" }, "Switch to "), word(d))));
  title();
}

/** Says what is fished, and by whom where that could be mistaken. */
function title() {
  const rig = rigTitle(k, stintOf(log.d).rig);
  by("rig-name").textContent = several ? `${nameOf(log.d)}: ${rig}` : rig;
}

/** Says in the fixed line whether there is signal, and what waits for it. */
async function signal() {
  const waits = [...(await drafts()), ...(await newRigs())].filter((d) => waiting.includes(d.state)).length;
  fill(by("signal"), navigator.onLine ? null : "No signal", !navigator.onLine && waits ? ", " : null, waits ? h("a", { href: "/waiting" }, `${waits} unsent`) : null);
}

/** The rig that one tap changes to: the last other one of the session, else of the journal. */
function other() {
  const now = stintOf(log.d).rig;
  const before = log.d.stints.findLast((s) => s.rig !== now)?.rig ?? k.last?.stints?.findLast((s) => s.rig_id !== now)?.rig_id;
  return k.rigs.find((r) => r.id === before) ?? k.rigs.find((r) => r.id !== now);
}

function change(rig) {
  const now = Date.now();
  by("rigs").close();
  return log.act((d) => { changeRig(d, rig, now); }, "Change of rig");
}

function openRigs() {
  const now = stintOf(log.d).rig;
  rigPicker(by("rig-list"), k, now, (id) => (id === now ? by("rigs").close() : change(rigOf(k, id))));
  by("rigs").showModal();
}

function clock() {
  const now = Date.now(), st = stintOf(log.d);
  const inStint = Math.max(0, Math.floor((now - st.started) / 60000)), inAll = Math.max(0, Math.floor((now - log.d.started) / 60000));
  by("clock").textContent = log.d.stints.length > 1 ? `${inStint} min, ${duration(inAll)} in all` : `${inStint} min since ${clockIn(log.d.started, log.d.zone)}`;
}

function show() {
  const d = log.d, st = stintOf(d);
  title();
  const tags = droppers(log.rig).map((p) => [p, tagNow(st, log.rig, p)]).filter(([, mm]) => mm !== null);
  by("tag-now").textContent = tags.map(([p, mm]) => `${tags.length > 1 ? `tag ${p.position}` : "tag"} ${mm > 0 ? length(mm, log.units) : "used up, re-tie it"}`).join(", ");
  by("noted").textContent = `${d.stints.flatMap((s) => s.events).reduce((n, e) => n + e.count, 0)} noted`;
  by("worn").textContent = worn(d);
  clock();
  log.showPad();
  const swap = other();
  by("swap").disabled = !swap;
  by("swap").querySelector("span").textContent = swap ? `Change to ${rigTitle(k, swap.id)}` : "No other rig";
  const last = d.undo.at(-1)?.text, newest = [...d.stints].reverse().flatMap((s) => s.events.slice(-1).map((e) => [s, e]))[0];
  by("undo").disabled = !last;
  by("recent").textContent = !last ? "" : newest && kinds[keyOf(newest[1])]?.word === last ? `Minute ${Math.max(0, Math.floor((newest[1].at - newest[0].started) / 60000))}: ${words(newest[1], log.units)}` : last;
  conditions?.show();
  if (by("end").open) showEnd();
}

/** Says which tag was pulled on as often as half of its kind of knot last, as far as this journal knows. */
function worn(d) {
  const old = droppers(log.rig).filter((p) => {
    const life = p.hang === "tag" && k.lives?.find((l) => l.junction === (p.junction === "other" ? p.junction_name : p.junction));
    return life && pullsOn(d, log.rig, p) >= life.pulls;
  });
  if (old.length === 0) return "";
  return `Re-tie soon: ${droppers(log.rig).length > 1 ? `tag ${old[0].position}` : "this tag"} has held fish and snags as long as half of such knots last.`;
}

let endsAt = "now";

function openEnd() {
  endsAt = "now";
  showEnd();
  by("end").showModal();
}

function lastTap() {
  return Math.max(log.d.started, ...log.d.stints.flatMap((s) => [s.started, ...s.events.map((e) => e.at ?? 0)]));
}

function showEnd() {
  const now = Date.now(), last = lastTap();
  const copy = structuredClone(log.d);
  finish(copy, endsAt === "last" ? last : now);
  const parts = [h("p", { className: "lead" }, summary(copy, k))];
  if (now - last > 30 * 60000) {
    const option = (value, text) => h("button", { type: "button", className: "chip", "data-key": `ends:${value}`, "aria-pressed": String(endsAt === value), onclick: () => { endsAt = value; showEnd(); } }, text);
    parts.push(h("p", { className: "ask-name" }, "When did it end?"), h("div", { className: "chips" }, option("now", `Now, ${clockIn(now, log.d.zone)}`), option("last", `With the last tap, ${clockIn(last, log.d.zone)}`)));
  }
  const unsaid = log.d.stints.flatMap((s) => s.events).filter((e) => e.kind === "check" && e.turns === undefined);
  for (const e of unsaid) {
    parts.push(h("p", { className: "ask-name" }, "How many turns did the check show? Without an answer, it is left out."),
      h("div", { className: "chips" }, [0, 1, 2, 3, 4, 5, 6].map((v) => h("button", { type: "button", className: "chip", onclick: () => log.say(e.n, { turns: v }) }, String(v))),
        h("button", { type: "button", className: "chip", onclick: () => log.act((d) => { removeEvent(d, e.n); }) }, "Leave it out")));
  }
  fill(by("end-summary"), parts);
  by("end-details").href = `/after?draft=${log.d.id}&end=${endsAt}`;
}

async function save() {
  by("save").disabled = log.leaving = true;
  const now = Date.now(), at = endsAt === "last" ? lastTap() : now;
  if (await log.act((d) => { finish(d, at); d.state = "ready"; d.finished = now; })) await sendAndLeave(log.d.id);
  else by("save").disabled = log.leaving = false;
}

main();
