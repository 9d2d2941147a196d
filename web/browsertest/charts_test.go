package browsertest

import (
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"rigtally/web/webtest"
)

// collisions lists the words of drawings that lie on other words or off the screen.
const collisions = `(() => {
	const found = [];
	for (const drawn of document.querySelectorAll(".chart-frame > .drawn")) {
		const words = [...drawn.querySelectorAll("text")].filter((e) => e.checkVisibility() && e.textContent).map((e) => ({ e, r: e.getBoundingClientRect() }));
		for (const { e, r } of words) if (r.right > innerWidth + 1 || r.left < -1) found.push(e.textContent + " is off the screen");
		words.forEach((a, i) => words.slice(0, i).forEach((b) => {
			if (Math.min(a.r.right, b.r.right) - Math.max(a.r.left, b.r.left) > 2 && Math.min(a.r.bottom, b.r.bottom) - Math.max(a.r.top, b.r.top) > 4) found.push(a.e.textContent + " on " + b.e.textContent);
		}));
	}
	return found;
})()`

// Charts fit each screen, and no word lies on another: also on the smallest one, and with letters
// twice as large, which grow where there is room.
func TestChartsFitAndTheirWordsStandClear(t *testing.T) {
	t.Parallel()
	s := webtest.DemoSite(t)
	pages := []string{"/findings?outcome=tangles&by=junction&given=angler", "/findings?outcome=tangles&by=junction&by=bulk", "/tag-length", "/curve?outcome=tangles&given=angler", "/curve?outcome=hookups&over=temperature", "/planner", "/life", "/bench"}
	for _, size := range []screen{{320, 640, true}, laptop} {
		ctx := openPlain(t, size, false)
		for _, path := range pages {
			on(ctx, t, chromedp.Navigate(s.URL+path))
			waitFor(ctx, t, "the chart of "+path, settled+` && document.querySelectorAll(".chart-frame path, .chart-frame rect").length > 10`)
			for _, letters := range []string{"100%", "200%"} {
				got, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](`document.documentElement.style.fontSize = "`+letters+`"; `+collisions))
				if err != nil {
					t.Fatal(err)
				}
				if zoom := evaluated[float64](t, ctx, `Number(getComputedStyle(document.querySelector(".chart-frame > .drawn")).zoom)`); size == laptop && letters == "200%" && zoom < 1.5 {
					t.Errorf("%s: letters are twice as large, and the drawing %g times", path, zoom)
				}
				for _, what := range got {
					t.Errorf("%d px, letters of %s, %s: %s", size.width, letters, path, what)
				}
			}
		}
	}
	ctx := openPlain(t, laptop, false)
	on(ctx, t, chromedp.Navigate(s.URL+"/curve?outcome=tangles&given=angler"))
	waitFor(ctx, t, "the curve", settled)
	at, err := chromedp.Run(ctx, chromedp.Evaluate[[]float64](`(() => {
		const box = document.querySelector(".chart-frame");
		box.scrollIntoView({ block: "center" });
		const r = box.getBoundingClientRect();
		return [r.x + r.width / 2, r.y + 250];
	})()`))
	if err != nil {
		t.Fatal(err)
	}
	on(ctx, t, chromedp.MouseEvent(input.DispatchMouseEventTypeMouseMoved, at[0], at[1]))
	waitFor(ctx, t, "the card of a place on the curve", `document.querySelector(".chart-card")?.textContent.includes("Chance of the lowest") === true`)
}
