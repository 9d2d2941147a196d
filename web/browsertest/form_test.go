package browsertest

import (
	"context"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"rigtally/journal"
	"rigtally/web/webtest"
)

// named selects a field of a form.
func named(name string) chromedp.CSS { return chromedp.CSS(`[name="` + name + `"]`) }

func button(do string) chromedp.CSS { return chromedp.CSS(`button[value="` + do + `"]:not(.unseen)`) }

// pressing clicks and waits for the page that follows.
func pressing(sel chromedp.CSS) chromedp.Action[page.EventLoadEventFired] {
	return chromedp.WaitEvent(page.LoadEventFired, nil, chromedp.Click(sel))
}

func do(t *testing.T, ctx context.Context, steps ...chromedp.Action[chromedp.Void]) {
	t.Helper()
	soon, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	if err := chromedp.Do(soon, steps...); err != nil {
		t.Fatal(err)
	}
}

func press(t *testing.T, ctx context.Context, sel chromedp.CSS) {
	t.Helper()
	if _, err := chromedp.Run(ctx, pressing(sel)); err != nil {
		t.Fatalf("press %s: %v", sel, err)
	}
}

func TestBrowserLogsTwoStints(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	ctx := openPlain(t, phone, false)
	h := &thumb{t: t, ctx: ctx, on: phone}
	h.open(b.URL + "/")
	h.tap(`main a[href="/log"]`)
	h.wait(`location.pathname === "/log" && document.readyState === "complete"`)
	more := func(name string) chromedp.Action[chromedp.Void] {
		return chromedp.Click(chromedp.CSS(`[name="` + name + `"] + .step`))
	}
	// Choosing another rig shows its flies by itself.
	chooseRig := func(name string, rig journal.Rig) {
		t.Helper()
		_, err := chromedp.Run(ctx, chromedp.WaitEvent(page.LoadEventFired, nil, chromedp.Evaluate[chromedp.Void](
			`{ const rig = document.querySelector('[name="`+name+`"]'); rig.value = "`+rig.ID.String()+`"; rig.dispatchEvent(new Event("change")); 0 }`)))
		if err != nil {
			t.Fatal(err)
		}
	}
	chooseRig("stint.0.rig", b.One)
	do(t, ctx,
		chromedp.SendKeys(named("stint.0.minutes"), "1h30"),
		more("stint.0.at.all.landed"), more("stint.0.at.all.landed"), more("stint.0.at.all.twist"),
		chromedp.Click(chromedp.CSS(`.counter:has([name="stint.0.at.all.landed"]) .step`)), // one less
	)
	press(t, ctx, button("add"))
	chooseRig("stint.1.rig", b.Two)
	do(t, ctx, chromedp.SendKeys(named("stint.1.minutes"), "45"), chromedp.Click(chromedp.CSS(`#stint-2 > details:nth-last-of-type(2) > summary`)), more("stint.1.at.2.foul"))
	press(t, ctx, button("save"))
	where, err := chromedp.Run(ctx, chromedp.Location())
	if err != nil || !strings.Contains(where, "done=logged") {
		t.Fatalf("after saving: %s, %v", where, err)
	}
	s := b.LastLogged(t)
	if len(s.Stints) != 2 || *s.Stints[0].Minutes != 90 || *s.Stints[1].Minutes != 45 || s.Stints[1].RigID != b.Two.ID {
		t.Fatalf("stored %+v", s.Stints)
	}
	second := s.Stints[1].Events
	if !slices.Equal(eventsOf(s.Stints[0]), []string{"1 hookup, landed", "1 twist"}) || !slices.Equal(eventsOf(s.Stints[1]), []string{"1 foul hookup, end not noted"}) || second[0].Position == nil || *second[0].Position != 2 {
		t.Errorf("stored %+v", s.Stints)
	}
}

func TestBrowserLogsWithoutScript(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	ctx := openPlain(t, phone, true)
	if _, err := chromedp.Call(ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true}); err != nil {
		t.Fatal(err)
	}
	do(t, ctx, chromedp.Navigate(b.URL+"/log"),
		chromedp.SetValue(named("stint.0.rig"), b.One.ID.String()),
		chromedp.SendKeys(named("stint.0.minutes"), "30"),
		chromedp.SendKeys(named("stint.0.at.all.nest"), "2"))
	press(t, ctx, button("add"))
	do(t, ctx, chromedp.SetValue(named("stint.1.rig"), b.Two.ID.String()))
	press(t, ctx, chromedp.CSS(`#stint-2 [data-refresh]`))
	do(t, ctx, chromedp.SendKeys(named("stint.1.minutes"), "20"), chromedp.SendKeys(named("stint.1.at.all.landed"), "3"))
	press(t, ctx, button("save"))
	s := b.LastLogged(t)
	if len(s.Stints) != 2 || *s.Stints[0].Minutes != 30 || !slices.Equal(eventsOf(s.Stints[0]), []string{"2 nest"}) || !slices.Equal(eventsOf(s.Stints[1]), []string{"3 hookup, landed"}) {
		t.Errorf("stored %+v", s.Stints)
	}
}

// small lists what a thumb would miss: targets under 44 px (WCAG 2.2, 2.5.5),
// links within a sentence aside, and whether the page is wider than the screen (1.4.10).
const small = `(() => {
	const list = [];
	if (document.documentElement.scrollWidth > innerWidth) list.push("the page is " + document.documentElement.scrollWidth + " px wide");
	for (const e of document.querySelectorAll("a, button, input:not([type=hidden]), select, textarea, summary")) {
		const r = ((e.type === "checkbox" || e.type === "radio") ? e.closest("label") : e).getBoundingClientRect();
		if (r.width === 0 || e.matches(".unseen, .skip") || getComputedStyle(e).display === "inline") continue;
		if (r.height < 44 || r.width < 44) list.push(e.outerHTML.slice(0, 90) + " is " + r.width + " by " + r.height);
		if (r.right > innerWidth + 1 && !e.closest(".within, .scroll")) list.push(e.outerHTML.slice(0, 90) + " is off the screen");
	}
	return list;
})()`

// crowded lists what the smallest screen or large letters (1.4.4, 1.4.10) leave no room for: a table that scrolls
// sideways, and words that lie on other words.
const crowded = `(() => {
	const list = [], words = [];
	for (const e of document.querySelectorAll(".scroll")) if (e.scrollWidth > e.clientWidth) list.push(e.ariaLabel + " scrolls sideways, " + e.scrollWidth + " px in " + e.clientWidth);
	for (const walk = document.createTreeWalker(document.querySelector("main"), NodeFilter.SHOW_TEXT), range = document.createRange(); walk.nextNode();) {
		const text = walk.currentNode, e = text.parentElement; // words that are clipped, or lie above the page as it is scrolled, do not count
		if (!text.data.trim() || !e.checkVisibility() || e.closest(".unseen, caption, thead, option, .rig-called, .save-bar, .builder-strip")) continue;
		range.selectNodeContents(text);
		for (const r of range.getClientRects()) words.push({ text, r });
	}
	words.sort((a, b) => a.r.top - b.r.top).forEach((a, i) => {
		for (let b; (b = words[++i])?.r.top < a.r.bottom;) {
			if (a.text !== b.text && Math.min(a.r.right, b.r.right) - Math.max(a.r.left, b.r.left) > 2 && Math.min(a.r.bottom, b.r.bottom) - b.r.top > Math.min(a.r.height, b.r.height) / 3) list.push(a.text.data.trim() + " lies on " + b.text.data.trim());
		}
	});
	return list;
})()`
