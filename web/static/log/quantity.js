// Measures as people write them, stored in SI units. Sums are done in whole
// numbers and rounded once, so that the journal reads back what was typed.

/** What can be written with a condition: field of the session, words, units, and in SI what can be true, as in the journal's own rules. */
export const conditions = {
  water_temp_c: { label: "Water temperature", us: "°F", metric: "°C", low: -1, high: 45 },
  flow_m3s: { label: "Flow", us: "cfs", metric: "m³/s", low: 0, high: 400000 },
  stage_m: { label: "Stage at the gauge", us: "ft", metric: "m", low: -50, high: 100 },
  depth_m: { label: "Depth fished", us: "ft", metric: "m", low: 0, high: 500 },
  velocity_ms: { label: "Water speed", us: "ft/s", metric: "m/s", low: 0, high: 15 },
};

// Each unit: SI = (n + offset) · num / 10^den. 1 ft = 0.3048 m and 1 in = 25.4 mm by definition.
const scales = {
  "°C": { num: 1, den: 0 }, c: { num: 1, den: 0 },
  "°F": { num: 5, div: 9, den: 0, offset: -32 }, f: { num: 5, div: 9, den: 0, offset: -32 },
  cfs: { num: 28316846592, den: 12 }, "m³/s": { num: 1, den: 0 },
  ft: { num: 3048, den: 4 }, "ft/s": { num: 3048, den: 4 }, m: { num: 1, den: 0 }, "m/s": { num: 1, den: 0 },
  in: { num: 254, den: 1 }, mm: { num: 1, den: 0 }, cm: { num: 10, den: 0 },
};

const aliases = { "": null, "°c": "°C", c: "°C", celsius: "°C", "°f": "°F", f: "°F", "ft3/s": "cfs", "m3/s": "m³/s", cumecs: "m³/s", feet: "ft", "'": "ft", '"': "in", "″": "in", inches: "in", inch: "in" };

/**
 * Reads a number with or without a unit.
 * @param {string} text
 * @param {string} bare the unit of a number without one
 * @returns {number|null|undefined} SI; null when blank, undefined when not understood
 */
export function read(text, bare) {
  const t = text.trim().replace(/\u2212/g, "-");
  if (t === "") return null;
  const m = t.match(/^(-?)(\d{1,9})(?:[.,](\d{1,6}))?\s*(\D{0,8})$/);
  if (!m) return undefined;
  const word = m[4].trim().toLowerCase();
  const unit = word === "" ? bare : aliases[word] ?? word;
  const to = scales[unit];
  const sameKind = to && (unit === bare || kindOf(unit) === kindOf(bare));
  if (!sameKind) return undefined;
  const digits = m[3] ?? "";
  const ten = 10 ** digits.length;
  const n = (m[1] ? -1 : 1) * Number(m[2] + digits);
  return ((n + (to.offset ?? 0) * ten) * to.num) / ((to.div ?? 1) * 10 ** to.den * ten);
}

/** A length such as 6½ in, 6 1/2 in or 165, in mm; undefined when not understood. */
export function shortLength(text, units) {
  const written = quarters.reduce((t, sign, i) => (sign ? t.replace(sign, ` ${i}/4`) : t), text);
  const m = written.trim().match(/^(\d+(?:\.\d+)?)?\s*(?:(\d+)\/(\d+))?\s*(\D*)$/);
  const word = m?.[4].toLowerCase(), unit = m && (word === "" ? (units === "us" ? "in" : "mm") : aliases[word] ?? word);
  const to = scales[unit];
  return to && kindOf(unit) === "length" ? ((Number(m[1] ?? 0) + (m[2] ? m[2] / m[3] : 0)) * to.num) / 10 ** to.den * (unit === "ft" || unit === "m" ? 1000 : 1) : undefined;
}

/** The diameter of a tippet in mm: 6X, by the rule of eleven (11 less its X in thousandths of an inch), or 0.127 mm; null when blank, undefined when not understood. */
export function tippet(text) {
  if (text === "") return null;
  const x = text.match(/^([0-8])\s*x$/i), mm = text.match(/^(0?[.,]\d+)\s*(mm)?$/i);
  if (x) return Math.round((11 - Number(x[1])) * 254) / 10000;
  const d = mm && Number(mm[1].replace(",", "."));
  return d >= 0.02 && d <= 1 ? d : undefined;
}

function kindOf(unit) {
  if (/°|^c$|^f$/.test(unit)) return "temperature";
  if (/\/s$|cfs/.test(unit)) return unit === "cfs" || unit === "m³/s" ? "flow" : "speed";
  return "length";
}

/** Writes a condition in the person's units. */
export function show(field, si, units) {
  if (si === null || si === undefined) return "";
  const unit = conditions[field][units === "us" ? "us" : "metric"];
  const to = scales[unit];
  const n = (si * (to.div ?? 1) * 10 ** to.den) / to.num - (to.offset ?? 0);
  return String(Number(n.toFixed(4)));
}

const nbsp = "\u00a0";
const quarters = ["", "¼", "½", "¾"];

/** A short length in words: 6½ in, or 165 mm. */
export function length(mm, units) {
  if (units !== "us") return `${Number(mm.toFixed(1))}${nbsp}mm`;
  const q = Math.round((mm / 25.4) * 4);
  if (Math.abs(q / 4 - mm / 25.4) > 0.02) return `${Number((mm / 25.4).toFixed(2))}${nbsp}in`;
  const whole = Math.floor(q / 4), part = quarters[q % 4];
  return `${whole || !part ? whole : ""}${part}${nbsp}in`;
}

/** What a fly change may cost, in mm: steps that a thumb can tell apart. */
export function cuts(units) {
  return units === "us" ? [0, 6.35, 12.7, 19.05, 25.4, 38.1] : [0, 5, 10, 15, 20, 30];
}

/** The step nearest to a length. */
export function nearestCut(mm, units) {
  return cuts(units).reduce((a, b) => (Math.abs(b - mm) < Math.abs(a - mm) ? b : a));
}
