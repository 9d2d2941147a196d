// The way of the arrow keys through the marks of a chart: pure functions.

// stops lists the marks that tell something, in the order of the series.
export const stopsOf = (option) => option.series.flatMap((series, seriesIndex) => series.data.map((mark, dataIndex) => ({ mark, seriesIndex, dataIndex })))
  .filter(({ mark }) => mark.detail && mark.name);

// neighbor is the place in the list after a step; in a table of cells the next cell
// that way.
export function neighbor(stops, at, [right, down], cells) {
  if (at < 0) return 0;
  if (!cells) return Math.min(Math.max(at + right + down, 0), stops.length - 1);
  const most = (i) => Math.max(...stops.map(({ mark }) => mark.value[i]));
  let [x, y] = stops[at].mark.value;
  while ((x += right) >= 0 && (y += down) >= 0 && x <= most(0) && y <= most(1)) {
    const found = stops.findIndex(({ mark }) => mark.value[0] === x && mark.value[1] === y);
    if (found >= 0) return found;
  }
  return at;
}

export const told = (mark) => mark.name + ": " + mark.detail.map((pair) => pair.join(" ")).join(", ");
