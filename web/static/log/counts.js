// The one control that says of what no count is kept.
import { fill, h } from "./dom.js";
import { offWords, rests, titles } from "./recorded.js";

const capital = (s) => s.charAt(0).toUpperCase() + s.slice(1);

/** Says plainly what is not counted, in a place that is there only for that. */
export function sayOff(place, off, where = "") {
  const words = offWords(off);
  place.hidden = !words;
  place.textContent = words ? `Not counted${where}: ${words}.` : "";
}

/**
 * Lets a button open the dialog in which kinds are taken off and put back.
 * @param {HTMLButtonElement} button
 * @param {HTMLDialogElement} dialog
 * @param {() => string[]} now what is off
 * @param {(off: string[]) => void} set called when that was changed, once the dialog is closed
 * @param {string} [hint] what a change does
 */
export function countsControl(button, dialog, now, set, hint = "") {
  let off = [];
  const toggle = (kind) => {
    off = off.includes(kind) ? off.filter((k) => k !== kind) : [...off, kind];
    draw();
  };
  function row(kind) {
    const base = Object.keys(rests).find((o) => off.includes(o) && rests[o].includes(kind));
    return h("label", { className: "check" },
      h("input", { type: "checkbox", "data-key": kind, value: kind, checked: !base && !off.includes(kind), disabled: Boolean(base), onchange: () => toggle(kind) }), capital(titles[kind]));
  }
  function draw() {
    fill(dialog.querySelector("[data-kinds]"), Object.keys(titles).map(row));
    dialog.querySelector("[data-off]").textContent = off.length > 0 ? `Not counted: ${offWords(off)}.` : "All of this is counted.";
  }
  const sorted = (list) => Object.keys(titles).filter((k) => list.includes(k));
  button.addEventListener("click", () => {
    off = [...now()];
    draw();
    dialog.querySelector("[data-hint]").textContent = hint;
    dialog.querySelector("[data-close]").onclick = () => dialog.close();
    dialog.onclose = () => { if (sorted(off).join() !== sorted(now()).join()) set(sorted(off)); };
    dialog.showModal();
  });
}
