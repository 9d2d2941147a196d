// The lists that a session is logged from, as last seen.
import { ask } from "./api.js";
import { drafts, keep, kept, newRigs, removeRig } from "./db.js";
import { trialRig, unfished } from "./trial.js";
import { key } from "./whose.js";

/** @returns the lists, with the rigs made on this phone; undefined on a phone that never saw them */
export async function lists() {
  const k = await kept("known");
  if (k?.trials) k.trials = unfished(k.trials, await drafts());
  if (k) k.rigs = [...(await newRigs()).map((r) => r.rig).filter((r) => !k.rigs.some((x) => x.id === r.id)).reverse(), ...k.rigs];
  return k;
}

/** Fetches the lists anew. Without signal those last seen are returned. */
export async function refresh() {
  const fresh = await fetched();
  if (fresh) {
    await keep("known", await withOld(fresh));
    const held = (rig) => fresh.rigs.some((x) => x.id === rig.id || x.name.toLowerCase() === rig.name.toLowerCase());
    for (const r of await newRigs()) if (r.state === "arrived" && held(r.rig)) await removeRig(r.id);
  }
  return lists();
}

/** The journal's lists, or null without signal. */
async function fetched() {
  try {
    const answer = await ask("/api/known"), fresh = answer.ok ? await answer.json() : null;
    return fresh?.for === key ? fresh : null;
  } catch {
    return null;
  }
}

/** Adds the revisions that a session on this phone was fished with and that the journal no longer lists. */
async function withOld(fresh) {
  const seen = await lists();
  const used = new Set((await drafts()).flatMap((d) => d.stints.map((st) => st.rig)));
  const before = [...(seen?.rigs ?? []), ...(seen?.old_rigs ?? [])];
  fresh.old_rigs = before.filter((r) => used.has(r.id) && !fresh.rigs.some((x) => x.id === r.id));
  return fresh;
}

/** The lists at once when there are any, else as soon as they come. */
export async function known() {
  return (await lists()) ?? (await refresh());
}

/** What was not counted last time on this device, the start of the next session. */
export const lastOff = async () => (await kept("off")) ?? [];

export const rigOf = (k, id) => k?.rigs?.find((r) => r.id === id) ?? k?.old_rigs?.find((r) => r.id === id);
export const anglerOf = (k, id) => k?.anglers?.find((a) => a.id === id);
export const waterOf = (k, id) => k?.waters?.find((w) => w.id === id);

export function rigTitle(k, id) {
  const r = rigOf(k, id);
  if (!r) return "a rig";
  return r.revision > 1 ? `${r.name} (revision ${r.revision})` : r.name;
}

/** Who, where and with what, as last time; where a trial waits for an arm, with that. */
export function asLast(k) {
  const last = k?.last;
  const water = waterOf(k, last?.water_id);
  const stint = last?.stints?.at(-1);
  return {
    angler: { id: k?.self ?? last?.angler_id ?? k?.anglers?.find((a) => a.active)?.id ?? "", name: "" },
    water: { id: last?.water_id ?? k?.waters?.[0]?.id ?? "", name: "" },
    beat: water?.beats?.find((b) => b.id === last?.beat_id)?.name ?? "",
    guide: last?.guide_id ?? "",
    rig: (rigOf(k, trialRig(k)) ?? rigOf(k, k?.usual_rig) ?? rigOf(k, stint?.rig_id) ?? k?.rigs?.[0])?.id ?? "",
  };
}

/** The cut of the last fly change that noted one. */
export function lastCut(k) {
  const events = (k?.last?.stints ?? []).flatMap((s) => s.events ?? []);
  return events.filter((e) => e.kind === "fly change" && e.cut_mm > 0).at(-1)?.cut_mm ?? k?.waste_mm ?? 15;
}
