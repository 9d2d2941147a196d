package browsertest

import (
	"context"
	"net/http"
	"net/http/httptest"
	"sync/atomic"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/target"
	"github.com/chromedp/chromedp"

	"rigtally/web/webtest"
)

// airplane puts the page at hand and the worker out of every network, or back.
func (h *thumb) airplane(off bool) {
	h.t.Helper()
	h.unplug(h.ctx, off)
	if h.workers == nil {
		h.workers = map[target.ID]context.Context{}
	}
	targets, err := chromedp.Targets(h.ctx)
	if err != nil {
		h.t.Fatal(err)
	}
	for _, at := range targets {
		if at.Type != "service_worker" {
			continue
		}
		worker, known := h.workers[at.TargetID]
		if !known { // who has put it out of the network must bring it back
			var cancel context.CancelFunc
			worker, cancel = chromedp.NewContext(h.browser, chromedp.WithTargetID(at.TargetID))
			h.t.Cleanup(cancel)
			h.workers[at.TargetID] = worker
		}
		h.unplug(worker, off)
	}
	h.wait(map[bool]string{true: `!navigator.onLine`, false: `navigator.onLine`}[off])
}

func (h *thumb) unplug(ctx context.Context, off bool) {
	h.t.Helper()
	rule := &network.Conditions{Offline: off, DownloadThroughput: -1, UploadThroughput: -1}
	_, err := chromedp.Call(ctx, network.EmulateNetworkConditionsByRule, network.EmulateNetworkConditionsByRuleParams{MatchedNetworkConditions: []*network.Conditions{rule}})
	if err == nil {
		_, err = chromedp.Call(ctx, network.OverrideNetworkState, network.OverrideNetworkStateParams{Offline: off, DownloadThroughput: -1, UploadThroughput: -1})
	}
	if err != nil {
		h.t.Fatalf("emulate the network: %v", err)
	}
}

// kept waits until the worker holds the pages, and the page its lists.
func (h *thumb) kept() {
	h.t.Helper()
	do(h.t, h.ctx, chromedp.Evaluate[chromedp.Void](`{ navigator.serviceWorker.ready.then((r) => { window.workerIsReady = r.active.state; }); 0 }`))
	h.wait(`window.workerIsReady && navigator.serviceWorker.controller && document.querySelector("#pick-angler-new, #pick-angler option[value=new]")`)
}

// nextPage closes the page at hand and opens another in the same browser.
func (h *thumb) nextPage() {
	h.t.Helper()
	if h.closePage != nil {
		h.closePage()
	}
	ctx, cancel := chromedp.NewContext(h.browser)
	browsers.atClose(h.t, cancel)
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(h.on.width, h.on.height)); err != nil {
		h.t.Fatal(err)
	}
	if _, err := chromedp.Call(ctx, emulation.SetTouchEmulationEnabled, emulation.SetTouchEmulationEnabledParams{Enabled: h.on.touch}); err != nil {
		h.t.Fatal(err)
	}
	failOnPageErrors(h.t, ctx, true)
	h.ctx, h.closePage = ctx, cancel
}

// gate serves a site and can be shut, or cut off the answer to the next sends
// after the journal has stored what they brought.
type gate struct {
	url  string
	shut atomic.Bool
	cut  atomic.Int32
	sent atomic.Int32
}

func newGate(t *testing.T, s *webtest.Site) *gate {
	g := &gate{}
	pages := s.Server.Handler()
	ts := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if g.shut.Load() {
			panic(http.ErrAbortHandler) // as without signal
		}
		if r.Method == http.MethodPut {
			g.sent.Add(1)
			if g.cut.Add(-1) >= 0 {
				pages.ServeHTTP(httptest.NewRecorder(), r)
				panic(http.ErrAbortHandler) // stored, and the connection breaks before the answer
			}
		}
		pages.ServeHTTP(w, r)
	}))
	t.Cleanup(ts.Close)
	g.url = ts.URL
	return g
}

func TestBrowserLogsInAirplaneMode(t *testing.T) {
	t.Parallel()
	for _, on := range []screen{phone, laptop} {
		b := webtest.NewBook(t)
		before := b.Sessions(t)
		h, g := openOffline(t, on), newGate(t, b.Site)
		h.open(g.url + "/")
		h.kept()
		h.airplane(true)
		g.shut.Store(true) // a worker that the browser starts anew has no emulated network
		h.open(g.url + "/")
		h.tap(`button[value="live"]`)
		h.fishing()
		h.tap(kind("landed"))
		h.tap(kind("twist"))
		h.wait(`document.querySelector('[data-kind="twist"] .n').textContent === "1"`)
		h.nextPage()
		h.airplane(true)
		h.open(g.url + "/live")
		h.fishing()
		h.wait(`document.querySelector('[data-kind="landed"] .n').textContent === "1"`)
		h.tap(`#swap`)
		h.wait(`document.querySelector("#rig-name").textContent === "Blood 165"`)
		h.tap(kind("lost"))
		h.tap(`#end-open`)
		h.tap(`#save`)
		h.sees("Waits for signal")
		h.open(g.url + "/sessions") // not kept: says so and leads on
		h.wait(`document.querySelector("p.waiting").innerText.includes("1 session waits to be sent")`)
		h.sees("there is no connection to it right now")
		h.open(g.url + "/")
		h.wait(`!document.querySelector("p.waiting").hidden`)
		if n := b.Sessions(t) - before; n != 0 {
			t.Fatalf("%d sessions arrived without signal", n)
		}
		g.shut.Store(false)
		h.airplane(false)
		h.wait(`document.querySelector("p.waiting").hidden`)
		if n := b.Sessions(t) - before; n != 1 {
			t.Errorf("%d sessions arrived, want 1", n)
		}
		s := b.LastLogged(t)
		if len(s.Stints) != 2 || len(s.Stints[0].Events) != 2 || len(s.Stints[1].Events) != 1 || s.Stints[0].RigID != b.Two.ID || s.Stints[1].RigID != b.One.ID {
			t.Errorf("stored %s", webtest.InJSON(s.Stints))
		}
	}
}

func TestBrowserSendIsCutHalfWay(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	before := b.Sessions(t)
	g := newGate(t, b.Site)
	h := openOffline(t, phone)
	h.open(g.url + "/")
	g.cut.Store(1000)
	h.tap(`button[value="after"]`)
	h.wait(`document.querySelector("#after:not([hidden])")`)
	h.choose("#pick-water", "new")
	h.wait(`document.activeElement.id === "pick-water-new"`)
	do(t, h.ctx, chromedp.KeyEvent("Far Beck"))
	h.chip("1 h")
	h.tap(kind("landed"))
	h.tap(`#save`)
	h.wait(`location.pathname === "/waiting"`)
	h.sees("No answer yet")
	if n := b.Sessions(t) - before; n != 1 {
		t.Fatalf("%d sessions stored by the send that was cut, want 1", n)
	}
	if g.sent.Load() == 0 {
		t.Error("nothing was sent, so no cut was tried")
	}
	g.cut.Store(0)
	h.sendNow()
	h.wait(`document.querySelector("p.waiting").hidden && document.querySelector("#waiting-list").children.length === 0`)
	if n := b.Sessions(t) - before; n != 1 {
		t.Errorf("%d sessions in the journal, want 1", n)
	}
	waters, err := b.Store.Waters(t.Context())
	if err != nil || len(waters) != 2 || waters[1].Name != "Far Beck" || b.LastLogged(t).WaterID != waters[1].ID {
		t.Errorf("waters %s, %v", webtest.InJSON(waters), err)
	}
}

// openOffline opens a page in a browser in which requests may fail.
func openOffline(t *testing.T, on screen) *thumb {
	h := &thumb{t: t, browser: startBrowser(t, on, false), on: on}
	h.nextPage()
	return h
}
