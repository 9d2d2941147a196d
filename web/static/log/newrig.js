// A rig made at the water: kept on this phone, and sent before the session fished with it.
import { addRig } from "./db.js";
import { by, fill, h } from "./dom.js";
import { newID } from "./ids.js";
import { length, shortLength, tippet } from "./quantity.js";
import { drawn } from "./rigs.js";

const capital = (s) => s.charAt(0).toUpperCase() + s.slice(1);

/** Its flies: the point, then the droppers, each tied alike. */
export function positions({ tags, junction, facing, tag, thick }) {
  const known = (fields) => Object.fromEntries(Object.entries(fields).filter(([, v]) => v !== "" && v !== undefined && v !== null));
  return Array.from({ length: tags + 1 }, (_, position) => known({ position, tippet_mm: thick, ...(position > 0 && { hang: "tag", junction, facing, tag_length_mm: tag }) }));
}

/** What it is called unless the person says: "Blood 6½ in, 3 flies". */
export function titleOf({ tags, junction, tag }, units) {
  if (tags === 0) return "Single fly";
  return [`${capital(junction || "dropper")}${tag > 0 ? ` ${length(tag, units).replace("\u00a0", " ")}` : ""}`, tags > 1 && `${tags + 1} flies`].filter(Boolean).join(", ");
}

/**
 * What is wrong with a rig as it was written, in a sentence; "" for nothing.
 * @param {string[]} names of the rigs there are
 */
export function wrongWith({ tags, tag, thick, name }, names) {
  if (tags > 0 && !(tag >= 1 && tag <= 2000)) return "Say how long the tag is, from the knot to the fly.";
  if (thick === undefined) return "Write the tippet as 6X or 0.127 mm, or nothing.";
  if (names.some((n) => n.toLowerCase() === name.toLowerCase())) return `There is a rig called ${name} already. Choose another name.`;
  return "";
}

/**
 * Lets a button open the dialog in which a rig is made.
 * @param {HTMLElement} button
 * @param {() => Object} lists
 * @param {(rig: Object) => void} made called with the rig, which is in the lists by then
 */
export function newRigControl(button, lists, made) {
  const dialog = by("new-rig"), form = dialog.querySelector("form"), at = (what) => dialog.querySelector(`[data-${what}]`);
  const units = () => lists()?.outfit?.units ?? "metric";
  function said() {
    const text = (name) => form.elements[name].value.trim(), tags = Number(text("tags"));
    const r = { tags, junction: text("junction"), facing: text("facing"), tag: tags > 0 ? shortLength(text("tag"), units()) : null, thick: tippet(text("tippet")) };
    return { ...r, name: text("name") || titleOf(r, units()) };
  }
  function show() {
    const r = said();
    at("tag").hidden = r.tags === 0;
    form.elements.name.placeholder = titleOf(r, units());
    fill(at("drawn"), drawn(positions(r)));
  }
  async function save() {
    const r = said(), k = lists(), wrong = wrongWith(r, k.rigs.map((x) => x.name));
    if (wrong) {
      fill(at("wrong"), h("p", { className: "wrong", role: "alert" }, wrong));
      at("wrong").scrollIntoView({ block: "nearest" });
      return;
    }
    const now = Date.now(), rig = { id: newID(now), name: r.name, positions: positions(r) };
    await addRig({ id: rig.id, created: now, state: "ready", problems: [], rig: { ...rig, revision: 1, created_at: new Date(now).toISOString() } });
    k.rigs.unshift({ ...rig, revision: 1, line: `${r.name} ${r.junction}` });
    dialog.close();
    made(rig);
  }
  button.addEventListener("click", () => {
    form.reset();
    form.elements.tag.value = units() === "us" ? "6 1/2 in" : "165 mm";
    fill(at("wrong"));
    show();
    form.oninput = show;
    form.onsubmit = (e) => {
      if (e.submitter?.value !== "save") return; // closes the dialog
      e.preventDefault();
      save();
    };
    dialog.showModal();
  });
}
