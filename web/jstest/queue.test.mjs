// The rules of what waits on a phone to be sent, and of rigs made there.
import assert from "node:assert/strict";
import test from "node:test";

globalThis.self ??= {}; // no page, so no other page to tell
const { positions, titleOf, wrongWith } = await import("../static/log/newrig.js");
const { tippet } = await import("../static/log/quantity.js");
const { heldBy, meaning } = await import("../static/log/queue.js");

test("a session waits for each rig made on the phone until that has arrived", () => {
  const d = { stints: [{ rig: "old" }, { rig: "new" }] }, rig = (id, state) => ({ id, state });
  assert.equal(heldBy(d, []), undefined);
  assert.equal(heldBy(d, [rig("other", "ready"), rig("new", "arrived")]), undefined);
  for (const state of ["ready", "refused"]) assert.equal(heldBy(d, [rig("other", "ready"), rig("new", state)]).id, "new");
});

test("only an answer that it is held lets go of it; who is not let in keeps it, and the journal's own word for why", () => {
  const says = (text) => ({ problems: [{ says: text }] });
  const cases = [
    [0, null, "no signal", "ready"], [500, null, "no signal", "ready"], [503, says("Not right now."), "no signal", "ready", "Saved on the phone, not yet here. It is sent again by itself."], [429, null, "no signal", "ready"],
    [401, { error: "signed-out", ...says("You are not signed in.") }, "signed out", "ready", "Sign in to send it."],
    [401, { error: "withdrawn", ...says("Ask its owner.") }, "signed out", "ready", "Ask its owner."],
    [412, says("Someone else is signed in."), "signed out", "ready", "Someone else is signed in."],
    [409, { ...says("Another version."), stored: { id: "s" } }, "conflict", "conflict", "Another version."],
    [422, { error: "invalid", ...says("No minutes.") }, "refused", "refused", "No minutes."], [404, null, "refused", "refused"], [200, {}, "arrived", undefined],
  ];
  for (const [status, said, result, state, text] of cases) {
    const means = meaning(status, said);
    assert.deepEqual([means.result, means.state], [result, state], `status ${status}`);
    if (text) assert.deepEqual(means.problems, [text]);
    else assert.equal(means.problems.length, result === "arrived" ? 0 : 1);
  }
  assert.equal(meaning(404, null).more.version, 0, "it can be sent as new");
  assert.equal(meaning(422, { error: "doubtful" }).more.doubtful, true);
});

test("a rig made on the phone says what was answered and nothing else", () => {
  assert.deepEqual(positions({ tags: 1, junction: "", facing: "up", tag: 140, thick: null }), [{ position: 0 }, { position: 1, hang: "tag", facing: "up", tag_length_mm: 140 }]);
  assert.deepEqual(positions({ tags: 0, junction: "blood", facing: "", tag: null, thick: 0.127 }), [{ position: 0, tippet_mm: 0.127 }]);
  assert.equal(titleOf({ tags: 2, junction: "blood", tag: 165.1 }, "us"), "Blood 6½ in, 3 flies");
  assert.equal(titleOf({ tags: 0 }, "us"), "Single fly");
  const rig = { tags: 1, tag: 140, thick: null, name: "Blood" };
  assert.equal(wrongWith(rig, ["Uni"]), "");
  for (const wrong of [{ tag: undefined }, { tag: 0 }, { thick: undefined }, { name: "uni" }]) assert.notEqual(wrongWith({ ...rig, ...wrong }, ["Uni"]), "");
});

// The rule of eleven: 11 less the X is the diameter in thousandths of an inch (common practice; 1 in = 25.4 mm).
test("tippet is read by its X or its diameter", () => {
  assert.deepEqual(["", "6X", "0x", "8 x", "0.127 mm", ",15", "9X", "6", "2 mm"].map(tippet), [null, 0.127, 0.2794, 0.0762, 0.127, 0.15, undefined, undefined, undefined]);
});
