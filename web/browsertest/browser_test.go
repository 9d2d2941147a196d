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

func TestMain(m *testing.M) {
	for range cap(browsers.free) {
		browsers.free <- nil
	}
	code := pgtest.Main(m, pg.Migrate)
	browsers.leave()
	os.Exit(code)
}

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

// room holds the browsers that tests share, a few at a time, whatever tests run side by side: each
// takes some 300 MB and most of a second to start. A test has a browser to itself, as if it were
// fresh: nothing that another test kept there is seen. Its next one gives back the one before.
type room struct {
	free chan context.Context // browsers that nobody has; nil for one that is not started

	mu      sync.Mutex
	closing map[testing.TB][]func() // what gives back the browser of a test, the last first
}

var browsers = &room{free: make(chan context.Context, 4), closing: map[testing.TB][]func(){}}

// enter waits for a browser, which is given back at the latest with the test.
func (r *room) enter(t testing.TB) context.Context {
	t.Helper()
	r.close(t)
	browser := <-r.free
	r.atClose(t, func() { r.free <- browser })
	t.Cleanup(func() { r.close(t) })
	if browser != nil && browser.Err() == nil {
		select {
		case <-chromedp.FromContext(browser).Browser.LostConnection:
		default:
			return browser
		}
	}
	path := findChromium(t)
	all, end := chromedp.NewExecAllocator(context.Background(), chromium(path)...)
	browser, _ = chromedp.NewContext(all)
	if err := chromedp.Do(browser); err != nil {
		end()
		browser = nil
		t.Fatalf("start %s: %v", path, err)
	}
	return browser
}

// chromium is how a browser of the tests is started.
func chromium(path string) []chromedp.ExecAllocatorOption {
	options := []chromedp.ExecAllocatorOption{chromedp.ExecPath(path),
		chromedp.Headless, chromedp.DisableGPU, chromedp.NoFirstRun, chromedp.NoDefaultBrowserCheck,
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true),
		chromedp.Flag("in-process-gpu", true), chromedp.Flag("disable-software-rasterizer", true)} // one process less, and nothing to draw on
	if os.Geteuid() == 0 {
		options = append(options, chromedp.NoSandbox) // root has no sandbox to use
	}
	return options
}

// leave ends all browsers.
func (r *room) leave() {
	for range cap(r.free) {
		if browser := <-r.free; browser != nil {
			_ = chromedp.Cancel(browser) // the tests have passed or failed already
		}
	}
}

// atClose is done before the browser of a test is given back.
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

// How long a page is waited for, and how long a test may keep a browser: what only a machine needs
// that is busy with much other work.
const (
	patience     = 90 * time.Second
	browserLimit = time.Hour
)

// openBrowser opens a page of a size in a Chromium that is as good as fresh. The test
// fails when a page has an error: see failOnPageErrors. The context ends with
// the test's next browser or the test, or after browserLimit.
func openBrowser(t testing.TB, on screen, dark bool) context.Context {
	t.Helper()
	ctx := startBrowser(t, on, dark)
	failOnPageErrors(t, ctx, false)
	return ctx
}

// openPlain is openBrowser without our worker, which fetches all its pages and files anew in each browser: that takes
// longer than most tests of pages that are never kept. TestBrowserReachesEverythingByKeyboard shows every page with it.
func openPlain(t testing.TB, on screen, dark bool) context.Context {
	t.Helper()
	ctx := openBrowser(t, on, dark)
	const none = `if (navigator.serviceWorker) navigator.serviceWorker.register = () => Promise.reject(new Error("no worker"))`
	if _, err := chromedp.Call(ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: none}); err != nil {
		t.Fatal(err)
	}
	return ctx
}

// startBrowser is openBrowser whose pages are not listened to yet.
func startBrowser(t testing.TB, on screen, dark bool) context.Context {
	t.Helper()
	findChromium(t)
	ctx, cancel := context.WithTimeout(browsers.enter(t), browserLimit)
	browsers.atClose(t, cancel)
	ctx, cancel = chromedp.NewContext(ctx, chromedp.WithNewBrowserContext())
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
		_, err = chromedp.Call(ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: plainSpaces})
	}
	if err == nil {
		err = chromedp.Do(ctx, chromedp.EmulateViewport(on.width, on.height))
	}
	if err != nil {
		t.Fatalf("open a page: %v", err)
	}
	return ctx
}

// plainSpaces lets a test look for words with a unit in them: a space that does not break is one.
const plainSpaces = `for (const [of, name] of [[HTMLElement.prototype, "innerText"], [Node.prototype, "textContent"]]) {
	const was = Object.getOwnPropertyDescriptor(of, name);
	Object.defineProperty(of, name, { ...was, get() { const text = was.get.call(this); return typeof text === "string" ? text.replaceAll("\u00a0", " ") : text; } });
}`

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
