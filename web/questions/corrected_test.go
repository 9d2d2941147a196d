package questions_test

import (
	"encoding/json"
	"net/http"
	"strings"
	"testing"
	"time"

	"rigtally/journal"
	"rigtally/web/webtest"
)

func TestComparisonsAreLikeForLikeUnlessNothingIsGiven(t *testing.T) {
	t.Parallel()
	s := webtest.DemoSite(t)
	const path = "/findings?outcome=tangles&by=junction"
	text := s.Page(path, http.StatusOK)
	webtest.CheckPage(t, "findings", text)
	webtest.WantAll(t, path, text, "Like for like (angler and water)", "as fished it looks the other way round", "most of that went with who fished", "Simpson’s paradox", "As fished: ",
		`name="given" value="angler" checked`, `name="given" value="water" checked`, `href="/findings?outcome=tangles&by=junction&given=none"`, "See it with nothing held alike",
		"each session has a multiplier of its own", `where=junction=blood"`, "Times the tangles per hour of figure-eight, like for like (angler and water)")
	for _, none := range []string{path + "&given=none", path + "&given="} {
		bare := s.Page(none, http.StatusOK)
		webtest.WantAll(t, none, bare, "Nothing else is held alike", `name="given" value="angler">`, "Tangles per hour as fished, with 95% intervals", `href="`+path+`"`, "Compare like for like")
		if strings.Contains(bare, "Like for like (") {
			t.Errorf("%s speaks of what is held alike", none)
		}
	}
	others := path + "&given=bulk&model=marginal"
	text = s.Page(others, http.StatusOK)
	webtest.WantAll(t, others, text, "Like for like (bulk)", `name="given" value="bulk" checked`, "modified Poisson")
	if strings.Contains(text, `name="given" value="angler" checked`) || strings.Contains(text, `name="model"`) {
		t.Error("what is named does not stand in the place of who fished and where, or the form asks for a model")
	}
}

// A form that is sent for another question holds what that is compared by: who fished, though the
// one before was by angler.
func TestTheFormKeepsWhatIsHeldAlike(t *testing.T) {
	t.Parallel()
	s := webtest.DemoSite(t)
	text := s.Page("/findings?outcome=tangles&by=angler", http.StatusOK)
	webtest.WantAll(t, "by angler", text, "Like for like (water)", `<input type="hidden" name="given" value="angler">`)
	for sent, kept := range map[string]string{
		"/findings?outcome=tangles&by=junction&given=&given=angler&given=water":  "/findings?outcome=tangles&by=junction",
		"/findings?outcome=tangles&by=junction&given=&given=angler":              "/findings?outcome=tangles&by=junction&given=angler",
		"/findings?outcome=tangles&by=junction&by=bulk&where=&given=&given=bulk": "/findings?outcome=tangles&by=junction&by=bulk&given=bulk",
	} {
		if a := s.Get(sent); a.Status != http.StatusSeeOther || a.Header.Get("Location") != kept {
			t.Errorf("%s: status %d to %q, want %q", sent, a.Status, a.Header.Get("Location"), kept)
		}
	}
	webtest.WantAll(t, "by angler with water unchecked", s.Page("/findings?outcome=tangles&by=angler&given=angler", http.StatusOK), "Nothing else is held alike")
}

// Where only one angler fished a junction there is no verdict, on the page, in the table or for programs.
func TestNoVerdictWhereNobodysFishingCompares(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	fishApart(s)
	const path = "/findings?outcome=tangles&by=junction"
	webtest.WantAll(t, path, s.Page(path, http.StatusOK), "Only Tamsin fished the blood, so nobody’s fishing compares it with figure-eight: can't tell like for like.", "—")
	var got struct {
		Groups []struct {
			Level     map[string]string
			Ratio     *float64
			Q         *float64
			Verdict   *string
			MoreHours *float64 `json:"more_hours"`
			Corrected any
		}
	}
	s.Must(json.Unmarshal([]byte(s.Get("/findings.json?outcome=tangles&by=junction").Body), &got))
	for _, g := range got.Groups {
		if g.Level["junction"] == "blood" && (g.Ratio == nil || g.Q != nil || g.Verdict != nil || g.MoreHours != nil || g.Corrected != nil) {
			t.Errorf("%+v", g)
		}
	}
}

// fishApart logs an invented season in which one angler ties figure-eight only, and the other blood.
func fishApart(s *webtest.Site) {
	s.T.Helper()
	ctx := s.T.Context()
	water := journal.Water{ID: webtest.NewID(s.T), Name: "Sallow Fork", Kind: "freestone", TimeZone: "America/Denver"}
	s.Must(s.Store.SaveWater(ctx, water))
	day := time.Date(2026, time.May, 1, 18, 0, 0, 0, time.UTC)
	for name, junction := range map[string]journal.Junction{"Orrin": "figure-eight", "Tamsin": "blood"} {
		a := journal.Angler{ID: webtest.NewID(s.T), Name: name, Kind: journal.Client, Active: true}
		s.Must(s.Store.SaveAngler(ctx, a))
		rig, err := s.Store.SaveRig(ctx, journal.Rig{ID: webtest.NewID(s.T), Name: string(junction) + " rig", Positions: []journal.RigPosition{
			{Position: 1, Hang: journal.HangTag, Junction: junction, TagLengthMM: new(150.0)}}})
		s.Must(err)
		minutes := 200.0 // figure-eight is fished most, so that blood is compared with it
		if name == "Tamsin" {
			minutes = 150
		}
		for i := range 6 {
			day = day.AddDate(0, 0, 1)
			_, err := s.Store.SaveSession(ctx, journal.Session{ID: webtest.NewID(s.T), AnglerID: a.ID, WaterID: water.ID, Day: journal.DateOf(day), TimeZone: water.TimeZone,
				LoggedAt: day, Stints: []journal.Stint{{ID: webtest.NewID(s.T), RigID: rig.ID, Minutes: &minutes, Events: []journal.Event{{Kind: journal.EventTangle, Position: new(1), Count: 1 + i%2}}}}})
			s.Must(err)
		}
	}
}

// A factor that a filter holds, or that is asked by, has nothing left to correct.
func TestNarrowingDropsWhatNeedsNoCorrection(t *testing.T) {
	t.Parallel()
	s := webtest.DemoSite(t)
	text := s.Page("/findings?outcome=tangles&by=angler&given=junction&given=water", http.StatusOK)
	webtest.WantAll(t, "by angler", text, "by=junction&where=angler=Wren+Tallowby&given=water")
	if strings.Contains(text, "given=junction&given=water&by=junction") {
		t.Error("a question by junction is corrected for junction")
	}
}

func TestCurves(t *testing.T) {
	t.Parallel()
	s := webtest.DemoSite(t)
	for path, parts := range map[string][]string{
		"/curve":                                    {"Tangles over tag length", "Like for like (angler and water)", "makes a difference", "Lowest most likely at", "Chance of the lowest", "In bands of length", "given=none", "as fished"},
		"/curve?outcome=tangles&given=angler":       {"Like for like (angler)", "drawn at the average of what is held alike"},
		"/curve?outcome=tangles&given=":             {"Nothing else is held alike", "Compare like for like"},
		"/curve?outcome=hookups&over=temperature":   {"Hookups over water temperature", "Chance of the highest", "°F"},
		"/curve?outcome=junction-break&over=tippet": {"Junction breaks over tippet", "straight line"},
	} {
		text := s.Page(path, http.StatusOK)
		webtest.CheckPage(t, "curve", text)
		webtest.WantAll(t, path, text, parts...)
	}
	var curve struct {
		Over   string
		Points []struct{ At, Rate, Low, High float64 }
		Best   []struct{ Probability *float64 }
		Model  string
		Lowest struct{ At, From, To, Probability float64 } `json:"lowest_at"`
	}
	s.Must(json.Unmarshal([]byte(s.Get("/curve.json?outcome=tangles&given=angler").Body), &curve))
	sum := 0.0
	for _, b := range curve.Best {
		if b.Probability != nil {
			sum += *b.Probability
		}
	}
	if curve.Over != "tag-length" || len(curve.Points) < 10 || sum < 0.999 || sum > 1.001 {
		t.Errorf("over %q, %d points, chances that add up to %g", curve.Over, len(curve.Points), sum)
	}
	if l := curve.Lowest; curve.Model != "frailty" || l.At < l.From || l.At > l.To || l.Probability <= 0 {
		t.Errorf("model %q, lowest at %+v", curve.Model, l)
	}
	for _, p := range curve.Points {
		if p.At < 25 || p.At > 2000 || p.Low > p.Rate || p.Rate > p.High {
			t.Errorf("a point in storage units: %+v", p)
		}
	}
}

func TestCorrectionsAndCurvesThatCannotBeHad(t *testing.T) {
	t.Parallel()
	s := webtest.DemoSite(t)
	for path, say := range map[string]string{
		"/findings?by=junction&given=moon":                      "is not known; ask by one of",
		"/findings?by=junction&given=junction":                  "junction",
		"/findings?by=junction&given=angler:linear":             "angler",
		"/findings?by=junction&given=tag-length:square":         "tag-length",
		"/curve?over=junction":                                  "curve goes over a number",
		"/curve?over=moon":                                      "is not known; ask by one of",
		"/curve?outcome=beauty":                                 "is not known; ask for one of",
		"/curve?given=tag-length":                               "tag-length",
		"/curve?where=junction":                                 "write FACTOR=VALUE",
		"/curve?over=flow&where=flow=20..10":                    "runs backwards",
		"/curve?outcome=tangles&over=tag-length&given=<script>": "is not known",
	} {
		text := s.Page(path, http.StatusUnprocessableEntity)
		webtest.WantAll(t, path, text, "This question can’t be answered", say)
		if strings.Contains(text, "goroutine") || strings.Contains(text, "<script>&") {
			t.Errorf("%s: the insides show", path)
		}
	}
	if a := s.Get("/curve.json?over=junction"); a.Status != http.StatusUnprocessableEntity || !strings.Contains(a.Body, `"error"`) {
		t.Errorf("JSON of a bad curve: %d %s", a.Status, a.Body)
	}
	empty := webtest.New(t)
	webtest.WantAll(t, "an empty journal", empty.Page("/curve", http.StatusOK), "Nothing has been logged yet")
	webtest.WantAll(t, "nobody's curve", s.Page("/curve?where=angler=Nobody", http.StatusOK), "has nothing on this question")
}
