package webtest

import (
	"html"
	"strings"
	"testing"
	"time"

	"rigtally/journal"
	"rigtally/journal/demo"
)

// DemoSite serves the demo season, whose true effects are known: blood tangles 1.5
// times as often as figure-eight, though its ties are mostly the best angler's.
func DemoSite(t *testing.T) *Site {
	t.Helper()
	s := New(t)
	s.Must(demo.Load(t.Context(), s.Store, demo.Generate(demo.Seed, demo.Sessions)))
	return s
}

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

// season is invented, and small enough to be added up by hand: figure-eight 8
// tangles in 16 h, double surgeon's 4 in 4 h, blood 3 in 12 h; in all 15 in 32 h.
var season = []fishedWith{
	{junction: "figure-eight", tagMM: 152.4, bulk: "slim", sessions: 8, minutes: 120, tangled: 8, hookups: 5, fouled: 2},
	{junction: "blood", tagMM: 165.1, bulk: "legged", sessions: 8, minutes: 90, tangled: 3, hookups: 2, fouled: 1},
	{junction: "double surgeon's", tagMM: 177.8, bulk: "slim", sessions: 4, minutes: 60, tangled: 4},
}

// Fish logs the tests' season.
func (s *Site) Fish() {
	s.T.Helper()
	ctx := s.T.Context()
	s.Must(s.Store.SetOutfit(ctx, journal.Outfit{Name: "Invented Outfit", Units: "us", TimeZone: "America/Denver"}))
	water := journal.Water{ID: NewID(s.T), Name: "Sallow Fork", Kind: "freestone", TimeZone: "America/Denver"}
	s.Must(s.Store.SaveWater(ctx, water))
	var anglers []journal.ID
	for _, name := range []string{"Orrin", "Tamsin"} {
		a := journal.Angler{ID: NewID(s.T), Name: name, Kind: journal.Client, Active: true}
		s.Must(s.Store.SaveAngler(ctx, a))
		anglers = append(anglers, a.ID)
	}
	day := time.Date(2026, time.May, 1, 18, 0, 0, 0, time.UTC)
	for _, f := range season {
		rig, err := s.Store.SaveRig(ctx, journal.Rig{ID: NewID(s.T), Name: string(f.junction) + " rig", Method: "tight-line nymph", Positions: []journal.RigPosition{
			{Position: 0, Bulk: "slim"},
			{Position: 1, Hang: journal.HangTag, Junction: f.junction, TagLengthMM: &f.tagMM, Bulk: f.bulk},
		}})
		s.Must(err)
		for i := range f.sessions {
			day = day.AddDate(0, 0, 1)
			_, err := s.Store.SaveSession(ctx, journal.Session{ID: NewID(s.T), AnglerID: anglers[i%2], WaterID: water.ID, Day: journal.DateOf(day), TimeZone: water.TimeZone,
				LoggedAt: day, Stints: []journal.Stint{{ID: NewID(s.T), RigID: rig.ID, Minutes: new(float64(f.minutes)), Events: f.events(i)}}})
			s.Must(err)
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

func (s *Site) Must(err error) {
	s.T.Helper()
	if err != nil {
		s.T.Fatal(err)
	}
}

// Page gets a page that must answer with a status, and returns its text without tags' escapes.
func (s *Site) Page(path string, status int) string {
	s.T.Helper()
	a := s.Get(path)
	if a.Status != status {
		s.T.Fatalf("%s: status %d, want %d:\n%s", path, a.Status, status, a.Body)
	}
	return html.UnescapeString(a.Body)
}

func WantAll(t *testing.T, page, text string, parts ...string) {
	t.Helper()
	for _, part := range parts {
		if !strings.Contains(text, part) {
			t.Errorf("%s: %q is not on the page", page, part)
		}
	}
}

// WithTrial is a site with the invented trial, brought through its sessions.
func WithTrial(t testing.TB) (*Site, journal.Trial) {
	t.Helper()
	return seasonAndTrial(t, 0)
}

// WithOpenTrial is a site with the invented season's people and a trial of them that has just begun: 12 stints.
func WithOpenTrial(t testing.TB) (*Site, journal.Trial) {
	t.Helper()
	s := New(t)
	invented := demo.Generate(demo.Seed, 0)
	s.Must(demo.Load(t.Context(), s.Store, invented))
	return s, Got(demo.PlayTrial(t.Context(), s.Store, invented, demo.TrialSeed, 3))(t)
}

// SmallSeason is a site with a small invented season, which has something for every page.
func SmallSeason(t testing.TB, sessions int) *Site {
	t.Helper()
	s, _ := seasonAndTrial(t, sessions)
	_ = Got(s.Store.SaveRig(t.Context(), journal.Rig{Name: "Own knot", Positions: []journal.RigPosition{{Position: 0}, {Position: 1, Hang: journal.HangTag, Junction: journal.JunctionOther, JunctionName: "slip loop", TagLengthMM: new(120.0)}}}))(t)
	const header, good = "date,angler,water,minutes,tangles,score\n", "2026-05-09,Marlo Quillfeather,Tamsel Creek,60,1,A\n"
	s.Must(demo.Measure(t.Context(), s.Store, demo.Generate(demo.Seed, sessions)))
	const readings = "time,flow (cfs)\n2026-05-09 10:00,120\n2026-05-09 11:00,122\n"
	for _, w := range Got(s.Store.Waters(t.Context()))(t) { // links may lead to any of them first
		s.Upload("/waters/"+w.ID.String()+"/gauges/file", nil, File{"gauge.csv", readings})
	}
	// One sheet of which all is open that can be, and one that could be written.
	s.Upload("/import", nil, File{"open.csv", header + "2026-05-09,Marlo Quilfeather,Tamsel Creek,60,1,5\n2026-05-10,Orrin,Tamsel Creek,60,1,4\n2026-05-11,Orrin,Tamsel Creek,-60,1,3\n"}, File{"good.csv", header + good})
	return s
}

func seasonAndTrial(t testing.TB, sessions int) (*Site, journal.Trial) {
	t.Helper()
	s := New(t)
	invented := demo.Generate(demo.Seed, sessions)
	s.Must(demo.Load(t.Context(), s.Store, invented))
	s.Join("Oda", journal.RoleOwner, nil)
	return s, Got(demo.PlayTrial(t.Context(), s.Store, invented, demo.TrialSeed, demo.TrialSessions))(t)
}

func (s *Site) Held(id journal.ID) journal.Trial {
	s.T.Helper()
	return Got(s.Store.TrialByID(s.T.Context(), id))(s.T)
}

func (s *Site) Wants(page string, status int, texts ...string) string {
	s.T.Helper()
	got := s.Get(page)
	for _, want := range texts {
		if got.Status != status || !strings.Contains(got.Body, want) {
			s.T.Errorf("%s: status %d, without %q", page, got.Status, want)
		}
	}
	return got.Body
}
