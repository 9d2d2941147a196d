// Plays taps on the phone's own modules: each line that comes in is a list of taps,
// each line that goes out is what the pad shows and what it would send.
import { createInterface } from "node:readline";

globalThis.self = {}; // no page, so no other page to tell
const { finish, newDraft, pullsOn, say, tagNow, tap } = await import("./draft.js");
const { counts } = await import("./summary.js");
const { toSent } = await import("./sent.js");

const start = Date.UTC(2026, 4, 1, 9);
for await (const line of createInterface({ input: process.stdin })) {
  const { mode, rig, taps } = JSON.parse(line);
  const d = newDraft(mode, { angler: { id: "a" }, water: { id: "w" }, rig: rig.id, zone: "UTC" }, start);
  taps.forEach(({ key, after, fields }) => {
    const e = tap(d, key, start + after * 1000, rig, 10);
    if (fields) say(d, e.n, fields);
  });
  const shown = counts(d.stints[0].events);
  if (mode === "live") finish(d, start + 3600 * 1000);
  const each = d.stints[0].events.map(({ n, at, ...e }) => e).filter((e) => e.kind !== "check" || e.turns !== undefined);
  const tags = Object.fromEntries(rig.positions.filter((p) => p.hang === "tag").map((p) => [p.position, tagNow(d.stints[0], rig, p)]));
  const pulls = Object.fromEntries(rig.positions.filter((p) => p.position > 0).map((p) => [p.position, pullsOn(d, rig, p)]));
  const sent = toSent(d, start + 3600 * 1000).session.stints[0];
  console.log(JSON.stringify({ shown, each, tags, pulls, sent: sent.events ?? [], minutes: sent.minutes ?? null }));
}
