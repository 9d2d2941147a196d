package browsertest

import (
	"os"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"rigtally/web/webtest"
)

func TestCorrectedChartsInABrowser(t *testing.T) {
	t.Parallel()
	if _, err := os.ReadFile("../static/vendor/echarts.js"); err != nil {
		t.Skip("the chart library is not built in, so charts are not tried: run make assets")
	}
	s := webtest.DemoSite(t)
	for _, size := range []screen{phone, laptop} {
		ctx := openBrowser(t, size, size == phone)
		for _, path := range []string{"/findings?outcome=tangles&by=junction&given=angler", "/curve?outcome=tangles&given=angler", "/curve?outcome=hookups&over=temperature"} {
			on(ctx, t, chromedp.Navigate(s.URL+path), chromedp.WaitVisible(".finding"))
			waitFor(ctx, t, "the chart of "+path, `document.querySelectorAll(".chart-box svg path, .chart-box svg rect").length > 10`)
			wide, err := chromedp.Run(ctx, chromedp.Evaluate[float64](`document.documentElement.scrollWidth`))
			if err != nil {
				t.Fatal(err)
			}
			if int64(wide) > size.width {
				t.Errorf("%s is %g px wide on a screen of %d", path, wide, size.width)
			}
		}
	}
	ctx := openBrowser(t, laptop, false)
	on(ctx, t, chromedp.Navigate(s.URL+"/curve?outcome=tangles&given=angler"))
	waitFor(ctx, t, "the curve", `document.querySelectorAll(".chart-box svg path").length > 10`)
	at, err := chromedp.Run(ctx, chromedp.Evaluate[[]float64](`(() => {
		const box = document.querySelector(".chart-box");
		box.scrollIntoView({ block: "center" });
		const r = box.getBoundingClientRect();
		return [r.x + r.width / 2, r.y + 150];
	})()`))
	if err != nil {
		t.Fatal(err)
	}
	on(ctx, t, chromedp.MouseEvent(input.DispatchMouseEventTypeMouseMoved, at[0], at[1]))
	waitFor(ctx, t, "the card of a place on the curve", `document.querySelector(".chart-card")?.textContent.includes("Chance of the lowest") === true`)
}
