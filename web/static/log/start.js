// Before the first session: draws the rig as it is answered, and goes straight on to the water.
import { zoneOf } from "./choose.js";
import { add } from "./db.js";
import { by, fill } from "./dom.js";
import { newDraft } from "./draft.js";
import { asLast, refresh } from "./known.js";
import { shortLength } from "./quantity.js";
import { drawn } from "./rigs.js";

const form = by("start");
const said = (name) => form.elements[name].value;

// What nobody has answered yet is as this browser has it.
if (!("again" in form.dataset) && !document.querySelector(".problems")) form.elements.zone.value = Intl.DateTimeFormat().resolvedOptions().timeZone ?? said("zone");

function show() {
  const tags = Number(said("tags"));
  form.querySelector(".start-tag").hidden = tags === 0;
  const mm = shortLength(said("tag"), said("units"));
  fill(by("drawn"), drawn(Array.from({ length: tags + 1 }, (_, position) => ({ position, hang: "tag", facing: said("facing"), tag_length_mm: mm }))));
}

form.addEventListener("input", (e) => {
  const usual = { us: "6 1/2 in", metric: "165 mm" }; // in the other units, unless it was typed
  if (e.target.name === "units" && Object.values(usual).includes(said("tag"))) form.elements.tag.value = usual[said("units")];
  show();
});
form.addEventListener("submit", async (e) => {
  e.preventDefault();
  const mode = e.submitter?.value ?? "after";
  try {
    const answer = await fetch(form.action, { method: "POST", body: new URLSearchParams(new FormData(form)) });
    if (!answer.redirected) throw new Error("not saved");
    const k = await refresh(), who = { ...asLast(k), angler: { id: said("angler"), name: "" }, water: { id: said("water"), name: "" }, rig: said("rig") };
    const d = await add(newDraft(mode, { ...who, zone: zoneOf(k, who) }, Date.now(), []));
    location.href = mode === "live" ? "/live" : `/after?draft=${d.id}`;
  } catch {
    form.submit(); // the page that follows says what is wrong, or goes on without a phone that keeps anything
  }
});
show();
