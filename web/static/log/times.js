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

const longestNight = 14 * 60; // minutes that a span past midnight may have, as in the journal's own rule

/**
 * Reads a span off the day's clock. An end that is not after its start is the next day's,
 * if that makes at most 14 h.
 * @param {string} day 2026-04-30
 * @param {string} from 08:30
 * @param {string} to
 * @returns {{started: number|null, ended: number|null, night: boolean, wrong: string}} night: the next day's
 */
export function readClock(day, from, to, zone) {
  const started = from ? momentIn(day, from, zone) : null;
  let ended = started !== null && to ? momentIn(day, to, zone) : null;
  if (ended === null || ended > started) return { started, ended, night: false, wrong: "" };
  const next = new Date(`${day}T12:00:00Z`);
  next.setUTCDate(next.getUTCDate() + 1);
  ended = momentIn(next.toISOString().slice(0, 10), to, zone);
  const length = (ended - started) / 60000;
  if (ended !== null && length <= longestNight) return { started, ended, night: true, wrong: "" };
  return { started, ended: null, night: false, wrong: `The end ${to} is not after the start ${from}, and as the next day’s it would make ${duration(length)}; correct one of them.` };
}

/** Minutes in words, to the second: 45 min, 1 h 30, 7 min 30 s. */
export function duration(minutes) {
  const seconds = Math.round(minutes * 60);
  if (seconds % 60 !== 0) {
    const parts = [[Math.floor(seconds / 3600), "h"], [Math.floor(seconds / 60) % 60, "min"], [seconds % 60, "s"]];
    return parts.filter(([n]) => n > 0).map(([n, unit]) => `${n} ${unit}`).join(" ");
  }
  const h = Math.floor(seconds / 3600), m = (seconds / 60) % 60;
  if (h === 0) return `${m} min`;
  return m === 0 ? `${h} h` : `${h} h ${String(m).padStart(2, "0")}`;
}

/** A day in words: Thu 30 April 2026. */
export function dayWords(day) {
  const d = new Date(`${day}T12:00:00Z`);
  return Number.isNaN(d.getTime()) ? day : d.toLocaleDateString("en-GB", { weekday: "short", day: "numeric", month: "long", year: "numeric", timeZone: "UTC" }).replace(",", "");
}
