// Asks whether a new name means one that is known. It is fetched when somebody writes one, and lies on the phone like the rest.
import { h } from "./dom.js";
import { waterOf } from "./known.js";
import { near } from "./near.js";

/**
 * Asks in a place whether new names mean known ones, one after the other. What was answered changes who.
 * @returns {boolean} whether there is something to ask
 */
export function askNames(place, k, who, again) {
  who.meant ??= [];
  const asked = [
    ["angler", who.angler.name, k?.anglers ?? [], (a) => { who.angler = { id: a.id, name: "" }; }],
    ["water", who.water.name, k?.waters ?? [], (w) => { who.water = { id: w.id, name: "" }; }],
    ["beat", who.beat, waterOf(k, who.water.id)?.beats ?? [], (b) => { who.beat = b.name; }],
  ];
  for (const [what, written, list, take] of asked) {
    const known = written && !who.meant.includes(written) ? near(written, list.map((x) => x.name)) : "";
    if (!known) continue;
    const answer = (text, then) => h("button", { type: "button", className: "button-small", onclick: () => { then(); again(); } }, text);
    place.replaceChildren(h("div", { className: "noted", role: "alert", "data-asked": what },
      h("p", {}, `“${written}” is not in this journal, but “${known}” is. Which one do you mean?`),
      h("p", { className: "actions" }, answer(known, () => take(list.find((x) => x.name === known))), answer(`${written} is new`, () => who.meant.push(written)))));
    place.scrollIntoView({ block: "nearest" });
    place.querySelector("button").focus();
    return true;
  }
  return false;
}
