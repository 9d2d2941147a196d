// A session while it is being logged. Functions change the draft they are given
// and nothing else; db.js keeps it.
import { droppers, kinds } from "./events.js";
import { newID } from "./ids.js";

const undoSteps = 30;

/**
 * @typedef {Object} Draft
 * @property {string} id
 * @property {"live"|"after"} mode
 * @property {"open"|"ready"|"refused"|"conflict"|"discarded"} state open: still written
 * @property {{id: string, name: string}} angler name: one the journal does not hold yet
 * @property {{id: string, name: string}} water
 * @property {string[]} meant new names that were asked about and are meant so
 * @property {number|null} started milliseconds
 * @property {number|null} ended
 * @property {string} day "" when it follows from the times
 * @property {boolean} [doubtful] the journal has asked whether it is so
 * @property {boolean} [confirmed] the person has said that it is
 * @property {boolean} [typed] it was written or changed by hand, and not on the pad alone
 * @property {number|null} [breaks] minutes, taken off the time from start to end
 * @property {string[]} [off] kinds of which no count is kept, for stints to come
 * @property {Array} stints with rig, started (live), minutes (once known), events, and off as it is in each
 */

/** @returns {Draft} */
export function newDraft(mode, who, now, off) {
  return {
    id: newID(now), mode, state: "open", version: 0, created: now,
    angler: who.angler, water: who.water, beat: who.beat ?? "", guide: who.guide ?? "", zone: who.zone ?? "", meant: who.meant ?? [],
    started: mode === "live" ? now : null, ended: null, when: mode === "live" ? "exact" : "now", day: "",
    off, stints: [newStint(who.rig, "", now, off)], at: 0, next: 1, asking: null, undo: [],
    conditions: {}, clarity: "", wind: "", light: "", storm: false, notes: "", problems: [],
  };
}

function newStint(rig, stroke, now, off) {
  return { id: newID(now), rig, stroke: stroke ?? "", started: now, minutes: null, off, positions: [], events: [] };
}

/** The stint that taps go to. */
export const stintOf = (d) => d.stints[d.at];

export function remember(d, text) {
  d.undo.push({ text, stints: JSON.stringify(d.stints), at: d.at, off: d.off });
  if (d.undo.length > undoSteps) d.undo.shift();
}

/**
 * Counts one more of a kind. In a live session it is stamped with the moment.
 * @returns the event
 */
export function tap(d, key, now, rig, cut) {
  remember(d, kinds[key].word);
  const e = { n: d.next++, ...kinds[key].event, count: 1 };
  if (d.mode === "live") e.at = now;
  if (e.kind === "fly change" && droppers(rig).length > 0) {
    e.cut_mm = cut;
    // On a rig with one dropper it is that one's by the journal's own rule.
    if (droppers(rig).length > 1) e.position = lastPosition(d, "fly change") ?? droppers(rig)[0].position;
  }
  stintOf(d).events.push(e);
  d.asking = e.n;
  return e;
}

const bounce = 100; // ms: no finger taps twice within it

/** Whether a tap on a counter, at a moment in ms, is only the last one's bounce. Last has the moments of those that counted. */
export function bounces(last, key, at) {
  if (at - last.get(key) < bounce) return true;
  last.set(key, at);
  return false;
}

function lastPosition(d, kind) {
  return stintOf(d).events.filter((e) => e.kind === kind && e.position > 0).at(-1)?.position;
}

/** Says more of an event; a field of undefined is taken away. */
export function say(d, n, fields) {
  for (const st of d.stints) {
    const e = st.events.find((x) => x.n === n);
    if (!e) continue;
    for (const [k, v] of Object.entries(fields)) {
      if (v === undefined) delete e[k];
      else e[k] = v;
    }
  }
}

export function removeEvent(d, n) {
  remember(d, "Deleted");
  for (const st of d.stints) st.events = st.events.filter((e) => e.n !== n);
  if (d.asking === n) d.asking = null;
}

/** Goes back to before the last tap. */
export function undo(d) {
  const last = d.undo.pop();
  if (!last) return false;
  d.stints = JSON.parse(last.stints);
  if ("off" in last) d.off = last.off;
  d.at = Math.min(last.at, d.stints.length - 1);
  d.asking = null;
}

/** Starts a stint with another rig. A rig fished before goes on with the tag it had. */
export function changeRig(d, rig, now) {
  remember(d, "Change of rig");
  const stint = newStint(rig.id, stintOf(d).stroke, now, d.off);
  const before = d.stints.findLast((s) => s.rig === rig.id);
  if (before) {
    for (const p of droppers(rig)) {
      const mm = tagNow(before, rig, p);
      if (mm !== null && mm !== p.tag_length_mm) stint.positions.push({ position: p.position, tag_start_mm: mm });
    }
  }
  d.stints.push(stint);
  d.at = d.stints.length - 1;
  d.asking = null;
}

/** The length that a tag has by now, null when not known. */
export function tagNow(stint, rig, p) {
  if (p.hang !== "tag" || !p.tag_length_mm) return null;
  const only = droppers(rig).length === 1;
  let mm = stint.positions.find((x) => x.position === p.position)?.tag_start_mm ?? p.tag_length_mm;
  for (const e of stint.events) {
    if (!(e.position === p.position || ((e.position === undefined || e.position === null) && only))) continue;
    if (e.kind === "re-tie") mm = p.tag_length_mm;
    if (e.kind === "fly change") mm -= e.cut_mm ?? 0;
  }
  return Math.round(mm * 1000) / 1000;
}

/** How often the knot of a tag was pulled on, by fish and snags, since it was tied: each pulls on the knots at and above its fly. */
export function pullsOn(d, rig, p) {
  const only = droppers(rig).length === 1;
  let pulls = 0;
  for (const e of d.stints.filter((st) => st.rig === rig.id).flatMap((st) => st.events)) {
    const at = e.position ?? null, own = at === p.position || (only && (at === null || at === 0 && ["junction", "tag"].includes(e.break_place)));
    if (["hookup", "snag"].includes(e.kind) && (at === null ? only : at <= p.position)) pulls += e.count;
    if (own && (e.kind === "re-tie" || ["junction", "tag"].includes(e.break_place))) pulls = 0;
  }
  return pulls;
}

const minute = 60000;

/** Ends a live session: gives each stint its minutes, to the second, and each event its minute. */
export function finish(d, now) {
  d.ended = Math.max(now, d.started);
  const since = (ms) => Math.round((Math.max(ms, d.started) - d.started) / 1000);
  d.stints.forEach((st, i) => {
    const end = i + 1 < d.stints.length ? d.stints[i + 1].started : d.ended;
    st.minutes = Math.max(1, since(end) - since(st.started)) / 60; // a second at least, since it was fished
    for (const e of st.events) {
      if (e.at !== undefined) e.minute = Math.min(Math.floor(st.minutes), Math.max(0, Math.floor((e.at - st.started) / minute)));
    }
  });
  const fished = d.stints.reduce((sum, st) => sum + st.minutes, 0);
  d.ended = Math.max(d.ended, d.started + Math.round(fished * 60) * 1000);
  d.asking = null;
}
