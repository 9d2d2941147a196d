// Cautions as soon as a condition is entered, with or without signal. Words and
// lines come from the journal's lists. No caution does not mean safe.
import { h, icon } from "./dom.js";

const slack = 1e-9; // what a conversion of units leaves

function level(value, care, stop) {
  if (value === null || value === undefined) return "";
  if (value >= stop - slack) return "stop";
  return value >= care - slack ? "care" : "";
}

/** The cautions that the conditions of a draft call for, the gravest to people first. */
export function cautionsOf(k, d) {
  const limits = k?.caution;
  if (!limits) return [];
  const c = d.conditions;
  const known = (v) => v !== null && v !== undefined;
  const wading = known(c.depth_m) && known(c.velocity_ms) ? c.depth_m * c.velocity_ms : null;
  const found = { lightning: d.storm ? "stop" : "", wading: level(wading, limits.wading_care_m2s, limits.wading_stop_m2s), "warm-water": level(c.water_temp_c, limits.warm_care_c, limits.warm_stop_c) };
  return Object.entries(found).flatMap(([kind, at]) => limits.each.filter((x) => x.Kind === kind && x.Level === at));
}

/** As elements, in full or only their titles. */
export function cautions(k, d, short) {
  return cautionsOf(k, d).map((c) => (short
    ? h("p", { className: `caution-short` }, icon(c.Kind), h("span", {}, c.Title))
    : h("aside", { className: `caution caution-${c.Level}`, "aria-label": `Caution: ${c.Title}` }, icon(c.Kind),
      h("div", {}, h("p", { className: "caution-title" }, c.Title), h("p", {}, c.Text), h("p", { className: "caution-source" }, c.Source)))));
}
