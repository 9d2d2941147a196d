// Times on the water's own clock.

const formats = new Map();

function parts(ms, zone) {
  let f = formats.get(zone);
  if (!f) {
    const o = { year: "numeric", month: "2-digit", day: "2-digit", hour: "2-digit", minute: "2-digit", second: "2-digit", hourCycle: "h23" };
    try {
      f = new Intl.DateTimeFormat("en-CA", { ...o, timeZone: zone || undefined });
    } catch {
      f = new Intl.DateTimeFormat("en-CA", o); // a zone that this browser does not know
    }
    formats.set(zone, f);
  }
  return Object.fromEntries(f.formatToParts(ms).map((p) => [p.type, p.value]));
}

/** The day of a moment in a zone, as 2026-04-30. */
export function dayIn(ms, zone) {
  const p = parts(ms, zone);
  return `${p.year}-${p.month}-${p.day}`;
}

/** The time of day of a moment in a zone, as 08:30. */
export function clockIn(ms, zone) {
  const p = parts(ms, zone);
  return `${p.hour}:${p.minute}`;
}

/**
 * The moment of a day and time in a zone; null when the clocks skipped it.
 * @param {string} day 2026-04-30
 * @param {string} clock 08:30
 */
export function momentIn(day, clock, zone) {
  const wanted = Date.parse(`${day}T${clock}:00Z`);
  if (Number.isNaN(wanted)) return null;
  let ms = wanted;
  for (let i = 0; i < 3; i++) {
    const p = parts(ms, zone);
    const shown = Date.parse(`${p.year}-${p.month}-${p.day}T${p.hour}:${p.minute}:00Z`);
    if (shown === wanted) return ms;
    ms += wanted - shown;
  }
  return null;
}

/** Minutes in words: 45 min, 1 h 30. */
export function duration(minutes) {
  const h = Math.floor(minutes / 60), m = minutes % 60;
  if (h === 0) return `${m} min`;
  return m === 0 ? `${h} h` : `${h} h ${String(m).padStart(2, "0")}`;
}

/** A day in words: Thu 30 April 2026. */
export function dayWords(day) {
  const d = new Date(`${day}T12:00:00Z`);
  return Number.isNaN(d.getTime()) ? day : d.toLocaleDateString("en-GB", { weekday: "short", day: "numeric", month: "long", year: "numeric", timeZone: "UTC" }).replace(",", "");
}
