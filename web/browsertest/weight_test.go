package browsertest

import (
	"context"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"rigtally/web/webtest"
)

// wire counts what a browser gets over the wire, in bytes: bodies as they were
// sent, and their headers.
type wire struct {
	mu    sync.Mutex
	bytes float64
	files int
}

func (w *wire) total() (kB float64, files int) {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.bytes / 1000, w.files
}

func weigh(ctx context.Context, t *testing.T) *wire {
	t.Helper()
	w := &wire{}
	err := chromedp.Listen(ctx, func(event any) {
		if e, ok := event.(*network.EventLoadingFinished); ok {
			w.mu.Lock()
			w.bytes += e.EncodedDataLength
			w.files++
			w.mu.Unlock()
		}
	})
	if err == nil {
		_, err = chromedp.Call(ctx, network.Enable, network.EnableParams{})
	}
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// settled waits until a page has loaded, and its charts, if it has any, tell their numbers.
const settled = `document.readyState === "complete" && !document.querySelector("figure.chart:not(.chart-unseen) .told > title")`

// A first view, with nothing kept from before, stays light.
func TestFirstViewsAreLight(t *testing.T) {
	t.Parallel()
	s := chartSite(t)
	for _, view := range []struct {
		path string
		most float64 // kB
	}{{"/", 60}, {"/findings", 70}, {"/findings?by=junction&by=bulk", 70}, {"/tag-length", 70}, {"/curve", 70}, {"/claims", 70}} {
		ctx := openPlain(t, phone, false)
		w := weigh(ctx, t)
		on(ctx, t, chromedp.Navigate(s.URL+view.path))
		waitFor(ctx, t, "the page "+view.path, settled)
		kB, files := w.total()
		t.Logf("%s: %.1f kB in %d files", view.path, kB, files)
		if kB > view.most || files < 3 {
			t.Errorf("%s: %.1f kB in %d files, want at most %g kB", view.path, kB, files, view.most)
		}
	}
}

// What stands on a page stays where it stands (web.dev, "Cumulative Layout Shift": below 0.1 is
// good). A heading whose face arrives just as it is drawn may move its line by a hundredth.
func TestNothingShifts(t *testing.T) {
	t.Parallel()
	s := chartSite(t)
	const observe = `window.shifted = 0; window.shifts = [];
		new PerformanceObserver((list) => { for (const e of list.getEntries()) { window.shifted += e.value; window.shifts.push(e.sources.map((s) => s.node && s.node.className || s.node && s.node.nodeName).join("+")); } }).observe({ type: "layout-shift", buffered: true });`
	for _, size := range []screen{phone, laptop} {
		ctx := openPlain(t, size, false)
		if _, err := chromedp.Call(ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: observe}); err != nil {
			t.Fatal(err)
		}
		for _, path := range chartPages(s) {
			on(ctx, t, chromedp.Navigate(s.URL+path))
			waitFor(ctx, t, "the page "+path, settled)
			got, err := chromedp.Run(ctx, chromedp.Evaluate[[]any](`new Promise((done) => setTimeout(() => done([window.shifted, window.shifts.join(", ")]), 300))`, chromedp.EvalAwaitPromise))
			if err != nil {
				t.Fatal(err)
			}
			if by := got[0].(float64); by >= 0.02 {
				t.Errorf("%s shifts by %g on a screen %d wide: %v", path, by, size.width, got[1])
			}
		}
	}
}

// chartPages are the pages that may show a chart, of those that are served.
func chartPages(s *webtest.Site) []string {
	pages := []string{"/", "/findings", "/findings?by=junction&by=bulk", "/findings?by=junction&by=bulk&as=bars", "/findings?by=junction&given=angler", "/tag-length", "/curve", "/claims"}
	served := s.Server.Pages()
	for _, path := range []string{"/season", "/planner", "/life", "/bench", "/trials"} {
		if slices.Contains(served, path) {
			pages = append(pages, path)
		}
	}
	return pages
}

// Without script there are the drawing, whose marks have titles, and the table, and the numbers can be had as a file.
func TestAnswersWithoutScript(t *testing.T) {
	t.Parallel()
	s := chartSite(t)
	for _, path := range []string{"/findings", "/findings?by=junction&by=bulk", "/tag-length", "/curve"} {
		text := s.Page(path, 200)
		at := strings.Index(text, `href="`+strings.SplitN(path, "?", 2)[0]) // the page names its own numbers
		_, rest, ok := strings.Cut(text, `<a class="button" href="`)
		if !ok || at < 0 || !strings.Contains(text, "<table") || !strings.Contains(text, "<title>") || !strings.Contains(text, `class="told"`) {
			t.Errorf("%s: no table, no numbers to have, or a drawing that tells none", path)
			continue
		}
		address, _, _ := strings.Cut(rest, `"`)
		if a := s.Get(address); a.Status != 200 || !strings.HasPrefix(a.Header.Get("Content-Type"), "text/csv") || !strings.Contains(a.Body, "rate") {
			t.Errorf("%s: %s answers %d, %s", path, address, a.Status, a.Header.Get("Content-Type"))
		}
	}
}
