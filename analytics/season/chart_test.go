package season

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat/distuv"

	"rigtally/analytics/fixture"
	"rigtally/analytics/stat/published"
	"rigtally/journal"
	"rigtally/journal/facts"
)

// charted draws sessions by tangles.
func charted(t *testing.T, sums []facts.SessionSum) Chart {
	t.Helper()
	a, err := chartOf(journal.Outcomes()[0], sums)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func dayIn2026(n int) journal.Date {
	return journal.DateOf(time.Date(2026, 3, 1+n, 0, 0, 0, 0, time.UTC))
}

// A published chart, Montgomery's dyed cloth, as sessions of tangles entered out of
// order: centre, limits and points beyond as in testdata/reference.
func TestAPublishedChart(t *testing.T) {
	t.Parallel()
	var file struct {
		Cases []struct {
			ID       string
			Data     struct{ Events, Exposure []float64 }
			Expected struct {
				Centre float64
				Sigma  float64   `json:"laney_sigma"`
				Low    []float64 `json:"laney_low"`
				High   []float64 `json:"laney_high"`
			}
		}
	}
	if err := json.Unmarshal(published.File(t, "control-chart.json"), &file); err != nil {
		t.Fatal(err)
	}
	c := file.Cases[0]
	if c.ID != "uchart-dyed-cloth" {
		t.Fatal(c.ID)
	}
	var all []outing
	for i, k := range c.Data.Events {
		o := outing{Angler: "Ilse", Day: dayIn2026(i), Minutes: int(math.Round(60 * c.Data.Exposure[i]))}
		if k > 0 {
			o.Events = []journal.Event{{Kind: journal.EventTangle, Count: int(k)}}
		}
		all = append(all, o)
	}
	slices.Reverse(all)
	all = append(all, outing{Angler: "Ilse", Day: journal.Date{Year: 2025, Month: 7, Day: 1}, Minutes: 60, Events: []journal.Event{{Kind: journal.EventTangle, Count: 99}}},
		outing{Angler: "Maud", Day: dayIn2026(3), Minutes: 60})
	s := fixture.Open(t)
	keep(t, s, all)
	a := reviewOf(t, s, "ilse", 2026).Charts[0]
	if a.Outcome.Key != "tangles" || len(a.Points) != len(c.Data.Events) || !fixture.Near(a.Centre, c.Expected.Centre) || !fixture.Near(a.Sigma, math.Max(1, c.Expected.Sigma)) {
		t.Fatalf("%d points, centre %g, sigma %g", len(a.Points), a.Centre, a.Sigma)
	}
	for i, p := range a.Points {
		if p.Day != dayIn2026(i) || p.Events != c.Data.Events[i] || !fixture.Near(p.Low, c.Expected.Low[i]) || !fixture.Near(p.High, c.Expected.High[i]) {
			t.Errorf("point %d: %+v", i, p)
		}
	}
	everyone := reviewOf(t, s, "", 2026).Charts[0]
	if len(everyone.Points) != len(c.Data.Events)+1 || everyone.Points[0].Angler != "Ilse" {
		t.Errorf("everyone: %+v", everyone.Points[0])
	}
}

// The trend must be that of R 4.2.2: 24 sessions 10 days apart with hours 2, 3, 4, 5 in
// turn and tangles 3,4,2,5,1,4,3,3,2,2,1,4,1,3,0,3,2,1,1,2,0,2,1,1, fitted by
// glm(k ~ I(10 * (0:23) / (365.25 / 12)) + offset(log(t)), poisson), with
// bell_mccaffrey and satterthwaite of testdata/reference/regenerate.R.
func TestTheTrendAgreesWithR(t *testing.T) {
	t.Parallel()
	k := []int{3, 4, 2, 5, 1, 4, 3, 3, 2, 2, 1, 4, 1, 3, 0, 3, 2, 1, 1, 2, 0, 2, 1, 1}
	var all []outing
	for i, n := range k {
		o := outing{Angler: "Ilse", Day: dayIn2026(10 * i), Minutes: 60 * (2 + i%4)}
		if n > 0 {
			o.Events = []journal.Event{{Kind: journal.EventTangle, Count: n}}
		}
		all = append(all, o)
	}
	// One without an event, and so without a say in the trend.
	all = append(all, outing{Angler: "Maud", Day: dayIn2026(50), Minutes: 200})
	s := fixture.Open(t)
	keep(t, s, all)
	tr := reviewOf(t, s, "", 2026).Charts[0].Trend
	if tr == nil || tr.Method != "Poisson, CR2 by session" || tr.Given != nil {
		t.Fatalf("%+v", tr)
	}
	const tol = 1e-6
	for _, v := range []struct {
		what      string
		got, want float64
	}{{"ratio", tr.Ratio, 0.8316210417324}, {"se", tr.SELog, 0.0423443611570}, {"df", tr.DF, 12.0708891410}, {"p", tr.P, 0.000925153381066}, {"low", tr.Low, 0.758373856314}, {"high", tr.High, 0.911942772413}} {
		if math.Abs(v.got-v.want) > tol*v.want {
			t.Errorf("%s %.9g, R has %.9g", v.what, v.got, v.want)
		}
	}
}

// An outfit whose careful angler fishes early and whose other one late has no trend.
func TestWhoFishesIsNoTrend(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(12, 1))
	seasons, alarms := simulations(200), 0
	for range seasons {
		a := charted(t, invented(rng, 40, 1))
		if a.Trend == nil || !slices.Equal(a.Trend.Given, []string{"angler"}) {
			t.Fatalf("%+v", a.Trend)
		}
		if a.Trend.P < 0.05 {
			alarms++
		}
	}
	if alarms > seasons*9/100 { // 5% and room for chance
		t.Errorf("%d of %d seasons without a trend have one", alarms, seasons)
	}
	found := 0
	for range seasons {
		if tr := charted(t, invented(rng, 40, 0.75)).Trend; tr.Low <= 0.75 && 0.75 <= tr.High {
			found++
		}
	}
	if found < seasons*91/100 {
		t.Errorf("%d of %d intervals hold the true trend", found, seasons)
	}
}

// invented has sessions five days apart, mostly of one angler early in the season
// and of one with twice the tangles later; ratio is the true trend each month.
func invented(rng *rand.Rand, sessions int, ratio float64) []facts.SessionSum {
	var s []facts.SessionSum
	for i := range sessions {
		name, rate := "Ilse", 0.7
		if rng.Float64() < float64(i)/float64(sessions) {
			name, rate = "Maud", 1.4
		}
		hours := 2 + 4*rng.Float64()
		luck := distuv.Gamma{Alpha: 4, Beta: 4, Src: rng}.Rand()
		months := 5 * float64(i) / (365.25 / 12)
		k := distuv.Poisson{Lambda: rate * math.Pow(ratio, months) * luck * hours, Src: rng}.Rand()
		s = append(s, facts.SessionSum{SessionRef: journal.SessionRef{Day: dayIn2026(5 * i), Angler: name}, Events: k, Exposure: hours})
	}
	return s
}

func TestChartAtTheEdges(t *testing.T) {
	t.Parallel()
	type series = []facts.SessionSum
	if _, err := chartOf(journal.Outcomes()[0], series{{Exposure: 1}}); !journal.IsInvalid(err) || !strings.Contains(err.Error(), "needs at least 2 sessions with hours; there are 1") {
		t.Errorf("one session: %v", err)
	}
	quiet := charted(t, series{{Exposure: 2}, {Exposure: 3}, {Exposure: 1}})
	if quiet.Trend != nil || quiet.Centre != 0 || quiet.Points[2].Out != WithinLimits {
		t.Errorf("no events: %+v", quiet)
	}
	wild := series{{Exposure: 1, Events: 99}}
	for range 20 {
		wild = append(wild, facts.SessionSum{Exposure: 1, Events: 1})
	}
	if a := charted(t, wild); a.Points[0].Out != AboveLimit || a.Points[1].Out != WithinLimits {
		t.Errorf("a wild session: %+v", a)
	}
	sameDay := charted(t, series{{Exposure: 2, Events: 1}, {Exposure: 3, Events: 2}, {Exposure: 1, Events: 1}, {Exposure: 1}})
	if sameDay.Trend != nil {
		t.Errorf("one day: %+v", sameDay.Trend)
	}
	few := charted(t, invented(rand.New(rand.NewPCG(12, 2)), 9, 1))
	if few.Trend == nil || few.Trend.Method != "Poisson, CR2 by session" {
		t.Errorf("few sessions: %+v", few.Trend)
	}
}
