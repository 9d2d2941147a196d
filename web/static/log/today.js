// Today: starts a session as last time, and leads back to one under way.
import { chooser, missing, zoneOf } from "./choose.js";
import { add, drafts, onChange, remove } from "./db.js";
import { by, fill, h } from "./dom.js";
import { isEmpty, newDraft } from "./draft.js";
import { asLast, known, refresh, rigTitle } from "./known.js";
import { clockIn } from "./times.js";

const form = by("begin");
let k, who;

// At once, so that a tap that comes before the lists is not lost.
const ready = known().then((lists) => { k = lists; who = asLast(k); });
form?.addEventListener("submit", async (e) => {
  e.preventDefault();
  const mode = e.submitter?.value ?? "after";
  await ready;
  begin(mode);
});

async function main() {
  await ready;
  if (form) choose();
  const show = async () => fill(by("under-way"), underWay(await drafts()));
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
  const open = (await drafts()).some((d) => d.mode === "live" && d.state === "open" && d.ended === null);
  if (mode === "live" && open) {
    location.href = "/live";
    return;
  }
  for (const d of await drafts()) if (d.state === "open" && isEmpty(d)) await remove(d.id);
  const d = await add(newDraft(mode, { ...who, zone: zoneOf(k, who) }, Date.now()));
  location.href = mode === "live" ? "/live" : `/after?draft=${d.id}`;
}

/** Links to what was begun and not finished. */
function underWay(list) {
  return list.filter((d) => d.state === "open" && !isEmpty(d)).map((d) => {
    const rig = rigTitle(k, d.stints[d.at].rig);
    const live = d.mode === "live" && d.ended === null;
    const text = live ? `Go on fishing: ${rig}, since ${clockIn(d.started, d.zone)}` : `Finish what you began to log: ${rig}`;
    return h("p", {}, h("a", { className: "button button-main button-wide", href: live ? "/live" : `/after?draft=${d.id}` }, text));
  });
}

main();
