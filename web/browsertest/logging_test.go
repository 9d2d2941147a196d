package browsertest

import (
	"context"
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

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

	browser   context.Context // whose pages may be closed, where that is part of the test
	closePage func()
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
	h.wait(`(() => {
		const e = ` + element + `;
		if (!e || e.disabled) return false;
		e.scrollIntoView({ block: "nearest", behavior: "instant" });
		const r = e.getBoundingClientRect(), x = r.x + r.width / 2, y = r.y + r.height / 2;
		const rests = window.middle?.[0] === x && window.middle?.[1] === y;
		window.middle = [x, y];
		const over = document.elementFromPoint(x, y);
		if (!e.contains(over)) over?.closest(".sheet")?.querySelector(".leave")?.click(); // no need to wait until it leaves
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

// A session like the last one must take at most twelve taps.
func TestBrowserRepeatSessionInTwelveTaps(t *testing.T) {
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
		if h.taps > 12 {
			t.Errorf("%d taps, want 12 at most", h.taps)
		}
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
		h.choose("#pick-rig", b.One.ID.String())
		h.tap(`button[value="live"]`)
		h.fishing()
		h.passes(10)
		h.tap(kind("landed"))
		h.passes(5)
		h.tap(kind("nest"))
		h.wait(`document.querySelector('[data-kind="nest"] .n').textContent === "1"`)
		h.tap(`#undo`) // that was no nest
		h.wait(`document.querySelector('[data-kind="nest"] .n').textContent === ""`)
		h.tap(`#cut`)
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
