package browsertest

import (
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"rigtally/journal"
	"rigtally/journal/demo"
	"rigtally/web/webtest"
)

// choosing sets a select as a person does, and waits for the page that follows.
func choosing(t *testing.T, value string) chromedp.Action[page.EventLoadEventFired] {
	t.Helper()
	return chromedp.WaitEvent(page.LoadEventFired, nil, chromedp.Evaluate[chromedp.Void](
		`{ const factor = document.getElementById("factor"); factor.value = "`+value+`"; factor.dispatchEvent(new Event("change")); 0 }`))
}

// A claim is added, found on the board and retired, by thumb and by mouse.
func TestBrowserAddsAndRetiresAClaim(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name string
		on   screen
		dark bool
	}{{"phone", phone, true}, {"desktop", laptop, false}} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			b := webtest.NewBook(t)
			ctx := openPlain(t, tt.on, tt.dark)
			do(t, ctx, chromedp.Navigate(b.URL+"/claims"))
			press(t, ctx, `main a[href="/claims/new"]`)
			do(t, ctx, chromedp.SendKeys(named("words"), "Slip loops tangle more"), chromedp.SetValue(named("outcome"), "tangles"))
			if _, err := chromedp.Run(ctx, choosing(t, "junction")); err != nil {
				t.Fatal(err)
			}
			do(t, ctx, chromedp.Click(chromedp.CSS(`[name="level"][value="slip loop"]`)), chromedp.Click(chromedp.CSS(`[name="versus"][value="blood"]`)),
				chromedp.Click(chromedp.CSS(`[name="versus"][value="figure-eight"]`)))
			press(t, ctx, button("save"))
			list := b.Claims(t)
			c := list[len(list)-1]
			if c.Words != "Slip loops tangle more" || !slices.Equal(c.Level, []string{"slip loop"}) || !slices.Equal(c.Versus, []string{"figure-eight", "blood"}) || c.Given != nil {
				t.Fatalf("stored %+v", c)
			}
			press(t, ctx, chromedp.CSS(`main a[href="/claims/`+c.ID.String()+`"]`))
			press(t, ctx, chromedp.CSS(`form[action$="/retire"] button`))
			where, err := chromedp.Run(ctx, chromedp.Location())
			if err != nil || !strings.Contains(where, "done=claim-retired") {
				t.Fatalf("after retiring: %s, %v", where, err)
			}
			if c, err := b.Store.ClaimByID(t.Context(), c.ID); err != nil || !c.Retired() {
				t.Errorf("stored %+v, %v", c, err)
			}
		})
	}
}

// tabsInOneRow lists entries of the navigation that stand beside the others'
// row, or whose text is cut.
const tabsInOneRow = `(() => {
	const tabs = [...document.querySelectorAll(".tabs a")];
	const top = tabs[0].getBoundingClientRect().top;
	return tabs.filter((e) => e.getBoundingClientRect().top !== top || e.scrollWidth > e.clientWidth || e.getBoundingClientRect().right > innerWidth).map((e) => e.textContent);
})()`

// The board with its charts, and the form with its words, fit small screens,
// and so does the navigation.
func TestBrowserClaimsFitASmallScreen(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	if err := demo.Load(t.Context(), b.Store, demo.Generate(demo.Seed, 60)); err != nil {
		t.Fatal(err)
	}
	long := journal.Claim{ID: webtest.NewID(t), Words: strings.Repeat("Honestlynobodybelievesthis", 6), Outcome: "junction-break", Factor: "beat", Direction: journal.More, Level: []string{"Alder Brook, Mill Run"}, Versus: []string{strings.Repeat("x", 100)}}
	if _, err := b.Store.SaveClaim(t.Context(), long); err != nil {
		t.Fatal(err)
	}
	for _, width := range []int64{320, 390} {
		ctx := openPlain(t, screen{width, 640, true}, width == 320)
		for _, path := range []string{"/claims", "/claims/new", "/claims/" + long.ID.String(), "/claims/" + journal.StartingClaims()[2].ID.String()} {
			do(t, ctx, chromedp.Navigate(b.URL+path), chromedp.Evaluate[chromedp.Void](`for (const d of document.querySelectorAll("details")) d.open = true; 0`))
			for _, check := range []string{small, tabsInOneRow} {
				list, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](check))
				if err != nil {
					t.Fatal(err)
				}
				for _, what := range list {
					t.Errorf("%d px, %s: %s", width, path, what)
				}
			}
		}
	}
}
