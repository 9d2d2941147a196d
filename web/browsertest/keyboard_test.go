package browsertest

import (
	"context"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"rigtally/web/webtest"
)

// focusLook tells of what has the focus: whether it shows (an outline or a thick
// edge, WCAG 2.2, 2.4.7), whether nothing lies over its middle (2.4.11), and its place
// among all that can be reached.
const focusLook = `(() => {
	const e = document.activeElement;
	if (!e || e === document.body) return { what: "" };
	const style = getComputedStyle(e), r = e.getBoundingClientRect();
	const x = Math.min(innerWidth - 2, Math.max(1, r.left + r.width / 2)), y = Math.min(innerHeight - 2, Math.max(1, r.top + Math.min(r.height / 2, 20)));
	const over = document.elementFromPoint(x, y);
	e.dataset.reached = "yes";
	return {
		what: e.outerHTML.slice(0, 100),
		shows: style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2,
		hidden: !(over && (e.contains(over) || over.contains(e) || e.labels?.[0]?.contains(over))),
	};
})()`

// unreached lists what can be acted on but was not reached.
const unreached = `[...document.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex='0']")]
	.filter((e) => e.tabIndex >= 0 && !e.disabled && e.checkVisibility({ visibilityProperty: true }) && !e.dataset.reached).map((e) => e.outerHTML.slice(0, 100))`

type focused struct {
	What   string `json:"what"`
	Shows  bool   `json:"shows"`
	Hidden bool   `json:"hidden"`
}

// Everything that can be acted on is reached with the Tab key alone, shows that it
// is, and is not hidden behind the bar at the foot.
func TestBrowserReachesEverythingByKeyboard(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("going through all pages takes minutes")
	}
	b := webtest.NewBook(t)
	found, _ := webtest.Walk(b.Site)
	ctx := openBrowser(t, phone, false)
	for _, address := range found {
		if strings.Contains(address, *pagesAt) {
			reachAll(t, ctx, b.URL+address)
		}
	}
}

func reachAll(t *testing.T, ctx context.Context, address string) {
	t.Helper()
	do(t, ctx, chromedp.Navigate(address))
	atRest(t, ctx)
	for range 400 {
		do(t, ctx, chromedp.KeyEvent(kb.Tab))
		at, err := chromedp.Run(ctx, chromedp.Evaluate[focused](focusLook))
		if err != nil {
			t.Fatal(err)
		}
		if at.What == "" {
			break
		}
		if !at.Shows {
			t.Errorf("%s: the focus does not show on %s", address, at.What)
		}
		if at.Hidden {
			t.Errorf("%s: something lies over %s", address, at.What)
		}
	}
	list, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](unreached))
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range list {
		t.Errorf("%s: Tab does not reach %s", address, e)
	}
}
