package browsertest

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/target"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/webtest"
)

// The form shows them as conditions are typed, in any unit.
func TestBrowserFormShowsCautions(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	ctx := openBrowser(t, phone, false)
	do(t, ctx, chromedp.Navigate(b.URL+"/log"), chromedp.Evaluate[chromedp.Void](`for (const d of document.querySelectorAll("details")) d.open = true; 0`),
		chromedp.SendKeys(named("temp"), "20 C"), chromedp.SendKeys(named("depth"), "2.5 ft"), chromedp.SendKeys(named("velocity"), "4 ft/s"))
	kinds := func() []string {
		list, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](`[...document.querySelectorAll("[data-cautions] aside")].map((e) => e.className)`))
		if err != nil {
			t.Fatal(err)
		}
		return list
	}
	if got := kinds(); !slices.Equal(got, []string{"caution caution-stop", "caution caution-stop"}) {
		t.Errorf("68 °F, 2.5 ft at 4 ft/s: %q", got)
	}
	do(t, ctx, chromedp.Click(chromedp.CSS(`label:has([name="storm"])`)), chromedp.Evaluate[chromedp.Void](`document.querySelector("[name=temp]").value = ""; 0`), chromedp.SendKeys(named("temp"), "65F"))
	if got := kinds(); !slices.Equal(got, []string{"caution caution-stop", "caution caution-stop", "caution caution-care"}) {
		t.Errorf("with a storm, at 65 °F: %q", got)
	}
}

// thumb is a person at a page, and counts what they tap.
type thumb struct {
	t    *testing.T
	ctx  context.Context
	on   screen
	taps int
	last string    // what was tapped last
	at   time.Time // and when

	browser   context.Context // whose pages may be closed, where that is part of the test
	closePage func()
	workers   map[target.ID]context.Context // that were put out of the network
}

func kind(key string) chromedp.CSS { return chromedp.CSS(`[data-kind="` + key + `"]`) }

// tap touches the middle of an element on a phone, and clicks it at a desk.
func (h *thumb) tap(sel chromedp.CSS) {
	h.t.Helper()
	h.tapThe(fmt.Sprintf(`document.querySelector(%q)`, string(sel)))
}

// chip taps a button by its words.
func (h *thumb) chip(text string) {
	h.t.Helper()
	h.tapThe(fmt.Sprintf(`[...document.querySelectorAll("button")].find((b) => b.textContent.trim().replaceAll("\u00a0", " ") === %q && b.getBoundingClientRect().width > 0)`, text))
}

// tapThe taps what an expression names, as soon as it is there, at rest, and nothing
// lies over it.
func (h *thumb) tapThe(element string) {
	h.t.Helper()
	h.taps++
	if element == h.last { // quicker would be a bounce
		time.Sleep(time.Until(h.at.Add(150 * time.Millisecond)))
	}
	h.wait(`(() => {
		const e = ` + element + `;
		if (!e || e.disabled) return false;
		const asks = document.querySelector(".sheet.asking"); // it may be on its way over what is tapped
		if (asks && !asks.contains(e) && !e.matches("[data-kind]")) asks.querySelector(".leave").click();
		e.scrollIntoView({ block: "nearest", behavior: "instant" });
		const r = e.getBoundingClientRect(), x = r.x + r.width / 2, y = r.y + r.height / 2;
		const rests = window.middle?.[0] === x && window.middle?.[1] === y;
		window.middle = [x, y];
		const over = document.elementFromPoint(x, y);
		window.counted = () => [...document.querySelectorAll(".n")].map((n) => n.textContent).join();
		window.before = counted();
		return rests && r.width > 0 && e.contains(over);
	})()`)
	middle, err := chromedp.Run(h.ctx, chromedp.Evaluate[[2]float64](`window.middle`))
	if err == nil && h.on.touch {
		err = chromedp.Do(h.ctx, chromedp.TapXY(middle[0], middle[1]))
	} else if err == nil {
		err = chromedp.Do(h.ctx, chromedp.MouseClickXY(middle[0], middle[1]))
	}
	if err != nil {
		h.t.Fatalf("tap %s: %v", element, err)
	}
	h.last, h.at = element, time.Now()
	if strings.Contains(element, "data-kind=") { // what it asks comes before the next tap
		h.wait(`counted() !== before || document.querySelector(".trouble")`)
	}
}

// sendNow presses that button, unless the page has sent by itself meanwhile.
func (h *thumb) sendNow() {
	h.t.Helper()
	h.wait(`([...document.querySelectorAll("button")].find((b) => b.textContent === "Send now")?.click(), true)`)
}

// wait returns when an expression is true, on this page or the one that follows.
func (h *thumb) wait(expression string) {
	h.t.Helper()
	for end := time.Now().Add(patience); ; time.Sleep(30 * time.Millisecond) {
		ok, err := chromedp.Run(h.ctx, chromedp.Evaluate[bool](`Boolean(`+expression+`)`))
		if ok {
			return
		}
		if time.Now().After(end) {
			where, _ := chromedp.Run(h.ctx, chromedp.Evaluate[string](`location.href + "\n" + document.querySelector("main").innerText`))
			h.t.Fatalf("waited in vain for %s (%v) at %s", expression, err, where)
		}
	}
}

func (h *thumb) open(url string) {
	h.t.Helper()
	do(h.t, h.ctx, chromedp.Navigate(url))
}

// sees waits until the page shows a text.
func (h *thumb) sees(text string) {
	h.t.Helper()
	h.wait(fmt.Sprintf(`document.querySelector("main").innerText.includes(%q)`, text))
}

// eventsOf lists the events of a stint in short.
func eventsOf(st journal.Stint) []string {
	var list []string
	for _, e := range st.Events {
		list = append(list, fmt.Sprintf("%d %s", e.Count, prose.EventKind(e)))
	}
	return list
}

// A session like the last one takes at most eight taps.
func TestBrowserRepeatSessionInEightTaps(t *testing.T) {
	t.Parallel()
	for _, on := range []screen{phone, laptop} {
		b := webtest.NewBook(t)
		h := &thumb{t: t, ctx: openBrowser(t, on, false), on: on}
		h.open(b.URL + "/")
		h.tap(`button[value="after"]`)
		h.chip("1 h 30")
		for _, key := range []string{"landed", "landed", "landed", "lost", "twist"} {
			h.tap(kind(key))
		}
		h.tap(`#save`)
		h.sees("The session is saved.")
		if h.taps > 8 {
			t.Errorf("%d taps, want 8 at most", h.taps)
		}
		h.sees("First 1 h 30 min with these tags (165") // the line that it pays back
		// One landed fish too many, and no lost one: put right in place, and one of it taken back.
		value := func(key, n string) string {
			return fmt.Sprintf(`document.querySelector('[data-key="0 %s more"]').previousElementSibling.textContent === %q`, key, n)
		}
		h.tap(`[data-key="0 lost more"]`)
		h.wait(value("lost", "2"))
		h.tap(`[data-key="less 0 landed more"]`)
		h.wait(value("landed", "2"))
		h.tap(`[data-key="undo"]`)
		h.wait(value("landed", "3"))
		h.tap(`[data-key="less 0 lost more"]`)
		h.wait(value("lost", "1") + ` && document.activeElement?.dataset.key === "less 0 lost more"`)
		t.Logf("%d taps at %d px", h.taps, on.width)
		s := b.LastLogged(t)
		last := b.Session.Stints[len(b.Session.Stints)-1].RigID
		want := []string{"3 fair hookup, landed", "1 fair hookup, lost", "1 twist"}
		if len(s.Stints) != 1 || *s.Stints[0].Minutes != 90 || s.Stints[0].RigID != last || s.AnglerID != b.Angler.ID || s.WaterID != b.Water.ID || *s.BeatID != *b.Session.BeatID || !slices.Equal(eventsOf(s.Stints[0]), want) {
			t.Errorf("stored %s, want %v", webtest.InJSON(s), want)
		}
		if s.End.Sub(*s.Start) != 90*time.Minute {
			t.Errorf("from %s to %s", s.Start, s.End)
		}
	}
}

// From an empty journal to the first saved session it takes at most fourteen taps; typing a name
// is the tap that brings the cursor. What was said can be said again until then.
func TestBrowserFirstSessionInFourteenTaps(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	h := &thumb{t: t, ctx: openBrowser(t, phone, false), on: phone}
	if _, err := chromedp.Call(h.ctx, emulation.SetTimezoneOverride, emulation.SetTimezoneOverrideParams{TimezoneID: "America/Boise"}); err != nil {
		t.Fatal(err)
	}
	h.open(s.URL + "/")
	h.wait(`document.querySelector("#drawn .rig-small")`)
	write := func(field, text string) {
		h.tap(named(field))
		do(t, h.ctx, chromedp.SendKeys(named(field), text))
	}
	write("name", "Wren")
	write("water-name", "Alder Brook")
	h.tap(`label:has([name="junction"][value="blood"])`)
	h.tap(`label:has([name="facing"][value="up"])`)
	h.tap(`label:has([name="tags"][value="2"])`)
	h.wait(`document.querySelectorAll("#drawn .rig-tag").length === 2`)
	h.tap(`button[value="live"]`)
	h.fishing()
	h.passes(95)
	h.tap(kind("landed"))
	h.tap(kind("twist"))
	h.tap(`#end-open`)
	h.tap(`#save`)
	h.sees("The session is saved.")
	if h.taps > 14 {
		t.Errorf("%d taps, want 14 at most", h.taps)
	}
	t.Logf("%d taps", h.taps)
	session := webtest.Got(s.Store.LastSession(t.Context()))(t)
	rig := webtest.Got(s.Store.RigByID(t.Context(), session.Stints[0].RigID))(t)
	if session.TimeZone != "America/Boise" || rig.Name != "Blood 6½ in, 3 flies" || len(rig.Droppers()) != 2 || rig.Droppers()[1].Facing != "up" || rig.LeaderLengthMM != nil || !slices.Equal(eventsOf(session.Stints[0]), []string{"1 fair hookup, landed", "1 twist"}) {
		t.Errorf("stored %s with %s", webtest.InJSON(session), webtest.InJSON(rig))
	}
	h.open(s.URL + "/start") // too late: it leads to the settings
	h.sees("Prior of best bets")
}

func rigButton(r journal.Rig) chromedp.CSS { return chromedp.CSS(`[data-rig="` + r.ID.String() + `"]`) }

// Of many rigs the last five are buttons, each drawn; the others are found by words, on Today and on the water.
func TestBrowserFindsARig(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	var sought journal.Rig
	for i := range 9 {
		rig := journal.Rig{Name: fmt.Sprintf("Alder %d", i), Positions: []journal.RigPosition{{}, {Position: 1, Hang: journal.HangTag, Junction: "uni", TagLengthMM: new(100.0 + float64(i))}}}
		sought = webtest.Got(b.Store.SaveRig(t.Context(), rig))(t)
	}
	h := &thumb{t: t, ctx: openBrowser(t, phone, false), on: phone}
	h.open(b.URL + "/")
	h.wait(`document.querySelectorAll("#who [data-rig]").length === 5`)
	find := func(place string) {
		t.Helper()
		h.tap(chromedp.CSS(place + ` input[type="search"]`))
		do(t, h.ctx, chromedp.SendKeys(chromedp.CSS(place+` input[type="search"]`), "uni 108"))
		h.wait(fmt.Sprintf(`[...document.querySelectorAll(%q)].map((e) => e.dataset.rig).join() === %q`, place+" [data-rig]", sought.ID))
		h.tap(chromedp.CSS(place + ` [data-rig]`))
	}
	find("#who")
	h.wait(`document.activeElement?.matches('#who [data-rig][aria-pressed="true"]') && document.querySelectorAll("#who [data-rig]").length === 5`)
	h.tap(rigButton(b.Two))
	h.tap(`button[value="live"]`)
	h.fishing()
	h.tap(`#rigs-open`)
	find("#rig-list")
	h.wait(`document.querySelector("#rig-name").textContent === "Alder 8"`)
}

// choose picks from a list.
func (h *thumb) choose(sel, value string) {
	h.t.Helper()
	h.wait(`document.querySelector("` + sel + `")`)
	do(h.t, h.ctx, chromedp.Evaluate[chromedp.Void](fmt.Sprintf(`{ const e = document.querySelector(%q); e.value = %q; e.dispatchEvent(new Event("change")); 0 }`, sel, value)))
}

// fishing waits until the live page counts.
func (h *thumb) fishing() {
	h.t.Helper()
	h.wait(`document.querySelector("#live:not([hidden]) #rig-name:not(:empty)")`)
}

// passes lets minutes go by for the page's clock.
func (h *thumb) passes(minutes int) {
	h.t.Helper()
	do(h.t, h.ctx, chromedp.Evaluate[chromedp.Void](fmt.Sprintf(`{ const by = %d * 60000, now = Date.now; Date.now = () => now() + by; 0 }`, minutes)))
}

func TestBrowserLiveSessionWithTwoRigs(t *testing.T) {
	t.Parallel()
	for _, on := range []screen{phone, laptop} {
		b := webtest.NewBook(t)
		h := &thumb{t: t, ctx: openBrowser(t, on, true), on: on}
		h.open(b.URL + "/")
		h.wait(`document.querySelector('[data-rig] .rig-tag') && !document.querySelector(".rig-five input:not([hidden])")`) // two need no search
		h.tap(rigButton(b.One))
		h.tap(`button[value="live"]`)
		h.fishing()
		h.passes(10)
		h.tap(kind("landed"))
		h.passes(5)
		h.tap(kind("nest"))
		h.wait(`document.querySelector('[data-kind="nest"] .n').textContent === "1"`)
		h.tap(`#undo`) // that was no nest
		h.wait(`document.querySelector('[data-kind="nest"] .n').textContent === ""`)
		h.tap(kind("fly-change"))
		h.chip("20 mm")
		h.passes(5)
		h.tap(kind("broke-off"))
		h.chip("Junction")
		h.passes(10)
		h.tap(`#swap`)
		h.wait(`document.querySelector("#rig-name").textContent === "Three flies"`)
		h.passes(7)
		h.tap(kind("check"))
		h.chip("3")
		h.chip("Dropper 2")
		h.passes(13)
		h.tap(`#end-open`)
		h.tap(`#save`)
		h.sees("The session is saved.")
		s := b.LastLogged(t)
		if len(s.Stints) != 2 || s.Stints[0].RigID != b.One.ID || s.Stints[1].RigID != b.Two.ID || int(*s.Stints[0].Minutes) != 30 || int(*s.Stints[1].Minutes) != 20 { // and the seconds that the taps took
			t.Fatalf("stored %s", webtest.InJSON(s.Stints))
		}
		want := []journal.Event{
			{Kind: journal.EventHookup, Count: 1, Minute: new(10), Hooking: journal.Fair, Ending: journal.Landed},
			{Kind: journal.EventFlyChange, Count: 1, Minute: new(15), CutMM: new(20.0)},
			{Kind: journal.EventHookup, Count: 1, Minute: new(20), Hooking: journal.Fair, Ending: journal.BrokeOff, BreakPlace: journal.BrokeJunction},
		}
		for i, e := range want {
			if i >= len(s.Stints[0].Events) || prose.Event(s.Stints[0].Events[i], "metric") != prose.Event(e, "metric") {
				t.Errorf("event %d of %+v is not %+v", i, s.Stints[0].Events, e)
			}
		}
		check := journal.Event{Kind: journal.EventCheck, Count: 1, Minute: new(7), Turns: new(3), Position: new(2)}
		if got := s.Stints[1].Events; len(got) != 1 || prose.Event(got[0], "metric") != prose.Event(check, "metric") {
			t.Errorf("second stint %+v, want %+v", got, check)
		}
	}
}

// instrument stands in for what only a phone has. A question's time is over when a test lets it lapse, however busy the machine is.
const instrument = `window.buzzes = window.locks = window.asked = 0;
	navigator.vibrate = () => { buzzes++; return true; };
	Object.defineProperty(navigator, "wakeLock", { value: { request: async () => { locks++; return { release: async () => { locks--; } }; } } });
	const later = setTimeout, never = clearTimeout, stay = new Map();
	window.setTimeout = (f, ms, ...more) => {
		if (ms !== 6000) return later(f, ms, ...more);
		const id = later(() => {}, 0);
		stay.set(id, f);
		return id;
	};
	window.clearTimeout = (id) => { stay.delete(id); never(id); };
	window.lapse = () => { const all = [...stay.values()]; stay.clear(); for (const f of all) f(); return all.length > 0; };`

func (h *thumb) before(script string) {
	h.t.Helper()
	if _, err := chromedp.Call(h.ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: script}); err != nil {
		h.t.Fatal(err)
	}
}

// knows waits until the phone has kept lists of which something is true, and has the page fetch them until then.
func (h *thumb) knows(is string) {
	h.t.Helper()
	h.evaluate(`window.known = null; (async () => {
		const { refresh } = await import(performance.getEntriesByType("resource").find((r) => r.name.endsWith("/log/known.js")).name);
		while (!(known && (` + is + `))) known = await refresh();
	})()`)
	h.wait(`known && (` + is + `)`)
}

// frame tells what is wrong with the pad as it stands on the screen, and where its buttons are.
const frame = `(() => {
	const wrong = [], all = [...document.querySelectorAll("#live button:not(#ask *)")].filter((b) => b.getBoundingClientRect().width > 0);
	const box = (b) => { const r = b.getBoundingClientRect(); return [r.x, r.y, r.right, r.bottom].map((v) => Math.round(v * 10) / 10); };
	const name = (b) => b.id || b.dataset.kind;
	if (document.documentElement.scrollHeight > innerHeight) wrong.push("it scrolls");
	if (document.documentElement.scrollWidth > innerWidth) wrong.push("it is " + document.documentElement.scrollWidth + " px wide");
	if (document.querySelector(".tabs").checkVisibility() || !document.querySelector(".wordmark").checkVisibility()) wrong.push("tabs, or no way out");
	const far = (b) => Math.hypot(...[0, 1].map((i) => (box(b)[i] + box(b)[i + 2] - box(all[0])[i] - box(all[0])[i + 2]) / 2));
	for (const b of all) {
		const [x, y, right, bottom] = box(b);
		if (x < 0 || y < 0 || right > innerWidth || bottom > innerHeight) wrong.push(name(b) + " is off the screen");
		if (right - x < 48 || bottom - y < 48) wrong.push(name(b) + " is " + (right - x) + " by " + (bottom - y));
		if (b.id !== "end-open" && far(b) >= far(document.querySelector("#end-open"))) wrong.push(name(b) + " is farther than End");
		if (b.scrollWidth > b.clientWidth || b.scrollHeight > b.clientHeight) wrong.push(name(b) + " does not hold its words");
		for (const o of all) if (o !== b && box(o)[0] < right && x < box(o)[2] && box(o)[1] < bottom && y < box(o)[3]) wrong.push(name(b) + " lies over " + name(o));
	}
	const digits = Math.min(...[...document.querySelectorAll("#live .n")].map((n) => parseFloat(getComputedStyle(n).fontSize)));
	if (digits < 28) wrong.push("digits of " + digits + " px");
	return { wrong, where: JSON.stringify(all.filter((b) => b.dataset.kind !== "hooked" && b.dataset.kind !== "lost").map((b) => [name(b), ...box(b)])) };
})()`

type framed struct {
	Wrong []string `json:"wrong"`
	Where string   `json:"where"`
}

// Live is an instrument: every button is on the screen of any phone, and none moves, whatever
// signal, questions, counts, what is not counted, cautions and worn tags have to say. Each tap is
// counted once and felt, the screen stays on, and a question leaves by itself, but not from under a keyboard.
func TestBrowserLiveIsAnInstrument(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	b.WearOut()
	h := openOffline(t, phone)
	h.before(instrument)
	h.open(b.URL + "/live")
	h.wait(`document.querySelector("#begin:not([hidden]) #pick-angler")`)
	h.wait(`document.querySelector(".tabs").checkVisibility()`)
	h.knows(`known.lives.length === 1`)
	h.open(b.URL + "/live") // with what is known by now
	h.wait(`document.querySelector("#begin:not([hidden]) #pick-angler")`)
	h.tapThe(`document.querySelector("[data-rig='` + b.One.ID.String() + `']")`)
	h.tap(`#start`)
	h.fishing()
	for _, size := range [][2]int64{{390, 844}, {390, 664}, {360, 640}, {320, 568}, {844, 390}, {1440, 900}} {
		do(t, h.ctx, chromedp.EmulateViewport(size[0], size[1]))
		if f := evaluated[framed](t, h.ctx, frame); len(f.Wrong) > 0 {
			t.Errorf("%d by %d: %q", size[0], size[1], f.Wrong)
		}
	}
	for _, size := range [][2]int64{{320, 568}, {844, 390}} {
		do(t, h.ctx, chromedp.EmulateViewport(size[0], size[1]))
		h.evaluate(`document.documentElement.style.fontSize = "200%"`)
		for _, wrong := range evaluated[framed](t, h.ctx, frame).Wrong { // it may scroll then
			if strings.Contains(wrong, "lies over") || strings.Contains(wrong, "words") || strings.Contains(wrong, "px wide") {
				t.Errorf("%d by %d, letters twice as large: %s", size[0], size[1], wrong)
			}
		}
		h.evaluate(`document.documentElement.style.fontSize = ""`)
		frames := func(then string) float64 {
			return evaluated[float64](t, h.ctx, `new Promise((r) => requestAnimationFrame(() => requestAnimationFrame(() => r(`+then+`))))`, chromedp.EvalAwaitPromise)
		}
		frames("0") // the size is another one now
		h.evaluate(`window.shift = 0; window.shifts?.disconnect();
			shifts = new PerformanceObserver((l) => { for (const e of l.getEntries()) if (!e.sources.every((s) => s.node?.parentElement?.closest("dialog"))) shift += e.value; });
			shifts.observe({ type: "layout-shift" })`)
		first := evaluated[framed](t, h.ctx, frame).Where
		stands := func(after string) {
			t.Helper()
			now := evaluated[framed](t, h.ctx, frame)
			if shift := frames("shift"); now.Where != first || len(now.Wrong) > 0 || shift != 0 {
				t.Errorf("%d by %d, after %s: %q, shift %g, moved %t: %.100s", size[0], size[1], after, now.Wrong, shift, now.Where != first, now.Where)
			}
		}
		h.airplane(true)
		h.wait(`document.querySelector("#signal").textContent === "No signal"`)
		stands("losing signal")
		for range 4 {
			h.tap(kind("snag"))
		}
		h.wait(`document.querySelector("#worn").textContent.startsWith("Re-tie soon: this tag has held fish and snags as long as half")`)
		stands("four snags")
		for _, k := range []string{"broke-off", "check", "fly-change", "tangle", "re-tie"} {
			h.tap(kind(k))
			h.wait(`document.querySelector("#ask.asking")`)
			stands(k)
		}
		h.wait(`document.querySelector("#worn").textContent === ""`)
		h.takesOff("lost", "tangle-kind")
		stands("taking off what is not counted")
		h.tap(`#conditions-open`)
		h.evaluate(`document.querySelector("#c-water_temp_c").value = ""`)
		do(t, h.ctx, chromedp.SendKeys(chromedp.CSS(`#c-water_temp_c`), "23"))
		h.tap(`label:has(#c-storm)`)
		h.tap(`#conditions-dialog [data-close]`)
		stands("a caution")
		h.takesOff("lost", "tangle-kind")
		h.airplane(false)
		h.wait(`document.querySelector("#signal").textContent === ""`)
		stands("signal again")
		h.tap(`#swap`)
		h.wait(`document.querySelector("#rig-name").textContent === "Three flies"`)
		frames("0")
		h.evaluate(`shift = 0`) // the words of the head are other ones, no button is elsewhere
		stands("another rig")
		h.tap(`#swap`)
		h.wait(`!document.querySelector('[data-kind="lost"]').disabled`)
	}
	// Two taps at once are a bounce, one more later counts. Each that counts is felt.
	h.evaluate(`buzzes = 0; { const b = document.querySelector('[data-kind="landed"]'); b.click(); b.click(); }`)
	h.wait(`document.querySelector('[data-kind="landed"] .n').textContent === "1"`)
	h.evaluate(`setTimeout(() => document.querySelector('[data-kind="landed"]').click(), 100)`)
	h.wait(`document.querySelector('[data-kind="landed"] .n').textContent === "2" && buzzes === 2`)
	// The screen stays on, also after the page was hidden.
	h.wait(`locks === 1`)
	h.evaluate(`document.dispatchEvent(new Event("visibilitychange"))`)
	h.wait(`locks === 2`)
	// A question leaves by itself, unless someone is at it with the keyboard.
	h.wait(`document.querySelector("#ask.asking")`)
	h.wait(`lapse() && !document.querySelector("#ask.asking")`)
	h.tap(kind("nest"))
	h.wait(`document.querySelector("#ask.asking")`)
	h.evaluate(`document.querySelector("#recent").closest("button").focus()`)
	do(t, h.ctx, chromedp.KeyEvent(kb.Tab))
	h.wait(`document.activeElement.matches("#ask .chip:focus-visible") && lapse() && document.querySelector("#ask.asking")`)
	do(t, h.ctx, chromedp.KeyEvent(kb.Escape))
	h.wait(`!document.querySelector("#ask.asking") && document.activeElement.dataset.kind === "nest"`)
}
