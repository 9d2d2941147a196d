// What can happen, as the journal writes it, and what is asked of each.
import { length } from "./quantity.js";

/** The counters: word, the event that a tap makes, and what can be said of it after. */
export const kinds = {
  landed: { word: "Landed", event: { kind: "hookup", hooking: "fair", ending: "landed" }, asks: ["fly"] },
  lost: { word: "Lost", event: { kind: "hookup", hooking: "fair", ending: "lost" }, asks: ["fly"] },
  "broke-off": { word: "Broke off", event: { kind: "hookup", hooking: "fair", ending: "broke off" }, asks: ["place", "fly"] },
  hooked: { word: "Hookup", event: { kind: "hookup", hooking: "fair" }, asks: ["fly"] },
  foul: { word: "Foul", event: { kind: "hookup", hooking: "foul" }, asks: ["ending", "fly"] },
  snag: { word: "Snag", event: { kind: "snag" }, asks: ["freed", "fly"] },
  check: { word: "Check", event: { kind: "check" }, asks: ["turns", "fly"] },
  twist: { word: "Twist", event: { kind: "tangle", tangle_kind: "twist" }, asks: ["minutes", "fly"] },
  "wind-knot": { word: "Wind knot", event: { kind: "tangle", tangle_kind: "wind knot" }, asks: ["minutes", "fly"] },
  nest: { word: "Nest", event: { kind: "tangle", tangle_kind: "nest" }, asks: ["minutes", "fly"] },
  tangle: { word: "Tangle", event: { kind: "tangle" }, asks: ["minutes", "fly"] },
  "fly-change": { word: "Fly change", event: { kind: "fly change" }, asks: ["cut", "fly"] },
  "re-tie": { word: "Re-tie", event: { kind: "re-tie" }, asks: ["minutes", "fly"] },
};

export const places = ["junction", "tag", "fly knot", "point tippet", "main tippet", "above the sighter"];

const capital = (s) => s.charAt(0).toUpperCase() + s.slice(1);

/** The counter that an event belongs to. */
export function keyOf(e) {
  switch (e.kind) {
    case "hookup":
      if (e.hooking === "foul") return "foul";
      return { landed: "landed", lost: "lost", "broke off": "broke-off" }[e.ending] ?? "hooked";
    case "tangle":
      return { twist: "twist", "wind knot": "wind-knot", nest: "nest" }[e.tangle_kind] ?? "tangle";
    case "fly change": return "fly-change";
    default: return kinds[e.kind] ? e.kind : "";
  }
}

export const positionWords = (p) => (p === 0 ? "point" : `dropper ${p}`);

/** An event in words, like "Twist, dropper 1, 2 min lost". */
export function words(e, units) {
  const key = keyOf(e);
  let text = key ? kinds[key].word : capital(e.tangle_kind || e.kind);
  if (key === "foul" && e.ending) text += `, ${e.ending}`;
  if (e.kind === "snag" && e.ending) text += e.ending === "freed" ? ", came free" : ", broke off";
  if (e.break_place) text += e.break_place.startsWith("above") ? ` ${e.break_place}` : ` at the ${e.break_place}`;
  if (e.kind === "check") text += e.turns === undefined ? ", turns not noted" : `, ${e.turns} ${e.turns === 1 ? "turn" : "turns"}`;
  if (e.count > 1) text = `${e.count} × ${text}`;
  const more = [];
  if (e.position !== undefined && e.position !== null) more.push(positionWords(e.position));
  if (e.cut_mm !== undefined) more.push(e.cut_mm === 0 ? "no tag cut" : `${length(e.cut_mm, units)} cut`);
  if (e.minutes_lost !== undefined) more.push(`${e.minutes_lost} min lost`);
  if (e.species) more.push(e.species);
  if (e.note) more.push(e.note);
  return [text, ...more].join(", ");
}

export const droppers = (rig) => (rig?.positions ?? []).filter((p) => p.position > 0);
