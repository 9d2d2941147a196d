package browsertest

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"rigtally/web/webtest"
)

// chartSite serves the tests' season.
func chartSite(t *testing.T) *webtest.Site {
	t.Helper()
	s := webtest.New(t)
	s.Fish()
	return s
}

// on runs steps and fails the test when one does.
func on(ctx context.Context, t *testing.T, steps ...chromedp.Action[chromedp.Void]) {
	t.Helper()
	do(t, ctx, steps...)
}

// waitFor waits until an expression is true in the page, which may be another
// page by then, and fails with its name.
func waitFor(ctx context.Context, t *testing.T, what, expression string) {
	t.Helper()
	var err error
	for begin := time.Now(); time.Since(begin) < patience; time.Sleep(50 * time.Millisecond) {
		var ok bool
		if ok, err = chromedp.Run(ctx, chromedp.Evaluate[bool](expression)); err == nil && ok {
			return
		}
	}
	t.Fatalf("not seen within %v: %s (%v)", patience, what, err)
}

// word finds a text that the chart drew and returns its middle in the window, once it stands still: what
// loads late may move it.
func word(ctx context.Context, t *testing.T, text string) (x, y float64) {
	t.Helper()
	find := fmt.Sprintf(`[...document.querySelectorAll(".chart-frame text, .chart-frame tspan")].find((e) => e.textContent === %q && e.checkVisibility())`, text)
	waitFor(ctx, t, "the chart writes "+text, settled+" && Boolean("+find+")")
	still := fmt.Sprintf(`(async () => {
		await document.fonts.ready;
		const frame = () => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
		let before;
		for (let same = 0; same < 5; ) {
			const e = %s;
			if (!e) { await frame(); same = 0; continue; }
			e.scrollIntoView({ block: "center" });
			await frame();
			const r = e.getBoundingClientRect();
			const at = [r.x + r.width / 2, r.y + r.height / 2];
			same = before && at[0] === before[0] && at[1] === before[1] ? same + 1 : 0;
			before = at;
		}
		return before;
	})()`, find)
	at, err := chromedp.Run(ctx, chromedp.Evaluate[[]float64](still, chromedp.EvalAwaitPromise))
	if err != nil {
		t.Fatal(err)
	}
	return at[0], at[1]
}

func location(ctx context.Context, t *testing.T) string {
	t.Helper()
	at, err := chromedp.Run(ctx, chromedp.Location())
	if err != nil {
		t.Fatal(err)
	}
	return at
}

// The card beside a mark has the season's sums for blood: 3 tangles in 12 h.
func readCard(ctx context.Context, t *testing.T) {
	t.Helper()
	waitFor(ctx, t, "the card appears", `document.querySelector(".chart-card")?.checkVisibility() === true`)
	card, err := chromedp.Run(ctx, chromedp.Evaluate[string](`document.querySelector(".chart-card").textContent`))
	if err != nil {
		t.Fatal(err)
	}
	for _, part := range []string{"blood", "Tangles3", "Hours12", "95% interval"} {
		if !strings.Contains(card, part) {
			t.Errorf("the card says %q, without %q", card, part)
		}
	}
}

const narrowed = "/findings?outcome=tangles&by=tag-length:1in&where=junction=blood"

func TestChartWithAMouse(t *testing.T) {
	t.Parallel()
	s := chartSite(t)
	ctx := openPlain(t, laptop, false)
	asked := s.URL + "/findings?outcome=tangles&by=junction"
	on(ctx, t, chromedp.Navigate(asked))
	x, y := word(ctx, t, "0.50")
	on(ctx, t, chromedp.MouseEvent(input.DispatchMouseEventTypeMouseMoved, x, y+12))
	readCard(ctx, t)
	on(ctx, t, chromedp.MouseClickXY(x, y+12))
	waitFor(ctx, t, "the click narrows", `location.search.includes("where=")`)
	if at := location(ctx, t); at != s.URL+narrowed {
		t.Errorf("the click led to %s, want %s", at, s.URL+narrowed)
	}
	waitFor(ctx, t, "the narrowed question is answered", `document.querySelector(".finding .lead")?.textContent.includes("6–7 in") === true`)
	if _, err := chromedp.Run(ctx, chromedp.Evaluate[any](`setTimeout(() => history.back()), 0`)); err != nil {
		t.Fatal(err)
	}
	waitFor(ctx, t, "Back returns to the question", fmt.Sprintf("location.href === %q", asked))
	word(ctx, t, "0.50")
}

// A finger sees the numbers first, and narrows by the link among them.
func TestChartWithAFinger(t *testing.T) {
	t.Parallel()
	s := chartSite(t)
	ctx := openPlain(t, phone, true)
	on(ctx, t, chromedp.Navigate(s.URL+"/findings?outcome=tangles&by=junction"))
	x, y := word(ctx, t, "0.50")
	on(ctx, t, chromedp.TapXY(x, y+12))
	readCard(ctx, t)
	if at := location(ctx, t); strings.Contains(at, "where=") {
		t.Fatalf("the first tap already led to %s", at)
	}
	on(ctx, t, chromedp.Click(".chart-card a"))
	waitFor(ctx, t, "the link narrows", `location.search.includes("where=")`)
	if at := location(ctx, t); at != s.URL+narrowed {
		t.Errorf("the link led to %s, want %s", at, s.URL+narrowed)
	}
}

// No page is wider than the screen, whatever stands on it.
func TestAnswersFitTheScreen(t *testing.T) {
	t.Parallel()
	s := chartSite(t)
	for _, size := range []screen{phone, laptop} {
		ctx := openPlain(t, size, false)
		for _, path := range []string{"/findings", "/findings?by=junction&by=bulk", "/tag-length", "/tag-length?bands=each"} {
			on(ctx, t, chromedp.Navigate(s.URL+path), chromedp.WaitVisible(".finding"))
			waitFor(ctx, t, "the chart of "+path, `document.querySelectorAll(".chart-frame path, .chart-frame rect").length > 3`)
			wide, err := chromedp.Run(ctx, chromedp.Evaluate[float64](`document.documentElement.scrollWidth`))
			if err != nil {
				t.Fatal(err)
			}
			if int64(wide) > size.width {
				t.Errorf("%s is %g px wide on a screen of %d", path, wide, size.width)
			}
		}
	}
}

// The drawing is one picture with a sentence, and its numbers can be reached
// by keyboard as links of the table.
func TestChartIsDescribed(t *testing.T) {
	t.Parallel()
	s := chartSite(t)
	ctx := openPlain(t, laptop, false)
	on(ctx, t, chromedp.Navigate(s.URL+"/tag-length"))
	label, err := chromedp.Run(ctx, chromedp.Evaluate[string](`document.querySelector('.drawn[role="img"]').getAttribute("aria-label")`))
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(label, "Chart of Tangles by tag length") {
		t.Errorf("the chart is described as %q", label)
	}
	links, err := chromedp.Run(ctx, chromedp.Evaluate[float64](`document.querySelectorAll('.numbers th[scope="row"] a[href^="/findings"]').length`))
	if err != nil || links < 2 {
		t.Errorf("%g links in the table (%v), want one for each band", links, err)
	}
}
