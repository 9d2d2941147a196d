package door_test

import (
	"io"
	"log/slog"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/netip"
	"net/url"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/web"
	"rigtally/web/door"
	"rigtally/web/webtest"
)

// good is a passphrase that nothing is wrong with.
const good = "gravel kettle borrowed moonlight"

// house is a journal's pages behind the door for people, with a clock of the test's own.
type house struct {
	t     *testing.T
	url   string // of the database
	store *pg.Store
	door  *door.People
	ts    *httptest.Server
	later atomic.Int64 // of the clock, in nanoseconds
	from  atomic.Pointer[netip.Addr]
	log   strings.Builder
}

func newHouse(t *testing.T) *house {
	t.Helper()
	h := &house{t: t, url: pgtest.NewDatabase(t)}
	h.store = webtest.Got(pg.Open(t.Context(), h.url))(t)
	t.Cleanup(h.store.Close)
	h.comesFrom("192.0.2.1")
	h.ts = httptest.NewUnstartedServer(nil)
	h.ts.StartTLS()
	t.Cleanup(h.ts.Close)
	now := func() time.Time { return time.Now().Add(time.Duration(h.later.Load())) }
	h.door = webtest.Got(door.NewPeople(h.store, webtest.Got(url.Parse(h.ts.URL))(t), func(*http.Request) netip.Addr { return *h.from.Load() }, now))(t)
	h.ts.Config.Handler = webtest.Got(web.New(h.store, web.Options{Door: h.door, Now: now, Logger: slog.New(slog.NewTextHandler(io.MultiWriter(t.Output(), &h.log), nil))}))(t).Handler()
	return h
}

// comesFrom makes all that follows come from an address (those of RFC 5737 and RFC 3849 are nobody's).
func (h *house) comesFrom(address string) {
	at := netip.MustParseAddr(address)
	h.from.Store(&at)
}

func (h *house) wait(d time.Duration) { h.later.Add(int64(d)) }

// invite makes an invitation and returns the path of its link.
func (h *house) invite(name string, role journal.Role) string {
	h.t.Helper()
	return "/join/" + webtest.Got(h.store.Invite(h.t.Context(), journal.Invitation{Name: name, Role: role}))(h.t)
}

// guest is somebody's browser.
type guest struct {
	*house
	client *http.Client
}

func (h *house) guest() *guest {
	h.t.Helper()
	c := *h.ts.Client()
	c.Jar = webtest.Got(cookiejar.New(nil))(h.t)
	c.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	return &guest{h, &c}
}

func (g *guest) do(method, path string, form url.Values, header ...string) webtest.Answer {
	g.t.Helper()
	r := webtest.Got(http.NewRequestWithContext(g.t.Context(), method, g.ts.URL+path, strings.NewReader(form.Encode())))(g.t)
	r.Header.Set("Accept", "text/html")
	r.Header.Set("User-Agent", "Mozilla/5.0 (Linux; Android 15) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/140.0.0.0 Mobile Safari/537.36")
	if form != nil {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	for i := 0; i < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	res := webtest.Got(g.client.Do(r))(g.t)
	defer res.Body.Close()
	return webtest.Answer{Status: res.StatusCode, Body: strings.ReplaceAll(string(webtest.Got(io.ReadAll(res.Body))(g.t)), "\u00a0", " "), Header: res.Header}
}

func (g *guest) get(path string) webtest.Answer { g.t.Helper(); return g.do(http.MethodGet, path, nil) }

func (g *guest) post(path string, pairs ...string) webtest.Answer {
	g.t.Helper()
	form := url.Values{}
	for i := 0; i < len(pairs); i += 2 {
		form.Set(pairs[i], pairs[i+1])
	}
	return g.do(http.MethodPost, path, form)
}

// wants checks how a page answers, and returns it.
func (g *guest) wants(what string, got webtest.Answer, status int, texts ...string) webtest.Answer {
	g.t.Helper()
	for _, text := range append(texts, "") {
		if got.Status != status || !strings.Contains(got.Body+got.Header.Get("Location"), text) {
			g.t.Errorf("%s: status %d, want %d with %q:\n%s\n%s", what, got.Status, status, text, got.Header.Get("Location"), got.Body)
		}
	}
	return got
}

// joins takes an invitation up with a passphrase, and returns the account.
func (g *guest) joins(link, word, passphrase string) string {
	g.t.Helper()
	g.wants("join", g.post(link, "word", word, "passphrase", passphrase), http.StatusSeeOther, "/account")
	_, rest, _ := strings.Cut(g.get("/account").Body, "You sign in as <strong>")
	account, _, found := strings.Cut(rest, "</strong>")
	if !found {
		g.t.Fatal("the account page names no account")
	}
	return account
}

// signsIn tries to.
func (g *guest) signsIn(account, passphrase string) webtest.Answer {
	g.t.Helper()
	return g.post("/sign-in", "account", account, "passphrase", passphrase)
}

// secret is what the browser holds in a cookie.
func (g *guest) secret(name string) string {
	g.t.Helper()
	for _, c := range g.client.Jar.Cookies(webtest.Got(url.Parse(g.ts.URL))(g.t)) {
		if c.Name == name {
			return c.Value
		}
	}
	return ""
}
