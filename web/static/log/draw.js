// A rig in small: the line with its tags, these to scale among all rigs so drawn.
const space = "http://www.w3.org/2000/svg";
const angles = { down: 35, side: 90, up: 145 };
const high = 48, line = 14, perMM = 0.15, longest = 200;

function shape(tag, attributes) {
  const e = document.createElementNS(space, tag);
  for (const [k, v] of Object.entries(attributes)) e.setAttribute(k, v);
  return e;
}

/** The drawing of a rig, of its positions alone. It is for the eye: words stand beside it. */
export function drawn(positions) {
  const tags = positions.filter((p) => p.position > 0), svg = shape("svg", { viewBox: `0 0 120 ${high}`, class: "rig-small", "aria-hidden": "true" });
  svg.append(shape("path", { class: "rig-line", d: `M2 ${line}H112` }), shape("circle", { class: "rig-body", cx: 113, cy: line, r: 4 }));
  tags.forEach((p, i) => {
    const x = 78 - (i * 70) / Math.max(1, tags.length), turn = ((angles[p.facing] ?? 62) * Math.PI) / 180;
    const known = p.hang === "tag" && p.tag_length_mm > 0, mm = Math.min(known ? p.tag_length_mm : 100, longest) * perMM;
    const to = p.hang === "tag" ? [x + mm * Math.cos(turn), line + mm * Math.sin(turn)] : [x, line];
    if (p.hang === "tag") svg.append(shape("path", { class: known ? "rig-tag" : "rig-unknown", d: `M${x} ${line}L${to[0]} ${to[1]}` }));
    svg.append(shape("circle", { class: "rig-body", cx: to[0], cy: to[1], r: 4 }));
  });
  return svg;
}
