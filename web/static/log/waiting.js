// What waits to be sent: looked at, sent now, changed, or discarded with undo;
// and where the journal holds something else, the two side by side.
import { ask, keptOut } from "./api.js";
import { compare } from "./compare.js";
import { add, draft as read, drafts, fishing, isEmpty, newRigs, onChange, remove, removeRig, update, updateRig, waiting } from "./db.js";
import { by, fill, h } from "./dom.js";
import { newID } from "./ids.js";
import { anglerOf, known, refresh, waterOf } from "./known.js";
import { drawn } from "./rigs.js";
import { sendOne, sendOneRig } from "./send.js";
import { times, toSent } from "./sent.js";
import { summary } from "./summary.js";
import { clockIn, dayWords } from "./times.js";

const keptDays = 30; // how long what was discarded can be brought back

let k;

async function main() {
  k = await known();
  for (const d of await drafts()) {
    if (d.state === "discarded" && Date.now() - d.discarded > keptDays * 86400000) await remove(d.id);
  }
  by("save-file").addEventListener("click", saveFile);
  onChange(show);
  await show();
  k = await refresh();
  show();
}

let shown = "";
let out = false; // who is at the phone was removed from the journal

/** Draws the lists anew when something has changed, and else leaves what a finger may be on. */
async function show() {
  const list = await drafts(), rigs = (await newRigs()).filter((r) => waiting.includes(r.state));
  out = (await keptOut()) === "withdrawn";
  const now = JSON.stringify([list, rigs, k, navigator.onLine, out]);
  if (now === shown) return;
  shown = now;
  const of = (...states) => list.filter((d) => states.includes(d.state));
  const unsent = of("conflict", "refused", "ready");
  fill(by("waiting-list"), rigs.map((r) => rigEntry(r, list)), unsent.map((d) => entry(d, "h2")));
  by("nothing-waits").hidden = unsent.length + rigs.length > 0;
  const open = of("open").filter((d) => !isEmpty(d));
  by("save-file").hidden = unsent.length + rigs.length + open.length === 0;
  by("save-file").className = out ? "button-main" : "button-small";
  by("take-along").hidden = !out || by("save-file").hidden;
  by("unfinished").hidden = open.length === 0;
  fill(by("unfinished-list"), open.map((d) => entry(d, "h3")));
  const gone = of("discarded");
  by("discarded").hidden = gone.length === 0;
  fill(by("discarded-list"), gone.map((d) => entry(d, "h3")));
}

function title(d) {
  const water = waterOf(k, d.water.id)?.name ?? (d.water.name || "water not noted");
  return `${dayWords(times(d, d.finished ?? d.created).day)}, ${water}${d.beat ? `, ${d.beat}` : ""}`;
}

function entry(d, heading) {
  const who = anglerOf(k, d.angler.id)?.name ?? d.angler.name;
  const state = {
    ready: !navigator.onLine ? "Waits for signal." : d.problems?.length ? "Not sent yet." : "On its way.",
    refused: d.doubtful ? "The journal has a question first." : "The journal did not accept it as it is.", conflict: "The journal has another version.",
    open: d.mode === "live" && d.ended === null ? `Under way since ${clockIn(d.started, d.zone)}.` : "Not finished yet.", discarded: "Discarded.",
  }[d.state];
  const key = (text, act, main) => h("button", { type: "button", "data-key": `${d.id}:${text}`, className: main ? "button-main" : "", onclick: act }, text);
  const actions = [];
  if (d.state === "refused" && d.doubtful) actions.push(key("Yes, that is right", () => confirmIt(d), true));
  else if (d.state === "ready" || d.state === "refused") actions.push(key("Send now", () => sendOne(d.id).then((r) => arrived(d, r)), !out));
  if (d.state === "open") actions.push(h("a", { className: "button button-main", href: fishing(d) ? `/live?draft=${d.id}` : `/after?draft=${d.id}` }, "Go on"));
  else if (d.state !== "discarded" && d.state !== "conflict") actions.push(h("a", { className: "button", href: `/after?draft=${d.id}` }, "Change it"));
  if (d.state === "discarded") actions.push(key("Bring it back", () => update(d.id, (x) => { x.state = x.finished ? "ready" : "open"; }), true));
  else if (d.state !== "conflict") actions.push(key("Discard", () => update(d.id, (x) => { x.state = "discarded"; x.discarded = Date.now(); })));
  return h("li", { className: `kept kept-${d.state}`, "data-draft": d.id },
    h(heading, { className: "kept-title" }, title(d)), h("p", {}, `${who}. ${summary(d, k)}`), h("p", { className: "kept-state" }, state),
    (d.problems ?? []).map((p) => h("p", { className: d.state === "ready" ? "quiet" : "wrong" }, p)),
    d.state === "conflict" ? choice(d, key) : h("div", { className: "actions" }, actions));
}

/** A rig made here. Another name can be given where the journal has it already; one that nothing was fished with can be left. */
function rigEntry(r, list) {
  const refused = r.state === "refused", fished = list.some((d) => d.state !== "discarded" && d.stints.some((st) => st.rig === r.id));
  const name = h("input", { id: `name-${r.id}`, "data-key": `${r.id}:name`, type: "text", autocomplete: "off", maxLength: 120, value: r.rig.name });
  const again = async () => {
    await updateRig(r.id, (x) => { Object.assign(x, { state: "ready", problems: [] }, { rig: { ...x.rig, name: name.value.trim() || x.rig.name } }); });
    k = await known(); // by its new name
    await sendOneRig(r.id);
    for (const d of await drafts()) if (d.state === "ready" && d.stints.some((st) => st.rig === r.id)) arrived(d, await sendOne(d.id));
  };
  const key = (text, act, look) => h("button", { type: "button", "data-key": `${r.id}:${text}`, className: look, onclick: act }, text);
  return h("li", { className: `kept kept-${r.state}`, "data-rig": r.id },
    h("h2", { className: "kept-title" }, `New rig: ${r.rig.name}`), drawn(r.rig.positions),
    h("p", { className: "kept-state" }, refused ? "The journal did not accept it. Sessions fished with it wait." : navigator.onLine ? "On its way." : "Waits for signal."),
    r.problems.map((p) => h("p", { className: refused ? "wrong" : "quiet" }, p)),
    refused ? h("div", { className: "field" }, h("label", { htmlFor: name.id }, "Name"), name) : null,
    h("div", { className: "actions" }, key(refused ? "Send with this name" : "Send now", again, out ? "" : "button-main"), fished ? null : key("Discard", () => removeRig(r.id), "")));
}

/** All that is on this phone alone, as it would be sent: also for whom the journal lets in no more. */
async function saveFile() {
  const kept = (await drafts()).filter((d) => d.state !== "discarded" && !isEmpty(d)).map((d) => ({ says: `${title(d)}: ${summary(d, k)}`, state: d.state, ...toSent(d, Date.now()) }));
  const rigs = (await newRigs()).filter((r) => waiting.includes(r.state)).map((r) => r.rig);
  const url = URL.createObjectURL(new Blob([JSON.stringify({ rigs, sessions: kept }, null, 1)], { type: "application/json" }));
  h("a", { href: url, download: "rigtally-unsent.json" }).click();
  setTimeout(() => URL.revokeObjectURL(url), 60000); // the browser reads it meanwhile
}

function arrived(d, result) {
  if (result === "arrived") fill(by("sent"), h("p", { className: "notice", role: "status" }, "It has arrived. ", h("a", { href: `/sessions/${d.id}` }, "Open the session")));
}

/** What was asked about is so: the session says that from now on. */
async function confirmIt(d) {
  await update(d.id, (x) => { Object.assign(x, { confirmed: true, doubtful: false, state: "ready", problems: [] }); });
  arrived(d, await sendOne(d.id));
}

/** Mine and the journal's, and what can be done. */
function choice(d, key) {
  const theirs = d.deleted ? "Leave it deleted" : "Keep the journal’s";
  const mine = d.deleted ? "Bring it back with mine" : "Keep mine, as a new version";
  return [compare(d, k), h("div", { className: "actions" },
    key(mine, () => keepMine(d)), key(theirs, () => update(d.id, (x) => { x.state = "discarded"; x.discarded = Date.now(); })), key("Keep both", () => keepBoth(d)))];
}

/** Mine replaces the version that was shown; if there is a later one by now, that is a conflict again. */
async function keepMine(d) {
  if (d.deleted) {
    const answer = await ask(`/sessions/${d.id}/restore`, { method: "POST", redirect: "manual" }).catch(() => null);
    if (!answer || (answer.type !== "opaqueredirect" && !answer.ok)) {
      await update(d.id, (x) => { x.problems = ["It could not be brought back right now. Try again when there is signal."]; });
      return;
    }
  }
  await update(d.id, (x) => { Object.assign(x, { version: x.stored?.version ?? 0, state: "ready", problems: [] }); });
  arrived(d, await sendOne(d.id));
}

/** Mine becomes a session of its own. */
async function keepBoth(d) {
  const now = Date.now(), id = newID(now);
  const copy = { ...(await read(d.id)), id, version: 0, state: "ready", problems: [], stored: undefined, deleted: undefined };
  copy.stints = copy.stints.map((st) => ({ ...st, id: newID(now) }));
  await add(copy);
  await remove(d.id);
  arrived(copy, await sendOne(id));
}

main();
