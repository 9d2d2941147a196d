package seasons_test

import (
	"bytes"
	"fmt"
	"html"
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
	"rigtally/journal/gauge"
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
	for _, want := range []string{"Season 2026: Invented Outfit", "32 h on 20 days", "56 in 32 hours", "15 tangles", "Rates beside all seasons", "nothing to compare with",
		`<svg class="season-days"`, `role="img"`, `href="/season.html?year=2026"`, "For the record", "How this was computed", `<span class="review-mark" aria-hidden="true">IO</span>`} {
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
	file := s.Get("/season.html?angler=Orrin")
	if got := file.Header.Get("Content-Disposition"); got != `attachment; filename=season-2026-orrin.html` {
		t.Errorf("the file is sent as %q", got)
	}
	if got := s.Get("/season.html?angler=Orrin&names=out").Header.Get("Content-Disposition"); strings.Contains(got, "orrin") {
		t.Errorf("without names the file is sent as %q", got)
	}
	noted := s.Get("/season.html?angler=Orrin&note=Until+spring,+%3COrrin%3E.").Body
	if !strings.Contains(noted, "Until spring, &lt;Orrin&gt;.") || strings.Contains(noted, "Thank you for the season") {
		t.Error("the note is not in the file in place of the thanks")
	}
}

// What is handed to a client is in plain words: the words of statistics are for the record.
func TestFirstPageIsInPlainWords(t *testing.T) {
	t.Parallel()
	s := webtest.SmallSeason(t, 120)
	tags, jargon := regexp.MustCompile(`(?s)<style.*?</style>|<[^>]*>`), regexp.MustCompile(`(?i)\b(q|p|reference|uncorrected|log-rank|weibull|arms?|versus|interval|ratio)\b|χ|\d\.\d\d|\d%? ?– ?\d`)
	anglers, err := s.Store.Anglers(t.Context())
	s.Must(err)
	for _, a := range append(anglers, journal.Angler{}) {
		whole := s.Get(seasons.Address("/season.html", a.Name, season.Sharing{})).Body
		first, record, ok := strings.Cut(whole, `id="record"`)
		if text := tags.ReplaceAllString(first, " "); jargon.MatchString(text) {
			t.Errorf("%q: the first page says %q", a.Name, jargon.FindAllString(text, -1))
		}
		if ok && !jargon.MatchString(tags.ReplaceAllString(record, " ")) {
			t.Errorf("%q: the record holds no intervals", a.Name)
		}
		if a.Name == "" && (strings.Count(first, "As it could be: ") == 0 || strings.Count(first, `class="rig-change"`)%2 != 0) {
			t.Error("the outfit's review draws no change")
		}
	}
}

// article is the review in a page, without the form around it.
func article(page string) string {
	_, rest, _ := strings.Cut(page, `<article class="review `)
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
	for _, name := range []string{"Orrin", "Orrin+Anew"} { // the former name is known still
		if page := s.Page("/season?angler="+name, http.StatusOK); !strings.Contains(page, "Season 2026: Orrin Anew") {
			t.Errorf("%s: not Orrin Anew's", name)
		}
	}
	s.Page("/season?angler=Nobody", http.StatusNotFound)
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
		{ID: webtest.NewID(t), Name: "Zephyrwater", Kind: "freestone", TimeZone: "America/Denver", Gauges: []gauge.Link{{Site: gauge.NewSite("gaugington", "09380000")}}, Beats: []journal.Beat{{ID: webtest.NewID(t), Name: "Nettlebeat"}}},
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
	forms := map[string]string{"the page": page}
	for _, path := range []string{"/season.html", "/season.json"} {
		got := s.Get(seasons.Address(path, angler, sharing))
		if got.Status != http.StatusOK {
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
