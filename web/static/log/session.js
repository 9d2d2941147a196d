// What the live and the afterwards page share: the draft at hand, taps, questions
// and undo. Every tap is on disk before it is shown.
import { panel } from "./ask.js";
import { buzz } from "./awake.js";
import { keep, kept, onChange, update } from "./db.js";
import { draft as read } from "./db.js";
import { by, fill, h } from "./dom.js";
import { keyOf, kinds } from "./events.js";
import { countsControl, sayOff } from "./counts.js";
import { bounces, remember, say, stintOf, tap, undo } from "./draft.js";
import { lastCut, rigOf } from "./known.js";
import { nearestCut } from "./quantity.js";
import { openEnds, setOff, standing } from "./recorded.js";
import { allWell, trouble } from "./trouble.js";

export class Logging {
  /**
   * @param {Object} d the draft
   * @param {Object} k the lists
   * @param {() => void} show shows the page anew
   */
  constructor(d, k, show) {
    Object.assign(this, { d, k, show, units: k?.outfit?.units ?? "metric", cut: 15, turn: Promise.resolve() });
    this.taps = new Map(); // when each counter was last tapped
    onChange((id, fromElsewhere) => { if (id === this.d.id && fromElsewhere) this.look(); });
    // A page that was put aside may have been told nothing.
    addEventListener("pageshow", (e) => { if (e.persisted) this.look(); });
    document.addEventListener("visibilitychange", () => { if (!document.hidden) this.look(); });
  }

  /** Whether a draft, if there still is one, can be written here. */
  holds(d) { return Boolean(d); }

  /**
   * Says that it can't: another page has ended, sent or discarded it.
   * @param {Object|undefined} d
   * @param {string} [what] was to be noted, and was not
   */
  over(d, what) { }

  /** Reads the draft anew, which another page may have changed or ended. */
  async look() {
    if (this.leaving) return;
    const now = await read(this.d.id);
    if (!this.holds(now)) {
      this.over(now);
      return;
    }
    const changed = JSON.stringify(now) !== JSON.stringify(this.d);
    this.d = now;
    if (changed) this.show(); // what is being typed stays
  }

  /** Reads what is remembered of the last fly change. */
  async start() {
    this.cut = (await kept("cut")) ?? (this.k?.last ? lastCut(this.k) : nearestCut(this.k?.waste_mm ?? 15, this.units));
    if (Math.abs(this.cut - (this.k?.waste_mm ?? 0)) < 0.001) this.cut = nearestCut(this.cut, this.units);
    for (const b of document.querySelectorAll("[data-kind]")) b.addEventListener("click", (e) => this.tap(b.dataset.kind, e.timeStamp));
    countsControl(by("counts-open"), by("counts"), () => (this.underWay() ? this.d.off : stintOf(this.d).off) ?? [], (off) => this.setOff(off), this.offHint);
    this.show();
  }

  get rig() { return rigOf(this.k, stintOf(this.d).rig); }

  /**
   * Changes the draft on disk, one change after the other, then shows it.
   * @param {(d: Object) => void|false} change
   * @param {string} [what] it notes, in a word
   * @returns {Promise<boolean>} whether it was kept; the page has said so when not, and the next change has its turn
   */
  act(change, what) {
    this.turn = this.turn.then(() => this.change(change, what)).catch((error) => { trouble(error); return false; });
    return this.turn;
  }

  async change(change, what) {
    let held = false;
    const now = await update(this.d.id, (d) => ((held = this.holds(d)) ? change(d) : false));
    if (!held) {
      this.over(now, what);
      return false;
    }
    this.d = now;
    allWell();
    this.show();
    return true;
  }

  /** Counts a tap, if it is one: a wet finger bounces. */
  tap(key, at) {
    if (bounces(this.taps, key, at)) return;
    buzz();
    const now = Date.now();
    this.act((d) => { tap(d, key, now, this.rig, this.cut); }, kinds[key].word);
  }

  async undo() {
    const before = this.d.off;
    if (await this.act((d) => undo(d)) && String(before) !== String(this.d.off)) this.keepOff();
  }

  /** Says of what no count is kept. */
  async setOff(off) {
    const now = Date.now();
    if (await this.act((d) => { remember(d, "What is counted"); setOff(d, off, now); d.asking = null; })) this.keepOff();
  }

  /** Whether it is fished while it is logged. */
  underWay() { return this.d.mode === "live" && this.d.ended === null; }

  /** Remembers it for the next session on this device; a session that is only looked over leaves that as it is. */
  keepOff() {
    if (this.d.mode === "after" || this.underWay()) keep("off", this.d.off ?? []);
  }

  say(n, fields) {
    if (fields.cut_mm > 0) {
      this.cut = fields.cut_mm;
      keep("cut", fields.cut_mm);
    }
    return this.act((d) => say(d, n, fields));
  }

  /** What can be said of an event. */
  questions(e, rig) { return panel(e, rig, this.units, this.cut, this.d.stints.find((st) => st.events.some((x) => x.n === e.n))?.off, (fields) => this.say(e.n, fields)); }

  done() {
    return h("button", { type: "button", className: "button-small ask-done", onclick: () => this.act((d) => { d.asking = null; }) }, "Done");
  }

  /** How many of a kind the stint has. */
  count(key) {
    return stintOf(this.d).events.filter((e) => keyOf(e) === key).reduce((sum, e) => sum + e.count, 0);
  }

  /** Shows the counts on the buttons and the questions of the last tap. */
  showPad() {
    const off = stintOf(this.d).off;
    for (const b of document.querySelectorAll("[data-kind]")) {
      const n = this.count(b.dataset.kind), stands = standing(b.dataset.kind, off);
      b.querySelector(".n").textContent = n > 0 ? String(n) : "";
      b.hidden = stands === "gone";
      b.disabled = stands === "off";
    }
    const [open] = openEnds(off), hooked = document.querySelector('[data-kind="hooked"]');
    if (open && hooked.nextElementSibling?.dataset.kind !== open) document.querySelector(`[data-kind="${open}"]`).before(hooked);
    sayOff(by("not-counted"), off, this.underWay() ? " in the whole of this stint" : this.d.stints.length > 1 ? " in this stint" : "");
    const e = stintOf(this.d).events.find((x) => x.n === this.d.asking && (!this.asksOnly || this.asksOnly(x)));
    this.ask(e);
  }

  /** Shows the questions of an event, or none. */
  ask(e) {
    by("ask").classList.toggle("asking", Boolean(e));
    fill(by("ask"), e ? [...this.questions(e, this.rig), this.done()] : []);
  }
}

/** A line that says why something can't be done. */
export const sentence = (text) => h("p", { className: "wrong", role: "alert" }, text);
