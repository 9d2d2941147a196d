// Package browsertest tries the pages in a browser.
package browsertest

import (
	"context"
	"os"
	"os/exec"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal/pg"
	"rigtally/web/webtest"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, pg.Migrate)) }

// The two sizes that pages are tried at, in CSS pixels.
var (
	phone  = screen{390, 844, true}
	laptop = screen{1440, 900, false}
)

type screen struct {
	width, height int64
	touch         bool
}

// findChromium returns a Chromium on PATH, or skips the test and says so.
func findChromium(t testing.TB) string {
	t.Helper()
	if testing.Short() {
		t.Skip("browsers take minutes")
	}
	for _, name := range []string{"chromium-headless-shell", "chromium", "chromium-browser", "google-chrome", "google-chrome-stable"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	t.Skip("no Chromium on PATH (chromium, chromium-browser or google-chrome): the browser tests are left out; install one to run them")
	return ""
}

// room bounds how many browsers run at once, whatever tests run side by side: a browser
// takes some 300 MB. A test has one at a time; its next one closes the one before.
type room struct {
	free chan struct{}

	mu      sync.Mutex
	closing map[testing.TB][]func() // what closes the browser of a test, the last first
}

var browsers = &room{free: make(chan struct{}, 3), closing: map[testing.TB][]func(){}}

// enter waits for room for the browser of a test, which closes at the latest with the test.
func (r *room) enter(t testing.TB) {
	r.close(t)
	r.free <- struct{}{}
	r.atClose(t, func() { <-r.free })
	t.Cleanup(func() { r.close(t) })
}

// atClose is done before the browser of a test closes.
func (r *room) atClose(t testing.TB, do func()) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.closing[t] = append(r.closing[t], do)
}

func (r *room) close(t testing.TB) {
	r.mu.Lock()
	list := r.closing[t]
	delete(r.closing, t)
	r.mu.Unlock()
	for _, do := range slices.Backward(list) {
		do()
	}
}

// openBrowser starts a Chromium of its own with one page of a size. The test
// fails when a page has an error: see failOnPageErrors. The context ends with
// the test's next browser or the test, or after three minutes, which only a machine
// that is busy with other tests needs.
func openBrowser(t testing.TB, on screen, dark bool) context.Context {
	t.Helper()
	return openBrowserFor(t, on, dark, 3*time.Minute)
}

// openBrowserFor is openBrowser for a test that may take longer still.
func openBrowserFor(t testing.TB, on screen, dark bool, limit time.Duration) context.Context {
	t.Helper()
	ctx := startBrowser(t, on, dark, limit)
	failOnPageErrors(t, ctx, false)
	return ctx
}

// startBrowser starts a Chromium whose pages are not listened to yet.
func startBrowser(t testing.TB, on screen, dark bool, limit time.Duration) context.Context {
	t.Helper()
	path := findChromium(t)
	options := append([]chromedp.ExecAllocatorOption{chromedp.ExecPath(path), chromedp.UserDataDir(t.TempDir()), chromedp.WindowSize(int(on.width), int(on.height))},
		chromedp.Headless, chromedp.DisableGPU, chromedp.NoFirstRun, chromedp.NoDefaultBrowserCheck,
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true))
	if os.Geteuid() == 0 {
		options = append(options, chromedp.NoSandbox) // root has no sandbox to use
	}
	browsers.enter(t)
	// Not the test's own context, which ends before the browser could be closed in order.
	ctx, cancel := context.WithTimeout(context.Background(), limit)
	browsers.atClose(t, cancel)
	ctx, cancel = chromedp.NewExecAllocator(ctx, options...)
	browsers.atClose(t, cancel)
	ctx, cancel = chromedp.NewContext(ctx)
	browsers.atClose(t, cancel)
	scheme := "light"
	if dark {
		scheme = "dark"
	}
	features := []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}
	_, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: features})
	if err == nil {
		_, err = chromedp.Call(ctx, emulation.SetTouchEmulationEnabled, emulation.SetTouchEmulationEnabledParams{Enabled: on.touch})
	}
	if err == nil && on.touch { // the headless shell has the events, but does not say so to pages that ask
		_, err = chromedp.Call(ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: "window.ontouchstart ??= null"})
	}
	if err == nil {
		err = chromedp.Do(ctx, chromedp.EmulateViewport(on.width, on.height))
	}
	if err != nil {
		t.Fatalf("start %s: %v", path, err)
	}
	return ctx
}

func TestBrowserOpensToday(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	ctx := openBrowser(t, phone, false)
	if err := chromedp.Do(ctx, chromedp.Navigate(s.URL+"/")); err != nil {
		t.Fatal(err)
	}
	title, err := chromedp.Run(ctx, chromedp.Title())
	if err != nil {
		t.Fatal(err)
	}
	if title != "Today · rigtally" {
		t.Errorf("title %q", title)
	}
}
