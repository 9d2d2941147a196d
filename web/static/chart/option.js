// Adds to an option from Go (charts/option.go) what JSON can't hold, and what depends
// on the width: pure functions.
import { band, interval } from "./shapes.js";

const colour = { ink: "var(--ink, #17201f)", quiet: "var(--quiet, #3f4a47)", rule: "var(--rule, #c9c1ab)", edge: "var(--edge, #6b6a5c)", paper: "var(--paper, #fffdf7)" };
const size = { small: 12.5, name: 15 };

const px = (v) => Number(v ?? 0);

// The names of rows, their numbers and notes.
function rich(font, name) {
  const look = (color, fontSize, fontWeight) => ({ color, fontSize, fontWeight, lineHeight: 18, fontFamily: font, textBorderColor: colour.paper, textBorderWidth: 3 });
  return { heading: look(colour.ink, name, 700), name: look(colour.ink, name, 600), value: look(colour.ink, name, 400), note: look(colour.quiet, size.small, 400), drop: { fontSize: 12, lineHeight: 20 } };
}

const nearest = (ticks, v) => ticks.reduce((a, b) => Math.abs(b.at - v) < Math.abs(a.at - v) ? b : a).text;

export function numberAxis({ ticks, ...axis }, grid) {
  axis.axisLabel = { ...axis.axisLabel, color: colour.quiet, fontSize: size.small, hideOverlap: true };
  axis.axisTick = { show: false };
  if (ticks) {
    axis.axisTick.customValues = axis.axisLabel.customValues = ticks.map((t) => t.at);
    axis.axisLabel.formatter = (v) => nearest(ticks, v);
  }
  axis.axisLine = { show: !grid && Boolean(ticks), onZero: false, lineStyle: { color: colour.edge, width: 1.5 } };
  axis.splitLine = { show: grid && Boolean(ticks), lineStyle: { color: colour.rule, opacity: 0.6 } };
  axis.nameTextStyle = { color: colour.quiet, fontSize: size.small, align: axis.nameLocation === "middle" ? "center" : "left" };
  if (axis.nameLocation === "start") Object.assign(axis.nameTextStyle, { verticalAlign: "bottom", padding: [0, 0, 15, 15] }); // heads a column
  return axis;
}

// Names of rows stand above their marks, those of cells beside them.
function rowAxis({ lift, ...axis }, font, cells) {
  axis.axisLine = axis.axisTick = axis.splitLine = { show: false };
  axis.nameTextStyle = { color: colour.quiet, fontSize: size.small, fontWeight: 600, align: "right", padding: [0, 14, 0, 0] };
  axis.z = 5;
  axis.axisLabel = cells
    ? { interval: 0, margin: 14, rich: rich(font, 14), align: "right", ...axis.axisLabel }
    : { interval: 0, margin: -4, align: "left", verticalAlign: "bottom", padding: [0, 0, lift, 0], rich: rich(font, size.name), ...axis.axisLabel };
  return axis;
}

// Names of columns, on end where they don't fit side by side.
function columnAxis(axis, each, font, fits) {
  const names = axis.data.map((name) => name.replace(/^\{name\|(.*)\}$/, "$1"));
  const lying = names.every((name) => name.split(" ").every((word) => fits(word, size.small) <= each - 6));
  axis.axisLine = axis.axisTick = axis.splitLine = { show: false };
  axis.nameTextStyle = { color: colour.quiet, fontSize: size.small, fontWeight: 600 };
  axis.axisLabel = { interval: 0, margin: 8, color: colour.ink, fontSize: size.small, fontWeight: 600, fontFamily: font, lineHeight: 15, rotate: lying ? 0 : 90,
    width: lying ? each - 4 : 116, overflow: lying ? "break" : "truncate", formatter: (_, i) => names[i] };
  return axis;
}

// A cell says its number where there is room, and its exposure below.
function cellLabel(mark, each, high, fits) {
  const { label } = mark;
  const words = label.formatter.replace(/\{sign\|(.*)\}/, "$1");
  const two = high > 42 && fits(mark.note, 11.5) <= each - 4;
  const room = [label.fontSize, 12, 11].find((fontSize) => fits(words, fontSize) <= each - 4);
  return { ...label, show: Boolean(room), fontSize: room, formatter: two ? `${label.formatter}\n{note|${mark.note}}` : label.formatter, lineHeight: 17, offset: [0, -3], rich: { sign: { fontWeight: 400, color: label.color, fontSize: room }, note: { color: label.color, fontSize: 11.5, fontWeight: 400, lineHeight: 15 } } };
}

// dress takes the width of the whole in px, the page's font, and fits, which says how
// wide a text of a size is.
export function dress(chart, width, font, fits) {
  const option = structuredClone(chart.option);
  const [grid] = option.grid;
  const room = width - px(grid.left) - px(grid.right);
  const rows = option.yAxis[0].type === "category", columns = option.xAxis[0].type === "category";
  const cell = columns ? room / option.xAxis[0].data.length : 0;
  option.xAxis = option.xAxis.map((axis) => ({ ...axis, containShape: false })).map((axis) => axis.type === "category" ? columnAxis(axis, cell, font, fits) : numberAxis(axis, rows));
  option.yAxis = option.yAxis.map((axis) => axis.type === "category" ? rowAxis(axis, font, columns) : numberAxis(axis, true));
  option.animation = false;
  option.textStyle = { fontFamily: font, color: colour.ink };
  for (const series of option.series) {
    const kind = series.id.split(":")[0];
    series.z = kind === "interval" ? 1 : 2;
    series.silent = !["interval", "pulls", "cells", "bars"].includes(kind);
    if (series.type === "custom") {
      const draw = { interval, band }[kind];
      series.clip = kind === "band";
      series.renderItem = (params, api) => draw(series.data[params.dataIndex], params.coordSys, api);
    }
    if (series.type === "scatter") series.itemStyle = { opacity: 1, ...series.itemStyle };
    if (series.markLine) Object.assign(series.markLine, { silent: true, z: 2 });
    if (kind === "line") series.emphasis = { disabled: true };
    if (kind === "stop") series.emphasis = { lineStyle: { opacity: 0 }, itemStyle: { color: "inherit", borderColor: "inherit" } };
    if (kind === "bars" && series.data.length) {
      const axis = option.xAxis[series.xAxisIndex ?? 0];
      series.barWidth = Math.max(series.data[0].wide / (axis.max - axis.min) * room - 2, 3);
      series.emphasis = { itemStyle: { color: "inherit" } };
      series.labelLayout = { hideOverlap: true };
    }
    if (kind === "cells") for (const mark of series.data) mark.label = cellLabel(mark, cell, px(grid.height) / option.yAxis[0].data.length, fits);
    if (kind === "shares") for (const mark of series.data) mark.symbolSize = [Math.max((cell - 8) * mark.share, 1.5), 3];
  }
  return option;
}
