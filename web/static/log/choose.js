// Who, where and with which rig, filled in as last time, with room for a name that is new.
import { h } from "./dom.js";
import { waterOf } from "./known.js";
import { rigPicker } from "./rigs.js";

const NEW = "new";

function list(label, name, options, chosen, change) {
  const select = h("select", { id: `pick-${name}`, name, onchange: (e) => change(e.target.value) },
    options.map(([value, text]) => h("option", { value, selected: value === chosen }, text)));
  return h("div", { className: "field" }, h("label", { htmlFor: select.id }, label), select);
}

function written(label, name, value, change) {
  const input = h("input", { id: `pick-${name}`, name, type: "text", value, autocomplete: "off", maxLength: 120, oninput: (e) => change(e.target.value.trim()) });
  return h("div", { className: "field" }, h("label", { htmlFor: input.id }, label), input);
}

/**
 * Shows the lists in a place and calls back with each change.
 * @param {HTMLElement} place
 * @param {Object} k the lists
 * @param {{angler: {id, name}, water: {id, name}, beat: string, rig: string}} who changed in place
 * @param {(who: Object) => void} change
 * @param {boolean} [folded] the rig alone is shown until it is tapped, where there is little room
 */
export function chooser(place, k, who, change, folded) {
  let fresh = { angler: !who.angler.id, water: !who.water.id, beat: false };
  function named(what, label, newLabel, items) {
    const options = items.map((x) => [x.id, x.name]);
    if (options.length > 0) options.push([NEW, what === "angler" ? "Someone new …" : "A new water …"]);
    const fields = [];
    if (options.length > 0) {
      fields.push(list(label, what, options, fresh[what] ? NEW : who[what].id, (v) => {
        fresh[what] = v === NEW;
        who[what] = { id: v === NEW ? "" : v, name: "" };
        if (what === "water") { who.beat = ""; fresh.beat = false; }
        change(who);
        draw();
        place.querySelector(v === NEW ? `#pick-${what}-new` : `#pick-${what}`).focus();
      }));
    }
    if (fresh[what] || options.length === 0) {
      fields.push(written(newLabel, `${what}-new`, who[what].name, (v) => { who[what] = { id: "", name: v }; change(who); }));
    }
    return fields;
  }
  const rigs = h("div", { className: "rig-picker", role: "group", "aria-label": "Rig" });
  const pick = () => rigPicker(rigs, k, who.rig, (id) => { who.rig = id; change(who); }, folded);
  if (k?.rigs?.length > 0) pick();
  const make = k && document.getElementById("new-rig") ? h("button", { type: "button", className: "button-small" }, "New rig") : null;
  // Today shows the same lists and makes no rig, so its first view does without.
  if (make) import("./newrig.js").then(({ newRigControl }) => newRigControl(make, () => k, (rig) => { who.rig = rig.id; pick(); draw(); change(who); }));
  function draw() {
    const anglers = (k?.anglers ?? []).filter((a) => a.active || a.id === who.angler.id);
    const beats = waterOf(k, who.water.id)?.beats ?? [];
    const fields = [...(k?.self ? [] : named("angler", "Who fished", "Name of the angler", anglers)), ...named("water", "Water", "Name of the water", k?.waters ?? [])];
    if (k?.rigs?.length > 0) fields.push(rigs);
    if (make) fields.push(h("p", { className: "make-rig" }, make));
    if (beats.length > 0 && !fresh.beat) {
      const known = beats.some((b) => b.name === who.beat) || who.beat === "";
      const options = [["", "No beat"], ...beats.map((b) => [b.name, b.name]), ...(known ? [] : [[who.beat, who.beat]]), [NEW, "Another beat …"]];
      fields.push(list("Beat", "beat", options, who.beat, (v) => {
        fresh.beat = v === NEW;
        who.beat = v === NEW ? "" : v;
        change(who);
        draw();
        place.querySelector("#pick-beat").focus();
      }));
    } else if (fresh.beat) {
      fields.push(written("Name of the beat", "beat", who.beat, (v) => { who.beat = v; change(who); }));
    }
    place.replaceChildren(...fields);
  }
  draw();
}

/** What is missing before a session can start, in a sentence; "" when nothing is. */
export function missing(k, who) {
  if (!k) return "This phone has not seen the journal yet. Open this page once with signal.";
  if (!(k.rigs?.length > 0)) return "Add a rig first: every session is logged with one.";
  if (!who.angler.id && !who.angler.name) return "Say who fished.";
  if (!who.water.id && !who.water.name) return "Say where it was.";
  return "";
}

/** Asks, where a new name was written, whether it means one that is known; then again. @returns whether there is something to ask */
export async function unclear(place, k, who, again) {
  if (!who.angler.name && !who.water.name && !who.beat) return false;
  return (await import("./meant.js")).askNames(place, k, who, again);
}

/** The zone in which a session's clock times are. */
export const zoneOf = (k, who) => waterOf(k, who.water.id)?.time_zone ?? k?.outfit?.time_zone ?? "";
