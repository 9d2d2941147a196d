package door_test

import (
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal/pg"
	"rigtally/web"
	"rigtally/web/door"
	"rigtally/web/webtest"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, pg.Migrate)) }

// alone serves the pages of a journal behind a ring of keys.
func alone(t *testing.T, store *pg.Store, ring door.Ring) *httptest.Server {
	t.Helper()
	server := webtest.Got(web.New(store, web.Options{Door: door.NewAlone(store.OutfitID(), store.Who(), ring)}))(t)
	ts := httptest.NewServer(server.Handler())
	t.Cleanup(ts.Close)
	return ts
}

func browser(t *testing.T) *http.Client {
	t.Helper()
	return &http.Client{Jar: webtest.Got(cookiejar.New(nil))(t)}
}

func status(t *testing.T, c *http.Client, address string) int {
	t.Helper()
	res := webtest.Got(c.Get(address))(t)
	res.Body.Close()
	return res.StatusCode
}

// A key lets one browser in, once; its cookie still does after the program was started again, with the same folder.
func TestAKeyLetsOneBrowserInOnce(t *testing.T) {
	t.Parallel()
	store := webtest.Got(pg.Open(t.Context(), pgtest.NewDatabase(t)))(t)
	t.Cleanup(store.Close)
	dir := t.TempDir()
	ring := webtest.Got(door.NewRing(dir))(t)
	ts := alone(t, store, ring)
	path := webtest.Got(ring.NewKey())(t)
	mine, other := browser(t), browser(t)
	for _, at := range []string{"/", "/sessions", "/key/", "/key/nonsense", path + "x"} {
		if got := status(t, other, ts.URL+at); got != http.StatusUnauthorized {
			t.Errorf("%s without a key: status %d", at, got)
		}
	}
	if got := status(t, mine, ts.URL+path); got != http.StatusOK {
		t.Fatalf("with the key: status %d", got)
	}
	if got := status(t, other, ts.URL+path); got != http.StatusUnauthorized {
		t.Errorf("the key opens twice: status %d", got)
	}
	again := webtest.Got(web.New(store, web.Options{Door: door.NewAlone(store.OutfitID(), store.Who(), webtest.Got(door.NewRing(dir))(t))}))(t)
	ts.Config.Handler = again.Handler()
	if got := status(t, mine, ts.URL+"/sessions"); got != http.StatusOK {
		t.Errorf("after a restart: status %d", got)
	}
	secret := strings.TrimPrefix(path, "/key/")
	webtest.Got(0, filepath.WalkDir(dir, func(name string, d os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		info, err := d.Info()
		if err == nil && (info.Mode().Perm()&0o077 != 0 || strings.Contains(name, secret) || !d.IsDir() && info.Size() > 0) {
			t.Errorf("%s: %v, %d bytes", name, info.Mode(), info.Size())
		}
		return err
	}))(t)
}

// Programs are told in JSON, and the cookie is out of reach of scripts, other sites and other ports.
func TestAlone(t *testing.T) {
	t.Parallel()
	store := webtest.Got(pg.Open(t.Context(), pgtest.NewDatabase(t)))(t)
	t.Cleanup(store.Close)
	ring := webtest.Got(door.NewRing(t.TempDir()))(t)
	ts := alone(t, store, ring)
	c := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	res := webtest.Got(c.Get(ts.URL + "/api/known"))(t)
	res.Body.Close()
	if res.StatusCode != http.StatusUnauthorized || res.Header.Get("Content-Type") != "application/problem+json" {
		t.Errorf("a program without the cookie: %d, %s", res.StatusCode, res.Header.Get("Content-Type"))
	}
	res = webtest.Got(c.Get(ts.URL + webtest.Got(ring.NewKey())(t)))(t)
	res.Body.Close()
	_, port, _ := strings.Cut(strings.TrimPrefix(ts.URL, "http://"), ":")
	got := res.Cookies()
	if len(got) != 1 || got[0].Name != "rigtally-"+port || !got[0].HttpOnly || got[0].SameSite != http.SameSiteStrictMode || got[0].Domain != "" {
		t.Errorf("cookies %v", got)
	}
}

// Without the cookie every address shows the template "closed", which says what to do.
func TestClosed(t *testing.T) {
	t.Parallel()
	store := webtest.Got(pg.Open(t.Context(), pgtest.NewDatabase(t)))(t)
	t.Cleanup(store.Close)
	ts := alone(t, store, webtest.Got(door.NewRing(t.TempDir()))(t))
	res := webtest.Got(browser(t).Get(ts.URL + "/sessions"))(t)
	body := string(webtest.Got(io.ReadAll(res.Body))(t))
	res.Body.Close()
	webtest.CheckPage(t, "/sessions", body)
	webtest.WantAll(t, "/sessions", body, "This journal is locked", "rigtally open", "press Enter")
	if res.Header.Get("Cache-Control") != "no-store" {
		t.Errorf("a browser keeps it: %v", res.Header)
	}
}

// A key that nobody used is no good after a day, and only so many browsers are remembered.
func TestKeysAndCookiesEnd(t *testing.T) {
	t.Parallel()
	store := webtest.Got(pg.Open(t.Context(), pgtest.NewDatabase(t)))(t)
	t.Cleanup(store.Close)
	dir := t.TempDir()
	ring := webtest.Got(door.NewRing(dir))(t)
	ts := alone(t, store, ring)
	path := webtest.Got(ring.NewKey())(t)
	for _, f := range webtest.Got(filepath.Glob(filepath.Join(dir, "keys", "*")))(t) {
		webtest.Got(0, os.Chtimes(f, time.Time{}, time.Now().Add(-25*time.Hour)))(t)
	}
	if got := status(t, browser(t), ts.URL+path); got != http.StatusUnauthorized {
		t.Errorf("a key of yesterday: status %d", got)
	}
	for range 40 {
		if got := status(t, browser(t), ts.URL+webtest.Got(ring.NewKey())(t)); got != http.StatusOK {
			t.Fatalf("a fresh key: status %d", got)
		}
	}
	last := browser(t)
	if got := status(t, last, ts.URL+webtest.Got(ring.NewKey())(t)); got != http.StatusOK {
		t.Fatalf("a fresh key: status %d", got)
	}
	kept := webtest.Got(filepath.Glob(filepath.Join(dir, "cookies", "*")))(t)
	if len(kept) != 32 {
		t.Errorf("%d cookies are kept", len(kept))
	}
	for _, f := range kept {
		webtest.Got(0, os.Chtimes(f, time.Time{}, time.Now().Add(-401*24*time.Hour)))(t)
	}
	if got := status(t, last, ts.URL+"/"); got != http.StatusUnauthorized {
		t.Errorf("a cookie that nobody used for 401 days: status %d", got)
	}
}

// A clock that goes wrong by a day, either way, shuts nobody out who was let in.
func TestAWrongClockShutsNobodyOut(t *testing.T) {
	t.Parallel()
	store := webtest.Got(pg.Open(t.Context(), pgtest.NewDatabase(t)))(t)
	t.Cleanup(store.Close)
	dir := t.TempDir()
	ring := webtest.Got(door.NewRing(dir))(t)
	ts := alone(t, store, ring)
	mine := browser(t)
	if got := status(t, mine, ts.URL+webtest.Got(ring.NewKey())(t)); got != http.StatusOK {
		t.Fatalf("with the key: status %d", got)
	}
	for _, wrong := range []time.Duration{-24 * time.Hour, 24 * time.Hour} {
		at := time.Now().Add(wrong)
		for _, file := range webtest.Got(filepath.Glob(filepath.Join(dir, "cookies", "*")))(t) {
			if err := os.Chtimes(file, at, at); err != nil {
				t.Fatal(err)
			}
		}
		if got := status(t, mine, ts.URL+"/"); got != http.StatusOK {
			t.Errorf("let in by a clock that was wrong by %v: status %d", wrong, got)
		}
	}
}
