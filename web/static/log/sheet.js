// The questions of the last tap. They lie over what counts nothing, so that every counter can
// be tapped again at once; and they leave by themselves, since no answer is one too.
import { fill, h } from "./dom.js";

const stays = 6000, answered = 1500, settles = 300; // ms

export class Sheet {
  /** @param {HTMLElement} place over the buttons beside it */
  constructor(place) {
    this.place = place;
    place.addEventListener("pointerdown", () => this.wait());
    place.addEventListener("focusout", () => this.wait());
    place.addEventListener("keydown", (e) => { if (e.key === "Escape") this.close(); });
    // Nothing in focus hides under it.
    place.parentElement.addEventListener("focusin", (e) => { if (!place.contains(e.target)) this.leave(); });
  }

  /**
   * Shows the questions of an event, or what was just said of it.
   * @param {Object|undefined} e
   * @param {HTMLElement[]} rows
   */
  show(e, rows) {
    if (!e || rows.length === 0) {
      this.leave();
      return;
    }
    const same = e.n === this.n, said = JSON.stringify(e);
    if (same && (said === this.said || !this.shown)) return;
    Object.assign(this, { n: e.n, said });
    rows.at(-1).querySelector(".chips").append(h("button", { type: "button", className: "chip leave", "data-key": "leave", "aria-label": "Leave it unanswered", onclick: () => this.close() }, "×"));
    fill(this.place, rows);
    if (!same) this.open();
    const groups = [...this.place.querySelectorAll(".chips")];
    this.wait(same && groups.every((g) => g.querySelector('[aria-pressed="true"]')) ? answered : stays);
  }

  get shown() { return this.place.classList.contains("asking"); }

  /** A tap on a chip before it could be read was meant for something else. */
  open() {
    this.place.classList.add("asking", "settling");
    clearTimeout(this.settling);
    this.settling = setTimeout(() => this.place.classList.remove("settling"), settles);
  }

  wait(ms = stays) {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => { if (!this.place.matches(":has(:focus-visible)")) this.leave(); }, ms); // it stays with who goes through it by keyboard
  }

  leave() {
    clearTimeout(this.timer);
    this.place.classList.remove("asking");
  }

  /** Leaves, and takes the focus back to the counter that was tapped. */
  close() {
    const within = this.place.contains(document.activeElement);
    this.leave();
    if (within) this.back?.focus({ preventScroll: true });
  }
}
