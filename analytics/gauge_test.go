package analytics_test

import (
	"context"
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"rigtally/analytics"
	"rigtally/analytics/fixture"
	"rigtally/journal"
	"rigtally/journal/facts"
	"rigtally/journal/gauge"
)

// gauged is the invented season of testdata/reference/gauge, of which gauge.R there says what R makes.
type gauged struct {
	flow, water, daily gauge.Series
	sessions, stints   []map[string]string
	expected           struct {
		Fills struct {
			Flow, Percentile, Change6, Change24, Water, Peak []*float64
		}
		Cases []struct {
			ID, Outcome     string
			Given, Names    []string
			Sessions        int
			Marginal        []float64
			MarginalSELog   []float64 `json:"marginal_se_log"`
			Frailty         []float64
			ByInformationSE []float64 `json:"frailty_se_log_by_information"`
		}
	}
}

const cfs = 0.028316846592 // m³/s, exactly

func tableOf(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "testdata", "reference", "gauge", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []map[string]string
	for _, line := range lines[1:] {
		row := map[string]string{}
		for i, name := range lines[0] {
			row[name] = line[i]
		}
		rows = append(rows, row)
	}
	return rows
}

func numberOf(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func moment(t *testing.T, layout, text string, in *time.Location) time.Time {
	t.Helper()
	at, err := time.ParseInLocation(layout, text, in)
	if err != nil {
		t.Fatal(err)
	}
	return at
}

func readGauged(t *testing.T) *gauged {
	t.Helper()
	site := gauge.Site{Provider: "usgs", Number: "01234567"}
	g := &gauged{flow: gauge.Series{Site: site, Quantity: gauge.Flow}, water: gauge.Series{Site: site, Quantity: gauge.Temperature},
		daily: gauge.Series{Site: site, Quantity: gauge.Flow, Statistic: gauge.DailyMean}, sessions: tableOf(t, "sessions.csv"), stints: tableOf(t, "stints.csv")}
	for _, row := range tableOf(t, "readings.csv") {
		s, unit := &g.flow, cfs
		if row["quantity"] == "temperature" {
			s, unit = &g.water, 1
		}
		at := moment(t, time.RFC3339, row["from"], time.UTC)
		for _, text := range strings.Fields(row["values"]) {
			r := gauge.Reading{At: at, Value: math.NaN(), Flags: gauge.Missing}
			if text != "-" {
				r.Value, r.Flags = unit*numberOf(t, text), gauge.Provisional
			}
			s.Readings, at = append(s.Readings, r), at.Add(15*time.Minute)
		}
	}
	for _, row := range tableOf(t, "daily.csv") {
		g.daily.Readings = append(g.daily.Readings, gauge.Reading{At: moment(t, time.DateOnly, row["day"], time.UTC), Value: cfs * numberOf(t, row["cfs"])})
	}
	for _, s := range []*gauge.Series{&g.flow, &g.water, &g.daily} {
		s.Sort()
	}
	text, err := os.ReadFile(filepath.Join("..", "testdata", "reference", "gauge", "expected.json"))
	if err == nil {
		err = json.Unmarshal(text, &g.expected)
	}
	if err != nil {
		t.Fatal(err)
	}
	return g
}

// take is what a session takes of the gauge: of flow, and of temperature.
func (g *gauged) take(t *testing.T, session map[string]string) []gauge.Fill {
	t.Helper()
	denver, err := time.LoadLocation("America/Denver")
	if err != nil {
		t.Fatal(err)
	}
	day := moment(t, time.DateOnly, session["day"], denver)
	o := gauge.Outing{Day: day, NextDay: day.AddDate(0, 0, 1), Calendar: moment(t, time.DateOnly, session["day"], time.UTC)}
	if session["start"] != "" {
		start, end := moment(t, "2006-01-02T15:04", session["start"], denver), moment(t, "2006-01-02T15:04", session["end"], denver)
		o.Middle = start.Add(end.Sub(start) / 2)
	}
	var fills []gauge.Fill
	for _, q := range []gauge.Quantity{gauge.Flow, gauge.Temperature} {
		if f, ok := gauge.Take(o, q, []gauge.Series{g.flow, g.water}, gauge.NewUsual(g.daily, o.Calendar)); ok {
			fills = append(fills, f)
		}
	}
	return fills
}

// taken are the numbers of fills as facts have them, NaN for none.
type taken struct{ flow, percentile, change6, change24, water, peak float64 }

func takenOf(fills []gauge.Fill) taken {
	orNaN := func(v *float64) float64 {
		if v == nil {
			return math.NaN()
		}
		return *v
	}
	k := taken{math.NaN(), math.NaN(), math.NaN(), math.NaN(), math.NaN(), math.NaN()}
	for _, f := range fills {
		if f.Quantity == gauge.Flow {
			k.flow, k.percentile, k.change6, k.change24 = f.Value, orNaN(f.Percentile), orNaN(f.Change6H), orNaN(f.Change24H)
		} else {
			k.water, k.peak = f.Value, orNaN(f.Peak)
		}
	}
	return k
}

// inMemory answers questions from facts.
type inMemory struct{ *facts.Facts }

func (m inMemory) Ask(_ context.Context, q journal.Question) (journal.Answer, error) {
	return m.Facts.Ask(q)
}

func (m inMemory) Rows(_ context.Context, q journal.Question) (*facts.Rows, error) {
	return m.Facts.Rows(q)
}

// journal makes the season's facts, with what each session took of the gauge.
func (g *gauged) journal(t *testing.T) inMemory {
	t.Helper()
	b := facts.NewBuilder(nil)
	water := journal.Water{ID: fixture.ID(t), Name: "Alder Brook", TimeZone: "America/Denver"}
	anglers, rigs := map[string]journal.Angler{}, map[string]journal.Rig{}
	for _, s := range g.sessions {
		if _, ok := anglers[s["angler"]]; !ok {
			anglers[s["angler"]] = journal.Angler{ID: fixture.ID(t), Name: s["angler"]}
			b.People([]journal.Angler{anglers[s["angler"]]}, []journal.Water{water})
		}
	}
	ids, ordinals := map[string]journal.ID{}, map[string]int{}
	for _, s := range g.sessions {
		k, change := takenOf(g.take(t, s)), [2]gauge.Trend{}
		for i, v := range []float64{k.change6, k.change24} {
			if !math.IsNaN(v) {
				change[i] = gauge.TrendOf(gauge.Flow, &v)
			}
		}
		ids[s["session"]] = fixture.ID(t)
		b.Session(facts.Session{ID: ids[s["session"]], Angler: anglers[s["angler"]].ID, Water: water.ID, Day: journal.DateOf(moment(t, time.DateOnly, s["day"], time.UTC)), TimeZone: water.TimeZone,
			FlowM3S: k.flow, WaterTempC: k.water, FlowPercentile: k.percentile, TempPeakC: k.peak, Trend6H: change[0], Trend24H: change[1], DepthM: math.NaN(), VelocityMS: math.NaN()})
	}
	type counted struct {
		id journal.ID
		journal.Counts
	}
	var flies []counted
	for _, st := range g.stints {
		rig, ok := rigs[st["junction"]]
		if !ok {
			rig = journal.Rig{ID: fixture.ID(t), Name: st["junction"], Positions: []journal.RigPosition{{Position: 1, Hang: journal.HangTag, Junction: journal.Junction(st["junction"])}}}
			rigs[st["junction"]] = rig
			b.Rig(rig)
		}
		ordinals[st["session"]]++
		c := counted{id: fixture.ID(t)}
		c.Counts[journal.CountTangles], c.Counts[journal.CountHookups] = numberOf(t, st["tangles"]), numberOf(t, st["hookups"])
		b.Stint(facts.Stint{ID: c.id, Session: ids[st["session"]], Rig: rig.ID, Ordinal: ordinals[st["session"]], Seconds: new(int(60 * numberOf(t, st["minutes"]))), Counts: &c.Counts})
		flies = append(flies, c)
	}
	for i := range flies {
		b.Fly(flies[i].id, 1, nil, &flies[i].Counts)
	}
	f, err := b.Facts(1)
	if err != nil {
		t.Fatal(err)
	}
	return inMemory{f}
}

// What sessions take of an invented gauge is what R takes of it: means and readings between two, percentiles of quantile's
// type 6, changes, and the peaks of days that may have 23 or 25 hours.
func TestSessionsTakeOfAGaugeWhatRDoes(t *testing.T) {
	t.Parallel()
	g := readGauged(t)
	want := g.expected.Fills
	known := 0
	for i, s := range g.sessions {
		k := takenOf(g.take(t, s))
		for what, c := range map[string]struct {
			got  float64
			want *float64
		}{"flow": {k.flow, want.Flow[i]}, "percentile": {k.percentile, want.Percentile[i]}, "change over 6 h": {k.change6, want.Change6[i]}, "change over 24 h": {k.change24, want.Change24[i]},
			"temperature": {k.water, want.Water[i]}, "peak": {k.peak, want.Peak[i]}} {
			switch {
			case c.want == nil && math.IsNaN(c.got):
			case c.want == nil || !(math.Abs(c.got-*c.want) <= 1e-9*(1+math.Abs(*c.want))):
				t.Errorf("session %s: %s %.12g, R has %v", s["session"], what, c.got, c.want)
			default:
				known++
			}
		}
	}
	if known < 250 {
		t.Errorf("only %d numbers were compared", known)
	}
}

// Comparisons by what the gauge told, and with it held alike, are those of R's glm and vcovCL, and of the likelihood of a frailty.
func TestComparisonsOnAGaugeAgreeWithR(t *testing.T) {
	t.Parallel()
	g := readGauged(t)
	s := g.journal(t)
	by := []analytics.Request{{By: []string{"junction"}, Versus: "figure-eight"}, {By: []string{"junction"}, Versus: "figure-eight"}, {By: []string{"flow-percentile"}, Versus: "50%"}, {By: []string{"trend-6h"}, Versus: "steady"}}
	const normal975 = 1.959964
	for i, c := range g.expected.Cases {
		marginalSE, informationSE := c.MarginalSELog, c.ByInformationSE
		for model, want := range map[string][]float64{"marginal": c.Marginal, "frailty": c.Frailty} {
			r := by[i]
			r.Outcome, r.Given, r.Model = c.Outcome, c.Given, model
			a, err := analytics.Rates(t.Context(), s, r)
			if err != nil {
				t.Fatal(err)
			}
			if a.Total.Sessions != c.Sessions {
				t.Errorf("%s: %d sessions, R has %d", c.ID, a.Total.Sessions, c.Sessions)
			}
			for j, name := range c.Names {
				group := bandOf(t, a, name)
				what := c.ID + ", " + model + ", " + name
				agree(t, what+": ratio", group.Corrected.Ratio, want[j], 1e-6)
				c, few := group.Corrected, group.Sessions < 2 // of which no scatter is known
				switch {
				case few:
				case model == "marginal":
					agree(t, what+": se_log", c.SELog, marginalSE[j], 1e-6)
				case c.Low == nil || math.Log(*c.High / *c.Low) < 2*normal975*informationSE[j]:
					t.Errorf("%s: %+v is narrower than by information alone, %g", what, *c, informationSE[j]) // it is the wider of that and CR2
				}
			}
		}
	}
}

// bandOf finds a group by its word, or by the percent at which its band begins.
func bandOf(t *testing.T, a analytics.RateAnswer, name string) analytics.Group {
	t.Helper()
	for _, g := range a.Groups {
		if l := g.Level[0]; l.Kind != journal.WordLevel && strconv.FormatFloat(l.Number, 'f', -1, 64) == name {
			return g
		}
	}
	return groupOf(t, a, name)
}

// Each of what a gauge tells narrows a question, makes its levels and, where it is a number, a curve.
func TestQuestionsByWhatAGaugeTells(t *testing.T) {
	t.Parallel()
	g := readGauged(t)
	s := g.journal(t)
	whole, err := analytics.Rates(t.Context(), s, analytics.Request{Outcome: "tangles", By: []string{"trend-24h"}})
	if err != nil {
		t.Fatal(err)
	}
	if words := whole.Levels(0); len(words) != 3 || words[0].Word != "falling" || words[1].Word != "steady" || words[2].Word != "rising" {
		t.Errorf("levels: %+v", words)
	}
	if left := whole.LeftOut["stints with no gauge that tells whether the water rose or fell"]; left == 0 {
		t.Errorf("left out: %v", whole.LeftOut)
	}
	for _, c := range []struct {
		where string
		is    func(k taken) bool
	}{
		{"flow-percentile=25%..<75%", func(k taken) bool { return k.percentile >= 25 && k.percentile < 75 }},
		{"temperature-peak=15C..", func(k taken) bool { return k.peak >= 15 }},
		{"trend-6h=rising", func(k taken) bool { return k.change6 >= 0.1 }},
		{"trend-24h=falling", func(k taken) bool { return k.change24 <= 1/1.1-1 }},
	} {
		sessions := 0
		for _, row := range g.sessions {
			if c.is(takenOf(g.take(t, row))) {
				sessions++
			}
		}
		a, err := analytics.Rates(t.Context(), s, analytics.Request{Outcome: "tangles", By: []string{"junction"}, Where: []string{c.where}})
		if err != nil {
			t.Fatal(err)
		}
		if a.Total.Sessions != sessions || sessions == 0 {
			t.Errorf("%s: %d sessions, want %d", c.where, a.Total.Sessions, sessions)
		}
	}
	for _, over := range []string{"flow-percentile", "temperature-peak"} {
		a, err := analytics.Curve(t.Context(), s, analytics.CurveRequest{Outcome: "hookups", Over: over})
		if err != nil || len(a.Points) < 4 {
			t.Errorf("over %s: %d points, %v", over, len(a.Points), err)
		}
	}
	if _, err := analytics.Curve(t.Context(), s, analytics.CurveRequest{Outcome: "hookups", Over: "trend-6h"}); err == nil {
		t.Error("a word has a curve")
	}
}
