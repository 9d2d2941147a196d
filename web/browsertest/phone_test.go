package browsertest

import (
	"fmt"
	"net/http"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/serviceworker"
	"github.com/chromedp/chromedp"

	"rigtally/journal"
	"rigtally/web/door"
	"rigtally/web/webtest"
)

// porch is a door for tests by which people sign in and out in one browser, as they do by the program's own: what it
// shows stands outside every journal.
type porch struct {
	visitors webtest.Visitors
	head     string // of its pages, as a journal's have it

	mu        sync.Mutex
	expired   map[string]bool // whose sign-in has ended
	withdrawn map[string]bool // who is let in no more
}

func (p *porch) Enter(w http.ResponseWriter, r *http.Request) (door.Visitor, bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	name := ""
	if c, err := r.Cookie("visitor"); err == nil {
		name = c.Value
	}
	signed := func(name, to string) {
		http.SetCookie(w, &http.Cookie{Name: "visitor", Value: name, Path: "/"})
		http.Redirect(w, r, to, http.StatusSeeOther)
	}
	shows := func(status int, body string) {
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		w.WriteHeader(status)
		fmt.Fprintf(w, "<!doctype html><html lang=en>%s<body><main>%s</main></body></html>", p.head, body)
	}
	switch r.Method + " " + r.URL.Path {
	case "GET /sign-in":
		shows(http.StatusOK, `<form method="post" action="/sign-in"><input name="name"><button>Sign in</button></form>`)
		return door.Visitor{}, false
	case "POST /sign-in":
		delete(p.expired, r.FormValue("name"))
		signed(r.FormValue("name"), "/")
		return door.Visitor{}, false
	case "POST /sign-out":
		signed("", "/sign-in")
		return door.Visitor{}, false
	case "GET /account":
		shows(http.StatusOK, `<h1>Account</h1><form method="post" action="/sign-out"><button>Sign out here</button></form>`)
		return door.Visitor{}, false
	}
	v, known := p.visitors[name]
	switch {
	case known && !p.expired[name] && !p.withdrawn[name]:
		return v, true
	case strings.HasPrefix(r.URL.Path, "/api/"):
		word, says := "signed-out", "You are not signed in."
		if p.withdrawn[name] {
			word, says = "withdrawn", "You don’t belong to a journal here any more."
		}
		w.Header().Set("Content-Type", "application/problem+json")
		w.WriteHeader(http.StatusUnauthorized)
		fmt.Fprintf(w, `{"error":%q,"problems":[{"says":%q}]}`, word, says)
	case p.withdrawn[name]:
		shows(http.StatusUnauthorized, "You don’t belong to a journal here any more.")
	default:
		http.Redirect(w, r, "/sign-in", http.StatusSeeOther)
	}
	return door.Visitor{}, false
}

func (p *porch) end(of map[string]bool, name string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	of[name] = true
}

// shared is a phone that two people use: Wren, a guide, and Alder, the owner.
type shared struct {
	*thumb
	*gate
	porch *porch
	site  *webtest.Site
}

// head is that of a journal's pages, scripts included.
var head = regexp.MustCompile(`(?s)<head>.*?</head>`)

func newShared(t *testing.T) *shared {
	visitors := webtest.Visitors{}
	p := &porch{visitors: visitors, expired: map[string]bool{}, withdrawn: map[string]bool{}}
	site := webtest.NewWith(t, p)
	for name, role := range map[string]journal.Role{"wren": journal.RoleGuide, "alder": journal.RoleOwner} {
		visitors[name] = door.Visitor{Outfit: site.Store.OutfitID(), Who: journal.Who{Role: role, Name: name, Person: new(webtest.NewID(t))}}
	}
	site.Must(site.Store.SetUp(t.Context(), journal.Setup{
		Outfit: webtest.Got(site.Store.Outfit(t.Context()))(t),
		Angler: journal.Angler{ID: webtest.NewID(t), Name: "Ilse", Kind: journal.AnglerOwner, Active: true},
		Water:  journal.Water{ID: webtest.NewID(t), Name: "Alder Brook", Kind: journal.WaterOther, TimeZone: "Europe/Paris"},
		Rig:    journal.Rig{ID: webtest.NewID(t), Name: "Blood 165", Positions: []journal.RigPosition{{}, {Position: 1, Hang: journal.HangTag, Junction: "blood", TagLengthMM: new(165.0)}}},
	}))
	p.head = head.FindString(site.As("alder").Get("/offline").Body)
	s := &shared{thumb: openOffline(t, phone), gate: newGate(t, site), porch: p, site: site}
	return s
}

func (s *shared) signIn(name string) {
	s.t.Helper()
	s.open(s.url + "/sign-in")
	do(s.t, s.ctx, chromedp.SendKeys(named("name"), name))
	s.tap(`button`)
	s.wait(`location.pathname === "/" && document.body.dataset.for`)
}

// logs an afternoon without an answer from the journal.
func (s *shared) logs() {
	s.t.Helper()
	s.shut.Store(true)
	s.open(s.url + "/after")
	s.chip("1 h")
	s.tap(kind("landed"))
	s.tap(`#save`)
	s.sees("1 h with Blood 165")
	s.wait(`document.querySelector("#waiting-list").children.length === 1`)
}

// sessionsOf counts those of a journal.
func sessionsOf(t *testing.T, site *webtest.Site) int {
	t.Helper()
	_, n, err := site.Store.SessionLines(t.Context(), journal.SessionFilter{})
	site.Must(err)
	return n
}

// arrive waits until the journal has so many sessions and nothing waits on the phone.
func (h *thumb) arrive(site *webtest.Site, want int) {
	h.t.Helper()
	for end := time.Now().Add(patience); sessionsOf(h.t, site) != want; time.Sleep(30 * time.Millisecond) {
		if time.Now().After(end) {
			h.t.Fatalf("%d sessions in the journal, want %d", sessionsOf(h.t, site), want)
		}
	}
	h.wait(`document.querySelector("p.waiting").hidden`)
}

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
	h.evaluate(`window.fetch = () => new Promise(() => {})`) // the page itself sends nothing any more
	h.open(g.url + "/static/")                               // and no page of the journal is open
	g.shut.Store(false)
	if n := b.Sessions(t) - before; n != 0 {
		t.Fatalf("%d sessions arrived before", n)
	}
	if _, err := chromedp.Call(h.ctx, serviceworker.DispatchSyncEvent, serviceworker.DispatchSyncEventParams{Origin: g.url, RegistrationID: id, Tag: "send"}); err != nil {
		t.Fatal(err)
	}
	h.wait(fmt.Sprintf(`fetch(%q).then((a) => a.text()).then((text) => { window.text = text; }) && window.text?.includes("1 h")`, "/sessions"))
	if n := b.Sessions(t) - before; n != 1 {
		t.Errorf("%d sessions arrived", n)
	}
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
