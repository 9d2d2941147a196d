// Fishing now: each tap is stamped with its minute and kept at once.
import { chooser, missing, zoneOf } from "./choose.js";
import { add, drafts, keep } from "./db.js";
import { by, fill, h } from "./dom.js";
import { changeRig, finish, newDraft, removeEvent, stintOf, tagNow } from "./draft.js";
import { droppers, words } from "./events.js";
import { asLast, known, lastOff, refresh, rigOf, rigTitle } from "./known.js";
import { length } from "./quantity.js";
import { countsControl, sayOff } from "./counts.js";
import { counts } from "./recorded.js";
import { rigPicker } from "./rigs.js";
import { sendAndLeave } from "./send.js";
import { Logging, sentence } from "./session.js";
import { summary } from "./summary.js";
import { clockIn, duration } from "./times.js";
import { Conditions } from "./conditions.js";

/** @type {Logging} */
let log;
let k;
let conditions;

async function main() {
  k = await known();
  const open = (await drafts()).find((d) => d.mode === "live" && d.state === "open" && d.ended === null);
  if (open) await run(open);
  else await begin();
  refresh();
}

async function begin() {
  const who = asLast(k);
  let off = await lastOff();
  const said = () => sayOff(by("begin-off"), off);
  countsControl(by("begin-counts"), by("counts"), () => off, (chosen) => { off = chosen; said(); });
  said();
  by("begin").hidden = false;
  chooser(by("who"), k, who, () => fill(by("begin-wrong")));
  by("start").addEventListener("click", async () => {
    const wrong = missing(k, who);
    if (wrong) {
      fill(by("begin-wrong"), sentence(wrong));
      return;
    }
    navigator.storage?.persist?.();
    const d = await add(newDraft("live", { ...who, zone: zoneOf(k, who) }, Date.now(), off));
    keep("off", off);
    by("begin").hidden = true;
    await run(d);
    by("live").querySelector("[data-kind]").focus({ preventScroll: true });
  });
}

async function run(d) {
  log = new Logging(d, k, show);
  log.offHint = "What you uncheck now is not counted in any of this stint. What you check again counts from the next stint on.";
  log.nothingAsked = () => [h("p", { className: "quiet" }, "Tap what happens. Each tap is saved at once, with its minute.")];
  by("undo").addEventListener("click", () => log.undo());
  by("cut").addEventListener("click", () => log.tap("fly-change"));
  by("swap").addEventListener("click", () => change(other()));
  by("rigs-open").addEventListener("click", openRigs);
  by("end-open").addEventListener("click", openEnd);
  by("save").addEventListener("click", save);
  for (const b of document.querySelectorAll("[data-close]")) b.addEventListener("click", () => b.closest("dialog").close());
  conditions = new Conditions(by("conditions"), log);
  by("conditions-open").addEventListener("click", () => by("conditions-dialog").showModal());
  await log.start();
  by("live").hidden = false;
  setInterval(clock, 5000);
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
  return log.act((d) => { changeRig(d, rig, now); });
}

function openRigs() {
  const now = stintOf(log.d).rig;
  rigPicker(by("rig-list"), k, now, (id) => (id === now ? by("rigs").close() : change(rigOf(k, id))));
  by("rigs").showModal();
}

function clock() {
  if (!log || log.d.ended !== null) return;
  const now = Date.now(), st = stintOf(log.d);
  const inStint = Math.max(0, Math.floor((now - st.started) / 60000)), inAll = Math.max(0, Math.floor((now - log.d.started) / 60000));
  by("clock").textContent = log.d.stints.length > 1 ? `minute ${inStint}, ${duration(inAll)} in all` : `minute ${inStint}, since ${clockIn(log.d.started, log.d.zone)}`;
}

function show() {
  const d = log.d, st = stintOf(d);
  by("rig-name").textContent = rigTitle(k, st.rig);
  const tags = droppers(log.rig).map((p) => [p, tagNow(st, log.rig, p)]).filter(([, mm]) => mm !== null);
  by("tag-now").textContent = tags.map(([p, mm]) => `${tags.length > 1 ? `Tag ${p.position}` : "Tag"}: ${mm > 0 ? length(mm, log.units) : "used up, re-tie it"}`).join(" · ");
  clock();
  log.showPad();
  const swap = other();
  by("swap").hidden = !swap;
  if (swap) by("swap").querySelector("span").textContent = `Change to ${rigTitle(k, swap.id)}`;
  by("rigs-open").hidden = k.rigs.length < 3;
  by("cut").disabled = tags.length === 0 || !counts("changes", st.off);
  by("cut").querySelector("span").textContent = `Cut tag ${length(log.cut, log.units)}`;
  by("undo").disabled = d.undo.length === 0;
  by("undo").setAttribute("aria-label", d.undo.length > 0 ? `Undo: ${d.undo.at(-1).text}` : "Nothing to undo");
  const recent = d.stints.flatMap((s, i) => s.events.map((e) => ({ e, s, i }))).slice(-2).reverse();
  fill(by("recent"), recent.map(({ e, s, i }) => h("li", {}, h("span", {}, `Minute ${Math.max(0, Math.floor((e.at - s.started) / 60000))}${i === d.at ? "" : ` of stint ${i + 1}`}: ${words(e, log.units)}`))));
  conditions?.show();
  if (by("end").open) showEnd();
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
  by("save").disabled = true;
  const now = Date.now(), at = endsAt === "last" ? lastTap() : now;
  if (await log.act((d) => { finish(d, at); d.state = "ready"; d.finished = now; })) await sendAndLeave(log.d.id);
  else by("save").disabled = false;
}

main();
