package browsertest

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"rigtally/web/webtest"
)

// The chart is drawn with its numbers below, on a phone and on a desktop, and nothing
// does sideways.
func TestBrowserShowsLives(t *testing.T) {
	t.Parallel()
	s := webtest.SmallSeason(t, 120)
	for _, size := range []screen{phone, laptop} {
		ctx := openPlain(t, size, size == laptop)
		on(ctx, t, chromedp.Navigate(s.URL+"/life"))
		word(ctx, t, "figure-eight")
		word(ctx, t, "Hours fished since it was tied")
		choosing := `const by = document.querySelector("#by"); by.value = "facing"; document.querySelector(".finding-ask .button-main").click(); 0`
		on(ctx, t, chromedp.Evaluate[chromedp.Void](choosing))
		waitFor(ctx, t, "the answer by facing", `location.search === "?by=facing&in=hours&where=" || location.search === "?by=facing"`)
		word(ctx, t, "down")
		list, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](small))
		if err != nil {
			t.Fatal(err)
		}
		for _, what := range list {
			t.Errorf("%d px: %s", size.width, what)
		}
	}
}

// With a thumb and with a mouse: the charts are drawn, a number is changed, the answer
// follows, and nothing does sideways.
func TestBrowserPlans(t *testing.T) {
	t.Parallel()
	s := webtest.SmallSeason(t, 60)
	for _, size := range []screen{phone, laptop} {
		ctx := openPlain(t, size, size == phone)
		on(ctx, t, chromedp.Navigate(s.URL+"/planner"))
		waitFor(ctx, t, "both charts", `document.querySelectorAll(".chart-frame > .drawn").length === 2`)
		word(ctx, t, "a minute more than the best")
		word(ctx, t, "Min/hour")
		before, err := chromedp.Run(ctx, chromedp.Evaluate[string](`document.querySelector(".card").textContent`))
		if err != nil {
			t.Fatal(err)
		}
		on(ctx, t, chromedp.SendKeys("#changes", "6"), chromedp.SendKeys("#retie-minutes", "15"), chromedp.Click(`.finding-ask .button-main`))
		waitFor(ctx, t, "the plan again", `location.search.includes("changes=6") && document.querySelector("#changes")?.value === "6" && document.readyState === "complete"`)
		after, err := chromedp.Run(ctx, chromedp.Evaluate[string](`document.querySelector(".card").textContent`))
		if err != nil {
			t.Fatal(err)
		}
		if before == after || !strings.Contains(after, " in") {
			t.Errorf("%q after %q", after, before)
		}
		list, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](small))
		if err != nil {
			t.Fatal(err)
		}
		for _, what := range list {
			t.Errorf("%d px: %s", size.width, what)
		}
	}
}
