// A session on this phone beside the one in the journal.
import { h } from "./dom.js";
import { anglerOf, rigTitle, waterOf } from "./known.js";
import { conditions, show } from "./quantity.js";
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
  for (const [field, c] of Object.entries(conditions)) {
    const v = show(field, s[field], units);
    list.push([c.label, v === "" ? "" : `${v} ${c[units === "us" ? "us" : "metric"]}`]);
  }
  for (const [field, label] of [["clarity", "Clarity"], ["wind", "Wind"], ["light", "Light"], ["notes", "Notes"]]) list.push([label, s[field] ?? ""]);
  return list;
}

/** A table of both, with what differs marked in words as well as by weight. */
export function compare(d, k) {
  const sent = toSent(d);
  const mine = new Map(rows(sent.session, sent, k)), theirs = new Map(rows(d.stored, {}, k));
  const names = [...new Set([...mine.keys(), ...theirs.keys()])].filter((n) => mine.get(n) || theirs.get(n));
  const cell = (text, differs) => h("td", {}, differs ? h("strong", {}, text || "not noted") : text || "not noted");
  return h("div", { className: "scroll", tabIndex: 0, role: "region", "aria-label": "Both versions" }, h("table", { className: "both" },
    h("thead", {}, h("tr", {}, h("th", { scope: "col" }, "What"), h("th", { scope: "col" }, "On this phone"), h("th", { scope: "col" }, d.deleted ? "In the journal, deleted" : "In the journal"))),
    h("tbody", {}, names.map((n) => {
      const differs = (mine.get(n) ?? "") !== (theirs.get(n) ?? "");
      return h("tr", { className: differs ? "differs" : "" }, h("th", { scope: "row" }, n, differs ? h("span", { className: "under" }, "differs") : null), cell(mine.get(n), differs), cell(theirs.get(n), differs));
    }))));
}
