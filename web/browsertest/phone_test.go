package browsertest

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/serviceworker"
	"github.com/chromedp/chromedp"

	"rigtally/journal"
	"rigtally/web/webtest"
)

// installed waits until a worker of who is signed in hands out the pages.
func (h *thumb) installed() {
	h.t.Helper()
	h.wait(`navigator.serviceWorker.controller?.scriptURL.includes("for=" + document.body.dataset.for) && navigator.serviceWorker.controller.state === "activated"`)
}

// Two people on one phone neither see nor send each other's; what one left unsent waits for that one.
func TestBrowserTwoPeopleOnOnePhone(t *testing.T) {
	t.Parallel()
	s := newShared(t)
	s.signIn("wren")
	s.installed()
	s.logs()
	wren := s.ctx
	s.shut.Store(false)
	s.cut.Store(1 << 20) // what is sent from now on gets no answer
	s.open(s.url + "/account")
	s.chip("Sign out here")
	s.wait(`document.querySelector("dialog[open]")?.innerText.includes("1 session waits to be sent.")`)
	s.chip("Sign out, it stays on this phone for you")
	s.wait(`location.pathname === "/sign-in"`)
	if kept := evaluated[[]string](t, wren, `caches.keys()`, chromedp.EvalAwaitPromise); len(kept) > 0 {
		t.Errorf("after signing out the browser keeps %q", kept)
	}
	s.cut.Store(0)
	before := s.sent.Load()
	s.signIn("alder")
	s.installed()
	s.wait(`document.readyState === "complete" && document.querySelector("p.waiting").hidden && !document.querySelector("#under-way").children.length`)
	s.open(s.url + "/waiting")
	s.wait(`document.querySelector("#nothing-waits").checkVisibility()`)
	if n := s.sent.Load() - before; n != 0 {
		t.Errorf("%d requests sent another's", n)
	}
	s.open(s.url + "/settings")
	s.wait(`document.readyState === "complete"`)
	alder := evaluated[string](t, s.ctx, `document.forms[0].elements.for.value`)
	s.evaluate(`document.cookie = "visitor=wren; path=/"`) // who signs in on another page
	s.open(s.url + "/after")                               // kept for Alder, and says so to the journal
	s.wait(`document.querySelector("#after:not([hidden])")`)
	if got := evaluated[int](t, s.ctx, `fetch("/api/known", { headers: { "Rigtally-For": "`+alder+`" } }).then((a) => a.status)`, chromedp.EvalAwaitPromise); got != http.StatusPreconditionFailed {
		t.Errorf("status %d for another's request", got)
	}
	s.evaluate(`document.cookie = "visitor=; path=/"`)
	s.signIn("wren")
	s.arrive(s.site, 1)
}

// Where the sign-in has ended, logging goes on; what waits is sent after the next.
func TestBrowserLogsOnWhenTheSignInHasEnded(t *testing.T) {
	t.Parallel()
	s := newShared(t)
	s.signIn("wren")
	s.installed()
	s.wait(`performance.getEntriesByName(location.origin + "/api/known").length`) // the lists came before the sign-in ends
	s.porch.end(s.porch.expired, "wren")
	s.open(s.url + "/")
	s.sees("Your sign-in on this phone has ended")
	s.tapThe(`[...document.querySelectorAll("main a")].find((a) => a.textContent === "Start fishing now")`)
	s.tap(`#start`)
	s.fishing()
	s.tap(kind("landed"))
	s.tap(`#end-open`)
	s.tap(`#save`)
	s.sees("Sign in to send it.")
	s.wait(`[...document.querySelectorAll("p.waiting a")].some((a) => a.textContent === "Sign in to send what waits" && a.pathname === "/sign-in")`)
	s.signIn("wren")
	s.arrive(s.site, 1)
	s.installed()
	s.wait(`caches.keys().then((k) => { window.kept = k.length; }) && window.kept === 1`) // brought back after the door
}

// Whom the journal lets in no more still has what was not sent, and takes it along as a file.
func TestBrowserUnsentIsTakenAlong(t *testing.T) {
	t.Parallel()
	s := newShared(t)
	s.signIn("wren")
	s.installed()
	s.logs()
	s.shut.Store(false)
	s.porch.end(s.porch.withdrawn, "wren")
	s.open(s.url + "/waiting")
	s.sees("You don’t belong to a journal here any more.")
	s.evaluate(`URL.createObjectURL = (blob) => { blob.text().then((text) => { window.file = JSON.parse(text); }); return "about:blank"; }; HTMLAnchorElement.prototype.click = function () { window.named = this.download; }`)
	s.tap(`#save-file`)
	s.wait(`window.named === "rigtally-unsent.json" && file.sessions.length === 1 && file.sessions[0].session.stints[0].events[0].ending === "landed"`)
	if n := sessionsOf(t, s.site); n != 0 {
		t.Errorf("%d sessions of who may not", n)
	}
}

// A rig made without signal arrives before the session that was fished with it; one whose name was taken
// meanwhile gets another, and the session waits for it.
func TestBrowserNewRigWithoutSignal(t *testing.T) {
	t.Parallel()
	for _, taken := range []bool{false, true} {
		b := webtest.NewBook(t)
		h, g := openOffline(t, phone), newGate(t, b.Site)
		h.open(g.url + "/")
		h.kept()
		h.airplane(true)
		g.shut.Store(true)
		h.open(g.url + "/live")
		h.chip("New rig")
		h.tap(`#new-rig label:has([name="junction"][value="blood"])`)
		h.tap(`#new-rig label:has([name="facing"][value="up"])`)
		h.evaluate(`document.querySelector("#new-rig-tag").value = ""`)
		do(t, h.ctx, chromedp.SendKeys(chromedp.CSS(`#new-rig-tag`), "140 mm"), chromedp.SendKeys(chromedp.CSS(`#new-rig-tippet`), "6X"))
		h.wait(`document.querySelector("#new-rig-name").placeholder === "Blood 140 mm"`)
		h.chip("Save the rig")
		h.wait(`document.querySelector('[data-rig][aria-pressed="true"]')?.innerText.includes("Blood 140 mm")`)
		h.tap(`#start`)
		h.fishing()
		h.tap(kind("landed"))
		h.tap(`#end-open`)
		h.tap(`#save`)
		h.sees("New rig: Blood 140 mm")
		h.wait(`document.querySelector("p.waiting").innerText.includes("1 session and 1 new rig wait to be sent") || location.pathname === "/waiting"`)
		name := "Blood 140 mm"
		if taken {
			webtest.Got(b.Store.SaveRig(t.Context(), journal.Rig{Name: name, Positions: []journal.RigPosition{{}}}))(t)
		}
		g.shut.Store(false)
		h.airplane(false)
		if taken {
			h.sees("Sessions fished with it wait")
			h.sees("It waits for its new rig")
			name = "Blood 140 mm, upward"
			h.evaluate(`document.querySelector("#waiting-list input").value = ""`)
			do(t, h.ctx, chromedp.SendKeys(chromedp.CSS(`#waiting-list input`), name))
			h.chip("Send with this name")
		}
		h.wait(`document.querySelector("#nothing-waits").checkVisibility()`)
		last := b.LastLogged(t)
		rig := webtest.Got(b.Store.RigByID(t.Context(), last.Stints[0].RigID))(t)
		if rig.Name != name || len(rig.Droppers()) != 1 || rig.Droppers()[0].Facing != "up" || *rig.Droppers()[0].TagLengthMM != 140 || *rig.Positions[0].TippetMM != 0.127 {
			t.Errorf("stored %s", webtest.InJSON(rig))
		}
	}
}

// A guide logs for two clients at once: each session has its clock and its counts, and one ends without the other.
func TestBrowserTwoLiveSessions(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	webtest.Got(b.Store.AnglerNamed(t.Context(), "Felt"))(t)
	h := &thumb{t: t, ctx: openBrowser(t, phone, false), on: phone}
	h.open(b.URL + "/live")
	h.tap(`#start`)
	h.fishing()
	h.tap(kind("landed"))
	h.open(b.URL + "/")
	h.tapThe(`[...document.querySelectorAll("#under-way a")].find((a) => a.textContent === "Start another session beside it")`)
	h.wait(`document.querySelector("#pick-angler")?.selectedOptions[0].text === "Felt"`)
	h.passes(20)
	h.tap(`#start`)
	h.fishing()
	h.tap(kind("twist"))
	h.wait(`document.querySelector("#rig-name").textContent.startsWith("Felt: ")`)
	h.open(b.URL + "/live") // the one shown last
	h.wait(`document.querySelector('[data-kind="twist"] .n').textContent === "1" && document.querySelector('[data-kind="landed"] .n').textContent === ""`)
	if f := evaluated[framed](t, h.ctx, frame); len(f.Wrong) > 0 {
		t.Errorf("the pad beside another: %q", f.Wrong)
	}
	h.tap(`#others a`)
	h.wait(`document.querySelector("#rig-name").textContent.startsWith("Ilse: ") && document.querySelector('[data-kind="landed"] .n').textContent === "1"`)
	h.wait(`document.querySelector("#clock").textContent.startsWith("0 min")`)
	h.tap(`#end-open`)
	h.tap(`#save`)
	h.sees("The session is saved.")
	s := b.LastLogged(t)
	if got := eventsOf(s.Stints[0]); s.AnglerID != b.Angler.ID || len(got) != 1 || got[0] != "1 fair hookup, landed" {
		t.Errorf("stored %s", webtest.InJSON(s))
	}
	h.open(b.URL + "/live")
	h.fishing()
	h.wait(`document.querySelector('[data-kind="twist"] .n').textContent === "1" && document.querySelector("#others").hidden`)
}

// The browser sends what waits by itself, when it says that there is signal.
func TestBrowserSendsInTheBackground(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	before := b.Sessions(t)
	h, g := openOffline(t, phone), newGate(t, b.Site)
	found := make(chan serviceworker.RegistrationID, 100)
	if err := chromedp.Listen(h.ctx, func(ev any) {
		if e, ok := ev.(*serviceworker.EventWorkerRegistrationUpdated); ok {
			for _, r := range e.Registrations {
				if strings.HasPrefix(r.ScopeURL, g.url) && !r.IsDeleted {
					select {
					case found <- r.RegistrationID:
					default:
					}
				}
			}
		}
	}); err != nil {
		t.Fatal(err)
	}
	h.open(g.url + "/")
	h.kept()
	id := <-found
	g.shut.Store(true)
	h.open(g.url + "/after")
	h.chip("1 h")
	h.tap(`#save`)
	h.sees("No answer yet")
	h.open("about:blank") // no page of the journal is there to send it
	g.shut.Store(false)
	if n := b.Sessions(t) - before; n != 0 {
		t.Fatalf("%d sessions arrived before", n)
	}
	if _, err := chromedp.Call(h.ctx, serviceworker.DispatchSyncEvent, serviceworker.DispatchSyncEventParams{Origin: g.url, RegistrationID: id, Tag: "send"}); err != nil {
		t.Fatal(err)
	}
	h.holds(b.Site, before+1)
}

// What was kept by a page of before belongs to who works alone on the machine.
func TestBrowserKeepsWhatWasKeptBefore(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	h := &thumb{t: t, ctx: openBrowser(t, phone, false), on: phone}
	h.before(fmt.Sprintf(`{
		const open = indexedDB.open("rigtally", 1);
		open.onerror = (e) => e.preventDefault(); // it is a later one by now
		open.onupgradeneeded = () => { open.result.createObjectStore("drafts", { keyPath: "id" }); open.result.createObjectStore("kept"); };
		open.onsuccess = () => {
			const t = open.result.transaction(["drafts", "kept"], "readwrite");
			t.objectStore("kept").put(["snags"], "off");
			t.objectStore("drafts").put({ id: %q, mode: "after", state: "ready", version: 0, created: Date.now(), finished: Date.now(), angler: { id: %q, name: "" }, water: { id: %q, name: "" }, beat: "", guide: "", zone: "Europe/Paris",
				started: null, ended: null, when: "now", day: "", stints: [{ id: %q, rig: %q, minutes: 60, positions: [], events: [] }], at: 0, next: 1, undo: [], conditions: {}, confirmed: true, problems: [] });
			t.oncomplete = () => open.result.close();
		};
	}`, webtest.NewID(t), b.Angler.ID, b.Water.ID, webtest.NewID(t), b.One.ID))
	h.open(b.URL + "/live")
	h.wait(`document.querySelector("#begin-off").textContent.includes("snags")`)
	h.arrive(b.Site, 2)
}

// A phone can put the journal on its home screen.
func TestBrowserInstalls(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	h := openOffline(t, phone)
	h.open(b.URL + "/")
	h.kept()
	m, err := chromedp.Call(h.ctx, page.GetAppManifest, page.GetAppManifestParams{})
	if err != nil || len(m.Errors) > 0 || m.Data == "" {
		t.Errorf("manifest %q: %v, %v", m.Data, m.Errors, err)
	}
	found, err := chromedp.Call(h.ctx, page.GetInstallabilityErrors, cdp.Empty{})
	if err != nil {
		t.Skipf("this browser does not say whether it would install the pages: %v", err)
	}
	for _, e := range found.InstallabilityErrors {
		if e.ErrorID != "in-incognito" { // as every page of a test is
			t.Errorf("not to be installed: %s", e.ErrorID)
		}
	}
}
