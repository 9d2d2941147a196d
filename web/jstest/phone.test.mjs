// The phone's own rules of logging; those that it shares with the journal are held
// against the journal's, in Go.
import assert from "node:assert/strict";
import test from "node:test";

globalThis.self ??= {}; // no page, so no other page to tell
const { cautionsOf } = await import("../static/log/cautions.js");
const { bounces, changeRig, finish, newDraft, remember, tap, undo } = await import("../static/log/draft.js");
const { setOff, standing } = await import("../static/log/recorded.js");
const { minutesOf, toSent } = await import("../static/log/sent.js");
const { counts } = await import("../static/log/summary.js");
const { unfished } = await import("../static/log/trial.js");

test("a stint under way is counted as a whole or not: what is taken off in its midst is off for all of it, what is put back counts from the next one on", () => {
  const minute = 60000, rig = { id: "r", positions: [] };
  const d = newDraft("live", { angler: {}, water: {}, rig: "r" }, 0, ["snags"]);
  const now = () => d.stints[d.at].off;
  setOff(d, [], minute);
  assert.deepEqual(now(), [], "nothing has happened yet");
  setOff(d, ["snags"], 2 * minute);
  assert.deepEqual(now(), ["snags"]);
  tap(d, "landed", 10 * minute, rig, 0);
  remember(d, "");
  setOff(d, ["snags", "tangles"], 11 * minute);
  assert.deepEqual(now(), ["snags", "tangles"]);
  setOff(d, ["tangles"], 12 * minute);
  assert.deepEqual(now(), ["snags", "tangles"], "snags are put back");
  changeRig(d, rig, 20 * minute);
  assert.deepEqual(now(), ["tangles"]);
  undo(d);
  undo(d);
  assert.deepEqual(now(), ["snags"]);
  assert.deepEqual(d.off, ["snags"]);
  const older = { ...d, started: 0, ended: null, off: undefined, stints: d.stints.map((st) => ({ ...st, off: undefined })) };
  assert.equal(toSent(older, 0).session.stints[0].recorded, undefined, "assumed of an older one");
});

test("minutes come from start and end where one stint has none", () => {
  const draft = (more, ...minutes) => ({ when: "exact", started: 0, ended: 210 * 60000, stints: minutes.map((m) => ({ minutes: m })), ...more });
  const of = (...args) => minutesOf(draft(...args)).map((m) => m ?? -1);
  assert.deepEqual(of({}, null), [210]);
  assert.deepEqual(of({ breaks: 45 }, null), [165]);
  assert.deepEqual(of({ breaks: 45 }, 60), [60]);
  assert.deepEqual(of({}, 60, null), [60, 150]);
  assert.deepEqual(of({}, null, null), [-1, -1]);
  assert.deepEqual(of({ when: "now" }, null), [-1]);
  assert.deepEqual(of({ breaks: 210 }, null), [-1]);
});

test("a live session is timed to the second", () => {
  const live = newDraft("live", { angler: {}, water: {}, rig: "r" }, 0, []);
  changeRig(live, { id: "r", positions: [] }, 90500);
  finish(live, 600000);
  assert.deepEqual(live.stints.map((st) => Number((st.minutes * 60).toFixed(6))), [91, 509]);
});

test("what happened is counted by kind", () => {
  const d = newDraft("after", { angler: {}, water: {}, rig: "r" }, 0, []);
  for (const key of ["landed", "twist", "landed"]) tap(d, key, 1000, { id: "r", positions: [] }, 0);
  assert.deepEqual(counts(d.stints[0].events), { landed: 2, twist: 1 });
});

test("two taps 100 ms or more apart count two, closer ones of the same counter one", () => {
  const last = new Map();
  const counted = (...taps) => taps.map(([key, at]) => !bounces(last, key, at));
  assert.deepEqual(counted(["twist", 0], ["twist", 99.9], ["twist", 100], ["twist", 150], ["twist", 200]), [true, false, true, false, true]);
  assert.deepEqual(counted(["nest", 210], ["twist", 220], ["nest", 310]), [true, false, true], "another counter is another finger");
});

test("a counter that is not counted stays in its place; one of the ends of a fish gives it to the others", () => {
  const stands = (...off) => Object.fromEntries(["landed", "lost", "broke-off", "hooked", "twist", "nest", "tangle"].map((k) => [k, standing(k, off)]));
  const all = { landed: "on", lost: "on", "broke-off": "on", hooked: "gone", twist: "on", nest: "on", tangle: "on" };
  assert.deepEqual(stands(), all);
  assert.deepEqual(stands("tangle-kind"), { ...all, twist: "off", nest: "off" });
  assert.deepEqual(stands("tangles"), { ...all, twist: "off", nest: "off", tangle: "off" });
  assert.deepEqual(stands("lost", "broke-off"), { ...all, hooked: "on", lost: "gone", "broke-off": "off" });
});

test("the arm of a trial is proposed until a session with it waits to be sent", () => {
  const told = { rig_id: "r", started_at: "2026-06-01T10:00:00Z" }, next = { number: 2 }, at = Date.parse(told.started_at);
  const d = (started, rig, state) => ({ started, created: started, state, stints: [{ rig }] });
  assert.deepEqual(unfished([told, next], [d(at - 1, "r", "ready"), d(at + 1, "s", "ready"), d(at + 1, "r", "open"), d(at + 1, "r", "discarded")]), [told, next]);
  assert.deepEqual(unfished([told, next], [d(at + 1, "r", "ready")]), [next]);
});

test("where no temperature was noted the gauge's counts, of the chosen water, at the time of the session, until the reading is old", () => {
  const at = Date.parse("2026-05-09T10:15:00-06:00"), hour = 3600000, old = 6 * hour;
  const by = (Kind, water = "w") => ({ water, Kind, Level: "care", at: "2026-05-09T10:15:00-06:00", until: "2026-05-09T16:15:00-06:00" });
  const limits = { warm_care_c: 18, warm_stop_c: 20, wading_care_m2s: 0.6, wading_stop_m2s: 0.93, each: [{ Kind: "lightning", Level: "stop" }, { Kind: "wading", Level: "care" }, { Kind: "warm-water", Level: "stop" }] };
  const k = { caution: limits, rivers: [by("high-water"), by("warm-water"), by("rising-water"), by("rising-water", "other")] };
  const said = (more, now, lists = k) => cautionsOf(lists, { mode: "live", when: "exact", ended: null, water: { id: "w" }, conditions: {}, ...more }, now).map((c) => c.Kind + (c.water ? " by the gauge" : "")).join(", ");
  const all = "rising-water by the gauge, high-water by the gauge, warm-water by the gauge";
  assert.equal(said({}, at), all);
  assert.equal(said({ storm: true, conditions: { water_temp_c: 20, depth_m: 1, velocity_ms: 0.7 } }, at), "lightning, rising-water by the gauge, wading, high-water by the gauge, warm-water", "what was noted counts, and the gravest comes first");
  assert.equal(said({ conditions: { water_temp_c: 12 } }, at), "rising-water by the gauge, high-water by the gauge");
  assert.equal(said({ water: { id: "", name: "New" } }, at), "");
  assert.deepEqual([said({}, at + old - 1), said({}, at + old)], [all, ""], "an old reading says nothing");
  assert.deepEqual([said({ ended: at - old + 1 }, at), said({ ended: at - old }, at)], [all, ""], "a session that was over long before");
  const after = { mode: "after" };
  assert.deepEqual([said({ ...after, when: "now" }, at), said(after, at), said({ ...after, ended: at - hour }, at)], [all, "", all], "one that is logged afterwards");
  assert.equal(said({}, at, { caution: limits }), "", "lists from before");
});
