package bench_test

import (
	"context"
	"encoding/json"
	"flag"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"rigtally/analytics/bench"
	"rigtally/analytics/fixture"
	"rigtally/analytics/stat"
	"rigtally/analytics/stat/strength"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/demo"
	"rigtally/prose"
)

var benches = flag.Int("benches", 30, "how many invented benches are held against their truth")

// onBench is a bench in memory.
type onBench struct {
	pulls   []journal.BenchPull
	anglers []journal.Angler
}

func (b onBench) BenchPulls(context.Context) ([]journal.BenchPull, error) { return b.pulls, nil }
func (b onBench) Anglers(context.Context) ([]journal.Angler, error)       { return b.anglers, nil }

func (b *onBench) pulled(t testing.TB, junction journal.Junction, facing journal.Facing, tippetMM float64, newtons ...float64) {
	t.Helper()
	for _, n := range newtons {
		p := journal.BenchPull{ID: fixture.ID(t), Day: journal.Date{Year: 2026, Month: 3, Day: 1}, Junction: junction, Facing: facing, TippetMM: tippetMM, Material: "nylon", Wetness: "wet", ForceN: n, Ending: journal.PulledBroke}
		if junction != "" {
			p.PulledOn = "tag"
		}
		b.pulls = append(b.pulls, p)
	}
}

func askBench(t testing.TB, b onBench, r bench.Request) bench.Answer {
	t.Helper()
	r.Units = units.Metric
	a, err := bench.Compare(context.Background(), b, r)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// Pulls on two tippets are compared within each. By hand: within 6X the means
// are 8 and 7 of 3 and 3 pulls, within 5X 13 and 11 of 2 and 4. With weights
// mn/(m + n) of 3/2 and 4/3 the difference is (1.5·1 + 4/3·2)/(1.5 + 4/3) =
// 25/17, and the ratio of the weighted means (1.5·8 + 4/3·13)/(1.5·7 + 4/3·11) =
// 176/151. What has no like is left out.
func TestBenchComparesLikeWithLike(t *testing.T) {
	t.Parallel()
	var b onBench
	b.pulled(t, "blood", "down", 0.127, 7, 8, 9)
	b.pulled(t, "blood", "up", 0.127, 6, 7, 8)
	b.pulled(t, "blood", "down", 0.1524, 12, 14)
	b.pulled(t, "blood", "up", 0.1524, 10, 11, 11, 12)
	b.pulled(t, "uni", "down", 0.127, 20, 21)
	a := askBench(t, b, bench.Request{By: []string{"facing"}, Versus: "up"})
	c := a.Groups[0].Versus
	if c == nil || c.Sets != 2 || c.Pulls != 5 || c.Versus != 7 || math.Abs(c.Difference-25.0/17) > 1e-12 || math.Abs(c.Ratio.Ratio-176.0/151) > 1e-12 {
		t.Fatalf("compared %+v", c)
	}
	turned := askBench(t, b, bench.Request{By: []string{"facing"}, Versus: "down"}).Groups[1].Versus
	if math.Abs(turned.Difference+c.Difference) > 1e-12 || math.Abs(turned.P-c.P) > 1e-12 || math.Abs(turned.Ratio.Ratio*c.Ratio.Ratio-1) > 1e-12 || math.Abs(turned.Shift.P-c.Shift.P) > 1e-12 {
		t.Errorf("turned round: %+v, want the opposite of %+v", turned, c)
	}
	unlike := 0
	for _, n := range a.Notes {
		if n.Kind == bench.NoteUnlike {
			unlike = n.Count
		}
	}
	if unlike != 2 {
		t.Errorf("%d pulls are unlike any, want the two unis", unlike)
	}
	for _, g := range a.Groups {
		if g.Weibull != nil || g.Efficiency != nil {
			t.Error("a mixture has a Weibull line, or an efficiency without unknotted pulls")
		}
	}
}

// Unknotted pulls give the scale where tippets are mixed, and are no rival.
func TestBenchAgainstUnknotted(t *testing.T) {
	t.Parallel()
	var b onBench
	b.pulled(t, "", "", 0.127, 9, 10, 11)
	b.pulled(t, "", "", 0.1524, 18, 20, 22)
	b.pulled(t, "blood", "down", 0.127, 5, 6, 7)
	b.pulled(t, "blood", "down", 0.1524, 10, 12)
	a := askBench(t, b, bench.Request{By: []string{"junction"}})
	blood, plain := a.Groups[0], a.Groups[1]
	if !a.Relative || !plain.Unknotted || plain.Versus != nil || a.Reference != 0 || math.Abs(plain.Mean-1) > 1e-12 {
		t.Fatalf("answered %+v", a)
	}
	// As much of each tippet as the group has: (3·6 + 2·11)/(3·10 + 2·20).
	if math.Abs(blood.Efficiency.Ratio-40.0/70) > 1e-12 || blood.Efficiency.Bounds != strength.Bounded {
		t.Errorf("efficiency %+v", blood.Efficiency)
	}
	// The mean of the group is that same ratio with that same interval, not the mean of shares, 0.58.
	if e := blood.Efficiency; blood.Mean != e.Ratio || blood.MeanLow == nil || *blood.MeanLow != e.Low || *blood.MeanHigh != e.High || plain.MeanLow != nil {
		t.Errorf("the mean is %g, of unknotted %+v", blood.Mean, e)
	}
	if blood.Weibull == nil || math.Abs(blood.Points[0].Strength-0.5) > 1e-12 {
		t.Errorf("the scale is not that of unknotted line: %+v", blood.Points)
	}
	if v := askBench(t, b, bench.Request{By: []string{"junction"}, Versus: "unknotted"}).Groups[0].Versus; v == nil || v.Sets != 2 || v.Difference >= 0 {
		t.Errorf("against unknotted: %+v", v)
	}
	one := askBench(t, b, bench.Request{By: []string{"junction"}, Where: []string{"tippet=6X"}})
	if one.Relative || one.Groups[0].Mean != 6 {
		t.Errorf("on one tippet: %+v", one)
	}
}

// A slip is a failure to means, and to the Weibull line what it is asked to be.
func TestBenchSlips(t *testing.T) {
	t.Parallel()
	var b onBench
	b.pulled(t, "blood", "down", 0.127, 7, 8, 9, 6)
	b.pulls[3].Ending = journal.PulledSlipped
	b.pulled(t, "blood", "down", 0.127, 9.5)
	b.pulls[4].Ending = journal.PulledHeld
	as := askBench(t, b, bench.Request{}).Groups[0]
	if as.Slipped != 1 || as.AtLeast != 1 || as.Mean != 7.9 || as.Weibull.Failures != 3 || as.Weibull.Censored != 2 {
		t.Errorf("slips bear at least that much: %+v, %+v", as, as.Weibull)
	}
	fail := askBench(t, b, bench.Request{Slips: bench.SlipsFail}).Groups[0]
	if fail.Mean != 7.9 || fail.Weibull.Failures != 4 || fail.Weibull.B10 >= as.Weibull.B10 {
		t.Errorf("slips fail: %+v, %+v", fail, fail.Weibull)
	}
	for _, r := range []bench.Request{{By: []string{"luck"}}, {By: []string{"facing", "facing"}}, {By: []string{"facing", "prop", "tippet"}}, {Where: []string{"facing"}}, {Where: []string{"facing=left"}}, {Where: []string{"tippet=40X"}}, {Slips: "maybe"}, {By: []string{"facing"}, Versus: "left"}} {
		if _, err := bench.Compare(context.Background(), b, r); !journal.IsInvalid(err) {
			t.Errorf("%+v: %v", r, err)
		}
	}
}

// Invented benches held against the truth that they are drawn from: 95% intervals
// of the share of unknotted line and of down against up hold it, and who tied,
// which makes no difference, is rarely found to make one.
func TestBenchHoldsTheTruth(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("simulates for seconds")
	}
	season := demo.Generate(demo.Seed, 1)
	truth := map[string]float64{}
	for _, s := range demo.BenchStrengths() {
		if s.Junction != "" {
			truth[string(s.Junction)+","+string(s.Facing)] = s.Efficiency * (1 - s.Slips*(1-0.825)) // a slip costs 17.5% on average
		}
	}
	efficiencies, held, ratios, between, alarms := 0, 0, 0, 0, 0
	for seed := range uint64(*benches) {
		b := onBench{demo.Bench(seed, season.Anglers), season.Anglers}
		a := askBench(t, b, bench.Request{By: []string{"junction", "facing"}})
		for _, g := range a.Groups {
			want, e := truth[g.Level[0].Word+","+g.Level[1].Word], g.Efficiency
			efficiencies++
			if e.Low <= want && want <= e.High {
				held++
			}
		}
		up := askBench(t, b, bench.Request{By: []string{"facing"}, Where: []string{"junction=figure-eight"}, Versus: "down"}).Groups[1].Versus
		ratios++
		if want := truth["figure-eight,up"] / truth["figure-eight,down"]; up.Ratio.Low <= want && want <= up.Ratio.High {
			between++
		}
		for _, g := range askBench(t, b, bench.Request{By: []string{"angler"}}).Groups {
			if g.Versus != nil && g.Versus.Verdict == stat.Differs {
				alarms++
			}
		}
	}
	share := func(n, of int) float64 { return float64(n) / float64(of) }
	t.Logf("%d benches: of unknotted covered %.1f%%, down against up %.1f%%, false alarms %.1f%%", *benches, 100*share(held, efficiencies), 100*share(between, ratios), 100*share(alarms, ratios))
	if share(held, efficiencies) < 0.92 || share(between, ratios) < 0.90 || share(alarms, ratios) > 0.09 {
		t.Errorf("of unknotted covered %.3f, down against up %.3f, false alarms %.3f", share(held, efficiencies), share(between, ratios), share(alarms, ratios))
	}
}

// The demo says which way of facing is stronger and how sure that is, as the
// truth behind it has it.
func TestBenchOfTheDemo(t *testing.T) {
	t.Parallel()
	season := demo.Generate(demo.Seed, 1)
	if len(season.Pulls) != 98 {
		t.Errorf("the demo has %d pulls", len(season.Pulls))
	}
	for _, p := range season.Pulls {
		if err := p.Validate(); err != nil {
			t.Fatalf("%+v: %v", p, err)
		}
	}
	a := askBench(t, onBench{season.Pulls, season.Anglers}, bench.Request{By: []string{"facing"}, Where: []string{"junction=figure-eight"}})
	up := a.Groups[1]
	if !strings.EqualFold(up.Level[0].Word, "up") || up.Versus == nil || up.Versus.Verdict != stat.Differs || up.Versus.Difference >= 0 || up.Versus.Ratio.Low > 0.66/0.80 || up.Versus.Ratio.High < 0.66/0.80 {
		t.Errorf("up against down: %+v", up.Versus)
	}
}

// However few and odd the pulls, every answer can be written: nothing that JSON
// can't hold gets out, and no interval runs backwards.
func TestBenchOfOddPulls(t *testing.T) {
	t.Parallel()
	random := rand.New(rand.NewPCG(5, 5))
	endings := journal.PullEndings()
	for range 300 {
		var b onBench
		for range 1 + random.IntN(14) {
			junction := []journal.Junction{"", "blood", "uni"}[random.IntN(3)]
			b.pulled(t, junction, "down", []float64{0.127, 0.1524}[random.IntN(2)], []float64{0.001, 5, 5, 5.1, 9, 1999}[random.IntN(6)])
			if last := &b.pulls[len(b.pulls)-1]; last.Knotted() {
				last.Ending = endings[random.IntN(3)]
			} else {
				last.Facing = ""
			}
		}
		for _, by := range [][]string{{"junction"}, {"tippet"}, {"wet", "facing"}, nil} {
			a := askBench(t, b, bench.Request{By: by})
			if _, err := json.Marshal(a); err != nil {
				t.Fatalf("%+v: %v", b.pulls, err)
			}
			var text strings.Builder
			if err := prose.BenchTable(a, units.US).WriteCSV(&text); err != nil || strings.Contains(text.String(), "NaN") || strings.Contains(text.String(), "Inf") {
				t.Fatalf("%+v: %v\n%s", b.pulls, err, text.String())
			}
			for _, g := range a.Groups {
				if w := g.Weibull; w != nil && !(w.B10Interval.Low <= w.B10 && w.B10 <= w.B10Interval.High && w.ShapeInterval.Low <= w.Shape && w.Shape <= w.ShapeInterval.High) {
					t.Fatalf("%+v: %+v", b.pulls, w)
				}
			}
		}
	}
}
