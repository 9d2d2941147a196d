package browsertest

import (
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"rigtally/web/webtest"
)

// evaluate runs a script on the page at hand.
func (h *thumb) evaluate(script string) {
	h.t.Helper()
	do(h.t, h.ctx, chromedp.Evaluate[chromedp.Void](script+"; 0"))
}

// Today of a journal without rigs has no form, and comes to its end all the same: what was
// begun on this phone is offered there too.
func TestBrowserTodayOfAnEmptyJournal(t *testing.T) {
	t.Parallel()
	for _, on := range []screen{phone, laptop} {
		s := webtest.New(t)
		h := &thumb{t: t, ctx: openBrowser(t, on, false), on: on}
		h.open(s.URL + "/after") // begins a session, though no rig is there to log it with
		h.wait(`document.querySelector("#after:not([hidden])")`)
		h.tap(kind("landed"))
		h.wait(`document.querySelector('[data-kind="landed"] .n').textContent === "1"`)
		h.open(s.URL + "/")
		h.sees("How your usual rig is tied")
		h.wait(`[...document.querySelectorAll("#under-way a")].some((a) => a.textContent === "Finish what you started to log")`)
	}
}

// A browser without room says so at each tap that it could not keep, and goes on with the next.
func TestBrowserSaysWhatWasNotKept(t *testing.T) {
	t.Parallel()
	for _, on := range []screen{phone, laptop} {
		b := webtest.NewBook(t)
		h := &thumb{t: t, ctx: openBrowser(t, on, false), on: on}
		h.open(b.URL + "/")
		h.tap(`button[value="live"]`)
		h.fishing()
		full := `window.put ??= IDBObjectStore.prototype.put;
			IDBObjectStore.prototype.put = function (...what) { return this.name === "drafts" ? this.transaction.abort() : window.put.apply(this, what); }` // as without room
		h.evaluate(full)
		h.tap(kind("landed"))
		h.wait(`document.querySelector(".trouble")?.innerText.includes("This browser can’t save")`)
		h.wait(`document.querySelector('[data-kind="landed"] .n').textContent === ""`)
		h.evaluate(`IDBObjectStore.prototype.put = window.put`)
		h.tap(kind("lost"))
		h.wait(`document.querySelector('[data-kind="lost"] .n').textContent === "1" && !document.querySelector(".trouble")`)
		h.tap(`#end-open`)
		h.evaluate(full)
		h.tap(`#save`)
		h.wait(`document.querySelector("dialog[open] .trouble") && !document.querySelector("#save").disabled`)
		h.evaluate(`IDBObjectStore.prototype.put = window.put`)
		h.tap(`#save`)
		h.sees("The session is saved.")
		if got := eventsOf(b.LastLogged(t).Stints[0]); len(got) != 1 || got[0] != "1 fair hookup, lost" {
			t.Errorf("stored %v", got)
		}
	}
}

// Where a browser keeps nothing at all, a session can still be logged with the plain form.
func TestBrowserThatKeepsNothing(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	h := &thumb{t: t, ctx: openBrowser(t, phone, false), on: phone}
	nothing := `IDBFactory.prototype.open = () => { throw new DOMException("not here", "SecurityError"); };
		Object.defineProperty(window, "localStorage", { get() { throw new DOMException("not here", "SecurityError"); } });`
	if _, err := chromedp.Call(h.ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: nothing}); err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{"/live", "/after", "/waiting", "/"} {
		h.open(b.URL + path)
		h.wait(`document.querySelector(".trouble a")?.href.endsWith("/log")`)
	}
	h.open(b.URL + "/sessions") // logs nothing, and has nothing to say of it
	h.wait(`document.readyState === "complete" && !document.querySelector(".trouble")`)
	h.open(b.URL + "/")
	h.tap(`button[value="live"]`)
	h.wait(`location.pathname === "/log" && document.querySelector("form.log")`)
}

// What nobody foresaw is said, whether it was thrown at once or later.
func TestBrowserSaysThatItFailed(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	ctx := startBrowser(t, phone, false)
	h := &thumb{t: t, ctx: ctx, on: phone}
	for _, script := range []string{`Promise.reject(new Error("never foreseen"))`, `setTimeout(() => { throw new Error("never foreseen"); })`} {
		h.open(s.URL + "/settings")
		h.wait(`document.readyState === "complete"`)
		h.evaluate(script)
		h.wait(`document.querySelector(".trouble")?.innerText.includes("failed")`)
	}
}
