// A session in a sentence.
import { keyOf, kinds } from "./events.js";
import { rigTitle } from "./known.js";
import { fishedIn } from "./sent.js";
import { duration } from "./times.js";

const some = (n, one, many) => `${n} ${n === 1 ? one : many}`;
const many = { landed: "landed", lost: "lost", "broke-off": "broke off", hooked: "hookups", foul: "foul", tangle: "tangles", snag: "snags", check: "checks", twist: "twists", "wind-knot": "wind knots", nest: "nests", "fly-change": "fly changes", "re-tie": "re-ties" };

/** The counts of some events, by kind. */
export function counts(events) {
  const n = {};
  for (const e of events) {
    const key = keyOf(e) || e.kind;
    n[key] = (n[key] ?? 0) + (e.count ?? 1);
  }
  return n;
}

/** Counts in words: 3 landed, 1 lost, 1 twist. */
export function countWords(events) {
  const n = counts(events);
  const parts = Object.keys(kinds).filter((key) => n[key]).map((key) => some(n[key], kinds[key].word.toLowerCase(), many[key]));
  return parts.length > 0 ? parts.join(", ") : "nothing noted";
}

/** How long with what, and what happened. */
export function summary(d, k) {
  const fished = fishedIn(d);
  const rigs = [...new Set(d.stints.map((st) => rigTitle(k, st.rig)))];
  const time = fished > 0 ? duration(fished) : "Time not noted";
  return `${time} with ${rigs.join(" and ")}: ${countWords(d.stints.flatMap((s) => s.events))}.`;
}
