// Of what count is kept. The kinds and their words are the journal's own; off lists
// those that a person does not count.

/** The kinds by their words, each named as to people. */
export const titles = {
  hookups: "hookups", landed: "fish landed", lost: "fish lost", "broke-off": "fish broken off", hooking: "fair or foul", "break-place": "where it broke",
  snags: "snags", tangles: "tangles", "tangle-kind": "kinds of tangle", turns: "turns around the line", changes: "fly changes and re-ties", "minutes-lost": "minutes lost",
};

/** What can't be counted without the count of something else. */
export const rests = { tangles: ["tangle-kind", "minutes-lost"], "broke-off": ["break-place"] };

/** The kinds of which no count is kept: those that are off, and what rests on them. */
export const uncounted = (off = []) => Object.keys(titles).filter((k) => off.includes(k) || off.some((o) => rests[o]?.includes(k)));

/** The kinds of which count is kept, as the journal takes them. */
export const recorded = (off) => Object.keys(titles).filter((k) => !uncounted(off).includes(k));

/** Whether count is kept of a kind. */
export const counts = (kind, off) => !uncounted(off).includes(kind);

/** In words: "tangles, snags and minutes lost". */
export function list(words) {
  return words.length < 2 ? words.join("") : `${words.slice(0, -1).join(", ")} and ${words.at(-1)}`;
}

/** What is not counted, in words; what rests on another kind goes without saying. "" for nothing. */
export const offWords = (off = []) => list(Object.keys(titles).filter((k) => off.includes(k) && !Object.keys(rests).some((o) => off.includes(o) && rests[o].includes(k))).map((k) => titles[k]));

const needs = {
  landed: "landed", lost: "lost", "broke-off": "broke-off", foul: "hooking", snag: "snags", check: "turns",
  twist: "tangle-kind", "wind-knot": "tangle-kind", nest: "tangle-kind", tangle: "tangles", "fly-change": "changes", "re-tie": "changes", hooked: "hookups",
};

/** The ways in which a fish on may end that are not counted one by one, while fish on are. */
export const openEnds = (off = []) => (counts("hookups", off) ? ["landed", "lost", "broke-off"].filter((k) => !counts(k, off)) : []);

/**
 * How a counter of the pad stands. Where only some ends of a fish are counted, one counter
 * takes the place of the first of the others; every other one stays where it is.
 * @returns {"on"|"off"|"gone"} gone: another one stands in its place
 */
export function standing(key, off) {
  const [open] = openEnds(off);
  if (key === "hooked") return open ? "on" : "gone";
  if (key === open) return "gone";
  return counts(needs[key], off) ? "on" : "off";
}

/** Whether a stint has only begun: what is counted in it can still be chosen either way. */
const begun = 3 * 60000;
const fresh = (d, st, now) => d.mode !== "live" || d.ended !== null || (st.events.length === 0 && now - st.started < begun);

/**
 * Says of what no count is kept in the stint at hand, and in those that follow. A stint
 * under way was counted from its start or not at all: what is taken off is off for the
 * whole of it, and what is put back counts from the next one on.
 */
export function setOff(d, off, now) {
  const st = d.stints[d.at];
  d.off = off;
  st.off = fresh(d, st, now) ? off : Object.keys(titles).filter((k) => off.includes(k) || st.off?.includes(k));
}
