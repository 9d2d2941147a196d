// What the script of charts does without a page.
import assert from "node:assert/strict";
import test from "node:test";

import { dress, numberAxis } from "../static/chart/option.js";
import { band, interval } from "../static/chart/shapes.js";
import { neighbor, stopsOf, told } from "../static/chart/steps.js";
import { broken, onPaper, wrap } from "../static/chart/wrap.js";

// A field of 100 by 50 px at 10, 20, with numbers from 0 to 10 across and up to 5.
const field = { x: 10, y: 20, width: 100, height: 50 };
const api = { coord: ([x, y]) => [10 + 10 * x, 70 - 10 * y], size: () => [10, 40], getWidth: () => 130 };
const none = [null, null, null, null, null, null];
const kinds = (group, type) => group.children.filter((c) => c.type === type);

test("an interval reaches from end to end, and stops with an arrow at the edge", () => {
  const drawn = interval({ value: [4, 1, 2, 6, null, null, null, null], color: "red", ground: "row", down: 3 }, field, api);
  assert.deepEqual(kinds(drawn, "line")[0].shape, { x1: 30, y1: 63, x2: 70, y2: 63 });
  assert.equal(kinds(drawn, "polygon").length, 0);
  const long = interval({ value: [4, 1, -1, 30, null, null, null, null], color: "red", ground: "row" }, field, api);
  assert.deepEqual([kinds(long, "line")[0].shape.x1, kinds(long, "line")[0].shape.x2], [10, 110]);
  assert.equal(kinds(long, "polygon").length, 2);
});

test("a row's ground takes the pointer over the whole width, a spot's near it", () => {
  const row = kinds(interval({ value: [4, 1, ...none], ground: "row" }, field, api), "rect")[0];
  assert.deepEqual(row.shape, { x: 0, y: 40, width: 130, height: 40 });
  assert.equal(kinds(interval({ value: [4, 1, ...none], ground: "spot" }, field, api), "circle")[0].shape.cx, 50);
  assert.equal(interval({ value: [4, 1, ...none] }, field, api).children.length, 0);
});

test("an upright interval over a stretch is a box within the field", () => {
  const drawn = interval({ value: [4, 2, null, null, 1, 9, 3, 5], color: "red", ground: "column" }, field, api);
  const [ground, box] = kinds(drawn, "rect");
  assert.deepEqual(ground.shape, { x: 40, y: 20, width: 20, height: 50 });
  assert.deepEqual(box.shape, { x: 41, y: 20, width: 18, height: 40 });
  assert.equal(kinds(drawn, "polygon").length, 1);
});

test("a band goes through its points", () => {
  assert.deepEqual(band({ points: [[0, 1], [2, 3]], color: "red", faint: 0.2 }, field, api).shape.points, [[10, 60], [30, 40]]);
});

const fits = (text, size) => text.length * size * 0.6;
const chart = (series, x, y) => ({ option: { grid: [{ left: "8", right: "16", height: "100" }], xAxis: [x], yAxis: [y], series } });

test("ticks say what Go wrote, and stand where it put them", () => {
  const axis = numberAxis({ ticks: [{ at: 0.5, text: "1/2" }, { at: 1, text: "1" }] }, false);
  assert.deepEqual(axis.axisLabel.customValues, [0.5, 1]);
  assert.equal(axis.axisLabel.formatter(0.5000001), "1/2");
});

test("bars are as wide as what they stand for", () => {
  const option = dress(chart([{ id: "bars:0", type: "bar", data: [{ value: [1, 2], wide: 2 }] }], { type: "value", min: 0, max: 10, ticks: [] }, { type: "value", ticks: [] }), 224, "serif", fits);
  assert.equal(option.series[0].barWidth, 200 * 0.2 - 2);
});

test("a cell's number shrinks or is left out where it has no room, its exposure first", () => {
  const cells = (width) => dress(chart([{ id: "cells:0", type: "heatmap", data: [{ value: [0, 0, 1], note: "352.8 h", label: { formatter: "0.831", fontSize: 14 } }] }],
    { type: "category", data: ["{name|slim}", "{name|hackled}"] }, { type: "category", data: ["{name|oval}", "{name|roll}"] }), width, "serif", fits).series[0].data[0].label;
  assert.equal(cells(224).formatter, "0.831\n{note|352.8 h}");
  assert.deepEqual([cells(114).formatter, cells(114).fontSize], ["0.831", 12]);
  assert.equal(cells(60).show, false);
});

test("only what is pointed at takes the pointer", () => {
  const option = dress(chart([{ id: "interval:0", type: "custom", data: [] }, { id: "points:1", type: "scatter", data: [] }, { id: "pulls:2", type: "scatter", data: [] }],
    { type: "value", ticks: [] }, { type: "category", data: [] }), 224, "serif", fits);
  assert.deepEqual(option.series.map((s) => s.silent), [false, true, false]);
});

test("the arrow keys step along the marks, in a table from cell to cell", () => {
  const mark = (x, y) => ({ name: `${x} ${y}`, value: [x, y], detail: [["Hours", "2"]] });
  const stops = stopsOf({ series: [{ data: [{ value: [9, 9] }] }, { data: [mark(0, 0), mark(2, 0), mark(0, 1)] }] });
  assert.deepEqual(stops.map((s) => [s.seriesIndex, s.dataIndex]), [[1, 0], [1, 1], [1, 2]]);
  assert.equal(neighbor(stops, -1, [1, 0], true), 0);
  assert.equal(neighbor(stops, 0, [1, 0], true), 1, "over a pair that was never fished");
  assert.equal(neighbor(stops, 0, [0, 1], true), 2);
  assert.equal(neighbor(stops, 1, [1, 0], true), 1);
  assert.equal(neighbor(stops, 2, [1, 0], false), 2);
  assert.equal(told(stops[0].mark), "0 0: Hours 2");
});

test("lines are no wider than they may be, and words that are too long are cut", () => {
  const wide = (text) => text.length;
  assert.deepEqual(wrap("a tangle every hour", 8, wide), ["a tangle", "every", "hour"]);
  assert.deepEqual(broken("unbreakable", (part) => part.length <= 5), ["unbre", "akabl", "e"]);
});

test("a picture knows no styles", () => {
  assert.equal(onPaper('<a class="x" fill="var(--data-1, #8f2a00)" stroke="var(--paper, #fffdf7)">'), '<a fill="#8f2a00" stroke="#ffffff">');
});
