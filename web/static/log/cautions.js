// Cautions as soon as a condition is entered, with or without signal. Words and
// lines come from the journal's lists. No caution does not mean safe.
import { h, icon } from "./dom.js";

const slack = 1e-9; // what a conversion of units leaves

function level(value, care, stop) {
  if (value === null || value === undefined) return "";
  if (value >= stop - slack) return "stop";
  return value >= care - slack ? "care" : "";
}

const gravest = ["lightning", "rising-water", "wading", "high-water", "warm-water"]; // to people first, as in the journal's own rule

/**
 * The cautions that the conditions of a draft call for, and where nothing was noted those of its water's gauge, as long as
 * the reading is of that time.
 */
export function cautionsOf(k, d, now = Date.now()) {
  const limits = k?.caution;
  if (!limits) return [];
  const c = d.conditions;
  const known = (v) => v !== null && v !== undefined;
  const wading = known(c.depth_m) && known(c.velocity_ms) ? c.depth_m * c.velocity_ms : null;
  const found = { lightning: d.storm ? "stop" : "", wading: level(wading, limits.wading_care_m2s, limits.wading_stop_m2s), "warm-water": level(c.water_temp_c, limits.warm_care_c, limits.warm_stop_c) };
  const ended = d.ended ?? (d.when === "exact" && d.mode === "after" ? null : now);
  const counts = (r) => r.water === d.water?.id && now < Date.parse(r.until) && ended > 2 * Date.parse(r.at) - Date.parse(r.until);
  const read = (k.rivers ?? []).filter((r) => counts(r) && !(r.Kind === "warm-water" && known(c.water_temp_c)));
  return gravest.flatMap((kind) => [...limits.each.filter((x) => x.Kind === kind && x.Level === found[kind]), ...read.filter((r) => r.Kind === kind)]);
}

const drawn = (c) => icon({ "rising-water": "wading", "high-water": "wading" }[c.Kind] ?? c.Kind);

/** As elements, in full or only their titles. */
export function cautions(list, short) {
  return list.map((c) => (short
    ? h("p", { className: `caution-short` }, drawn(c), h("span", {}, c.short ?? c.Title))
    : h("aside", { className: `caution caution-${c.Level}`, "aria-label": `Caution: ${c.Title}` }, drawn(c),
      h("div", {}, h("p", { className: "caution-title" }, c.Title), h("p", {}, c.Text), h("p", { className: "caution-source" }, c.Source)))));
}
