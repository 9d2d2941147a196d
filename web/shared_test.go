package web_test

import (
	"context"
	"html"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/web/webtest"
)

// Ensure that a share shows one season to whoever has the link, leads nowhere, and is gone like one that never was
// once it is withdrawn or over.
func TestASharedSeason(t *testing.T) {
	t.Parallel()
	o := newOuting(t, 120)
	of := o.clients["client"]
	for i, who := range []string{"owner", "guide"} {
		s := o.As(who)
		page := s.Wants("/season?angler="+url.QueryEscape(of.Name), http.StatusOK, "Share this season as a link")
		question := regexp.MustCompile(`name="season" value="([^"]*)"`).FindStringSubmatch(page)
		made := s.Post("/shares", url.Values{"season": {html.UnescapeString(question[1])}, "days": {"7"}})
		link := regexp.MustCompile(`https?://[^/]+(/shared/[A-Za-z0-9_-]{43})<`).FindStringSubmatch(made.Body)
		if made.Status != http.StatusOK || link == nil {
			t.Fatalf("%s shares: status %d\n%s", who, made.Status, made.Body)
		}
		seen := o.Get(link[1]) // without the cookie of any visitor
		if seen.Status != http.StatusOK || !strings.Contains(seen.Body, html.EscapeString(of.Name)) || led.MatchString(strings.ReplaceAll(seen.Body, `href="/static/`, `="`)) || strings.Contains(seen.Body, "<script") {
			t.Errorf("the link shows: status %d, leading to %v", seen.Status, led.FindAllString(seen.Body, -1))
		}
		for _, a := range append(slices.Clone(o.others), o.clients["other"].Name, canaries["other"]) {
			if strings.Contains(seen.Body, a) {
				t.Errorf("the link shows %s", a)
			}
		}
		for header, want := range map[string]string{"X-Robots-Tag": "noindex", "Referrer-Policy": "no-referrer", "Cache-Control": "no-store"} {
			if got := seen.Header.Get(header); !strings.Contains(got, want) {
				t.Errorf("%s is %q", header, got)
			}
		}
		if len(webtest.Got(o.Store.Shares(t.Context()))(t)) != 1 {
			t.Error("the list does not have it")
		}
		never := o.Get("/shared/" + strings.Repeat("A", 43))
		if never.Status != http.StatusNotFound {
			t.Errorf("what never was: status %d", never.Status)
		}
		if i == 0 { // withdrawn by the other of the two
			list := o.As("guide").Wants("/shares", http.StatusOK, html.EscapeString(of.Name))
			if strings.Contains(list, link[1]) {
				t.Error("the list tells the link again")
			}
			withdraw := regexp.MustCompile(`action="(/shares/[^"]*/withdraw)"`).FindStringSubmatch(list)
			if got := o.As("client").Post(withdraw[1], nil); got.Status != http.StatusNotFound {
				t.Errorf("a client withdraws: status %d", got.Status)
			}
			if got := o.As("guide").Post(withdraw[1], nil); got.Status != http.StatusSeeOther {
				t.Errorf("a guide withdraws: status %d", got.Status)
			}
		} else { // over
			expire(t, o)
		}
		if gone := o.Get(link[1]); gone.Status != never.Status || gone.Body != never.Body {
			t.Errorf("what is over is answered %d\n%s", gone.Status, gone.Body)
		}
		if strings.Contains(o.Log.String(), link[1]) {
			t.Error("the log tells the link")
		}
	}
	if got := o.As("owner").Post("/shares", url.Values{"season": {""}, "days": {"7"}}); got.Status != http.StatusUnprocessableEntity {
		t.Errorf("the whole outfit's season: status %d", got.Status)
	}
	if got := o.As("owner").Post("/shares", url.Values{"season": {"angler=" + url.QueryEscape(of.Name)}, "days": {"9999"}}); got.Status != http.StatusUnprocessableEntity {
		t.Errorf("for 9999 days: status %d", got.Status)
	}
}

// expire lets every share be over.
func expire(t *testing.T, o outing) {
	t.Helper()
	conn := webtest.Got(pgx.Connect(t.Context(), pgtest.AsSuperuser(o.Database)))(t)
	defer conn.Close(context.Background())
	_, err := conn.Exec(t.Context(), `UPDATE share SET expires_at = now() - interval '1 second'`)
	o.Must(err)
}
