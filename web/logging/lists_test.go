package logging_test

import (
	"net/http"
	"net/http/httptest"
	"strconv"
	"strings"
	"testing"
	"time"

	"rigtally/journal"
	"rigtally/web"
	"rigtally/web/logging"
	"rigtally/web/webtest"
)

func TestSessionsByPage(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	for i := range logging.SessionsPerPage + 1 {
		s := journal.Session{ID: webtest.NewID(t), AnglerID: b.Angler.ID, WaterID: b.Water.ID, Day: journal.Date{Year: 2025, Month: 7, Day: 1 + i%30}, TimeZone: "UTC",
			Notes: strconv.Itoa(i), Stints: []journal.Stint{{ID: webtest.NewID(t), RigID: b.One.ID, Minutes: new(60.0)}}}
		if _, err := b.Store.SaveSession(t.Context(), s); err != nil {
			t.Fatal(err)
		}
	}
	first, second := b.Get("/sessions").Body, b.Get("/sessions?page=2").Body
	if n := strings.Count(first, `class="row"`); n != logging.SessionsPerPage {
		t.Errorf("the first page has %d sessions", n)
	}
	if n := strings.Count(second, `class="row"`); n != 2 || !strings.Contains(second, "Page 2 of 2") || !strings.Contains(second, `href="/sessions?page=1"`) {
		t.Errorf("the second page has %d sessions", n)
	}
	year := b.Get("/sessions?season=2025&page=2").Body
	if !strings.Contains(year, "51 sessions") || !strings.Contains(year, "season=2025") {
		t.Error("the filter does not stay with the page")
	}
}

// The week begins on Monday, on the outfit's own calendar: 2026-05-04 01:00 UTC
// is still Sunday in Denver.
func TestThisWeekInShort(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t) // with 90 minutes and two twists on Friday 2026-05-01
	if err := b.Store.SetOutfit(t.Context(), journal.Outfit{Name: "x", Units: "us", TimeZone: "America/Denver"}); err != nil {
		t.Fatal(err)
	}
	for now, want := range map[string]string{"2026-05-04T01:00:00Z": "2 tangles", "2026-05-04T07:00:00Z": "No session this week yet"} {
		at, err := time.Parse(time.RFC3339, now)
		if err != nil {
			t.Fatal(err)
		}
		server, err := web.New(b.Store, web.Options{Now: func() time.Time { return at }})
		if err != nil {
			t.Fatal(err)
		}
		w := httptest.NewRecorder()
		r := httptest.NewRequest(http.MethodGet, "/", nil)
		r.Host = "localhost"
		server.Handler().ServeHTTP(w, r)
		if !strings.Contains(w.Body.String(), `<dd>`+want) && !strings.Contains(w.Body.String(), want) {
			t.Errorf("at %s the week does not say %q", now, want)
		}
		if !strings.Contains(w.Body.String(), "68 °F") {
			t.Error("the caution is not in the outfit's units")
		}
	}
}

func TestAnUndoneDeletionIsNotOffered(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	list := b.Post("/sessions/"+b.Session.ID.String()+"/delete", nil).Header.Get("Location")
	if !strings.Contains(b.Get(list).Body, "Undo") {
		t.Error("undo is not offered")
	}
	if err := b.Store.RestoreSession(t.Context(), b.Session.ID, 0); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(b.Get(list).Body, "Undo") {
		t.Error("undo is offered for a session that is there")
	}
}
