// Command pictures takes a picture of every page of a demo season, at the size
// of a phone and of a desktop, light and dark.
package main

import (
	"bufio"
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

const ready = "rigtally is ready at "

// page is a page by its address. A link, if set, is a CSS selector on that page
// whose first match is followed.
type page struct{ name, address, link string }

var pages = []page{
	{"today", "", ""},
	{"log", "log", ""},
	{"sessions", "sessions", ""},
	{"session", "sessions", `main a[href^="/sessions/0"]`},
	{"deleted", "sessions/deleted", ""},
	{"rigs", "rigs", ""},
	{"rig", "rigs", `main a[href^="/rigs/0"]`},
	{"rig-form", "rigs/new", ""},
	{"findings", "findings?outcome=junction-break&by=junction", ""},
	{"findings-two-factors", "findings?outcome=tangles&by=bulk&by=stroke", ""},
	{"claims", "claims", ""},
	{"claim", "claims", `main a[href^="/claims/0"]`},
	{"claim-new", "claims/new", ""},
	{"findings-corrected", "findings?outcome=tangles&by=junction&given=angler&given=water", ""},
	{"tag-length", "tag-length", ""},
	{"curve", "curve?outcome=tangles&given=angler&given=water&given=bulk", ""},
	{"anglers", "anglers", ""},
	{"waters", "waters", ""},
	{"settings", "settings", ""},
	{"problem", "findings?outcome=beauty", ""},
}

var screens = []struct {
	name          string
	width, height int64
}{{"phone", 390, 844}, {"desktop", 1440, 900}}

func main() {
	out := flag.String("out", "pictures", "folder to write the pictures to")
	only := flag.String("only", "", "names of pictures to take, with commas, such as findings-desktop-light; all when empty")
	whole := flag.Bool("whole", true, "the whole page rather than the first screen")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	if err := run(ctx, *out, *only, *whole); err != nil {
		fmt.Fprintln(os.Stderr, "pictures:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context, out, only string, whole bool) error {
	if err := os.MkdirAll(out, 0o755); err != nil {
		return err
	}
	url, end, err := demo(ctx)
	if err != nil {
		return err
	}
	defer end()
	for _, dark := range []bool{false, true} {
		browser, quit, err := open(ctx, dark)
		if err != nil {
			return err
		}
		err = takeAll(browser, url, out, only, whole, dark)
		quit()
		if err != nil {
			return err
		}
	}
	return nil
}

// demo starts a demo season and returns its address and how to end it.
func demo(ctx context.Context) (url string, end func(), err error) {
	cmd := exec.CommandContext(ctx, "bin/rigtally", "demo", "--port", "0")
	cmd.Env = append(os.Environ(), "RIGTALLY_NO_BROWSER=1")
	cmd.Cancel = func() error { return cmd.Process.Signal(syscall.SIGTERM) }
	cmd.Stderr = os.Stderr
	lines, err := cmd.StdoutPipe()
	if err != nil {
		return "", nil, err
	}
	if err := cmd.Start(); err != nil {
		return "", nil, fmt.Errorf("start the demo season (run make build first): %w", err)
	}
	end = func() {
		cmd.Process.Signal(syscall.SIGTERM)
		cmd.Wait()
	}
	for scan := bufio.NewScanner(lines); scan.Scan(); {
		if address, ok := strings.CutPrefix(scan.Text(), ready); ok {
			return address, end, nil
		}
	}
	end()
	return "", nil, errors.New("the demo season ended before it was ready")
}

// open starts a browser that prefers light or dark.
func open(ctx context.Context, dark bool) (context.Context, func(), error) {
	options := []chromedp.ExecAllocatorOption{chromedp.Headless, chromedp.DisableGPU, chromedp.NoFirstRun, chromedp.Flag("hide-scrollbars", true),
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true)}
	if os.Geteuid() == 0 {
		options = append(options, chromedp.NoSandbox) // root has no sandbox to use
	}
	allocated, cancelBrowser := chromedp.NewExecAllocator(ctx, options...)
	browser, cancelTab := chromedp.NewContext(allocated)
	quit := func() { cancelTab(); cancelBrowser() }
	scheme := "light"
	if dark {
		scheme = "dark"
	}
	_, err := chromedp.Call(browser, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{
		{Name: "prefers-color-scheme", Value: scheme}, {Name: "prefers-reduced-motion", Value: "reduce"}}})
	if err != nil {
		quit()
		return nil, nil, fmt.Errorf("start the browser: %w", err)
	}
	return browser, quit, nil
}

func takeAll(browser context.Context, url, out, only string, whole, dark bool) error {
	scheme := map[bool]string{false: "light", true: "dark"}[dark]
	for _, s := range screens {
		for _, p := range pages {
			name := strings.Join([]string{p.name, s.name, scheme}, "-")
			if only != "" && !strings.Contains(","+only+",", ","+name+",") {
				continue
			}
			ctx, cancel := context.WithTimeout(browser, 30*time.Second)
			picture, err := take(ctx, url, p, s.width, s.height, whole)
			cancel()
			if err != nil {
				return fmt.Errorf("picture %s: %w", name, err)
			}
			if err := os.WriteFile(filepath.Join(out, name+".png"), picture, 0o644); err != nil {
				return err
			}
		}
	}
	return nil
}

func take(ctx context.Context, url string, p page, width, height int64, whole bool) ([]byte, error) {
	err := chromedp.Do(ctx, chromedp.EmulateViewport(width, height), chromedp.Navigate(url+p.address))
	if err != nil {
		return nil, err
	}
	if p.link != "" {
		link, err := chromedp.Run(ctx, chromedp.AttributeValue(chromedp.CSS(p.link), "href"))
		if err != nil {
			return nil, err
		}
		if err := chromedp.Do(ctx, chromedp.Navigate(strings.TrimSuffix(url, "/")+link.Value)); err != nil {
			return nil, err
		}
	}
	if err := chromedp.Do(ctx, chromedp.WaitReady(chromedp.CSS("main")), chromedp.Sleep(400*time.Millisecond)); err != nil { // charts draw after the page
		return nil, err
	}
	if whole {
		return chromedp.Run(ctx, chromedp.FullScreenshot(100))
	}
	return chromedp.Run(ctx, chromedp.CaptureScreenshot())
}
