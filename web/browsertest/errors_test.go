package browsertest

import (
	"context"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	cdplog "github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/cdproto/serviceworker"
	"github.com/chromedp/chromedp"

	"rigtally/web/webtest"
)

// pageErrors gathers what a page and its worker throw, promises that nobody
// catches among it, and what the browser logs as an error, which includes what
// the page's policy refused.
type pageErrors struct {
	ctx          context.Context
	requestsFail bool // on purpose: that they do is no error

	mu   sync.Mutex
	seen []string
}

// listenForErrors gathers the errors of one page, whatever it shows.
func listenForErrors(ctx context.Context, requestsFail bool) (*pageErrors, error) {
	p := &pageErrors{ctx: ctx, requestsFail: requestsFail}
	err := chromedp.Listen(ctx, p.hear)
	if err == nil {
		_, err = chromedp.Call(ctx, cdplog.Enable, cdp.Empty{})
	}
	if err == nil {
		_, err = chromedp.Call(ctx, serviceworker.Enable, cdp.Empty{})
	}
	return p, err
}

func (p *pageErrors) hear(event any) {
	p.mu.Lock()
	defer p.mu.Unlock()
	text := ""
	switch e := event.(type) {
	case *runtime.EventExceptionThrown:
		text = e.ExceptionDetails.Text
		if thrown := e.ExceptionDetails.Exception; thrown != nil {
			text += " " + thrown.Description
		}
	case *serviceworker.EventWorkerErrorReported:
		failed := strings.Contains(e.ErrorMessage.ErrorMessage, "Failed to fetch") || strings.Contains(e.ErrorMessage.ErrorMessage, "failed to install")
		if !p.requestsFail || !failed {
			text = "worker: " + e.ErrorMessage.ErrorMessage
		}
	case *cdplog.EventEntryAdded:
		if e.Entry.Level == cdplog.EntryLevelError && !(p.requestsFail && e.Entry.Source == cdplog.EntrySourceNetwork) {
			text = string(e.Entry.Source) + ": " + e.Entry.Text
		}
	}
	if text != "" {
		p.seen = append(p.seen, text)
	}
}

// list is what was heard, the errors of what the page has run by now included.
func (p *pageErrors) list() []string {
	// Events come in order with answers, so that after an answer nothing is on its way. A page
	// that is closed by now has none.
	_, _ = chromedp.Run(p.ctx, chromedp.Evaluate[int]("0"))
	p.mu.Lock()
	defer p.mu.Unlock()
	return slices.Clone(p.seen)
}

// failOnPageErrors makes errors of a page fail the test. Each page that a test
// opens is to be listened to; openBrowser and nextPage do so.
func failOnPageErrors(t testing.TB, ctx context.Context, requestsFail bool) {
	t.Helper()
	p, err := listenForErrors(ctx, requestsFail)
	if err != nil {
		t.Fatalf("listen to the browser: %v", err)
	}
	browsers.atClose(t, func() {
		for _, text := range p.list() {
			t.Errorf("the page has an error: %s", text)
		}
	})
}

// What must fail a test does, so that a test without errors says something.
func TestBrowserErrorsAreHeard(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	ctx := startBrowser(t, phone, false)
	p, err := listenForErrors(ctx, false)
	if err != nil {
		t.Fatal(err)
	}
	do(t, ctx, chromedp.Navigate(s.URL+"/settings"))
	if list := p.list(); len(list) > 0 {
		t.Fatalf("a page without errors has %q", list)
	}
	for _, tt := range []struct{ name, script, want string }{
		{"a promise that nobody catches", `Promise.reject(new Error("nobody caught this")); 0`, "nobody caught this"},
		{"a listener that throws", `setTimeout(() => { throw new Error("thrown in vain"); }); 0`, "thrown in vain"},
		{"a missing element", `setTimeout(() => { document.getElementById("nowhere").hidden = true; }); 0`, "of null"},
		{"a request that fails", `{ const i = new Image(); i.src = "/nothing.png"; 0 }`, "404"},
		{"what the policy refuses", `{ const s = document.createElement("script"); s.src = "https://example.org/x.js"; document.head.append(s); 0 }`, "example.org"},
	} {
		do(t, ctx, chromedp.Evaluate[chromedp.Void](tt.script))
		heard := func() bool {
			return slices.ContainsFunc(p.list(), func(text string) bool { return strings.Contains(text, tt.want) })
		}
		for end := time.Now().Add(patience); !heard(); time.Sleep(20 * time.Millisecond) {
			if time.Now().After(end) {
				t.Errorf("%s is not heard: %q", tt.name, p.list())
				break
			}
		}
	}
}
