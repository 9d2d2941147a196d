package prose_test

import (
	"cmp"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rigtally/analytics"
	"rigtally/analytics/bench"
	"rigtally/analytics/claim"
	"rigtally/analytics/plan"
	"rigtally/analytics/stat"
	"rigtally/analytics/stat/sequential"
	"rigtally/analytics/stat/strength"
	"rigtally/analytics/trial"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

func TestFigures(t *testing.T) {
	t.Parallel()
	tangles, loss, downtime := outcome(t, "tangles"), outcome(t, "loss"), outcome(t, "downtime")
	never := named("figure-eight", analytics.Group{Exposure: 2, High: 3.6889 / 2}) // Garwood, 95%: −ln 0.025 = 3.6889
	never.Exposure = 2
	wholly := answer(t, "tangles", never)
	wholly.By = nil
	wholly.Groups[0].Level = nil
	for _, tt := range []struct{ got, want string }{
		{prose.Figure(0), "0"}, {prose.Figure(0.00123), "0.00123"}, {prose.Figure(0.5), "0.500"}, {prose.Figure(1.234), "1.23"},
		{prose.Figure(9.999), "10.0"}, {prose.Figure(12.34), "12.3"}, {prose.Figure(999.9), "1000"}, {prose.Figure(123456), "123000"},
		{prose.Figure(1e-12), "under 0.001"}, {prose.Figure(4.3e42), "over a million"}, {prose.Figure(math.Inf(1)), "over a million"},
		{prose.Figure(-2.5), "−2.50"}, {prose.Figure(math.NaN()), "?"},
		{prose.Count(12345), "12345"}, {prose.Count(1234.56), "1235"}, {prose.Count(12.34), "12.3"},
		{prose.Hours(120.2), "121 h"}, {prose.Hours(1234), "1230 h"}, {prose.Hours(1e40), "over 100000 h"}, {prose.Hours(math.Inf(1)), "over 100000 h"},
		{prose.Ratio(0.434), "0.43"}, {prose.Ratio(9.999), "10.0"}, {prose.Ratio(4.3e42), "over 100"}, {prose.Ratio(1e-12), "under 0.01"},
		{prose.RatioSpan(0.4, 2.5), "0.40–2.50"}, {prose.RatioSpan(0.4, 1e40), "at least 0.40"}, {prose.RatioSpan(0.4, math.Inf(1)), "at least 0.40"},
		{prose.RatioSpan(1e-12, 3), "at most 3.00"}, {prose.RatioSpan(0, 1e40), "no bounds yet"}, {prose.RatioSpan(1e30, 1e40), "over 100"},
		{prose.Interval(tangles, 0.21, 0.84), "0.210–0.840"}, {prose.Interval(tangles, 0, 3.6889/2), "under 1.9"}, {prose.Interval(tangles, 0, 5.99), "under 6"},
		{prose.Interval(tangles, 0, 334), "under 340"}, {prose.Interval(tangles, 1.5, 4.3e42), "at least 1.50"}, {prose.Interval(tangles, 0, 4.3e42), "no bounds yet"},
		{prose.Interval(downtime, -3, 20), "under 20"}, {prose.Interval(tangles, 0, 3.7e-6), "under 0.001"},
		{prose.Interval(loss, 0.12, 0.34), "12–34%"}, {prose.Interval(loss, 0, 0.522), "under 52%"}, {prose.Interval(loss, 0.478, 1), "over 48%"}, {prose.Interval(loss, 0, 1), "no bounds yet"},
		{prose.Percent(0.9999), "over 99.9%"}, {prose.Percent(1e-9), "under 0.1%"}, {prose.Percent(1), "100%"}, {prose.Percent(0), "0%"}, {prose.Percent(1e40), "over 1000%"},
		{prose.Chance(0), "under 1%"}, {prose.Chance(1), "over 99%"}, {prose.Chance(0.996), "over 99%"}, {prose.Chance(0.004), "under 1%"}, {prose.Chance(0.874), "87%"},
		{prose.PValue(1e-9), "under 0.001"}, {prose.PValue(0.0341), "0.034"}, {prose.PValue(1), "over 0.99"},
		{prose.Sentence(wholly, units.US), "Tangles: none in 2 h: under 1.9 an hour."},
	} {
		if tt.got != tt.want {
			t.Errorf("%q, want %q", tt.got, tt.want)
		}
	}
}

var (
	exponents = regexp.MustCompile(`\d[eE][+-]?\d`)
	digits    = regexp.MustCompile(`\d[\d.]*`)
	certain   = regexp.MustCompile(`(^|[^\d.])(0|100)(\.0+)?%`)
)

// long names the first number of a text that is not fit for people: one with an exponent, or with
// more significant digits than so many. Of totals, which are allowed four, what was counted may be
// told whole.
func long(text string, most int) string {
	for _, w := range []string{"NaN", "Inf", "%!"} {
		if strings.Contains(text, w) {
			return w
		}
	}
	if e := exponents.FindString(text); e != "" {
		return e
	}
	for _, n := range digits.FindAllString(text, -1) {
		n = strings.TrimRight(n, ".")
		plain := strings.TrimLeft(strings.ReplaceAll(n, ".", ""), "0")
		if !strings.Contains(n, ".") {
			if most == 4 && len(plain) <= len("1000000") {
				continue
			}
			plain = strings.TrimRight(plain, "0")
		}
		if len(plain) > most {
			return n
		}
	}
	return ""
}

// extreme draws numbers as little data and broken fits leave them.
func extreme(r *rapid.T, name string) float64 {
	if rapid.Bool().Draw(r, name+" is odd") {
		return rapid.SampledFrom([]float64{0, 1e-300, 1e-12, 0.0004, 0.0095, 0.02, 0.9995, 0.99951, 1, 9.995, 60, 99.96, 334, 999.9, 1e6, 4.3e42, 1e300, math.Inf(1)}).Draw(r, name)
	}
	return math.Exp(rapid.Float64Range(-60, 60).Draw(r, name))
}

// Whatever an answer holds, people read short numbers.
func TestNumbersForPeopleAreShort(t *testing.T) {
	t.Parallel()
	list := journal.Outcomes()
	rapid.Check(t, func(r *rapid.T) {
		a, b := extreme(r, "a"), extreme(r, "b")
		low, high := min(a, b), max(a, b)
		o := list[rapid.IntRange(0, len(list)-1).Draw(r, "outcome")]
		for _, text := range []string{prose.Figure(a), prose.Hours(a), prose.Ratio(a), prose.RatioSpan(low, high), prose.FigureSpan(low, high), prose.Interval(o, low, high),
			prose.Rate(o, a), prose.RateFigure(o, a), prose.Percent(a), prose.Chance(a), prose.PValue(a), prose.EValue(math.Log(a)), prose.TrialSpan(low, high)} {
			if bad := long(text, 3); bad != "" || len(text) > 60 {
				r.Fatalf("%g, %g: %q", low, high, text)
			}
		}
		if text := prose.Count(a + 0.5); a < 1e6 && long(text, 4) != "" && a+0.5 != math.Trunc(a+0.5) {
			r.Fatalf("%g: %q", a, text)
		}
		if text := prose.Chance(a); certain.MatchString(text) {
			r.Fatalf("a chance of %g is said to be %s", a, text)
		}
	})
}

// The same of whole answers: no events in minutes, one in a minute, a million hours, ratios
// without a limit.
func TestAnswersOfLittleDataAreShort(t *testing.T) {
	t.Parallel()
	exposures := []float64{1. / 60, 0.2, 2, 57.3, 1e6}
	rapid.Check(t, func(r *rapid.T) {
		group := func(name string, compared bool) analytics.Group {
			e, k := rapid.SampledFrom(exposures).Draw(r, name+" hours"), float64(rapid.IntRange(0, 3).Draw(r, name+" events"))
			ends := [2]float64{extreme(r, name+" low"), extreme(r, name+" high")}
			g := named(name, analytics.Group{Events: k, Rate: k / e, Low: min(ends[0], k/e), High: max(ends[1], k/e)})
			g.Exposure, g.Hours = e, e
			if compared {
				ratio := extreme(r, name+" ratio")
				low, high, p := min(ratio, extreme(r, name+" ratio low")), max(ratio, extreme(r, name+" ratio high")), rapid.Float64Range(0, 1).Draw(r, name+" p")
				hours := extreme(r, name+" needed")
				verdict := rapid.SampledFrom([]stat.Verdict{stat.Differs, stat.Leans, stat.SameForPractice, stat.CannotTell}).Draw(r, name+" verdict")
				g.Versus = &analytics.Comparison{Ratio: &ratio, Low: &low, High: &high, P: &p, Q: &p, Verdict: verdict, MoreHours: &hours}
			}
			return g
		}
		for _, groups := range [][]analytics.Group{{group("blood", false)}, {group("blood", false), group("uni", true), group("clinch", true)}} {
			a := answer(t, rapid.SampledFrom([]string{"tangles", "loss", "downtime", "junction-break"}).Draw(r, "outcome"), groups...)
			a.Given = rapid.SampledFrom([][]analytics.Given{nil, {{Factor: factor(t, "angler")}}}).Draw(r, "given")
			if len(a.Given) > 0 {
				for i := range a.Groups {
					if v := a.Groups[i].Versus; v != nil {
						a.Groups[i].Corrected = &analytics.Corrected{Ratio: v.Ratio, Low: v.Low, High: v.High, P: v.P}
					}
				}
			}
			said := prose.SayRates(a, units.US)
			text := said.Text(0) + prose.Best(a, units.US)
			if bad := long(text, 4); bad != "" {
				r.Fatalf("%q in\n%s", bad, text)
			}
		}
		ratio, low, high, q := extreme(r, "claim"), extreme(r, "claim low"), extreme(r, "claim high"), rapid.Float64Range(0, 1).Draw(r, "claim q")
		c := claim.Answer{Outcome: outcome(t, "tangles"), Factor: factor(t, "junction"), Ratio: &ratio, Low: &low, High: &high, Q: &q, QListed: &q, MoreHours: &high}
		if text := prose.ClaimRatio(c, units.US) + " " + prose.ClaimMore(c); long(text, 3) != "" {
			r.Fatal(text)
		}
	})
}

// The same of what few pulls, a plan and a trial leave.
func TestKnotsPlansAndTrialsAreShort(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(r *rapid.T) {
		number := func(name string) float64 { return extreme(r, name) }
		finite := func(name string) *float64 {
			if v := number(name); stat.Finite(v) {
				return &v
			}
			return nil
		}
		set := func(name string) strength.RatioSet {
			a, b := number(name+" low"), number(name+" high")
			if rapid.Bool().Draw(r, name+" below 0") {
				a = -a
			}
			bounds := rapid.SampledFrom([]strength.RatioBounds{strength.Bounded, strength.Outside, strength.Unbounded}).Draw(r, name+" bounds")
			return strength.RatioSet{Ratio: number(name), Bounds: bounds, Interval: stat.Interval{Low: min(a, b), High: max(a, b)}}
		}
		level := func(word string) []journal.Level { return []journal.Level{{Word: word}} }
		low, high := -rapid.Float64Range(0, 50).Draw(r, "mean low"), rapid.Float64Range(10, 99).Draw(r, "mean high")
		needed := rapid.SampledFrom([]int{2, 17, 999, 123456}).Draw(r, "pulls")
		p := rapid.Float64Range(0, 1).Draw(r, "p")
		efficient := bench.Efficiency{RatioSet: set("efficiency")}
		knot := bench.Group{N: 2, Mean: 5, MeanLow: &low, MeanHigh: &high, SD: 1, Level: level("uni"), Efficiency: &efficient,
			Versus: &bench.Comparison{Sets: 1, Pulls: 2, Versus: 2, P: p, Q: p, Ratio: set("times"), PullsNeeded: &needed, MorePulls: &needed,
				Verdict: rapid.SampledFrom([]stat.Verdict{stat.Differs, stat.Leans, stat.CannotTell}).Draw(r, "verdict")}}
		knots := bench.Answer{By: []journal.Factor{factor(t, "junction")}, Groups: []bench.Group{{N: 2, Mean: 4, Level: level("blood")}, knot}, Relative: rapid.Bool().Draw(r, "relative")}
		ends := [2]float64{number("sequence low"), number("sequence high")}
		sequence := sequential.Sequence{Interval: stat.Interval{Low: min(ends[0], ends[1]), High: max(ends[0], ends[1])}}
		arms := trial.Answer{Arms: [2]trial.Arm{{Exposure: 1, Events: number("A")}, {Exposure: 1, Events: number("B")}}}
		laid := plan.Answer{Sure: true, Points: []plan.Point{{LengthMM: 100, Loss: number("loss"), Tangles: number("tangles"), Low: finite("loss low"), High: finite("loss high")}}}
		_, rows := prose.PlanTable(laid, units.Metric, 9).Texts()
		for _, text := range []string{prose.SayBench(knots, units.Metric).Text(0), prose.TrialRatio(arms, sequence, false), prose.TrialRatio(arms, sequence, true),
			prose.TrialOutlook(&trial.Outlook{Ratio: number("ratio"), Seen: true, Hours: number("hours"), Left: 40, Chance: p}), strings.Join(rows[0], " ")} {
			if bad := long(strings.ReplaceAll(text, "over 1000", ""), 3); bad != "" {
				r.Fatalf("%q in\n%s", bad, text)
			}
		}
	})
}

// No chance that rests on data is said to be none or certain: of the best of a curve, of a plan,
// of a trial's decision.
func TestNoChanceIsNoneOrCertain(t *testing.T) {
	t.Parallel()
	for _, chance := range []float64{0, 1e-9, 0.004, 0.5, 0.996, 1} {
		curve := aCurve(t, 0.01)
		for i := range curve.Best {
			curve.Best[i].Probability = new(0.0)
		}
		curve.Best[0].Probability = &chance
		points := []plan.Point{{LengthMM: 100, Loss: 2, Best: &chance, Near: &chance}, {LengthMM: 110, Loss: 3, Best: new(1 - chance), Near: new(1 - chance)}}
		laid := plan.Answer{Best: 0, Sure: true, Points: points}
		header, rows := prose.CurveTable(curve, units.US, 50).Texts()
		_, lengths := prose.PlanTable(laid, units.US, 50).Texts()
		texts := []string{prose.PlanSure(laid, units.US), prose.CurveSentence(curve, units.US), prose.TrialOutlook(&trial.Outlook{Ratio: 1.5, Chance: chance, Hours: 10, Left: 20})}
		for _, r := range append(rows, lengths...) {
			texts = append(texts, strings.Join(r, " "))
		}
		for _, text := range texts {
			if certain.MatchString(text) {
				t.Errorf("%g: %q (%q)", chance, text, header)
			}
		}
	}
}

// The bench says one strength of a knot, whatever tells it: sentence and table have the same
// number with the same interval.
func TestTheBenchSaysOneStrength(t *testing.T) {
	t.Parallel()
	low, high := 0.48, 0.64
	for _, relative := range []bool{false, true} {
		g := bench.Group{N: 5, Mean: 0.56, MeanLow: &low, MeanHigh: &high, SD: 0.1, Level: []journal.Level{{Word: "blood"}},
			Efficiency: &bench.Efficiency{RatioSet: strength.RatioSet{Ratio: 0.56, Bounds: strength.Bounded, Interval: stat.Interval{Low: low, High: high}}}}
		a := bench.Answer{By: []journal.Factor{factor(t, "junction")}, Groups: []bench.Group{g}, Reference: 0, Relative: relative}
		value, interval := prose.Strength(0.56, relative, units.Metric), prose.MeanInterval(a, g, units.Metric)
		table, sentence := prose.BenchTable(a, units.Metric), prose.BenchSentence(a, units.Metric)
		if table.Cell(0, "mean").Text != value || table.Cell(0, "mean_interval").Text != interval || !strings.Contains(sentence, "mean "+value) || !strings.Contains(sentence, "(95% interval "+interval+")") {
			t.Errorf("relative %v: %q %q, %q", relative, table.Cell(0, "mean").Text, table.Cell(0, "mean_interval").Text, sentence)
		}
	}
	wild := bench.Group{N: 2, Mean: 5, MeanLow: new(-45.0), MeanHigh: new(55.0), Level: []journal.Level{{Word: "blood"}}}
	a := bench.Answer{By: []journal.Factor{factor(t, "junction")}, Groups: []bench.Group{wild}}
	if got := prose.MeanInterval(a, wild, units.Metric); got != "under 55 N" {
		t.Errorf("two pulls leave %q", got)
	}
}

// A confidence sequence of which an end lies beyond a hundredfold says only the other.
func TestRatiosOfATrialAreShort(t *testing.T) {
	t.Parallel()
	a := trial.Answer{Arms: [2]trial.Arm{{Exposure: 1, Events: 2}, {Exposure: 1, Events: 1}}}
	for want, ends := range map[string][2]float64{"2.00 times (at least 0.40)": {0.4, 1e40}, "2.00 times (at most 3.00)": {1e-12, 3}, "2.00 times (nothing excluded yet)": {0, math.Inf(1)}} {
		if got := prose.TrialRatio(a, sequential.Sequence{Interval: stat.Interval{Low: ends[0], High: ends[1]}}, false); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// misread are words that take p for the chance that nothing is behind a difference, which it does
// not say.
var misread = regexp.MustCompile(`(?i)chance alone|by chance|chance (did|does|would|could) |p-value that|likely to be chance|due to chance`)

// What people read, in pages, files, helps and guides, never misreads p.
func TestNothingMisreadsP(t *testing.T) {
	t.Parallel()
	read := 0
	for _, root := range []string{".", "../charts", "../web", "../cmd/rigtally", "../inquiry", "../docs", "../README.md"} {
		err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() && d.Name() == "node_modules" {
				return cmp.Or(err, fs.SkipDir)
			}
			if !slices.Contains([]string{".go", ".html", ".md", ".yaml", ".js"}, filepath.Ext(path)) || strings.HasSuffix(path, "_test.go") || strings.Contains(path, "vendor") {
				return nil
			}
			text, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			read++
			for i, line := range strings.Split(string(text), "\n") {
				if words := misread.FindString(line); words != "" && !strings.HasPrefix(strings.TrimSpace(line), "//") && len(line) < 5000 {
					t.Errorf("%s:%d says %q: say how often as much would be seen if there were no difference", path, i+1, words)
				}
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if read < 150 {
		t.Errorf("read only %d files", read)
	}
}

func TestRatiosAsPeopleSayThem(t *testing.T) {
	t.Parallel()
	for ratio, want := range map[float64]string{0.58: "about 40% fewer tangles", 1.02: "hardly any difference in tangles", 0.98: "hardly any difference in tangles", 1.26: "about 25% more tangles", 1.97: "about twice as many tangles",
		2.52: "about 2.5 times as many tangles", 0.04: "about 95% fewer tangles", 0.001: "over 95% fewer tangles", 0: "no tangles", 14.2: "about 14 times as many tangles", 2e6: "over 100 times as many tangles"} {
		if got := prose.Plainly(outcome(t, "tangles"), ratio); got != want {
			t.Errorf("%g: %q, want %q", ratio, got, want)
		}
	}
}

// Two rates beside each other, as a review has them, say what they count once, with a unit, and the ratio says the same.
func TestRatesBesideEachOther(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		outcome     string
		could, now  float64
		both, ratio string
	}{
		{"tangles", 60.0 / 140, 60.0 / 85, "a tangle every 2 h 20 min instead of every 1 h 25 min", "about 40% fewer tangles"},
		{"tangles", 5, 9, "5 instead of 9 an hour", "about 45% fewer tangles"},
		{"landed", 2, 1, "a fish landed every 30 min instead of every 1 h", "about twice as many fish landed"},
		{"junction-break", 0.017, 0.026, "1.7 instead of 2.6 in 100 pulls by fish and snags", "about 35% fewer breaks at the knot"},
		{"loss", 0.1, 0.2, "10 instead of 20 in 100 hooked fair", "about 50% fewer fish lost"},
		{"downtime", 3.61, 5, "3.6 instead of 5 min lost an hour", "about 30% fewer minutes lost"},
		{"twists", 0.001, 1, "a twist every 1000 h instead of every 1 h", "over 95% fewer twists"},
		{"twists", 0, 1, "0 instead of 1 an hour", "no twists"},
		{"hookups", 1.01, 1, "a fish hooked every 59 min instead of every 1 h", "hardly any difference in fish hooked"},
	} {
		o := outcome(t, c.outcome)
		if got := prose.Instead(o, c.could, c.now); got != c.both {
			t.Errorf("%q, want %q", got, c.both)
		}
		if got := prose.Plainly(o, c.could/c.now); got != c.ratio {
			t.Errorf("%q, want %q", got, c.ratio)
		}
	}
}

func TestRatesAsPeopleCountThem(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		outcome string
		rate    float64
		want    string
	}{
		{"tangles", 0.434, "a tangle every 2 h 20 min"},
		{"tangles", 1.0 / 9.2, "a tangle every 9 h 10 min"},
		{"tangles", 0.0123, "a tangle every 81 h"},
		{"tangles", 1.87, "a tangle every 32 min"},
		{"tangles", 0, "no tangle"},
		{"hookups", 9.04, "9 fish hooked an hour"},
		{"landed", 0.5, "a fish landed every 2 h"},
		{"loss", 0.314, "31 fish lost in 100 hooked fair"},
		{"junction-break", 0.0417, "4.2 breaks at the knot in 100 pulls by fish and snags"},
		{"foul-hook", 0.0996, "10 fish hooked foul in 100 hooked"},
		{"turns", 0.25, "2.5 turns in 10 checks"},
		{"turns", 1.5, "15 turns in 10 checks"},
		{"junction-break", 0, "no break at the knot"},
		{"downtime", 4.32, "4.3 min lost an hour"},
		{"downtime", 0.999, "1 min lost an hour"},
	} {
		if got := prose.Often(outcome(t, tt.outcome), tt.rate); got != tt.want {
			t.Errorf("%s at %g: %q, want %q", tt.outcome, tt.rate, got, tt.want)
		}
	}
}
