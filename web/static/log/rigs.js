// Which rig: those fished last as buttons, each drawn with its tag, and a search over all of them.
import { h } from "./dom.js";
import { droppers } from "./events.js";
import { length } from "./quantity.js";

const space = "http://www.w3.org/2000/svg";
const angles = { down: 35, side: 90, up: 145 };
const high = 48, line = 14, perMM = 0.15, longest = 200;

function shape(tag, attributes) {
  const e = document.createElementNS(space, tag);
  for (const [k, v] of Object.entries(attributes)) e.setAttribute(k, v);
  return e;
}

/** A rig in small, from its positions: the line with its tags, these to scale among all rigs so drawn. Words stand beside it. */
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

const few = 5, found = 8;

/** The lengths of a rig's tags, in words. */
const tags = (rig, units) => droppers(rig).map((p) => (p.hang === "tag" ? (p.tag_length_mm ? length(p.tag_length_mm, units) : "tag not noted") : "in line")).join(", ") || "one fly";

const title = (rig) => (rig.revision > 1 ? `${rig.name} (revision ${rig.revision})` : rig.name);

/**
 * Shows the choice of a rig in a place.
 * @param {Object} k the lists
 * @param {string} chosen the id of the rig
 * @param {(id: string) => void} choose
 * @param {boolean} [folded] shows the chosen one alone until it is tapped
 */
export function rigPicker(place, k, chosen, choose, folded = false) {
  const all = [...(k?.old_rigs ?? []).filter((r) => r.id === chosen), ...(k?.rigs ?? [])];
  let open = !folded;
  const button = (r) => h("button", { type: "button", className: "rig-choice", "data-rig": r.id, "aria-pressed": String(r.id === chosen), onclick: () => pick(r.id) },
    drawn(r.positions), h("span", { className: "rig-words" }, h("span", { className: "rig-called" }, title(r)), h("b", {}, tags(r, k.outfit.units))));
  const input = h("input", { type: "search", "aria-label": `Find among ${all.length} rigs`, placeholder: `Find in ${all.length} rigs`, autocomplete: "off", oninput: show,
    onkeydown: (e) => { if (e.key === "Enter") e.preventDefault(); } }); // it is no form to be sent
  const list = h("div", { className: "rig-five" }, input);
  const said = h("p", { className: "unseen", role: "status" });
  function show() {
    const words = input.value.toLowerCase().split(/\s+/).filter(Boolean);
    const hits = all.filter((r) => words.every((w) => `${r.line ?? r.name} ${r.method ?? ""}`.toLowerCase().replaceAll("\u00a0", " ").includes(w)));
    const first = hits.slice(0, words.length > 0 ? found : few), now = all.find((r) => r.id === chosen);
    if (words.length === 0 && now && !first.includes(now)) first.splice(-1, 1, now);
    for (const other of [...list.children]) if (other !== input) other.remove(); // which keeps the cursor
    input.before(...(open ? first : [now ?? all[0]]).map(button));
    said.textContent = words.length === 0 ? "" : hits.length > first.length ? `${hits.length} rigs, the first ${first.length} shown` : `${hits.length} ${hits.length === 1 ? "rig" : "rigs"}`;
    if (words.length > 0 && hits.length === 0) input.before(h("p", { className: "quiet small" }, "No rig like that. Search by name, knot or tag length."));
    place.classList.toggle("alone", !open);
    input.hidden = !open || all.length <= few;
  }
  function pick(id) {
    if (folded && !open) {
      open = true;
    } else {
      chosen = id;
      open = !folded;
      input.value = "";
      choose(id);
    }
    show();
    list.querySelector(`[data-rig="${CSS.escape(chosen)}"]`)?.focus({ preventScroll: true });
  }
  show();
  place.replaceChildren(h("p", { className: "label" }, "Rig"), list, said);
}
