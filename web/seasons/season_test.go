package seasons_test

import (
	"bytes"
	"encoding/csv"
	"encoding/xml"
	"errors"
	"fmt"
	"html"
	"io"
	"net/http"
	"os"
	"regexp"
	"strings"
	"testing"
	"time"

	"rigtally/analytics/season"
	"rigtally/prose/review"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/web/seasons"
	"rigtally/web/webtest"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, pg.Migrate)) }

func TestSeasonPages(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	if page := s.Page("/season", http.StatusOK); !strings.Contains(page, "Nothing has been logged yet") {
		t.Error("an empty journal's page does not say so")
	}
	s.Fish()
	// By hand: 20 sessions, 10 of each angler; 16 + 12 + 4 h; 15 tangles; 56 hookups, all
	// of which the tests' season ends nowhere.
	page := s.Page("/season", http.StatusOK)
	for _, want := range []string{"Season 2026: Invented Outfit", "32 h", "20 days", "56 fish", "15 tangles", "Beside all seasons", "nothing to compare with",
		`<svg class="drawn drawn-numbers"`, `role="img"`, `href="/season.html?year=2026"`, `href="/season/figure/months.svg?year=2026"`, "How this was computed"} {
		if !strings.Contains(html.UnescapeString(page), want) {
			t.Errorf("the page is without %q", want)
		}
	}
	page = s.Page("/season?angler=orrin&year=2026", http.StatusOK)
	if !strings.Contains(page, "Season 2026: Orrin") || strings.Contains(article(page), "Tamsin") {
		t.Error("an angler's review is not theirs alone")
	}
	if page = s.Page("/season?angler=Orrin&year=2020", http.StatusOK); !strings.Contains(page, "Orrin logged no session in 2020.") {
		t.Error("an empty year does not say so")
	}
	s.Page("/season?angler=Nobody", http.StatusNotFound)
	s.Page("/season/figure/luck.svg", http.StatusNotFound)
	file := s.Get("/season.html?angler=Orrin")
	if got := file.Header.Get("Content-Disposition"); got != `attachment; filename=season-2026-orrin.html` {
		t.Errorf("the file is sent as %q", got)
	}
	if got := s.Get("/season.html?angler=Orrin&names=out").Header.Get("Content-Disposition"); strings.Contains(got, "orrin") {
		t.Errorf("without names the file is sent as %q", got)
	}
	rows, err := csv.NewReader(strings.NewReader(s.Get("/season/figure/months.csv").Body)).ReadAll()
	if err != nil || len(rows) != 2 || rows[1][0] != "5" || rows[1][3] != "32" || rows[1][4] != "56" {
		t.Errorf("%v, %v", rows, err)
	}
}

// article is the review in a page, without the form around it.
func article(page string) string {
	_, rest, _ := strings.Cut(page, `<article class="review">`)
	body, _, _ := strings.Cut(rest, "</article>")
	return body
}

// A review that is kept for its figures must not outlive what it is about.
func TestSeasonIsReviewedAnewAfterAWrite(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	s.Fish()
	s.Page("/season", http.StatusOK)
	if page := s.Page("/season?angler=ORRIN", http.StatusOK); !strings.Contains(page, "Season 2026: Orrin") {
		t.Error("not Orrin's")
	}
	anglers, err := s.Store.Anglers(t.Context())
	s.Must(err)
	for _, a := range anglers {
		a.Name += " Anew"
		s.Must(s.Store.SaveAngler(t.Context(), a))
	}
	s.Page("/season?angler=Orrin", http.StatusNotFound)
	if page := s.Page("/season?angler=Orrin+Anew", http.StatusOK); !strings.Contains(page, "Season 2026: Orrin Anew") {
		t.Error("not Orrin Anew's")
	}
	lines, _, err := s.Store.SessionLines(t.Context(), journal.SessionFilter{Limit: 1})
	s.Must(err)
	before := s.Get("/season.json").Body
	if again := s.Get("/season.json").Body; again != before {
		t.Error("the same journal, another review")
	}
	deleted := s.Post("/sessions/"+lines[0].ID.String()+"/delete", nil)
	if after := s.Get("/season.json").Body; deleted.Status != http.StatusSeeOther || after == before {
		t.Errorf("status %d, and the review after a session was deleted is the one before", deleted.Status)
	}
}

// Every figure is well-formed as a file of its own.
func TestSeasonFiguresAreXML(t *testing.T) {
	t.Parallel()
	s := webtest.SmallSeason(t, 60)
	for _, name := range []string{"months", "outcomes", "rigs", "sessions-tangles", "sessions-landed"} {
		got := s.Get("/season/figure/" + name + ".svg")
		if got.Status != http.StatusOK || got.Header.Get("Content-Type") != "image/svg+xml" {
			t.Errorf("%s: status %d, %s", name, got.Status, got.Header.Get("Content-Type"))
		}
		d := xml.NewDecoder(strings.NewReader(got.Body))
		for {
			if _, err := d.Token(); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
		}
		if strings.Contains(got.Body, "NaN") || strings.Contains(got.Body, "Inf") {
			t.Errorf("%s holds what is not a number", name)
		}
	}
}

// secrets are every name and word of the journal below; none may be in what is
// shared without names and with waters blurred.
var secrets = []string{"Quillfeather", "Brambleknot", "Mossgarter", "Outfitterby", "Zephyrwater", "Nettlebeat", "Riggelton", "Flyrington", "Knottingley",
	"Notesworth", "Stintsby", "Eventham", "Speciesford", "09380000", "Gaugington", "Claimsworth", "Zephyrtwo"}

// secretive keeps a journal in which everything that can be named is.
func secretive(t *testing.T) *webtest.Site {
	t.Helper()
	s := webtest.New(t)
	ctx := t.Context()
	s.Must(s.Store.SetOutfit(ctx, journal.Outfit{Name: "Outfitterby Guides", Units: "us", TimeZone: "America/Denver"}))
	waters := []journal.Water{
		{ID: webtest.NewID(t), Name: "Zephyrwater", Kind: "freestone", TimeZone: "America/Denver", GaugeProvider: "Gaugington", GaugeSite: "09380000", Beats: []journal.Beat{{ID: webtest.NewID(t), Name: "Nettlebeat"}}},
		{ID: webtest.NewID(t), Name: "Zephyrtwo", Kind: "lake", TimeZone: "America/Denver"},
	}
	var anglers []journal.ID
	for _, w := range waters {
		s.Must(s.Store.SaveWater(ctx, w))
	}
	for _, a := range []journal.Angler{{Name: "Ann Quillfeather", Kind: journal.Client}, {Name: "Bo Brambleknot", Kind: "guide"}, {Name: "Cy Mossgarter", Kind: journal.Client}} {
		a.ID, a.Active = webtest.NewID(t), true
		s.Must(s.Store.SaveAngler(ctx, a))
		anglers = append(anglers, a.ID)
	}
	var rigs []journal.Rig
	for i, junction := range []journal.Junction{journal.JunctionOther, "blood"} {
		dropper := journal.RigPosition{Position: 1, Hang: journal.HangTag, Junction: junction, TagLengthMM: new(150 + 20*float64(i)), Fly: "Flyrington Special", Bulk: "slim"}
		if junction == journal.JunctionOther {
			dropper.JunctionName = "Knottingley loop"
		}
		rig, err := s.Store.SaveRig(ctx, journal.Rig{Name: fmt.Sprintf("Riggelton %d", i), Method: "wet", Notes: "Notesworth", Positions: []journal.RigPosition{{Position: 0, Fly: "Flyrington Point"}, dropper}})
		s.Must(err)
		rigs = append(rigs, rig)
	}
	for _, c := range []journal.Claim{
		{Words: "Claimsworth says loops tangle more", Outcome: "tangles", Factor: "junction", Direction: journal.More, Level: []string{"Knottingley loop"}, Versus: []string{"blood"}},
		{Words: "Claimsworth fishes better", Outcome: "tangles", Factor: "angler", Direction: journal.Less, Level: []string{"Ann Quillfeather"}, Versus: []string{"Cy Mossgarter"}},
		{Words: "Claimsworth water is kinder", Outcome: "tangles", Factor: "water", Direction: journal.Less, Level: []string{"Zephyrwater"}, Versus: []string{"Zephyrtwo"}},
		{Words: "Claimsworth rig is best", Outcome: "landed", Factor: "rig", Direction: journal.More, Level: []string{"Riggelton 0"}, Versus: []string{"Riggelton 1"}},
		{Words: "Claimsworth beat is best", Outcome: "landed", Factor: "beat", Direction: journal.More, Level: []string{"Zephyrwater, Nettlebeat"}, Versus: []string{"Zephyrtwo"}},
	} {
		c.ID = webtest.NewID(t)
		_, err := s.Store.SaveClaim(ctx, c)
		s.Must(err)
	}
	day := time.Date(2026, time.April, 3, 18, 0, 0, 0, time.UTC)
	for i := range 48 {
		day = day.AddDate(0, 0, 3)
		tangles := 1 + 7*(i%2)*(i%3%2) + i%2*3
		events := []journal.Event{
			{Kind: journal.EventTangle, Count: tangles, Note: "Eventham"},
			{Kind: journal.EventHookup, Count: 1 + i%4, Hooking: journal.Fair, Ending: journal.Landed, Species: "Speciesford trout"},
		}
		session := journal.Session{ID: webtest.NewID(t), AnglerID: anglers[i%3], GuideID: &anglers[1], WaterID: waters[i/2%2].ID, Day: journal.DateOf(day), TimeZone: "America/Denver",
			WaterTempC: new(12 + float64(i%10)), LoggedAt: day, Notes: "Notesworth was here", Storm: i == 5,
			Stints: []journal.Stint{{ID: webtest.NewID(t), RigID: rigs[i%2].ID, Minutes: new(120.0), Notes: "Stintsby", Events: events}}}
		if i/2%2 == 0 {
			session.BeatID = &waters[0].Beats[0].ID
		}
		_, err := s.Store.SaveSession(ctx, session)
		s.Must(err)
	}
	return s
}

// What is shared holds no name: not in words, attributes, pictures or numbers, nor
// in days, ids or file names.
func TestSharedSeasonsHoldNoName(t *testing.T) {
	t.Parallel()
	s := secretive(t)
	for _, angler := range []string{"", "Ann Quillfeather"} {
		whole := s.Get(seasons.Address("/season.html", angler, season.Sharing{})).Body
		if !strings.Contains(whole, "Riggelton") || !strings.Contains(whole, "Zephyrwater") || !strings.Contains(whole, "Claimsworth") || !strings.Contains(whole, "Knottingley") {
			t.Fatalf("%q: the names are not in the whole review, so that leaving them out tells nothing", angler)
		}
		for name, body := range sharedForms(t, s, angler) {
			for _, secret := range secrets {
				if i := strings.Index(strings.ToLower(body), strings.ToLower(secret)); i >= 0 {
					t.Errorf("%q, %s holds %q: …%s…", angler, name, secret, body[max(0, i-80):min(len(body), i+80)])
				}
			}
			for _, day := range []string{"2026-04-0", "2026-05-1", "2026-06-2", " 6 April", "12 May"} {
				if strings.Contains(body, day) {
					t.Errorf("%q, %s tells the day %q", angler, name, day)
				}
			}
		}
	}
}

// Each way of sharing by itself leaves out what may tell it, and keeps the rest.
func TestSharedSeasonsKeepTheRest(t *testing.T) {
	t.Parallel()
	s := secretive(t)
	for _, c := range []struct {
		query        string
		gone, stands []string
	}{
		{"names=out", []string{"Quillfeather", "Brambleknot", "Mossgarter", "Outfitterby", "Riggelton", "Knottingley", "Claimsworth"}, []string{"Zephyrwater", "6 April", "Guide", "Angler A", "Rig A"}},
		{"waters=blurred", []string{"Zephyr", "Nettlebeat", "Outfitterby", "Riggelton", "Knottingley", "Claimsworth", "6 April"}, []string{"Ann Quillfeather", "Water 1", "freestone", "Rig A"}},
	} {
		file := s.Get("/season.html?" + c.query).Body
		for _, gone := range c.gone {
			if strings.Contains(file, gone) {
				t.Errorf("%s holds %q", c.query, gone)
			}
		}
		for _, stands := range c.stands {
			if !strings.Contains(file, stands) {
				t.Errorf("%s is without %q", c.query, stands)
			}
		}
	}
}

// sharedForms are all the forms in which a review leaves the journal.
func sharedForms(t *testing.T, s *webtest.Site, angler string) map[string]string {
	t.Helper()
	sharing := season.Sharing{WithoutNames: true, BlurWaters: true}
	page := article(s.Page(seasons.Address("/season", angler, sharing), http.StatusOK))
	for _, d := range []string{"svg", "csv"} { // the owner's own links, which ask for the angler
		page = regexp.MustCompile(`href="[^"]*\.`+d+`\?[^"]*"`).ReplaceAllString(page, "")
	}
	forms := map[string]string{"the page": page}
	for _, path := range []string{"/season.html", "/season.json", "/season/figure/months.svg", "/season/figure/outcomes.svg", "/season/figure/rigs.svg", "/season/figure/rigs.csv",
		"/season/figure/sessions-tangles.svg", "/season/figure/sessions-tangles.csv", "/season/figure/sessions-landed.svg", "/season/figure/sessions-landed.csv"} {
		got := s.Get(seasons.Address(path, angler, sharing))
		if alone := angler == "" && strings.Contains(path, "outcomes"); (got.Status == http.StatusOK) == alone {
			t.Errorf("%s: status %d", path, got.Status)
		}
		forms[path] = got.Body + got.Header.Get("Content-Disposition")
	}
	a, err := season.Review(t.Context(), s.Store, season.Request{Angler: angler, Units: units.US})
	if err != nil {
		t.Fatal(err)
	}
	var text bytes.Buffer
	if err := review.Write(&text, a.Share(sharing), units.US, 0); err != nil {
		t.Fatal(err)
	}
	forms["the text"] = text.String()
	return forms
}
