// After a tap: what can be said of it, in one more tap, or left.
import { chips, h } from "./dom.js";
import { droppers, keyOf, kinds, places, positionWords, words } from "./events.js";
import { cuts, length } from "./quantity.js";
import { counts } from "./recorded.js";

const capital = (s) => s.charAt(0).toUpperCase() + s.slice(1);

/** Which fly an event may have been on, as [value, word]; empty when it needs no question. */
function flies(e, rig) {
  const on = (rig?.positions ?? []).map((p) => [p.position, capital(positionWords(p.position))]);
  const hanging = droppers(rig);
  if (on.length < 2) return [];
  if (e.kind === "fly change" && hanging.length === 1) return [[undefined, "Dropper"], [0, "Point"]];
  if (e.kind === "fly change") return on;
  if (hanging.length === 1 && e.kind !== "hookup" && e.kind !== "snag") return []; // the only dropper's
  return on;
}

// Nothing is asked that is not counted.
const asked = { place: "break-place", minutes: "minutes-lost" };

/** The questions of an event: [name, options, chosen, what a choice says]. */
function questions(e, rig, units, cut, off) {
  const list = [];
  for (const ask of kinds[keyOf(e)]?.asks ?? []) {
    if (asked[ask] && !counts(asked[ask], off)) continue;
    if (ask === "place") list.push(where(e));
    if (ask === "ending") list.push(["How did it end?", ["landed", "lost", "broke off"].map((v) => [v, capital(v)]), e.ending, (v) => ({ ending: v, break_place: undefined })]);
    if (ask === "freed") list.push(["How did it end?", [["freed", "Came free"], ["broke off", "Broke off"]], e.ending, (v) => ({ ending: v, break_place: undefined })]);
    if (ask === "turns") list.push(["Turns around the line", [0, 1, 2, 3, 4, 5, 6, 8, 10].map((v) => [v, String(v)]), e.turns, (v) => ({ turns: v })]);
    if (ask === "minutes") list.push(["Minutes lost", [1, 2, 3, 5, 10, 15].map((v) => [v, String(v)]), e.minutes_lost, (v) => ({ minutes_lost: v })]);
    if (ask === "cut" && droppers(rig).length > 0 && e.position !== 0) list.push(["Tag cut off", steps(units, cut, e.cut_mm).map((v) => [v, v === 0 ? "None" : length(v, units)]), e.cut_mm, (v) => ({ cut_mm: v })]);
    if (ask === "fly" && flies(e, rig).length > 0) list.push(["Which fly?", flies(e, rig), e.position, (v) => (e.kind === "fly change" && v === 0 ? { position: v, cut_mm: undefined } : e.kind === "fly change" && e.cut_mm === undefined ? { position: v, cut_mm: cut } : { position: v })]);
  }
  if (e.ending === "broke off" && counts("break-place", off) && keyOf(e) !== "broke-off") list.splice(1, 0, where(e));
  return list;
}

const where = (e) => ["Where did it break?", places.map((p) => [p, capital(p)]), e.break_place, (v) => ({ break_place: v })];

/** The steps of a cut, with those in use that are not among them. */
function steps(units, ...more) {
  const list = cuts(units);
  for (const mm of more) if (mm !== undefined && !list.some((s) => Math.abs(s - mm) < 0.5)) list.push(mm);
  return list.sort((a, b) => a - b);
}

/**
 * The questions of an event as a panel.
 * @param {string[]|undefined} off kinds that are not counted
 * @param {(fields: Object) => void} say what a choice says of the event
 */
export function panel(e, rig, units, cut, off, say) {
  const rows = questions(e, rig, units, cut, off).map(([name, options, chosen, fields]) => {
    const required = e.kind === "check" || name === "Tag cut off" || (e.kind === "fly change" && name === "Which fly?");
    const near = options.find(([v]) => v === chosen) ?? options.find(([v]) => typeof v === "number" && typeof chosen === "number" && Math.abs(v - chosen) < 0.5);
    const now = near ? near[0] : chosen;
    return h("div", { className: name === "Which fly?" ? "ask-row beside" : "ask-row" }, h("p", { className: "ask-name" }, name),
      chips(name, options, now, (v) => say(fields(v === now && !required ? undefined : v)), name.startsWith("Where") ? "chips-3" : ""));
  });
  return [h("p", { className: "ask-title" }, h("strong", {}, words(e, units))), ...rows];
}
