package browsertest

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

const crossedAddress = "/findings?outcome=tangles&by=junction&by=bulk"

// A cell tells its numbers under the pointer, leads to its pair by a click, and
// Back returns.
func TestHeatMapWithAMouse(t *testing.T) {
	t.Parallel()
	s := chartSite(t)
	ctx := openPlain(t, laptop, false)
	on(ctx, t, chromedp.Navigate(s.URL+crossedAddress))
	x, y := word(ctx, t, "0.50")
	on(ctx, t, chromedp.MouseEvent(input.DispatchMouseEventTypeMouseMoved, x, y))
	readCard(ctx, t)
	on(ctx, t, chromedp.MouseClickXY(x, y))
	waitFor(ctx, t, "the click narrows", `location.search.includes("where=junction=blood&where=bulk=legged")`)
	if _, err := chromedp.Run(ctx, chromedp.Evaluate[any](`setTimeout(() => history.back()), 0`)); err != nil {
		t.Fatal(err)
	}
	waitFor(ctx, t, "Back returns to the question", fmt.Sprintf("location.href === %q", s.URL+crossedAddress))
}

func TestHeatMapAsBarsAndBack(t *testing.T) {
	t.Parallel()
	s := chartSite(t)
	ctx := openPlain(t, laptop, false)
	on(ctx, t, chromedp.Navigate(s.URL+crossedAddress))
	on(ctx, t, chromedp.Click(fmt.Sprintf(`a[href=%q]`, crossedAddress+"&as=bars")))
	waitFor(ctx, t, "bars in its place", `location.search.endsWith("&as=bars") && document.querySelectorAll(".chart-frame text").length > 3`)
	on(ctx, t, chromedp.Click(fmt.Sprintf(`a[href=%q]`, crossedAddress)))
	waitFor(ctx, t, "the heat map again", fmt.Sprintf("location.href === %q", s.URL+crossedAddress))
}

// The arrow keys step from cell to cell, Enter narrows; what a step tells is
// announced, and the table has the same as links.
func TestHeatMapByKeyboard(t *testing.T) {
	t.Parallel()
	s := chartSite(t)
	ctx := openPlain(t, laptop, false)
	on(ctx, t, chromedp.Navigate(s.URL+crossedAddress))
	word(ctx, t, "0.50")
	on(ctx, t, chromedp.Focus(".drawn"))
	told := func() string {
		text, err := chromedp.Run(ctx, chromedp.Evaluate[string](`document.querySelector("figure.chart > p.unseen[role=status]").textContent`))
		if err != nil {
			t.Fatal(err)
		}
		return text
	}
	for _, step := range []struct{ key, says string }{{kb.ArrowDown, "figure-eight, slim: "}, {kb.ArrowDown, "double surgeon's, slim: "}, {kb.ArrowRight, "double surgeon's, slim: "}, {kb.ArrowUp, "figure-eight, slim: Per hour 0.500"}} {
		on(ctx, t, chromedp.KeyEvent(step.key))
		if got := told(); !strings.HasPrefix(got, strings.SplitN(step.says, ":", 2)[0]) {
			t.Errorf("after an arrow: %q, want %q", got, step.says)
		}
	}
	waitFor(ctx, t, "the card appears", `document.querySelector(".chart-card")?.checkVisibility() === true`)
	on(ctx, t, chromedp.KeyEvent(kb.Enter))
	waitFor(ctx, t, "Enter narrows", `location.search.includes("where=junction=figure-eight&where=bulk=slim")`)
}
