// Package browsertest tries the pages in a browser.
package browsertest

import (
	"context"
	"os"
	"os/exec"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
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
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome", "google-chrome-stable"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	t.Skip("no Chromium on PATH (chromium, chromium-browser or google-chrome): the browser tests are left out; install one to run them")
	return ""
}

// openBrowser starts a Chromium of its own with one page of a size. The test
// fails when a page has an error: see failOnPageErrors. The context ends with
// the test, or after three minutes, which only a machine that is busy with
// other tests needs.
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
	// Not the test's own context, which ends before the browser could be closed in order.
	ctx, cancel := context.WithTimeout(context.Background(), limit)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewExecAllocator(ctx, options...)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewContext(ctx)
	t.Cleanup(cancel)
	scheme := "light"
	if dark {
		scheme = "dark"
	}
	features := []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}
	_, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: features})
	if err == nil {
		_, err = chromedp.Call(ctx, emulation.SetTouchEmulationEnabled, emulation.SetTouchEmulationEnabledParams{Enabled: on.touch})
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
