package questions_test

import (
	"encoding/csv"
	"encoding/json"
	"html"
	"math"
	"net/http"
	"os"
	"strings"
	"testing"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal/pg"
	"rigtally/web/webtest"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, pg.Migrate)) }

func TestFindingsOfAnEmptyJournal(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	for template, path := range map[string]string{"findings": "/findings", "taglength": "/tag-length"} {
		text := s.Page(path, http.StatusOK)
		webtest.CheckPage(t, template, text)
		webtest.WantAll(t, path, text, "Nothing has been logged yet", `href="/log"`)
		if strings.Contains(text, "<table") {
			t.Errorf("%s of an empty journal shows a table", path)
		}
	}
}

func TestFindingsAnswers(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	s.Fish()
	for path, want := range map[string][]string{
		"/findings":                                                {"<h1>Tangles by junction</h1>", "20 stints, 32 hours, 15 tangles in all.", "figure-eight", "double surgeon's", "0.250", "Held alike:"},
		"/findings?outcome=foul-hook&by=bulk":                      {"<h1>Foul hookups by bulk</h1>", "16 stints", "Clopper"},
		"/findings?outcome=tangles&by=junction&by=bulk":            {"<h1>Tangles by junction and bulk</h1>", "legged"},
		"/findings?outcome=tangles&by=angler&where=junction=blood": {"only junction blood", "Orrin", "Tamsin", "8 stints, 12 hours, 3 tangles in all."},
		"/findings?by=junction&where=season=2019":                  {"The journal has nothing on this question", `value="season=2019" checked`},
		"/findings?by=junction&where=junction=blood":               {"nothing to compare", "12 hours"},
		"/tag-length":                               {"<h1>Tangles by tag length</h1>", "Least so far with ", "20 stints, 32 hours, 15 tangles in all.", "Like for like."},
		"/tag-length?bands=each":                    {"6 in", "6½ in", "7 in"},
		"/tag-length?bands=each&where=angler=Orrin": {"only angler Orrin", "10 stints"},
		"/findings?where=angler=%00%FF%0A":          {"The journal has nothing on this question"},
		"/tag-length?bands=0.25in":                  {`value="0.25in" selected`},
		"/findings?by=trend-6h":                     {"No session has a reading of a gauge that tells whether the water rose or fell.", "Link a gauge to the water", `href="/waters"`},
		"/curve?over=flow-percentile":               {"a gauge that tells the usual flow of the day.", "Link a gauge to the water", `href="/waters"`},
	} {
		text := s.Page(path, http.StatusOK)
		webtest.CheckPage(t, path, text)
		webtest.WantAll(t, path, text, want...)
	}
}

// Rates and counts are those of the season added up by hand.
func TestFindingsForPrograms(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	s.Fish()
	var got struct {
		Outcome, Unit string
		Groups        []struct {
			Level                  map[string]any
			Exposure, Events, Rate float64
			Low, High              *float64
		}
	}
	a := s.Get("/findings.json?outcome=tangles&by=junction")
	if err := json.Unmarshal([]byte(a.Body), &got); err != nil {
		t.Fatal(err)
	}
	if got.Outcome != "tangles" || got.Unit != "per hour" || len(got.Groups) != 3 {
		t.Fatalf("answer %s", a.Body)
	}
	a = s.Get("/findings.csv?outcome=tangles&by=junction")
	rows, err := csv.NewReader(strings.NewReader(a.Body)).ReadAll()
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
	s := webtest.New(t)
	a := s.Get("/findings?outcome=tangles&by=junction&by=&where=angler%3DOrrin&where=&where=")
	if want := "/findings?outcome=tangles&by=junction&where=angler=Orrin"; a.Status != http.StatusSeeOther || a.Header.Get("Location") != want {
		t.Errorf("status %d to %q, want %d to %q", a.Status, a.Header.Get("Location"), http.StatusSeeOther, want)
	}
}

func TestMalformedQuestions(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	s.Fish()
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
		a := s.Get(tt.address)
		if a.Status != http.StatusUnprocessableEntity {
			t.Errorf("%.80s: status %d, want %d", tt.address, a.Status, http.StatusUnprocessableEntity)
		}
		text := html.UnescapeString(a.Body)
		if !strings.Contains(strings.ToLower(text), strings.ToLower(tt.says)) {
			t.Errorf("%.80s: the page does not say %q", tt.address, tt.says)
		}
		for _, bad := range []string{"goroutine", "SQLSTATE", "panic", "<script>alert", ".go:"} {
			if strings.Contains(a.Body, bad) {
				t.Errorf("%.80s: the page shows %q", tt.address, bad)
			}
		}
	}
	if s.Log.Len() > 0 {
		t.Errorf("a malformed question is no failure to log:\n%s", s.Log)
	}
}

// A question that is not understood stays in the form to be put right.
func TestMalformedQuestionsAreKept(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	s.Fish()
	text := s.Page("/findings?outcome=trophies&by=moon&where=stars=many", http.StatusUnprocessableEntity)
	webtest.WantAll(t, "/findings", text, `value="trophies" selected`, `value="moon" selected`, `value="stars=many" checked`, "Answer</button>")
}

func TestNarrowingKeepsToALevel(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	s.Fish()
	text := s.Page("/findings?outcome=tangles&by=junction", http.StatusOK)
	address := "/findings?outcome=tangles&by=tag-length:1in&where=junction=double+surgeon%27s"
	webtest.WantAll(t, "/findings", text, address)
	webtest.WantAll(t, address, s.Page(address, http.StatusOK), "4 stints, 4 hours, 4 tangles in all.")
	text = s.Page("/tag-length", http.StatusOK)
	address = "/findings?outcome=tangles&by=junction&where=tag-length=152.4mm..%3C177.8mm"
	webtest.WantAll(t, "/tag-length", text, address)
	webtest.WantAll(t, address, s.Page(address, http.StatusOK), "16 stints, 28 hours, 11 tangles in all.")
}
