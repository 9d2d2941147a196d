package web

import (
	"encoding/json"
	"net/http"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"rigtally/journal/demo"
)

// demoSite serves the demo season, whose true effects are known: blood tangles 1.5
// times as often as figure-eight, though its ties are mostly the best angler's.
func demoSite(t *testing.T) *site {
	t.Helper()
	s := newSite(t)
	s.must(demo.Load(t.Context(), s.store, demo.Generate(demo.Seed, demo.Sessions)))
	return s
}

func TestTheParadoxIsSaidWhenTheRightFactorIsGiven(t *testing.T) {
	t.Parallel()
	s := demoSite(t)
	const path = "/findings?outcome=tangles&by=junction&given=angler"
	text := s.page(path, http.StatusOK)
	checkPage(t, "findings", text)
	wantAll(t, path, text, "Corrected for angler", "Corrected times", "the other way round", "Simpson's paradox", "uncorrected", `name="given" value="angler" checked`,
		"where=junction=blood&given=angler", "modified Poisson")
	plain := s.page("/findings?outcome=tangles&by=junction", http.StatusOK)
	wantAll(t, "the plain question", plain, "Correct for who fished and where", `href="/findings?outcome=tangles&by=junction&given=angler&given=water"`, "Nothing is corrected here")
	if strings.Contains(plain, "Simpson") {
		t.Error("a plain answer speaks of a paradox")
	}
}

// A factor that a filter holds, or that is asked by, has nothing left to correct.
func TestNarrowingDropsWhatNeedsNoCorrection(t *testing.T) {
	t.Parallel()
	s := demoSite(t)
	text := s.page("/findings?outcome=tangles&by=angler&given=junction&given=water", http.StatusOK)
	wantAll(t, "by angler", text, "by=junction&where=angler=Wren+Tallowby&given=water")
	if strings.Contains(text, "given=junction&given=water&by=junction") {
		t.Error("a question by junction is corrected for junction")
	}
}

func TestCurves(t *testing.T) {
	t.Parallel()
	s := demoSite(t)
	for path, parts := range map[string][]string{
		"/curve":                                    {"Tangles over tag length", "makes a difference", "Chance of the lowest", "Not corrected", "In bands of length", "given=angler&given=water"},
		"/curve?outcome=tangles&given=angler":       {"Corrected for angler", "the level of the curve is that of their average"},
		"/curve?outcome=hookups&over=temperature":   {"Hookups over water temperature", "Chance of the highest", "°F"},
		"/curve?outcome=junction-break&over=tippet": {"Junction breaks over tippet", "straight line"},
	} {
		text := s.page(path, http.StatusOK)
		checkPage(t, "curve", text)
		wantAll(t, path, text, parts...)
	}
	var curve struct {
		Over   string
		Points []struct{ At, Rate, Low, High float64 }
		Best   []struct{ Probability float64 }
	}
	s.must(json.Unmarshal([]byte(s.get("/curve.json?outcome=tangles&given=angler").body), &curve))
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
	s := demoSite(t)
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
		text := s.page(path, http.StatusUnprocessableEntity)
		wantAll(t, path, text, "This question can’t be answered", say)
		if strings.Contains(text, "goroutine") || strings.Contains(text, "<script>&") {
			t.Errorf("%s: the insides show", path)
		}
	}
	if a := s.get("/curve.json?over=junction"); a.status != http.StatusUnprocessableEntity || !strings.Contains(a.body, `"error"`) {
		t.Errorf("JSON of a bad curve: %d %s", a.status, a.body)
	}
	empty := newSite(t)
	wantAll(t, "an empty journal", empty.page("/curve", http.StatusOK), "Nothing has been logged yet")
	wantAll(t, "nobody's curve", s.page("/curve?where=angler=Nobody", http.StatusOK), "holds nothing on this question")
}

func TestCorrectedChartsInABrowser(t *testing.T) {
	t.Parallel()
	if _, err := files.ReadFile("static/vendor/echarts.js"); err != nil {
		t.Skip("the chart library is not built in, so charts are not tried: run make assets")
	}
	s := demoSite(t)
	for _, size := range []screen{phone, laptop} {
		ctx := openBrowser(t, size, size == phone)
		for _, path := range []string{"/findings?outcome=tangles&by=junction&given=angler", "/curve?outcome=tangles&given=angler", "/curve?outcome=hookups&over=temperature"} {
			on(ctx, t, chromedp.Navigate(s.url+path), chromedp.WaitVisible(".finding"))
			waitFor(ctx, t, "the chart of "+path, `document.querySelectorAll(".chart-box svg path, .chart-box svg rect").length > 10`)
			wide, err := chromedp.Run(ctx, chromedp.Evaluate[float64](`document.documentElement.scrollWidth`))
			if err != nil {
				t.Fatal(err)
			}
			if int64(wide) > size.width {
				t.Errorf("%s is %g px wide on a screen of %d", path, wide, size.width)
			}
		}
	}
	ctx := openBrowser(t, laptop, false)
	on(ctx, t, chromedp.Navigate(s.url+"/curve?outcome=tangles&given=angler"))
	waitFor(ctx, t, "the curve", `document.querySelectorAll(".chart-box svg path").length > 10`)
	at, err := chromedp.Run(ctx, chromedp.Evaluate[[]float64](`(() => {
		const box = document.querySelector(".chart-box");
		box.scrollIntoView({ block: "center" });
		const r = box.getBoundingClientRect();
		return [r.x + r.width / 2, r.y + 150];
	})()`))
	if err != nil {
		t.Fatal(err)
	}
	on(ctx, t, chromedp.MouseEvent(input.DispatchMouseEventTypeMouseMoved, at[0], at[1]))
	waitFor(ctx, t, "the card of a place on the curve", `document.querySelector(".chart-card")?.textContent.includes("Chance of the lowest") === true`)
}
