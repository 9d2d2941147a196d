// Logging it afterwards: how long, then counters. Also where a session that was
// logged live, or waits, is looked over and changed.
import { chooser, missing, unclear, zoneOf } from "./choose.js";
import { Conditions } from "./conditions.js";
import { add, draft as read, drafts, update } from "./db.js";
import { by, chips, fill, h } from "./dom.js";
import { changeRig, finish, newDraft, removeEvent, say, stintOf } from "./draft.js";
import { keyOf } from "./events.js";
import { asLast, known, lastOff, refresh, rigOf, rigTitle } from "./known.js";
import "./newrig.js"; // at hand when the lists are shown
import { sendAndLeave } from "./send.js";
import { fishedIn, minutesOf, times } from "./sent.js";
import { Logging, sentence } from "./session.js";
import { summary } from "./summary.js";
import { clockIn, dayIn, duration, readClock } from "./times.js";

const usual = [30, 60, 90, 120, 180, 240];

/** @type {Logging} */
let log;
let k;
let conditions;

async function main() {
  k = await known();
  const d = await wanted();
  log = new Logging(d, k, show);
  // The rest can be said under "Everything noted": here most taps are only counted.
  log.over = gone;
  log.asksOnly = (e) => ["broke-off", "foul", "snag", "check", "fly-change"].includes(keyOf(e));
  pickers();
  by("undo").addEventListener("click", () => log.undo());
  by("more-rig").addEventListener("click", addRig);
  by("more-rig").hidden = !k?.rigs?.length;
  by("save").addEventListener("click", save);
  by("discard").addEventListener("click", discard);
  conditions = new Conditions(by("conditions"), log);
  if (d.mode === "live") by("after").querySelector("h1").textContent = "Look it over";
  await log.start();
  by("after").hidden = false;
  if (d.problems.length > 0) fill(by("after-wrong"), d.problems.map(sentence));
  const fresh = await refresh();
  if (fresh && k) k.rivers = fresh.rivers;
  conditions.showCautions();
}

/** Says that another page has sent or discarded the session. */
function gone(_, what) {
  by("after").inert = true;
  fill(by("after-gone"), h("p", { className: "notice", role: "alert" }, `This session was sent or discarded on another page${what ? `, and your tap on ${what} was not counted` : ""}. `, h("a", { href: "/sessions" }, "All sessions")));
  by("after-gone").scrollIntoView({ block: "center" });
}

/** The draft that the address names, the one begun last, or a new one. */
async function wanted() {
  const query = new URLSearchParams(location.search), id = query.get("draft");
  const d = id ? await read(id) : (await drafts()).filter((x) => x.state === "open" && (x.mode === "after" || x.ended !== null)).at(-1);
  if (!d) {
    const who = asLast(k);
    const made = await add(newDraft("after", { ...who, zone: zoneOf(k, who) }, Date.now(), await lastOff()));
    history.replaceState(null, "", `/after?draft=${made.id}`);
    return made;
  }
  const end = query.get("end") === "last" ? Math.max(...d.stints.flatMap((s) => [s.started, ...s.events.map((e) => e.at ?? 0)])) : Date.now();
  return update(d.id, (x) => {
    if (x.mode === "live" && x.ended === null) finish(x, end);
    x.state = "open";
  });
}

function pickers() {
  const d = log.d;
  const who = { angler: { ...d.angler }, water: { ...d.water }, beat: d.beat, rig: stintOf(d).rig };
  chooser(by("who"), k, who, () => {
    fill(by("after-wrong"));
    log.act((x) => {
      Object.assign(x, { angler: who.angler, water: who.water, beat: who.beat, zone: zoneOf(k, who) });
      if (stintOf(x).rig !== who.rig) swapRig(stintOf(x), who.rig);
    });
  }, true);
}

/** Another rig for a stint: what was noted of a fly that it lacks is for no fly in particular. */
function swapRig(stint, id) {
  stint.rig = id;
  const rig = rigOf(k, id);
  const on = (p) => rig?.positions.some((x) => x.position === p);
  stint.positions = stint.positions.filter((p) => on(p.position));
  for (const e of stint.events) if (e.position !== undefined && !on(e.position)) delete e.position;
}

function addRig() {
  const now = stintOf(log.d).rig;
  const next = k.rigs.find((r) => r.id !== now) ?? k.rigs[0];
  log.act((d) => { changeRig(d, next, Date.now()); }).then(() => { pickers(); by("who").querySelector(".rig-choice").focus(); });
}

function show() {
  const d = log.d;
  const many = d.stints.length > 1;
  by("stints").hidden = !many;
  if (many) fill(by("stints"), chips("Stint", d.stints.map((st, i) => [i, `${i + 1}. ${rigTitle(k, st.rig)}, ${st.minutes ? duration(st.minutes) : "time not noted"}`]), d.at, (i) => log.act((x) => { x.at = i; x.asking = null; }).then(pickers)));
  fill(by("how-long"), howLong(stintOf(d)));
  fill(by("when"), when(d));
  log.showPad();
  conditions?.show();
  by("undo").disabled = d.undo.length === 0;
  by("undo").setAttribute("aria-label", d.undo.length > 0 ? `Undo: ${d.undo.at(-1).text}` : "Nothing to undo");
  by("in-short").textContent = summary(d, k);
  const all = d.stints.flatMap((st) => st.events);
  by("noted-count").textContent = all.length > 0 ? `Everything noted (${all.length})` : "Everything noted";
  const within = document.activeElement;
  if (!by("noted").contains(within) || within.tagName === "BUTTON") fill(by("noted"), timeline(d));
}

const setMinutes = (v) => log.act((d) => { stintOf(d).minutes = v === null ? null : Math.min(1440, Math.max(1, v)); });

function howLong(st) {
  const m = st.minutes;
  const options = usual.map((v) => [v, duration(v)]);
  if (m && !usual.includes(m)) options.push([m, duration(m)]);
  const step = (by15, text) => h("button", { type: "button", className: "chip", "data-key": `step${by15}`, "aria-label": by15 < 0 ? "15 minutes less" : "15 minutes more", onclick: () => setMinutes((st.minutes ?? 0) + by15) }, text);
  const group = chips("How long", options, m, (v) => setMinutes(v === m ? null : v));
  group.append(step(-15, "−15"), step(15, "+15"));
  return [h("p", { className: "ask-name" }, "How long with this rig?"), group];
}

function when(d) {
  const choose = (v) => log.act((x) => {
    x.when = v;
    if (v === "exact" && x.started === null) {
      const t = times({ ...x, when: "now" }, Date.now());
      Object.assign(x, { started: t.started, ended: null, day: t.day });
    }
  });
  const out = [h("div", { className: "beside" }, h("p", { className: "ask-name" }, "It ended"), chips("It ended", [["now", "just now"], ["exact", "another time"]], d.when, choose))];
  if (d.when !== "exact") return out;
  const day = d.started !== null ? dayIn(d.started, d.zone) : d.day || dayIn(Date.now(), d.zone);
  // What was typed and can't be is not in the draft: it stays to be corrected, also when something else is drawn anew.
  const typed = (name, value) => (clockWrong && document.getElementById(name)?.value) || value;
  const field = (label, type, name, value) => h("div", { className: "field" }, h("label", { htmlFor: name }, label),
    h("input", { id: name, type, value: typed(name, value), "data-key": name, onchange: () => set() }));
  const start = d.started === null ? "" : clockIn(d.started, d.zone), end = d.ended === null ? "" : clockIn(d.ended, d.zone);
  const set = () => {
    const [dayText, from, to] = ["day", "from", "to"].map((id) => by(id).value || (id === "day" ? day : ""));
    const t = readClock(dayText, from, to, d.zone);
    clockWrong = t.wrong;
    if (clockWrong) {
      fill(by("clock-said"), sentence(clockWrong)); // what was typed stays to be corrected
      return;
    }
    // What reads as it was is kept to the second.
    log.act((x) => Object.assign(x, { day: dayText, started: from === start && dayText === day ? x.started : t.started, ended: to === end && from === start && dayText === day ? x.ended : t.ended }));
  };
  out.push(h("div", { className: "fields fields-2" },
    field("Day", "date", "day", day), field("Start", "time", "from", start), field("End", "time", "to", end),
    h("div", { className: "field" }, h("label", { htmlFor: "breaks" }, "Breaks, min"),
      h("input", { id: "breaks", type: "text", inputMode: "numeric", autocomplete: "off", value: typed("breaks", d.breaks ?? ""), "data-key": "breaks", onchange: (e) => setBreaks(e.target.value.trim()) }))));
  out.push(h("div", { id: "clock-said" }, clockWrong ? sentence(clockWrong) : clockSaid(d)));
  return out;
}

/** What is wrong with the times as they are typed; "" for nothing. */
let clockWrong = "";

function setBreaks(text) {
  clockWrong = /^\d{0,4}$/.test(text) ? "" : "Write the breaks in whole minutes, or nothing.";
  if (clockWrong) fill(by("clock-said"), sentence(clockWrong));
  else log.act((x) => { x.breaks = text === "" ? null : Number(text); });
}

/** Whether the time fished comes from start and end. */
const byClock = (d) => d.stints.filter((st) => !st.minutes).length === 1 && fishedIn(d) > 0 && !minutesOf(d).includes(null);

/** How start and end are read. */
function clockSaid(d) {
  if (d.started === null || d.ended === null) return null;
  const says = [];
  if (dayIn(d.started, d.zone) !== dayIn(d.ended, d.zone)) says.push(`Ends the next day: ${duration((d.ended - d.started) / 60000)}.`);
  if (byClock(d)) says.push(`Start and end give the time fished${d.breaks ? ", without the breaks" : ""}: ${duration(fishedIn(d))}.`);
  if (d.breaks && d.breaks >= (d.ended - d.started) / 60000) return sentence("The breaks leave no time fished. Correct them or the times.");
  return says.length > 0 ? h("p", { className: "small", role: "status" }, says.join(" ")) : null;
}

/** Every event, to be taken out or said more of. */
function timeline(d) {
  const many = d.stints.length > 1;
  return d.stints.flatMap((st, i) => [
    many ? h("h3", {}, `Stint ${i + 1}: ${rigTitle(k, st.rig)}`) : null,
    ...st.events.map((e) => h("div", { className: "noted-row" },
      log.questions({ ...e, note: "" }, rigOf(k, st.rig)),
      h("div", { className: "fields" },
        entry(`Minute`, `minute-${e.n}`, e.minute ?? "", "numeric", (v) => log.act((x) => say(x, e.n, { minute: /^\d{1,4}$/.test(v) ? Number(v) : undefined }))),
        entry("Note", `note-${e.n}`, e.note ?? "", "text", (v) => log.act((x) => say(x, e.n, { note: v || undefined })))),
      h("button", { type: "button", className: "button-small", onclick: () => { log.act((x) => { removeEvent(x, e.n); }); } }, "Take out"))),
    st.events.length === 0 ? h("p", { className: "quiet" }, "Nothing yet.") : null]);
}

function entry(label, id, value, mode, change) {
  return h("div", { className: "field" }, h("label", { htmlFor: id }, label), h("input", { id, type: "text", inputMode: mode, value: String(value), autocomplete: "off", onchange: (e) => change(e.target.value.trim()) }));
}

async function save() {
  const d = log.d;
  const wrong = missing(k, { angler: d.angler, water: d.water }) || clockWrong;
  if (wrong) {
    fill(by("after-wrong"), sentence(wrong));
    by("after-wrong").scrollIntoView({ block: "center" });
    return;
  }
  const who = { angler: { ...d.angler }, water: { ...d.water }, beat: d.beat, meant: [...(d.meant ?? [])] };
  const again = async () => {
    await log.act((x) => Object.assign(x, { angler: who.angler, water: who.water, beat: who.beat, zone: zoneOf(k, who), meant: who.meant }));
    fill(by("after-wrong"));
    pickers();
    await save();
  };
  if (await unclear(by("after-wrong"), k, who, again)) return;
  by("save").disabled = log.leaving = true;
  const now = Date.now();
  const kept = await log.act((x) => {
    x.finished ??= now;
    if (x.when === "now" && x.ended === null) x.ended = now;
    Object.assign(x, { state: "ready", typed: true, confirmed: false, doubtful: false });
    x.problems = [];
  });
  const read = [];
  if (log.d.when === "exact" && log.d.mode === "after" && log.d.ended !== null && dayIn(log.d.started, log.d.zone) !== dayIn(log.d.ended, log.d.zone)) read.push("night");
  if (log.d.when === "exact" && byClock(log.d)) read.push("clock");
  if (kept) await sendAndLeave(d.id, read);
  else by("save").disabled = log.leaving = false;
}

async function discard() {
  if (await log.act((d) => { d.state = "discarded"; d.discarded = Date.now(); })) location.href = `/waiting?discarded=${log.d.id}`;
}

main();
