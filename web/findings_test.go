package web

import (
	"encoding/csv"
	"encoding/json"
	"html"
	"math"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"rigtally/journal"
)

// fishedWith is what some sessions of the tests' season have in common: one
// stint each, with a dropper on a tag.
type fishedWith struct {
	junction        journal.Junction
	tagMM           float64
	bulk            journal.Bulk
	sessions        int
	minutes         int // each
	tangled         int // sessions with one tangle
	hookups, fouled int // hookups in each session, and foul ones among them in the first session only
}

// fishedSeason is invented, and small enough to be added up by hand: figure-eight 8
// tangles in 16 h, double surgeon's 4 in 4 h, blood 3 in 12 h; in all 15 in 32 h.
var fishedSeason = []fishedWith{
	{junction: "figure-eight", tagMM: 152.4, bulk: "slim", sessions: 8, minutes: 120, tangled: 8, hookups: 5, fouled: 2},
	{junction: "blood", tagMM: 165.1, bulk: "legged", sessions: 8, minutes: 90, tangled: 3, hookups: 2, fouled: 1},
	{junction: "double surgeon's", tagMM: 177.8, bulk: "slim", sessions: 4, minutes: 60, tangled: 4},
}

// fish logs the tests' season.
func (s *site) fish() {
	s.t.Helper()
	ctx := s.t.Context()
	s.must(s.store.SetOutfit(ctx, journal.Outfit{Name: "Invented Outfit", Units: "us", TimeZone: "America/Denver"}))
	water := journal.Water{ID: newID(s.t), Name: "Sallow Fork", Kind: "freestone", TimeZone: "America/Denver"}
	s.must(s.store.SaveWater(ctx, water))
	var anglers []journal.ID
	for _, name := range []string{"Orrin", "Tamsin"} {
		a := journal.Angler{ID: newID(s.t), Name: name, Kind: journal.Client, Active: true}
		s.must(s.store.SaveAngler(ctx, a))
		anglers = append(anglers, a.ID)
	}
	day := time.Date(2026, time.May, 1, 18, 0, 0, 0, time.UTC)
	for _, f := range fishedSeason {
		rig, err := s.store.SaveRig(ctx, journal.Rig{ID: newID(s.t), Name: string(f.junction) + " rig", Method: "tight-line nymph", Positions: []journal.RigPosition{
			{Position: 0, Bulk: "slim"},
			{Position: 1, Hang: journal.HangTag, Junction: f.junction, TagLengthMM: &f.tagMM, Bulk: f.bulk},
		}})
		s.must(err)
		for i := range f.sessions {
			day = day.AddDate(0, 0, 1)
			_, err := s.store.SaveSession(ctx, journal.Session{ID: newID(s.t), AnglerID: anglers[i%2], WaterID: water.ID, Day: journal.DateOf(day), TimeZone: water.TimeZone,
				LoggedAt: day, Stints: []journal.Stint{{ID: newID(s.t), RigID: rig.ID, Minutes: ptr(float64(f.minutes)), Events: f.events(i)}}})
			s.must(err)
		}
	}
}

// events are those of the i-th session.
func (f fishedWith) events(i int) []journal.Event {
	dropper := 1
	var events []journal.Event
	add := func(n int, e journal.Event) {
		if e.Count, e.Position = n, &dropper; n > 0 {
			events = append(events, e)
		}
	}
	foul := 0
	if i == 0 {
		foul = f.fouled
	}
	add(foul, journal.Event{Kind: journal.EventHookup, Hooking: journal.Foul, Ending: journal.Landed})
	add(f.hookups-foul, journal.Event{Kind: journal.EventHookup, Hooking: journal.Fair, Ending: journal.Landed})
	if i < f.tangled {
		add(1, journal.Event{Kind: journal.EventTangle, TangleKind: journal.Twist})
	}
	return events
}

func (s *site) must(err error) {
	s.t.Helper()
	if err != nil {
		s.t.Fatal(err)
	}
}

// page gets a page that must answer with a status, and returns its text without tags' escapes.
func (s *site) page(path string, status int) string {
	s.t.Helper()
	a := s.get(path)
	if a.status != status {
		s.t.Fatalf("%s: status %d, want %d:\n%s", path, a.status, status, a.body)
	}
	return html.UnescapeString(a.body)
}

func wantAll(t *testing.T, page, text string, parts ...string) {
	t.Helper()
	for _, part := range parts {
		if !strings.Contains(text, part) {
			t.Errorf("%s: %q is not on the page", page, part)
		}
	}
}

func TestFindingsOfAnEmptyJournal(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	for template, path := range map[string]string{"findings": "/findings", "taglength": "/tag-length"} {
		text := s.page(path, http.StatusOK)
		checkPage(t, template, text)
		wantAll(t, path, text, "Nothing has been logged yet", `href="/log"`)
		if strings.Contains(text, "<table") {
			t.Errorf("%s of an empty journal shows a table", path)
		}
	}
}

func TestFindingsAnswers(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	s.fish()
	for path, want := range map[string][]string{
		"/findings":                                                {"<h1>Tangles by junction</h1>", "20 stints, 32 hours, 15 tangles in all.", "figure-eight", "double surgeon's", "0.250", "Plain numbers."},
		"/findings?outcome=foul-hook&by=bulk":                      {"<h1>Foul hookups by bulk</h1>", "16 stints", "Clopper"},
		"/findings?outcome=tangles&by=junction&by=bulk":            {"<h1>Tangles by junction and bulk</h1>", "legged"},
		"/findings?outcome=tangles&by=angler&where=junction=blood": {"only junction blood", "Orrin", "Tamsin", "8 stints, 12 hours, 3 tangles in all."},
		"/findings?by=junction&where=season=2019":                  {"The journal holds nothing on this question", `value="season=2019" checked`},
		"/findings?by=junction&where=junction=blood":               {"nothing to compare", "12 hours"},
		"/tag-length":                               {"<h1>Tangles by tag length</h1>", "Least so far with ", "20 stints, 32 hours, 15 tangles in all.", "Plain numbers."},
		"/tag-length?bands=each":                    {"6 in", "6 1/2 in", "7 in"},
		"/tag-length?bands=each&where=angler=Orrin": {"only angler Orrin", "10 stints"},
		"/findings?where=angler=%00%FF%0A":          {"The journal holds nothing on this question"},
		"/tag-length?bands=0.25in":                  {`value="0.25in" selected`},
	} {
		text := s.page(path, http.StatusOK)
		checkPage(t, path, text)
		wantAll(t, path, text, want...)
	}
}

// Rates and counts are those of the season added up by hand.
func TestFindingsForPrograms(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	s.fish()
	var got struct {
		Outcome, Unit string
		Groups        []struct {
			Level                  map[string]any
			Exposure, Events, Rate float64
			Low, High              *float64
		}
	}
	a := s.get("/findings.json?outcome=tangles&by=junction")
	if err := json.Unmarshal([]byte(a.body), &got); err != nil {
		t.Fatal(err)
	}
	if got.Outcome != "tangles" || got.Unit != "per hour" || len(got.Groups) != 3 {
		t.Fatalf("answer %s", a.body)
	}
	a = s.get("/findings.csv?outcome=tangles&by=junction")
	rows, err := csv.NewReader(strings.NewReader(a.body)).ReadAll()
	if err != nil || len(rows) != 4 || rows[0][0] != "junction" {
		t.Fatalf("CSV %v, %v", rows, err)
	}
	for i, want := range []struct {
		junction           string
		hours, events, per float64
	}{{"figure-eight", 16, 8, 0.5}, {"double surgeon's", 4, 4, 1}, {"blood", 12, 3, 0.25}} {
		g := got.Groups[i]
		if g.Level["junction"] != want.junction || math.Abs(g.Exposure-want.hours) > 1e-9 || g.Events != want.events || math.Abs(g.Rate-want.per) > 1e-9 || g.Low == nil || g.High == nil {
			t.Errorf("group %d is %+v, want %+v with an interval", i, g, want)
		}
		if rows[i+1][0] != want.junction {
			t.Errorf("row %d of the CSV is %v", i+1, rows[i+1])
		}
	}
}

// What a form sends becomes the address that is shared: without its empty parts.
func TestFindingsTidiesAddresses(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	a := s.get("/findings?outcome=tangles&by=junction&by=&where=angler%3DOrrin&where=&where=")
	if want := "/findings?outcome=tangles&by=junction&where=angler=Orrin"; a.status != http.StatusSeeOther || a.header.Get("Location") != want {
		t.Errorf("status %d to %q, want %d to %q", a.status, a.header.Get("Location"), http.StatusSeeOther, want)
	}
}

func TestMalformedQuestions(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	s.fish()
	for _, tt := range []struct{ address, says string }{
		{"/findings?outcome=trophies", `outcome "trophies" is not known`},
		{"/findings?outcome=tangles&by=moon", `factor "moon" is not known`},
		{"/findings?by=junction&by=bulk&by=water", "two factors at most"},
		{"/findings?by=tag-length&by=tag-length:25mm", "twice"},
		{"/findings?by=junction:25mm", "no bands"},
		{"/findings?by=tag-length:wide", `band width "wide" is not understood`},
		{"/findings?by=tag-length:0mm", "more than 0"},
		{"/findings?by=tag-length:0.0001mm", "too narrow"},
		{"/findings?where=blood", `filter "blood" is not understood`},
		{"/findings?where=junction=", `filter "junction=" is not understood`},
		{"/findings?where=moon=full", `factor "moon" is not known`},
		{"/findings?where=facing=sideways", `facing "sideways" is not known`},
		{"/findings?where=tag-length=long", "long"},
		{"/findings?where=tag-length=200mm..100mm", "runs backwards"},
		{"/findings?versus=granny", "granny"},
		{"/findings?by=junction&where=" + strings.Repeat("x", 5000), "is not understood"},
		{"/findings?where=%3Cscript%3Ealert(1)%3C/script%3E", "is not understood"},
		{"/tag-length?bands=wide", `band width "wide" is not understood`},
		{"/tag-length?bands=-1in", "band width"},
		{"/tag-length?outcome=trophies", `outcome "trophies" is not known`},
		{"/findings.csv?by=moon", `factor "moon" is not known`},
		{"/findings.json?by=moon", `factor \"moon\" is not known`},
	} {
		a := s.get(tt.address)
		if a.status != http.StatusUnprocessableEntity {
			t.Errorf("%.80s: status %d, want %d", tt.address, a.status, http.StatusUnprocessableEntity)
		}
		text := html.UnescapeString(a.body)
		if !strings.Contains(strings.ToLower(text), strings.ToLower(tt.says)) {
			t.Errorf("%.80s: the page does not say %q", tt.address, tt.says)
		}
		for _, bad := range []string{"goroutine", "SQLSTATE", "panic", "<script>alert", ".go:"} {
			if strings.Contains(a.body, bad) {
				t.Errorf("%.80s: the page shows %q", tt.address, bad)
			}
		}
	}
	if s.log.Len() > 0 {
		t.Errorf("a malformed question is no failure to log:\n%s", s.log)
	}
}

// A question that is not understood stays in the form to be put right.
func TestMalformedQuestionsAreKept(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	s.fish()
	text := s.page("/findings?outcome=trophies&by=moon&where=stars=many", http.StatusUnprocessableEntity)
	wantAll(t, "/findings", text, `value="trophies" selected`, `value="moon" selected`, `value="stars=many" checked`, "Answer</button>")
}

func TestNarrowingKeepsToALevel(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	s.fish()
	text := s.page("/findings?outcome=tangles&by=junction", http.StatusOK)
	address := "/findings?outcome=tangles&by=tag-length:1in&where=junction=double+surgeon%27s"
	wantAll(t, "/findings", text, address)
	wantAll(t, address, s.page(address, http.StatusOK), "4 stints, 4 hours, 4 tangles in all.")
	text = s.page("/tag-length", http.StatusOK)
	address = "/findings?outcome=tangles&by=junction&where=tag-length=152.4mm..%3C177.8mm"
	wantAll(t, "/tag-length", text, address)
	wantAll(t, address, s.page(address, http.StatusOK), "16 stints, 28 hours, 11 tangles in all.")
}

func TestPagesWithoutTheChartLibrary(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	s.fish()
	server, err := New(s.store, Options{})
	s.must(err)
	delete(server.assets.byName, "vendor/echarts.js")
	for _, path := range []string{"/findings", "/tag-length"} {
		w := httptest.NewRecorder()
		server.Handler().ServeHTTP(w, httptest.NewRequest(http.MethodGet, "http://localhost"+path, nil))
		text := w.Body.String()
		wantAll(t, path, text, "Charts were left out of this build; run <code>make assets</code>", "<table", "15 tangles in all.")
		if strings.Contains(text, "chart/page.js") || strings.Contains(text, "chart-data") {
			t.Errorf("%s: the page still asks for a chart", path)
		}
		wantAll(t, path, text, `<svg class="drawn`)
	}
}
