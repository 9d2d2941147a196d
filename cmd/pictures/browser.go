package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strings"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/storage"
	"github.com/chromedp/chromedp"
)

// errNoPage says that a journal has no such page: nothing to follow, or no such address.
var errNoPage = errors.New("there is no such page")

// tallest is as far as a browser draws in one picture.
const tallest = 16000

// shot is one picture to take.
type shot struct {
	journal shown
	page    page
	screen  screen
	dark    bool
}

func (s shot) name() string {
	return strings.Join([]string{s.page.name, s.screen.name, scheme(s.dark)}, "-")
}

func scheme(dark bool) string {
	if dark {
		return "dark"
	}
	return "light"
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
	_, err := chromedp.Call(browser, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{
		{Name: "prefers-color-scheme", Value: scheme(dark)}, {Name: "prefers-reduced-motion", Value: "reduce"}}})
	if err != nil {
		quit()
		return nil, nil, fmt.Errorf("start the browser: %w", err)
	}
	return browser, quit, nil
}

func (s shot) take(browser context.Context, whole bool) ([]byte, error) {
	ctx, cancel := context.WithTimeout(browser, time.Minute)
	defer cancel()
	address := s.page.address
	if address == cautious {
		if address = s.journal.cautious; address == "" {
			return nil, errNoPage
		}
	}
	err := chromedp.Do(ctx, chromedp.EmulateViewport(s.screen.width, s.screen.height), chromedp.Navigate(s.journal.url+address))
	if err != nil {
		return nil, err
	}
	if s.page.link != "" {
		found, ok := strings.CutPrefix(s.page.link, "js:")
		if !ok {
			found = "document.querySelector(" + quoted(s.page.link) + ")?.href"
		}
		href, err := chromedp.Run(ctx, chromedp.Evaluate[string]("(("+found+") || '') && new URL("+found+", location).href"))
		if err != nil {
			return nil, err
		}
		if href == "" {
			return nil, errNoPage
		}
		if err := chromedp.Do(ctx, chromedp.Navigate(href)); err != nil {
			return nil, err
		}
	}
	// Some pages are put together by a script, and charts draw after the page.
	_, err = chromedp.Run(ctx, chromedp.Poll[bool](`[...document.querySelectorAll("main :not(.unseen)")].some((e) => !e.children.length && e.checkVisibility() && e.innerText?.trim())`, chromedp.WithPollingTimeout(20*time.Second)))
	if err == nil {
		err = chromedp.Do(ctx, chromedp.Sleep(400*time.Millisecond))
	}
	if err != nil {
		return nil, err
	}
	if err := s.page.pressAll(ctx); err != nil {
		return nil, err
	}
	if s.page.press != "" {
		defer s.forget(browser)
	}
	missing, err := chromedp.Run(ctx, chromedp.Evaluate[bool](`["No such page", "Not in this journal"].includes(document.querySelector("h1")?.textContent)`))
	if err != nil {
		return nil, err
	}
	if missing {
		return nil, errNoPage
	}
	if whole {
		// A screen as high as the page, so that what is fixed to its foot stays there.
		height, err := chromedp.Run(ctx, chromedp.Evaluate[int64]("document.documentElement.scrollHeight"))
		if err != nil {
			return nil, err
		}
		err = chromedp.Do(ctx, chromedp.EmulateViewport(s.screen.width, min(max(height, s.screen.height), tallest)), chromedp.Sleep(200*time.Millisecond))
		if err != nil {
			return nil, err
		}
	}
	return chromedp.Run(ctx, chromedp.CaptureScreenshot())
}

// forget clears what pressing left in the browser, which other pages would show.
func (s shot) forget(browser context.Context) {
	ctx, cancel := context.WithTimeout(browser, 10*time.Second)
	defer cancel()
	_ = chromedp.Do(ctx, chromedp.Navigate("about:blank"))
	_, _ = chromedp.Call(ctx, storage.ClearDataForOrigin, storage.ClearDataForOriginParams{Origin: strings.TrimSuffix(s.journal.url, "/"), StorageTypes: "all"})
}

// pressAll presses what the page says, as far as it is there.
func (p page) pressAll(ctx context.Context) error {
	for _, selector := range strings.Split(p.press, ",") {
		if selector == "" {
			continue
		}
		press := "document.querySelector(" + quoted(selector) + ")?.click()"
		if err := chromedp.Do(ctx, chromedp.Evaluate[chromedp.Void](press), chromedp.Sleep(150*time.Millisecond)); err != nil {
			return err
		}
	}
	return nil
}

func quoted(selector string) string { return "'" + selector + "'" }
