package web

import (
	"net/http"
	"net/http/httptest"
	"strconv"
	"strings"
	"testing"
	"time"

	"rigtally/journal"
)

func TestSessionsByPage(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	for i := range sessionsPerPage + 1 {
		s := journal.Session{ID: newID(t), AnglerID: b.angler.ID, WaterID: b.water.ID, Day: journal.Date{Year: 2025, Month: 7, Day: 1 + i%30}, TimeZone: "UTC",
			Notes: strconv.Itoa(i), Stints: []journal.Stint{{ID: newID(t), RigID: b.one.ID, Minutes: ptr(60.0)}}}
		if _, err := b.store.SaveSession(t.Context(), s); err != nil {
			t.Fatal(err)
		}
	}
	first, second := b.get("/sessions").body, b.get("/sessions?page=2").body
	if n := strings.Count(first, `class="row"`); n != sessionsPerPage {
		t.Errorf("the first page has %d sessions", n)
	}
	if n := strings.Count(second, `class="row"`); n != 2 || !strings.Contains(second, "Page 2 of 2") || !strings.Contains(second, `href="/sessions?page=1"`) {
		t.Errorf("the second page has %d sessions", n)
	}
	year := b.get("/sessions?season=2025&page=2").body
	if !strings.Contains(year, "51 sessions") || !strings.Contains(year, "season=2025") {
		t.Error("the filter does not stay with the page")
	}
}

// The week begins on Monday, on the outfit's own calendar: 2026-05-04 01:00 UTC
// is still Sunday in Denver.
func TestThisWeekInShort(t *testing.T) {
	t.Parallel()
	b := newBook(t) // with 90 minutes and two twists on Friday 2026-05-01
	if err := b.store.SetOutfit(t.Context(), journal.Outfit{Name: "x", Units: "us", TimeZone: "America/Denver"}); err != nil {
		t.Fatal(err)
	}
	for now, want := range map[string]string{"2026-05-04T01:00:00Z": "2 tangles", "2026-05-04T07:00:00Z": "No session this week yet"} {
		at, err := time.Parse(time.RFC3339, now)
		if err != nil {
			t.Fatal(err)
		}
		server, err := New(b.store, Options{Now: func() time.Time { return at }})
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
	b := newBook(t)
	list := b.post("/sessions/"+b.session.ID.String()+"/delete", nil).header.Get("Location")
	if !strings.Contains(b.get(list).body, "Undo") {
		t.Error("undo is not offered")
	}
	if err := b.store.RestoreSession(t.Context(), b.session.ID, 0); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(b.get(list).body, "Undo") {
		t.Error("undo is offered for a session that is there")
	}
}

func TestPeopleWatersAndSettings(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	save := func(page, action string, changes map[string]string) {
		t.Helper()
		if got := b.press(action, fields(b.get(page).body), "save", changes); got.status != http.StatusSeeOther {
			t.Errorf("%s: status %d, %s", page, got.status, complaints(got.body))
		}
	}
	anglerPage, waterPage := "/anglers/"+b.angler.ID.String(), "/waters/"+b.water.ID.String()
	save(anglerPage, anglerPage, map[string]string{"kind": "guide"})
	save("/anglers/new", "/anglers/"+newID(t).String(), map[string]string{"name": "Odo", "active": "yes"})
	save(waterPage, waterPage, map[string]string{"zone": "Europe/Vienna", "beat.0.name": "Mill Pool", "beat.1.name": "The Weir"})
	save("/settings", "/settings", map[string]string{"units": "metric", "name": "Odo's book"})

	anglers, err := b.store.Anglers(t.Context())
	if err != nil || len(anglers) != 2 || anglers[0].Kind != "guide" || !anglers[1].Active {
		t.Errorf("anglers %+v, %v", anglers, err)
	}
	waters, err := b.store.Waters(t.Context())
	if err != nil || len(waters) != 1 || waters[0].TimeZone != "Europe/Vienna" || len(waters[0].Beats) != 2 || waters[0].Beats[0].Name != "Mill Pool" {
		t.Errorf("waters %+v, %v", waters, err)
	}
	if body := b.get("/rigs/" + b.one.ID.String()).body; !strings.Contains(body, "165.1 mm") || !strings.Contains(body, "Odo&#39;s book") {
		t.Error("the settings do not show on a page")
	}
}
