package browsertest

import (
	"fmt"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"rigtally/journal"
	"rigtally/web/webtest"
)

// key goes with Tab to what an expression is true of, and presses Enter there.
func (h *thumb) key(element string) {
	h.t.Helper()
	h.wait(`(() => { const e = ` + element + `; return e && !e.disabled && e.getBoundingClientRect().width > 0; })()`)
	for range 120 {
		there, err := chromedp.Run(h.ctx, chromedp.Evaluate[bool](`document.activeElement === `+element))
		if err != nil {
			h.t.Fatal(err)
		}
		if there {
			do(h.t, h.ctx, chromedp.KeyEvent(kb.Enter))
			return
		}
		do(h.t, h.ctx, chromedp.KeyEvent(kb.Tab))
	}
	h.t.Fatalf("the Tab key does not come to %s", element)
}

func one(sel string) string { return fmt.Sprintf("document.querySelector(%q)", sel) }

func words(text string) string {
	return fmt.Sprintf(`[...document.querySelectorAll("button")].find((b) => b.textContent.trim() === %q && b.getBoundingClientRect().width > 0)`, text)
}

func TestBrowserLogsByKeyboardOnly(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	h := &thumb{t: t, ctx: openBrowser(t, laptop, false), on: laptop}
	h.open(b.URL + "/")
	h.key(one(`button[value="live"]`))
	h.fishing()
	h.key(one(string(kind("landed"))))
	h.wait(`document.querySelector('[data-kind="landed"] .n').textContent === "1"`)
	h.key(one(string(kind("broke-off"))))
	h.key(words("Fly knot"))
	h.wait(`document.activeElement.textContent === "Fly knot" && document.activeElement.getAttribute("aria-pressed") === "true"`) // the focus stays
	h.key(one(`#end-open`))
	h.key(one(`#save`))
	h.sees("The session is saved.")
	s := b.LastLogged(t)
	if e := s.Stints[0].Events; len(e) != 2 || e[1].BreakPlace != journal.BrokeFlyKnot {
		t.Errorf("stored %s", webtest.InJSON(s.Stints))
	}

	h.open(b.URL + "/")
	h.key(one(`button[value="after"]`))
	h.wait(`document.querySelector("#after:not([hidden])")`)
	h.key(words("2 h"))
	h.key(one(string(kind("nest"))))
	h.key(one(`#save`))
	h.sees("The session is saved.")
	if s := b.LastLogged(t); *s.Stints[0].Minutes != 120 || len(s.Stints[0].Events) != 1 {
		t.Errorf("stored %s", webtest.InJSON(s.Stints))
	}
}

// Without script Today leads to the plain form, with the same angler, water and rig.
func TestBrowserLogsFromTodayWithoutScript(t *testing.T) {
	t.Parallel()
	for _, on := range []screen{phone, laptop} {
		b := webtest.NewBook(t)
		ctx := openBrowser(t, on, false)
		if _, err := chromedp.Call(ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true}); err != nil {
			t.Fatal(err)
		}
		do(t, ctx, chromedp.Navigate(b.URL+"/"), chromedp.SetValue(named("rig"), b.One.ID.String()))
		press(t, ctx, `button[value="after"]`)
		do(t, ctx, chromedp.SendKeys(named("stint.0.minutes"), "90"), chromedp.SendKeys(named("stint.0.at.all.landed"), "3"))
		press(t, ctx, button("save"))
		s := b.LastLogged(t)
		if s.AnglerID != b.Angler.ID || *s.BeatID != *b.Session.BeatID || s.Stints[0].RigID != b.One.ID || *s.Stints[0].Minutes != 90 || s.Stints[0].Events[0].Count != 3 {
			t.Errorf("stored %s", webtest.InJSON(s))
		}
		for _, path := range []string{"/live", "/after", "/waiting"} {
			do(t, ctx, chromedp.Navigate(b.URL+path), chromedp.WaitVisible(chromedp.CSS(`main noscript`)))
		}
	}
}

// The logging pages in each of their states fit a narrow phone, and every target
// is as large as a thumb.
func TestBrowserLoggingTargets(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	for _, on := range []screen{{320, 640, true}, phone, laptop} {
		h := &thumb{t: t, ctx: openBrowser(t, on, on.touch), on: on}
		check := func(state string) {
			t.Helper()
			list, err := chromedp.Run(h.ctx, chromedp.Evaluate[[]string](small))
			if err != nil {
				t.Fatal(err)
			}
			for _, what := range list {
				t.Errorf("%s at %d px: %s", state, on.width, what)
			}
		}
		h.open(b.URL + "/")
		check("Today")
		h.tap(`button[value="live"]`)
		h.fishing()
		for _, key := range []string{"landed", "broke-off", "foul", "snag", "check", "twist", "fly-change", "re-tie"} {
			h.tap(kind(key))
			check("live, " + key)
		}
		h.tap(`#conditions-open`)
		check("conditions")
		h.tap(`#conditions-dialog [data-close]`)
		h.tap(`#counts-open`)
		h.tap(padKind("tangles"))
		h.tap(padKind("lost"))
		check("what is counted")
		h.tap(`#counts [data-close]`)
		h.sees("Not counted in the whole of this stint: fish lost and tangles.")
		check("live, some of it not counted")
		h.tap(`#end-open`)
		check("end")
		h.tap(`#end-details`)
		h.wait(`document.querySelector("#after:not([hidden])")`)
		do(t, h.ctx, chromedp.Evaluate[chromedp.Void](`for (const d of document.querySelectorAll("details")) d.open = true; 0`))
		check("looked over")
		h.open(b.URL + "/waiting")
		h.sees("Started, not finished")
		check("waiting")
		h.open(b.URL + "/offline")
		check("offline")
	}
}
