// A draft as the journal's own JSON.
import { recorded } from "./recorded.js";
import { dayIn } from "./times.js";

const minute = 60000;
const iso = (ms) => new Date(ms).toISOString();

const sum = (list) => list.reduce((all, m) => all + (m ?? 0), 0);

/**
 * The minutes of each stint, null where nothing tells them. The one stint without has
 * what start and end leave to it, breaks taken off.
 */
export function minutesOf(d) {
  const told = d.stints.map((st) => st.minutes || null);
  if (d.when !== "exact" || d.started === null || d.ended === null || told.filter((m) => m === null).length !== 1) return told;
  const left = (d.ended - d.started) / minute - (d.breaks ?? 0) - sum(told);
  return told.map((m) => m ?? (left > 0 ? left : null));
}

/** The minutes of all stints together. */
export const fishedIn = (d) => sum(minutesOf(d));

/** When it began and ended, as far as it was said. */
export function times(d, now) {
  const untimed = minutesOf(d).includes(null);
  const fished = fishedIn(d);
  if (d.when === "now") {
    const ended = d.ended ?? now;
    if (untimed && fished === 0) return { started: null, ended: null, day: dayIn(ended, d.zone) };
    const started = ended - fished * minute;
    return { started, ended, day: dayIn(started, d.zone) };
  }
  if (d.started === null) return { started: null, ended: null, day: d.day || dayIn(now, d.zone) };
  const ended = d.ended ?? (fished > 0 && !untimed ? d.started + fished * minute : null);
  return { started: d.started, ended, day: dayIn(d.started, d.zone) };
}

/** Same events without a minute or note of their own are one event, counted. */
function gather(events, off = []) {
  const out = [];
  const seen = new Map();
  for (const { n, at, ...e } of events) {
    if (e.hooking === "fair" && off.includes("hooking")) delete e.hooking; // not told
    if (e.kind === "check" && e.turns === undefined) continue; // the journal wants the turns of a check
    const order = e.kind === "fly change" || e.kind === "re-tie"; // what came first tells how long the tag was
    const { count, minutes_lost, turns, ...rest } = e;
    const key = JSON.stringify([rest, minutes_lost === undefined]);
    const same = e.minute === undefined && !e.note && !e.species && !order ? seen.get(key) : undefined;
    if (same) {
      same.count += count;
      if (minutes_lost !== undefined) same.minutes_lost += minutes_lost;
      if (turns !== undefined) same.turns += turns;
      continue;
    }
    const kept = { ...e };
    out.push(kept);
    if (!order) seen.set(key, kept);
  }
  return out;
}

/**
 * What is sent: the session, and names that the journal does not hold yet.
 * @param {import("./draft.js").Draft} d
 */
export function toSent(d, now) {
  const t = times(d, d.finished ?? now), minutes = minutesOf(d);
  const session = {
    id: d.id, version: d.version, day: t.day, time_zone: d.zone, logged_at: iso(d.finished ?? now),
    stints: d.stints.map((st, i) => {
      const out = { id: st.id, rig_id: st.rig };
      if (minutes[i]) out.minutes = minutes[i];
      if (st.stroke) out.stroke = st.stroke;
      if (st.notes) out.notes = st.notes;
      if (st.positions.length > 0) out.positions = st.positions;
      if (st.off) out.recorded = recorded(st.off); // a session from before this was asked says nothing
      const events = gather(st.events, st.off);
      if (events.length > 0) out.events = events;
      return out;
    }),
  };
  session.angler_id = d.angler.id || "00000000-0000-0000-0000-000000000000";
  session.water_id = d.water.id || "00000000-0000-0000-0000-000000000000";
  if (d.guide) session.guide_id = d.guide;
  if (t.started !== null) session.start = iso(t.started);
  if (t.ended !== null) session.end = iso(t.ended);
  for (const [k, v] of Object.entries(d.conditions)) if (v !== null && v !== undefined) session[k] = v;
  for (const k of ["clarity", "wind", "light", "notes"]) if (d[k]) session[k] = d[k];
  if (d.storm) session.storm = true;
  const sent = { session };
  if (!d.angler.id) sent.angler = d.angler.name;
  if (!d.water.id) sent.water = d.water.name;
  if (d.beat) sent.beat = d.beat;
  // What the pad has timed and counted was not typed, so that nothing of it is a slip of the fingers.
  if (d.confirmed || (d.mode === "live" && !d.typed)) sent.confirmed = true;
  return sent;
}
