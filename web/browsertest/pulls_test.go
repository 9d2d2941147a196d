package browsertest

import (
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"rigtally/journal"
	"rigtally/web/webtest"
)

// Pulls are recorded by keyboard alone and without script: a force and the Enter
// key for one that broke at the junction, Tab to another button for a slip.
func TestBrowserRecordsPullsByKeyboard(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name string
		on   screen
		dark bool
	}{{"phone", phone, true}, {"desktop", laptop, false}} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			s := webtest.New(t)
			s.Post("/bench/pulls", webtest.APull(t, "1.9 lbf", "junction"))
			ctx := openPlain(t, tt.on, tt.dark)
			if _, err := chromedp.Call(ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true}); err != nil {
				t.Fatal(err)
			}
			typed := func(keys string) {
				t.Helper()
				if _, err := chromedp.Run(ctx, chromedp.WaitEvent(page.LoadEventFired, nil, chromedp.SendKeys(named("force"), keys))); err != nil {
					t.Fatal(err)
				}
			}
			do(t, ctx, chromedp.Navigate(s.URL+"/bench/pulls/new"))
			typed("8.7" + kb.Enter)
			typed("7.9" + strings.Repeat(kb.Tab, 5) + kb.Enter)
			list := s.Pulls()
			if len(list) != 3 || list[1].ForceN != 8.7 || list[1].BrokeAt != journal.PullBrokeJunction || list[1].Facing != "down" || list[2].ForceN != 7.9 || list[2].Ending != journal.PulledSlipped {
				t.Errorf("stored %+v", list)
			}
		})
	}
}

// The bench's charts are drawn, in both looks, and the page does not go sideways.
func TestBrowserDrawsTheBench(t *testing.T) {
	t.Parallel()
	s := webtest.SmallSeason(t, 30)
	for _, tt := range []struct {
		name string
		on   screen
		dark bool
	}{{"phone", phone, false}, {"desktop", laptop, true}} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			ctx := openPlain(t, tt.on, tt.dark)
			for address, charts := range map[string]int{"/bench": 2, "/bench?by=facing&where=junction=figure-eight": 2, "/bench/water": 1} {
				do(t, ctx, chromedp.Navigate(s.URL+address))
				got, err := chromedp.Run(ctx, chromedp.Evaluate[[]int](`[[...document.querySelectorAll(".chart-frame")].filter((b) => b.querySelectorAll("path, circle, line").length > 8).length, document.documentElement.scrollWidth - document.documentElement.clientWidth,
					document.querySelectorAll(".chart-frame :is(path, circle, line)").length]`))
				if err != nil {
					t.Fatal(err)
				}
				if got[0] != charts || got[1] > 0 || got[2] < 8 {
					t.Errorf("%s: %d charts (want %d) with %d marks, %d px too wide", address, got[0], charts, got[2], got[1])
				}
			}
		})
	}
}
