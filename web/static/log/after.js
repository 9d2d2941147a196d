// Logging it afterwards: how long, then counters. Also where a session that was
// logged live, or waits, is looked over and changed.
import { chooser, missing, zoneOf } from "./choose.js";
import { Conditions } from "./conditions.js";
import { add, draft as read, drafts, update } from "./db.js";
import { by, chips, fill, h } from "./dom.js";
import { changeRig, finish, newDraft, removeEvent, say, stintOf } from "./draft.js";
import { keyOf } from "./events.js";
import { asLast, known, refresh, rigOf, rigTitle } from "./known.js";
import { sendAndLeave } from "./send.js";
import { times } from "./sent.js";
import { Logging, sentence } from "./session.js";
import { summary } from "./summary.js";
import { clockIn, dayIn, duration, momentIn } from "./times.js";

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
  refresh();
}

/** The draft that the address names, the one begun last, or a new one. */
async function wanted() {
  const query = new URLSearchParams(location.search), id = query.get("draft");
  const d = id ? await read(id) : (await drafts()).filter((x) => x.state === "open" && (x.mode === "after" || x.ended !== null)).at(-1);
  if (!d) {
    const who = asLast(k);
    const made = await add(newDraft("after", { ...who, zone: zoneOf(k, who) }, Date.now()));
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
  });
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
  log.act((d) => { changeRig(d, next, Date.now()); }).then(() => { pickers(); by("pick-rig").focus(); });
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
  const field = (label, type, name, value, change) => h("div", { className: "field" }, h("label", { htmlFor: name }, label),
    h("input", { id: name, type, value, "data-key": name, onchange: (e) => change(e.target.value) }));
  const start = d.started === null ? "" : clockIn(d.started, d.zone), end = d.ended === null ? "" : clockIn(d.ended, d.zone);
  const set = (dayText, from, to) => log.act((x) => {
    x.day = dayText;
    if (from !== start || dayText !== day) x.started = from ? momentIn(dayText, from, x.zone) : null;
    if (to !== end || dayText !== day) x.ended = to && x.started !== null ? momentIn(dayText, to, x.zone) : null;
    if (x.ended !== null && x.started !== null && x.ended < x.started) x.ended += 24 * 3600000; // past midnight
  });
  out.push(h("div", { className: "fields fields-3" },
    field("Day", "date", "day", day, (v) => set(v || day, start, end)),
    field("Start", "time", "from", start, (v) => set(day, v, end)),
    field("End", "time", "to", end, (v) => set(day, start, v))));
  return out;
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
  const wrong = missing(k, { angler: d.angler, water: d.water });
  if (wrong) {
    fill(by("after-wrong"), sentence(wrong));
    by("after-wrong").scrollIntoView({ block: "center" });
    return;
  }
  by("save").disabled = true;
  const now = Date.now();
  const kept = await log.act((x) => {
    x.finished ??= now;
    if (x.when === "now" && x.ended === null) x.ended = now;
    Object.assign(x, { state: "ready", typed: true, confirmed: false, doubtful: false });
    x.problems = [];
  });
  if (kept) await sendAndLeave(d.id);
  else by("save").disabled = false;
}

async function discard() {
  if (await log.act((d) => { d.state = "discarded"; d.discarded = Date.now(); })) location.href = `/waiting?discarded=${log.d.id}`;
}

main();
