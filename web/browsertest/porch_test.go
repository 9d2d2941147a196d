package browsertest

import (
	"fmt"
	"net/http"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

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
	h.holds(site, want)
	h.wait(`document.querySelector("p.waiting").hidden`)
}

// holds waits until the journal has so many sessions.
func (h *thumb) holds(site *webtest.Site, want int) {
	h.t.Helper()
	for end := time.Now().Add(patience); sessionsOf(h.t, site) != want; time.Sleep(30 * time.Millisecond) {
		if time.Now().After(end) {
			h.t.Fatalf("%d sessions in the journal, want %d", sessionsOf(h.t, site), want)
		}
	}
}
