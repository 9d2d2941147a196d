// Conditions and notes: all optional, kept as they are typed.
import { cautions, cautionsOf } from "./cautions.js";
import { stintOf } from "./draft.js";
import { fill, h } from "./dom.js";
import { conditions, read, show } from "./quantity.js";

export class Conditions {
  /**
   * @param {HTMLElement} place that holds inputs and selects with data-condition
   * @param {import("./session.js").Logging} log
   */
  constructor(place, log) {
    this.log = log;
    for (const field of place.querySelectorAll("[data-condition]")) this.attend(field);
    this.showCautions();
    setInterval(() => this.showCautions(), 60000); // readings grow old
  }

  attend(field) {
    const name = field.dataset.condition, log = this.log, c = conditions[name];
    if (c) {
      const unit = c[log.units === "us" ? "us" : "metric"];
      const hint = field.closest(".field").querySelector(".hint");
      if (hint) hint.textContent = unit;
      field.value = show(name, log.d.conditions[name], log.units);
      field.addEventListener("input", () => {
        let v = read(field.value, unit);
        if (typeof v === "number" && (v < c.low || v > c.high)) v = undefined;
        field.setAttribute("aria-invalid", String(v === undefined));
        const wrong = field.closest(".field").querySelector(".wrong");
        wrong.hidden = v !== undefined;
        wrong.textContent = v === undefined ? `Write a number that makes sense, in ${unit}.` : "";
        if (v !== undefined) log.act((d) => { d.conditions[name] = v; }).then(() => this.showCautions());
      });
      return;
    }
    if (field.type === "checkbox") {
      field.checked = Boolean(log.d[name]);
      field.addEventListener("change", () => log.act((d) => { d[name] = field.checked; }).then(() => this.showCautions()));
      return;
    }
    if (name === "stroke") {
      this.stroke = field;
      field.addEventListener("change", () => log.act((d) => { stintOf(d).stroke = field.value; }));
      return;
    }
    if (name === "guide") {
      const guides = (log.k?.anglers ?? []).filter((a) => a.kind === "guide" || a.id === log.d.guide);
      field.append(...guides.map((a) => h("option", { value: a.id }, a.name)));
      field.closest(".field").hidden = guides.length === 0;
    }
    field.value = log.d[name] ?? "";
    field.addEventListener("input", () => log.act((d) => { d[name] = field.value; }));
  }

  /** The stroke is that of the stint at hand. */
  show() {
    if (this.stroke) this.stroke.value = stintOf(this.log.d).stroke;
    this.showCautions();
  }

  showCautions() {
    const list = cautionsOf(this.log.k, this.log.d), now = JSON.stringify(list);
    if (now === this.now) return; // what stands there is not read out again
    this.now = now;
    for (const place of document.querySelectorAll("[data-cautions]")) fill(place, cautions(list, place.dataset.cautions === "short"));
  }
}
