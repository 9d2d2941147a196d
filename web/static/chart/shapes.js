// What ECharts has no series for: intervals with their ends, and the ground between
// two lines. A shape gets a datum (see charts/option.go), the field that it stands
// in, and ECharts' functions that place numbers.

export const between = (v, low, high) => Math.min(Math.max(v, low), high);

const line = (x1, y1, x2, y2, stroke, lineWidth) => ({ type: "line", z2: 3, silent: true, shape: { x1, y1, x2, y2 }, style: { stroke, lineWidth } });
const box = (x, y, width, height, fill, opacity = 1) => ({ type: "rect", z2: 2, silent: true, shape: { x, y, width, height }, style: { fill, opacity } });
const arrow = (points, fill) => ({ type: "polygon", z2: 4, silent: true, shape: { points }, style: { fill } });

// The ground of a mark takes the pointer, so that a thumb finds it, and shows itself
// under it.
function ground(kind, field, api, [x, y], half) {
  const style = { fill: "transparent" }, emphasis = { style: { fill: "var(--sheet, #f4efe2)" } };
  if (kind === "spot") return { type: "circle", z2: 0, shape: { cx: x, cy: y, r: 15 }, style, emphasis };
  if (kind === "row") {
    const height = api.size([0, 1])[1];
    return { type: "rect", z2: 0, shape: { x: 0, y: y - height / 2, width: api.getWidth(), height }, style, emphasis };
  }
  return { type: "rect", z2: 0, shape: { x: x - half, y: field.y, width: 2 * half, height: field.height }, style, emphasis };
}

export function interval(mark, field, api) {
  const [vx, vy, left, right, low, high, from, to] = mark.value;
  const [x, middle] = api.coord([vx, vy]);
  const y = middle + (mark.down ?? 0);
  const end = { left: field.x, right: field.x + field.width, top: field.y, foot: field.y + field.height };
  const across = (v) => between(api.coord([v, vy])[0], end.left, end.right);
  const up = (v) => between(api.coord([vx, v])[1], end.top, end.foot);
  const wide = from == null ? null : [across(from), across(to)];
  const children = mark.ground ? [ground(mark.ground, field, api, [x, middle], wide ? (wide[1] - wide[0]) / 2 : 10)] : [];
  if (left != null) {
    children.push(line(across(left), y, Math.max(across(right), across(left) + 1), y, mark.color, 3));
    if (api.coord([right, vy])[0] > end.right) children.push(arrow([[end.right, y - 6], [end.right + 9, y], [end.right, y + 6]], mark.color));
    if (api.coord([left, vy])[0] < end.left) children.push(arrow([[end.left, y - 6], [end.left - 9, y], [end.left, y + 6]], mark.color));
  }
  if (low != null) {
    if (wide) {
      children.push(box(wide[0] + 1, up(high), wide[1] - wide[0] - 2, Math.max(up(low) - up(high), 1), mark.color, mark.faint ?? 0.28));
      if (!mark.faint) children.push(line(wide[0] + 1, y, wide[1] - 1, y, mark.color, 3));
    } else {
      children.push(line(x, up(low), x, up(high), mark.color, 3));
    }
    if (api.coord([vx, high])[1] < end.top - 0.5 && !mark.faint) children.push(arrow([[x - 6, end.top], [x, end.top - 9], [x + 6, end.top]], mark.color));
  }
  if (mark.ring) children.push({ type: "circle", z2: 5, silent: true, shape: { cx: across(mark.ring), cy: y, r: 4 }, style: { fill: "transparent", stroke: "var(--quiet, #3f4a47)", lineWidth: 1.5 } });
  return { type: "group", children };
}

export function band(mark, field, api) {
  return { type: "polygon", silent: true, z2: 2, shape: { points: mark.points.map((p) => api.coord(p)) }, style: { fill: mark.color, opacity: mark.faint } };
}
