// What the script of charts does without a page.
import assert from "node:assert/strict";
import test from "node:test";

import { neighbor, read, told } from "../static/chart/steps.js";
import { broken, onPaper, wrap } from "../static/chart/wrap.js";

test("a mark's title is its name, and a heading with a value in each line", () => {
  assert.deepEqual(read("blood\nHours: 2\nNote: a: b"), { name: "blood", detail: [["Hours", "2"], ["Note", "a: b"]] });
});

test("the arrow keys step along the marks, in a table from cell to cell", () => {
  const stops = [[0, 0], [2, 0], [0, 1]].map(([x, y]) => ({ x, y, name: `${x} ${y}`, detail: [["Hours", "2"]] }));
  assert.equal(neighbor(stops, -1, [1, 0], true), 0);
  assert.equal(neighbor(stops, 0, [1, 0], true), 1, "over a pair that was never fished");
  assert.equal(neighbor(stops, 0, [0, 1], true), 2);
  assert.equal(neighbor(stops, 1, [1, 0], true), 1);
  assert.equal(neighbor(stops, 2, [1, 0], false), 2);
  assert.equal(told(stops[0]), "0 0: Hours 2");
});

test("lines are no wider than they may be, and words that are too long are cut", () => {
  const wide = (text) => text.length;
  assert.deepEqual(wrap("a tangle every hour", 8, wide), ["a tangle", "every", "hour"]);
  assert.deepEqual(broken("unbreakable", (part) => part.length <= 5), ["unbre", "akabl", "e"]);
});

test("a picture knows no styles", () => {
  assert.equal(onPaper('<a class="x" fill="var(--data-1, #8f2a00)" stroke="var(--paper, #fffdf7)">'), '<a fill="#8f2a00" stroke="#ffffff">');
});
