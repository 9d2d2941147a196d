package questions_test

import (
	"encoding/json"
	"net/http"
	"strings"
	"testing"

	"rigtally/web/webtest"
)

func TestTheParadoxIsSaidWhenTheRightFactorIsGiven(t *testing.T) {
	t.Parallel()
	s := webtest.DemoSite(t)
	const path = "/findings?outcome=tangles&by=junction&given=angler"
	text := s.Page(path, http.StatusOK)
	webtest.CheckPage(t, "findings", text)
	webtest.WantAll(t, path, text, "Corrected for angler", "Corrected times", "the other way around", "Simpson's paradox", "uncorrected", `name="given" value="angler" checked`,
		"where=junction=blood&given=angler", "modified Poisson")
	plain := s.Page("/findings?outcome=tangles&by=junction", http.StatusOK)
	webtest.WantAll(t, "the plain question", plain, "Correct for who fished and where", `href="/findings?outcome=tangles&by=junction&given=angler&given=water"`, "Nothing is corrected here")
	if strings.Contains(plain, "Simpson") {
		t.Error("a plain answer speaks of a paradox")
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
		"/curve":                                    {"Tangles over tag length", "makes a difference", "Chance of the lowest", "Not corrected", "In bands of length", "given=angler&given=water"},
		"/curve?outcome=tangles&given=angler":       {"Corrected for angler", "the curve is drawn at their average"},
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
		Best   []struct{ Probability float64 }
	}
	s.Must(json.Unmarshal([]byte(s.Get("/curve.json?outcome=tangles&given=angler").Body), &curve))
	sum := 0.0
	for _, b := range curve.Best {
		sum += b.Probability
	}
	if curve.Over != "tag-length" || len(curve.Points) < 10 || sum < 0.999 || sum > 1.001 {
		t.Errorf("over %q, %d points, chances that add up to %g", curve.Over, len(curve.Points), sum)
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
