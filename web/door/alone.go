package door

import (
	"net"
	"net/http"

	"rigtally/journal"
	"rigtally/web/page"
)

// keyPath is where a key is handed in.
const keyPath = "/key/"

// Alone is the door of pages that are served to this machine only: whoever opens an address with a key, which is
// good once, is let in by a cookie from then on. A port of one's own machine can be asked by all of its users, so
// without the cookie nothing is answered.
type Alone struct {
	visitor Visitor
	ring    Ring
	desk    *page.Desk
	keys    *http.ServeMux
}

// NewAlone is a door for one person, whose keys and cookies are on a ring.
func NewAlone(outfit journal.ID, who journal.Who, ring Ring) *Alone {
	return &Alone{visitor: Visitor{Outfit: outfit, Who: who}, ring: ring, desk: page.NewDesk(nil)}
}

// Furnish gives the door what its pages are written at.
func (a *Alone) Furnish(d *page.Desk) {
	a.desk, a.keys = d, http.NewServeMux()
	a.keys.Handle("GET "+keyPath+"{key}", d.Handle(a.useKey))
}

// Enter lets in who has the cookie of a key that was used.
func (a *Alone) Enter(w http.ResponseWriter, r *http.Request) (Visitor, bool) {
	if _, pattern := a.keys.Handler(r); pattern != "" {
		a.keys.ServeHTTP(w, r)
		return Visitor{}, false
	}
	if c, err := r.Cookie(cookieOfPort(r)); err == nil && a.ring.admits(c.Value) {
		return a.visitor, true
	}
	if forProgram(r) {
		keepOut(a.desk, w, r, "no-key", "This journal is open only to who started it. Open the address that rigtally printed, or ask for another with rigtally open.")
	} else {
		a.desk.Handle(a.closed).ServeHTTP(w, r)
	}
	return Visitor{}, false
}

// useKey makes a key, which is used up by it, a cookie.
func (a *Alone) useKey(w http.ResponseWriter, r *http.Request) error {
	if !a.ring.use(r.PathValue("key")) {
		return a.closed(w, r)
	}
	secret, err := a.ring.cut()
	if err != nil {
		return err
	}
	// Strict is enough: an address typed, or opened from a terminal or home screen, comes from no other site.
	http.SetCookie(w, &http.Cookie{Name: cookieOfPort(r), Value: secret, Path: "/", MaxAge: int(cookieLasts.Seconds()), HttpOnly: true, SameSite: http.SameSiteStrictMode})
	return page.See(w, r, "/")
}

// closed is the one page that is shown without the cookie.
func (a *Alone) closed(w http.ResponseWriter, _ *http.Request) error {
	return a.desk.Render(w, http.StatusUnauthorized, "closed", page.Frame{Title: "This journal is locked"})
}

// cookieOfPort names the cookie. Cookies ignore ports, and another program's pages, or another journal's, may be at one.
func cookieOfPort(r *http.Request) string {
	_, port, err := net.SplitHostPort(r.Host)
	if err != nil {
		port = "80"
	}
	return "rigtally-" + port
}
