// What marks tell, and the way of the arrow keys through them: pure functions.

// read takes apart the title of a mark: its name, then a heading and a value in each line.
export function read(title) {
  const [name, ...lines] = title.split("\n");
  return { name, detail: lines.map((line) => { const at = line.indexOf(": "); return [line.slice(0, at), line.slice(at + 2)]; }) };
}

// neighbor is the place in the list after a step; in a table of cells the next cell
// that way.
export function neighbor(stops, at, [right, down], cells) {
  if (at < 0) return 0;
  if (!cells) return Math.min(Math.max(at + right + down, 0), stops.length - 1);
  const most = (of) => Math.max(...stops.map((stop) => stop[of]));
  let { x, y } = stops[at];
  while ((x += right) >= 0 && (y += down) >= 0 && x <= most("x") && y <= most("y")) {
    const found = stops.findIndex((stop) => stop.x === x && stop.y === y);
    if (found >= 0) return found;
  }
  return at;
}

export const told = ({ name, detail }) => name + ": " + detail.map((pair) => pair.join(" ")).join(", ");
