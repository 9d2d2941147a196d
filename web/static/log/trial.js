// What a trial under way asks to be fished. Its order is sealed: only a unit that was
// started has an arm that anybody knows, so only that is proposed.
import { h } from "./dom.js";

/** The trials without those whose started unit waits on this phone to be sent. */
export function unfished(trials, drafts) {
  const since = (d) => d.started ?? d.created;
  const waits = drafts.filter((d) => ["ready", "refused", "conflict"].includes(d.state));
  return trials.filter((t) => !waits.some((d) => since(d) >= Date.parse(t.started_at) && d.stints.some((st) => st.rig === t.rig_id)));
}

/** The rig of an arm that was told, if a trial waits for it. */
export const trialRig = (k) => k?.trials?.find((t) => t.rig_id)?.rig_id;

/** What to tie, or where it is told. */
export function trialLines(k) {
  return (k?.trials ?? []).map((t) => h("p", { className: "trial-line" }, t.arm
    ? `Trial ${t.name}: this one is ${t.arm}.`
    : [`Trial ${t.name}: ${t.unit} ${t.number} is next. `, h("a", { href: `/trials/${t.id}` }, "Start it to see what to tie"), "."]));
}
