package browsertest

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

const crossedAddress = "/findings?outcome=tangles&by=junction&by=bulk"

// ground returns the colour of the cell that a number stands on, and the number's own.
func ground(ctx context.Context, t *testing.T, text string) (cell, ink string) {
	t.Helper()
	x, y := word(ctx, t, text)
	got, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](fmt.Sprintf(`(() => {
		const all = document.elementsFromPoint(%g, %g);
		const solid = (e) => !["none", ""].includes(e.getAttribute("fill") || "");
		const cell = all.find((e) => e.tagName === "path" && solid(e));
		const canvas = Object.assign(document.createElement("canvas"), { width: 1, height: 1 }).getContext("2d");
		const shown = (e) => { canvas.fillStyle = getComputedStyle(e).fill; canvas.fillRect(0, 0, 1, 1); return "rgb(" + [...canvas.getImageData(0, 0, 1, 1).data].slice(0, 3).join(",") + ")"; };
		const number = [...document.querySelectorAll(".chart-box svg text")].find((e) => e.textContent === %q);
		return [shown(cell), shown(number)];
	})()`, x, y+3, text)))
	if err != nil {
		t.Fatal(err)
	}
	return colourHex(t, got[0]), colourHex(t, got[1])
}

func colourHex(t *testing.T, text string) string {
	t.Helper()
	if hex, ok := strings.CutPrefix(text, "#"); ok {
		return hex
	}
	var r, g, b int
	if _, err := fmt.Sscanf(text, "rgb(%d,%d,%d)", &r, &g, &b); err != nil {
		t.Fatalf("colour %q: %v", text, err)
	}
	return fmt.Sprintf("%02x%02x%02x", r, g, b)
}

// The numbers in the cells can be read (WCAG 2.2, 1.4.3) in both schemes.
func TestHeatMapIsLegible(t *testing.T) {
	t.Parallel()
	s := chartSite(t)
	for _, dark := range []bool{false, true} {
		ctx := openBrowser(t, phone, dark)
		on(ctx, t, chromedp.Navigate(s.URL+crossedAddress))
		for _, number := range []string{"2.00", "0.50"} {
			cell, ink := ground(ctx, t, number)
			if c := contrast(cell, ink); c < 4.5 {
				t.Errorf("dark %v: %s is written in #%s on #%s, %.2f:1", dark, number, ink, cell, c)
			}
		}
		narrow, err := chromedp.Run(ctx, chromedp.Evaluate[bool](`document.documentElement.scrollWidth <= 390`))
		if err != nil || !narrow {
			t.Errorf("the page is wider than the phone (%v)", err)
		}
	}
}

// A cell tells its numbers under the pointer, leads to its pair by a click, and
// Back returns.
func TestHeatMapWithAMouse(t *testing.T) {
	t.Parallel()
	s := chartSite(t)
	ctx := openBrowser(t, laptop, false)
	on(ctx, t, chromedp.Navigate(s.URL+crossedAddress))
	x, y := word(ctx, t, "0.50")
	on(ctx, t, chromedp.MouseEvent(input.DispatchMouseEventTypeMouseMoved, x, y))
	readCard(ctx, t)
	on(ctx, t, chromedp.MouseClickXY(x, y))
	waitFor(ctx, t, "the click narrows", `location.search.includes("where=junction=blood&where=bulk=legged")`)
	if _, err := chromedp.Run(ctx, chromedp.Evaluate[any](`history.back()`)); err != nil {
		t.Fatal(err)
	}
	waitFor(ctx, t, "Back returns to the question", fmt.Sprintf("location.href === %q", s.URL+crossedAddress))
}

func TestHeatMapAsBarsAndBack(t *testing.T) {
	t.Parallel()
	s := chartSite(t)
	ctx := openBrowser(t, laptop, false)
	on(ctx, t, chromedp.Navigate(s.URL+crossedAddress))
	on(ctx, t, chromedp.Click(fmt.Sprintf(`a[href=%q]`, crossedAddress+"&as=bars")))
	waitFor(ctx, t, "bars in its place", `location.search.endsWith("&as=bars") && document.querySelectorAll(".chart-box svg text").length > 3`)
	on(ctx, t, chromedp.Click(fmt.Sprintf(`a[href=%q]`, crossedAddress)))
	waitFor(ctx, t, "the heat map again", fmt.Sprintf("location.href === %q", s.URL+crossedAddress))
}

// The arrow keys step from cell to cell, Enter narrows; what a step tells is
// announced, and the table has the same as links.
func TestHeatMapByKeyboard(t *testing.T) {
	t.Parallel()
	s := chartSite(t)
	ctx := openBrowser(t, laptop, false)
	on(ctx, t, chromedp.Navigate(s.URL+crossedAddress))
	word(ctx, t, "0.50")
	on(ctx, t, chromedp.Focus(".chart-box"))
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
