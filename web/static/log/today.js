// Today: starts a session as last time, and leads back to one under way.
import { chooser, missing, unclear, zoneOf } from "./choose.js";
import { add, drafts, fishing, isEmpty, NotKept, onChange, remove } from "./db.js";
import { by, fill, h } from "./dom.js";
import { asLast, known, lastOff, refresh, rigOf, rigTitle } from "./known.js";

const form = by("begin");
let k, who;

// At once, so that a tap that comes before the lists is not lost.
const ready = known().then((lists) => { k = lists; who = asLast(k); });
form?.addEventListener("submit", async (e) => {
  e.preventDefault();
  const mode = e.submitter?.value ?? "after";
  try {
    await ready;
    await begin(mode);
  } catch (error) {
    if (!(error instanceof NotKept)) throw error;
    form.submit(); // to the plain form, which needs nothing kept
  }
});

async function main() {
  await ready;
  if (form) choose();
  const show = async () => fill(by("under-way"), await underWay(await drafts()));
  onChange(show);
  await show();
  const seen = JSON.stringify(k);
  k = (await refresh()) ?? k;
  if (form && JSON.stringify(k) !== seen && !form.contains(document.activeElement)) {
    who = asLast(k);
    choose();
  }
}

const choose = () => chooser(by("who"), k, who, () => fill(by("begin-wrong")));

async function begin(mode) {
  const wrong = missing(k, who);
  if (wrong) {
    fill(by("begin-wrong"), h("p", { className: "wrong", role: "alert" }, wrong));
    return;
  }
  if (await unclear(by("begin-wrong"), k, who, () => { choose(); begin(mode); })) return;
  if (mode === "live" && (await drafts()).some(fishing)) {
    location.href = "/live";
    return;
  }
  for (const d of await drafts()) if (d.state === "open" && isEmpty(d)) await remove(d.id);
  navigator.storage?.persist?.(); // so that the browser does not make room of what waits
  const { newDraft } = await import("./draft.js"); // which is what a page to look at can do without
  const d = await add(newDraft(mode, { ...who, zone: zoneOf(k, who) }, Date.now(), await lastOff()));
  location.href = mode === "live" ? "/live" : `/after?draft=${d.id}`;
}

// A session that was begun before the journal had a rig has none.
function withRig(d) {
  const id = d.stints[d.at].rig;
  return rigOf(k, id) ? `: ${rigTitle(k, id)}` : "";
}

/** What was begun takes the place of beginning, so that nothing moves under the thumb. */
async function underWay(list) {
  const lives = list.filter(fishing), live = lives[0];
  const start = document.querySelector('button[value="live"] span');
  const since = async () => (await import("./times.js")).clockIn(live.started, live.zone);
  if (start) start.textContent = lives.length > 1 ? `Continue ${lives.length} sessions` : live ? `Continue: ${rigTitle(k, live.stints[live.at].rig)}, since ${await since()}` : "Start fishing now";
  const beside = live ? [h("p", {}, h("a", { className: "button button-wide", href: "/live?begin" }, "Start another session beside it"))] : [];
  return beside.concat(list.filter((d) => !fishing(d) && d.state === "open" && !isEmpty(d)).map((d) => h("p", {}, h("a", { className: "button button-wide", href: `/after?draft=${d.id}` }, `Finish what you started to log${withRig(d)}`))));
}

main();
