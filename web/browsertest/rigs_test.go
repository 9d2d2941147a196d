package browsertest

import (
	"context"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"rigtally/web/webtest"
)

// drawnTags lists the lengths of the tags in the large drawing, in mm.
const drawnTags = `[...document.querySelectorAll(".rig-sheet .rig-near .rig-tag[data-mm]")].map(e => e.dataset.mm).join(" ")`

func text(t *testing.T, ctx context.Context, js string) string {
	t.Helper()
	got, err := chromedp.Run(ctx, chromedp.Evaluate[string](js))
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// typeOver empties a field and types into it.
func typeOver(t *testing.T, ctx context.Context, name, keys string) {
	t.Helper()
	text(t, ctx, `document.getElementsByName("`+name+`")[0].value = ""`)
	do(t, ctx, chromedp.SendKeys(named(name), keys))
}

// until waits for what a script says.
func until(t *testing.T, ctx context.Context, js, want string) {
	t.Helper()
	got := ""
	for begin := time.Now(); time.Since(begin) < patience; time.Sleep(50 * time.Millisecond) {
		if got = text(t, ctx, js); got == want {
			return
		}
	}
	t.Fatalf("%s is %q, want %q", js, got, want)
}

// The drawing follows the typing, on a phone and on a desktop, without a page
// being loaded, and so do the rules and the budget.
func TestBrowserDrawsWhileTyping(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	for name, on := range map[string]screen{"phone": phone, "desktop": laptop} {
		ctx := openPlain(t, on, name == "desktop")
		do(t, ctx, chromedp.Navigate(b.URL+"/rigs/"+b.One.ID.String()+"/edit"))
		until(t, ctx, drawnTags, "165.1")
		text(t, ctx, `document.body.dataset.same = "yes"`)
		before := text(t, ctx, `document.querySelector(".rig-sheet .rig-tag[data-mm]").getAttribute("d")`)
		typeOver(t, ctx, "fly.1.tag", "120 mm")
		until(t, ctx, drawnTags, "120")
		if text(t, ctx, `document.querySelector(".rig-sheet .rig-tag[data-mm]").getAttribute("d")`) == before {
			t.Errorf("%s: the tag is drawn as before", name)
		}
		if got := text(t, ctx, `document.activeElement.name + " " + document.activeElement.value`); got != "fly.1.tag 120 mm" {
			t.Errorf("%s: the drawing took the typing away: %q", name, got)
		}
		if !strings.Contains(text(t, ctx, `document.querySelector("[data-seen=seen]").textContent`), "120 mm") && !strings.Contains(text(t, ctx, `document.querySelector("[data-seen=seen]").textContent`), "4.72 in") {
			t.Errorf("%s: the budget does not follow", name)
		}
		typeOver(t, ctx, "fly.1.distance", "300 mm")
		until(t, ctx, `String(document.querySelectorAll(".rule-breaks").length)`, "1")
		if text(t, ctx, `document.body.dataset.same`) != "yes" {
			t.Errorf("%s: the page was loaded anew", name)
		}
		if list, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](small)); err != nil || len(list) > 0 {
			t.Errorf("%s: %v, %v", name, list, err)
		}
	}
}

// Choosing a method fills in what is usual and leaves what was typed.
func TestBrowserFillsInWhatIsUsual(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	ctx := openPlain(t, phone, false)
	do(t, ctx, chromedp.Navigate(b.URL+"/rigs/new"), chromedp.SendKeys(named("fly.1.tag"), "130 mm"))
	until(t, ctx, drawnTags, "130")
	do(t, ctx, chromedp.Focus(named("method")), chromedp.KeyEvent("t")) // tight-line nymph, by its letter
	until(t, ctx, `document.querySelector('[name="fly.1.junction"]').value`, "figure-eight")
	until(t, ctx, `document.activeElement.name`, "method")
	if got := text(t, ctx, `document.querySelector('[name="fly.1.tag"]').value`); got != "130 mm" {
		t.Errorf("the tag that was typed became %q", got)
	}
	do(t, ctx, chromedp.Click(button("add")))
	until(t, ctx, `String(document.querySelectorAll(".builder-form fieldset[id]").length)`, "3")
	until(t, ctx, `document.activeElement.name`, "fly.2.tag")
	until(t, ctx, `String(document.querySelectorAll(".rig-sheet .rig-near .rig-junction").length)`, "2")
}

// A copy is two taps from the list and from the rig: Copy, Save.
func TestBrowserCopiesInTwoTaps(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	ctx := openPlain(t, phone, false)
	taps := 0
	tap := func(sel chromedp.CSS) {
		t.Helper()
		taps++
		press(t, ctx, sel)
	}
	for _, from := range []string{"/rigs", "/rigs/" + b.One.ID.String()} {
		taps = 0
		do(t, ctx, chromedp.Navigate(b.URL+from))
		tap(chromedp.CSS(`main a[href="/rigs/` + b.One.ID.String() + `/copy"]`))
		tap(chromedp.CSS(`.rig-copied button`))
		if where := text(t, ctx, `location.href`); taps != 2 || !strings.Contains(where, "done=rig-saved") {
			t.Errorf("from %s: %d taps, at %s", from, taps, where)
		}
	}
	for _, name := range []string{"Blood 165, copy", "Blood 165, copy 2"} {
		if _, err := b.Store.LatestRig(t.Context(), name); err != nil {
			t.Error(err)
		}
	}
}

// With the keyboard alone: tab to the tag, type, choose its facing, save.
func TestBrowserBuildsByKeyboard(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	ctx := openPlain(t, laptop, false)
	do(t, ctx, chromedp.Navigate(b.URL+"/rigs/new"))
	reach := func(js, want string) {
		t.Helper()
		for range 60 {
			if text(t, ctx, js) == want {
				return
			}
			do(t, ctx, chromedp.KeyEvent(kb.Tab))
		}
		t.Fatalf("Tab does not reach %s", want)
	}
	focus := `document.activeElement.name || ""`
	reach(focus, "name")
	do(t, ctx, chromedp.KeyEvent("By keys"))
	reach(focus, "fly.1.tag")
	do(t, ctx, chromedp.KeyEvent("150 mm"))
	until(t, ctx, drawnTags, "150")
	reach(focus, "fly.1.facing")
	do(t, ctx, chromedp.KeyEvent("u")) // up
	until(t, ctx, `document.querySelector('[name="fly.1.facing"]').value`, "up")
	reach(`document.activeElement.value || ""`, "save")
	do(t, ctx, chromedp.KeyEvent(kb.Enter))
	until(t, ctx, `String(location.search.includes("rig-saved"))`, "true")
	rig, err := b.Store.LatestRig(t.Context(), "By keys")
	if err != nil || *rig.Positions[1].TagLengthMM != 150 || rig.Positions[1].Facing != "up" {
		t.Errorf("stored %+v, %v", rig, err)
	}
}

// Without script a button draws, fills in and adds.
func TestBrowserBuildsWithoutScript(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	ctx := openPlain(t, phone, true)
	if _, err := chromedp.Call(ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true}); err != nil {
		t.Fatal(err)
	}
	do(t, ctx, chromedp.Navigate(b.URL+"/rigs/new"), chromedp.SendKeys(named("name"), "No script"), chromedp.SendKeys(named("fly.1.tag"), "140 mm"))
	press(t, ctx, button("draw"))
	until(t, ctx, drawnTags, "140")
	do(t, ctx, chromedp.SetValue(named("method"), "wet"))
	press(t, ctx, button("usual"))
	press(t, ctx, button("add"))
	until(t, ctx, `String(document.querySelectorAll(".rig-sheet .rig-near .rig-junction").length)`, "2")
	press(t, ctx, chromedp.CSS(`.save-bar button`))
	rig, err := b.Store.LatestRig(t.Context(), "No script")
	if err != nil || len(rig.Positions) != 3 || *rig.Positions[1].TagLengthMM != 140 || rig.LeaderLengthMM == nil {
		t.Errorf("stored %+v, %v", rig, err)
	}
}

// When the server can't be reached the old drawing stays, marked, with the
// button to try again.
func TestBrowserSaysWhenTheDrawingIsBehind(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	ctx := openPlain(t, laptop, false)
	do(t, ctx, chromedp.Navigate(b.URL+"/rigs/"+b.One.ID.String()+"/edit"))
	until(t, ctx, drawnTags, "165.1")
	text(t, ctx, `window.fetch = () => Promise.reject(new TypeError("no signal")), "off"`)
	do(t, ctx, chromedp.SendKeys(named("fly.1.tag"), "0"))
	until(t, ctx, `String(document.querySelector("form").classList.contains("drawing-behind"))`, "true")
	until(t, ctx, `String(document.querySelector(".draw-it").hidden)`, "false")
	until(t, ctx, drawnTags, "165.1")
}
