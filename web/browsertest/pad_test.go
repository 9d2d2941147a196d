package browsertest

import (
	"fmt"
	"rigtally/web/webtest"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// everyChip taps counters that stand on the pad once for each chip of their questions, and of those that
// an answer brings up, and answers with that chip. Which, two expressions say of kind and key.
const everyChip = `(async () => {
	const until = async (is) => { while (!is()) await new Promise((r) => setTimeout(r, 5)); };
	const chips = () => [...document.querySelectorAll("#ask.asking .chip:not(.leave)")].map((c) => c.dataset.key).filter((key) => %s);
	const chip = (key) => document.querySelector('#ask [data-key="' + CSS.escape(key) + '"]');
	const tapped = new Map();
	async function tap(kind) {
		const b = document.querySelector('[data-kind="' + kind + '"]'), n = b.querySelector(".n").textContent;
		await until(() => performance.now() - (tapped.get(kind) ?? -1000) > 110);
		b.click();
		tapped.set(kind, performance.now());
		await until(() => b.querySelector(".n").textContent !== n);
	}
	async function say(key) {
		if (chip(key).getAttribute("aria-pressed") === "true") return;
		chip(key).click();
		await until(() => chip(key)?.getAttribute("aria-pressed") === "true");
	}
	const todo = [...document.querySelectorAll("#live [data-kind]")].filter((b) => !b.disabled && b.checkVisibility()).map((b) => [b.dataset.kind]).filter(([kind]) => %s);
	let said = 0;
	while (todo.length > 0) {
		const rested = todo.findIndex(([kind]) => performance.now() - (tapped.get(kind) ?? -1000) > 110);
		const [[kind, ...path]] = todo.splice(Math.max(0, rested), 1);
		await tap(kind);
		const first = chips();
		for (const key of path) await say(key);
		said++;
		const now = chips(), asked = path.length === 0 ? first : path.length === 1 ? now.filter((c) => !first.includes(c)) : [];
		todo.push(...asked.map((key) => [kind, ...path, key]));
	}
	return said;
})()`

// Whatever the pad offers the journal takes: every counter and every answer to every question,
// with one dropper, with two, and where only some ends of a fish are counted.
func TestBrowserJournalTakesAllThatThePadOffers(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	h := &thumb{t: t, ctx: openBrowser(t, phone, false), on: phone}
	h.before(`{ const open = IDBDatabase.prototype.transaction; IDBDatabase.prototype.transaction = function (store, mode) { return open.call(this, store, mode); }; }`) // hundreds of taps need not wait for the disk
	h.open(b.URL + "/live")
	h.wait(`document.querySelector("#begin:not([hidden]) #pick-angler")`)
	h.tapThe(`document.querySelector("[data-rig='` + b.Two.ID.String() + `']")`)
	h.tap(`#start`)
	h.fishing()
	every := func(kinds, keys string) int {
		t.Helper()
		return evaluated[int](t, h.ctx, fmt.Sprintf(everyChip, keys, kinds), chromedp.EvalAwaitPromise)
	}
	taps := []int{every("true", "true")}
	h.tap(`#swap`)
	h.wait(`document.querySelector("#rig-name").textContent === "Blood 165"`)
	taps = append(taps, every("true", `/fly|cut/.test(key)`)) // what one dropper asks in another way
	h.tap(`#swap`)
	h.wait(`document.querySelector("#rig-name").textContent === "Three flies"`)
	h.takesOff("lost", "hooking", "tangle-kind")
	h.wait(`document.querySelector('[data-kind="hooked"]').checkVisibility()`)
	taps = append(taps, every(`["hooked", "landed", "tangle"].includes(kind)`, "true"))
	said := evaluated[[][]string](t, h.ctx, `new Promise((done) => {
		indexedDB.open("rigtally").onsuccess = (e) => e.target.result.transaction("drafts").objectStore("drafts").getAll().onsuccess = (e) =>
			done(e.target.result[0].stints.map((st) => st.events.filter((x) => x.kind !== "check" || x.turns !== undefined)
				.map((x) => [x.kind, st.off.includes("hooking") && x.hooking === "fair" ? "" : x.hooking, x.ending, x.break_place, x.tangle_kind, x.turns, x.minutes_lost, x.position, x.cut_mm].map((v) => v ?? "").join("|"))));
	})`, chromedp.EvalAwaitPromise)
	h.tap(`#end-open`)
	h.tap(`#save`)
	h.sees("The session is saved.")
	s := b.LastLogged(t)
	for i, st := range s.Stints {
		var stored []string
		for _, e := range st.Events {
			or := func(p *int) string {
				if p == nil {
					return ""
				}
				return fmt.Sprint(*p)
			}
			cut := ""
			if e.CutMM != nil {
				cut = fmt.Sprint(*e.CutMM)
			}
			stored = append(stored, strings.Join([]string{string(e.Kind), string(e.Hooking), string(e.Ending), string(e.BreakPlace), string(e.TangleKind), or(e.Turns), or(e.MinutesLost), or(e.Position), cut}, "|"))
		}
		slices.Sort(stored)
		slices.Sort(said[i])
		if !slices.Equal(stored, said[i]) || taps[i] < []int{100, 30, 12}[i] {
			t.Errorf("stint %d, of %d taps: said\n%q\nstored\n%q", i+1, taps[i], said[i], stored)
		}
	}
	t.Logf("%d taps", taps)
}
