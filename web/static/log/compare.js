// A session on this phone beside the one in the journal.
import { h } from "./dom.js";
import { anglerOf, rigTitle, waterOf } from "./known.js";
import { conditions, show } from "./quantity.js";
import { offWords, titles } from "./recorded.js";
import { toSent } from "./sent.js";
import { countWords } from "./summary.js";
import { clockIn, dayWords, duration } from "./times.js";

/** What a session says, as rows of name and value. */
function rows(s, names, k) {
  const units = k?.outfit?.units ?? "metric";
  const clock = (t) => (t ? clockIn(Date.parse(t), s.time_zone) : "");
  const list = [
    ["Day", dayWords(s.day)], ["Time", s.start ? `${clock(s.start)}–${clock(s.end)}` : ""],
    ["Angler", names.angler || anglerOf(k, s.angler_id)?.name || ""],
    ["Water", names.water || waterOf(k, s.water_id)?.name || ""],
    ["Beat", names.beat || waterOf(k, s.water_id)?.beats?.find((b) => b.id === s.beat_id)?.name || ""],
  ];
  s.stints.forEach((st, i) => list.push([`Stint ${i + 1}`, `${rigTitle(k, st.rig_id)}, ${st.minutes ? duration(st.minutes) : "time not noted"}: ${countWords(st.events ?? [])}`]));
  s.stints.forEach((st, i) => list.push([`Stint ${i + 1}, not counted`, st.recorded ? offWords(Object.keys(titles).filter((kind) => !st.recorded.includes(kind))) : ""]));
  for (const [field, c] of Object.entries(conditions)) {
    const v = show(field, s[field], units);
    list.push([c.label, v === "" ? "" : `${v} ${c[units === "us" ? "us" : "metric"]}`]);
  }
  for (const [field, label] of [["clarity", "Clarity"], ["wind", "Wind"], ["light", "Light"], ["notes", "Notes"]]) list.push([label, s[field] ?? ""]);
  return list;
}

/** Both side by side: what differs, and, folded away, what is the same. */
export function compare(d, k) {
  const sent = toSent(d);
  const mine = new Map(rows(sent.session, sent, k)), theirs = new Map(d.stored ? rows(d.stored, {}, k) : []);
  const names = [...new Set([...mine.keys(), ...theirs.keys()])].filter((n) => mine.get(n) || theirs.get(n));
  const differs = (n) => (mine.get(n) ?? "") !== (theirs.get(n) ?? "");
  const table = (list, caption) => h("table", { className: "both" }, h("caption", {}, caption),
    h("thead", {}, h("tr", {}, h("th", { scope: "col" }, "What"), h("th", { scope: "col" }, "On this phone"), h("th", { scope: "col" }, d.deleted ? "In the journal (deleted)" : "In the journal"))),
    h("tbody", {}, list.map((n) => h("tr", {}, h("th", { scope: "row" }, n), h("td", {}, mine.get(n) || "not noted"), h("td", {}, theirs.get(n) || "not noted")))));
  const unlike = names.filter(differs), alike = names.filter((n) => !differs(n));
  return h("div", { className: "versions" },
    unlike.length > 0 ? table(unlike, "What differs") : h("p", {}, "They differ only in details not shown here, such as the minutes of events."),
    h("details", {}, h("summary", {}, "What is the same"), table(alike, "The same in both")));
}
