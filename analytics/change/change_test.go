package change

import (
	"context"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"rigtally/journal"
	"rigtally/journal/facts"
)

var long = flag.Bool("long", false, "invent ten times as many seasons")

// With changes that have nothing to do with events, at most 6% of seasons may say that they follow them; where a level
// is changed after an event, nearly all must.
func TestChangesThatFollowAreFoundAndOthersNot(t *testing.T) {
	if testing.Short() {
		t.Skip("a simulation")
	}
	t.Parallel()
	seasons := 300
	if *long {
		seasons *= 10
	}
	for i, c := range []struct {
		name  string
		least float64 // share of seasons in which changes follow events
		most  float64
		season
	}{
		{"levels drawn for each stint", 0, 0.06, season{rate: 0.4, ratio: 1, usual: 0.5}},
		{"a usual level, and many events", 0, 0.06, season{rate: 3, ratio: 1, usual: 0.75}},
		{"sessions alike", 0, 0.06, season{rate: 1.5, ratio: 1, usual: 0.75, calm: true}},
		{"events in bursts", 0, 0.06, season{rate: 0.6, ratio: 1, usual: 0.75, burst: 1}},
		{"a rate that doubles through the day", 0, 0.06, season{rate: 1, ratio: 1, usual: 0.75, rising: true}},
		{"a level with half as many again", 0, 0.06, season{rate: 0.6, ratio: 1.5, usual: 0.75}},
		{"the same, always given up through the day", 0, 0.06, season{rate: 0.6, ratio: 1.5, usual: 0.5, onward: true}},
		{"the level changed after nine events of ten", 0.9, 1, season{rate: 0.4, ratio: 1, usual: 0.75, follow: 0.9}},
		{"a tag cut after nine events of ten", 0.9, 1, season{rate: 0.4, ratio: 1, usual: 0.75, follow: 0.9, cut: true}},
	} {
		for _, sessions := range []int{40, 80} {
			for _, minutes := range []bool{true, false} {
				c.sessions, c.noMinute = sessions, !minutes
				rng := rand.New(rand.NewPCG(14, uint64(i)))
				follow := 0.0
				for range seasons {
					f := found(c.invent(rng))
					if f.ByMinutes != minutes {
						t.Fatalf("%s: by minutes is %v", c.name, f.ByMinutes)
					}
					if f.Follows() {
						follow++
					}
				}
				follow /= float64(seasons)
				t.Logf("%-45s %d sessions, minutes %-5v: %.3f", c.name, sessions, minutes, follow)
				chance := 3 * math.Sqrt(0.06*0.94/float64(seasons))
				if follow < c.least || follow > c.most+chance && c.most < 1 {
					t.Errorf("%s, %d sessions, minutes %v: changes follow events in %.3f of seasons", c.name, sessions, minutes, follow)
				}
			}
		}
	}
}

// Where they have nothing to do with each other, the ratio is 1.
func TestTheRatioIsUnbiased(t *testing.T) {
	t.Parallel()
	for _, noMinute := range []bool{false, true} {
		f := found(season{sessions: 20_000, rate: 1, ratio: 1, usual: 0.6, noMinute: noMinute}.invent(rand.New(rand.NewPCG(3, 8))))
		if *f.Low > 1 || *f.High < 1 || *f.High / *f.Low > 1.2 {
			t.Errorf("without minutes %v: ratio %.3f (%.3f to %.3f)", noMinute, *f.Ratio, *f.Low, *f.High)
		}
	}
}

// Expected values are R's (4.2):
//
//	G <- length(unique(d$s)); tq <- qt(.975, G-1)
//	score <- function(t) { p <- plogis(t + log(d$a/d$o)); r <- d$x - d$n*p
//	  c(sum(r), max(sum(d$n*p*(1-p)), var(tapply(r, d$s, sum))*G)) }
//	z <- function(t) { q <- score(t); q[1]/sqrt(q[2]) }
//	exp(coef(glm(cbind(x, n-x) ~ 1 + offset(log(a/o)), binomial, d)))
//	exp(uniroot(function(t) z(t) - tq, …)$root); exp(uniroot(function(t) z(t) + tq, …)$root); 2*pt(-abs(z(0)), G-1)
func TestEstimateIsThatOfLogisticRegression(t *testing.T) {
	t.Parallel()
	strata := func(s, x, n, a, o []float64) (list []stratum) {
		for i := range s {
			list = append(list, stratum{int32(s[i]), a[i], o[i], x[i], n[i]})
		}
		return list
	}
	ones := func(n int) []float64 {
		list := make([]float64, n)
		for i := range list {
			list[i] = 1
		}
		return list
	}
	upTo := func(n int) []float64 {
		list := ones(n)
		for i := range list {
			list[i] = float64(i + 1)
		}
		return list
	}
	inf := math.Inf(1)
	for name, c := range map[string]struct {
		strata                  []stratum
		ratio, low, high, p, by float64 // by chance
	}{
		"changes": {strata([]float64{1, 1, 2, 3, 3, 4, 4, 5, 6, 7, 7, 8, 9, 10, 11, 12, 12, 13, 14}, []float64{1, 1, 0, 1, 0, 1, 1, 0, 1, 1, 0, 1, 1, 0, 1, 0, 1, 1, 0}, ones(19),
			[]float64{12, 1, 11, 22, 10, 1, 31, 11, 1, 14, 20, 2, 9, 11, 1, 22, 11, 1, 10}, []float64{48, 30, 64, 58, 95, 20, 89, 34, 41, 77, 40, 100, 51, 80, 22, 60, 35, 44, 90}),
			15.5642400412273, 3.5786444473729, 100.8784325424405, 0.0021456312325, 2.7741592276243},
		"events of sessions": {strata(upTo(10), []float64{3, 1, 4, 0, 2, 6, 1, 2, 5, 1}, []float64{4, 1, 7, 2, 2, 9, 3, 2, 5, 3},
			[]float64{95, 30, 120, 40, 80, 150, 60, 50, 70, 44}, []float64{60, 90, 110, 75, 140, 130, 100, 80, 120, 66}),
			2.3135647387318, 0.9703091424472, 9.0352767372971, 0.0561320962028, 17.5344763212723},
		"every change after an event": {strata(upTo(9), ones(9), ones(9), []float64{11, 1, 12, 1, 1, 20, 13, 1, 5}, []float64{60, 90, 110, 75, 140, 130, 100, 22, 31}),
			inf, 57.6488612571, inf, 6.12442540414e-06, 0.715274068389},
	} {
		f := Finding{ByMinutes: true}
		f.estimate(c.strata)
		for what, pair := range map[string][2]float64{"ratio": {orInf(f.Ratio), c.ratio}, "low": {orInf(f.Low), c.low}, "high": {orInf(f.High), c.high}, "p": {orInf(f.P), c.p}, "expected": {orInf(f.Expected), c.by}} {
			if got, want := pair[0], pair[1]; got != want && !(math.Abs(got-want) <= 1e-8*want) {
				t.Errorf("%s: %s is %.10g, not %.10g", name, what, got, want)
			}
		}
	}
}

func orInf(v *float64) float64 {
	if v == nil {
		return math.Inf(1)
	}
	return *v
}

// What counts as after an event is worked out by hand beside each session.
func TestTimeAfterAnEvent(t *testing.T) {
	t.Parallel()
	st := func(minutes float64, end facts.End, at ...float64) facts.Stretch {
		return facts.Stretch{Minutes: minutes, Counted: true, Timed: true, Events: float64(len(at)), At: at, End: end}
	}
	untimed := facts.Stretch{Minutes: 30, Counted: true, Events: 1, End: facts.LevelChanged}
	uncounted := facts.Stretch{Minutes: 30, Timed: true, End: facts.LevelKept}
	const over, kept, changed, unknown = facts.SessionOver, facts.LevelKept, facts.LevelChanged, facts.LevelUntold
	for name, c := range map[string]struct {
		list           []facts.Stretch
		want           []stratum
		changes, after int
	}{
		"at once: its minute; the first ten are not used": {[]facts.Stretch{st(60, changed, 60), st(30, over)}, []stratum{{1, 1, 49, 1, 1}}, 1, 1},
		"two that overlap, 15 minutes, and a change long after": {[]facts.Stretch{st(60, changed, 20, 25), st(30, over)},
			[]stratum{{1, 15, 35, 0, 1}}, 1, 0},
		"the minutes after reach into the next stint": {[]facts.Stretch{st(60, kept, 55), st(30, changed), st(30, over)}, []stratum{{1, 10, 70, 0, 1}}, 1, 0},
		"a change within ten minutes of the stint before": {[]facts.Stretch{st(60, changed, 57), st(6, changed), st(30, over)},
			[]stratum{{1, 3, 47, 1, 1}}, 2, 2},
		"too early a change":         {[]facts.Stretch{st(9, changed, 2), st(60, changed, 30), st(9, over)}, []stratum{{1, 12, 47, 0, 1}}, 1, 0},
		"a level not noted":          {[]facts.Stretch{st(60, unknown, 59), st(60, changed, 30), st(9, over)}, []stratum{{1, 19, 41, 0, 1}}, 1, 0},
		"nobody counted in between":  {[]facts.Stretch{st(60, changed, 40), uncounted, st(60, changed, 30), st(9, over)}, []stratum{{1, 10, 40, 0, 1}, {1, 10, 40, 0, 1}}, 2, 0},
		"an event of unknown minute": {[]facts.Stretch{st(60, changed, 40), untimed, st(60, over)}, nil, 0, 0},
	} {
		var s search
		s.session(c.list)
		if got, want := fmt.Sprint(s.runs), fmt.Sprint(c.want); got != want || s.timedChanges != c.changes || s.after != c.after {
			t.Errorf("%s: %s, %d changes, %d after; not %s, %d, %d", name, got, s.timedChanges, s.after, want, c.changes, c.after)
		}
	}
}

func TestSharesOfStintsFollowedByAChange(t *testing.T) {
	t.Parallel()
	st := func(minutes, events float64, end facts.End) facts.Stretch {
		return facts.Stretch{Minutes: minutes, Counted: true, Events: events, End: end}
	}
	var s search
	s.session([]facts.Stretch{st(60, 2, facts.LevelChanged), st(30, 0, facts.LevelKept), st(20, 1, facts.LevelUntold), st(math.NaN(), 1, facts.LevelChanged), st(40, 1, facts.SessionOver)})
	f := s.finding()
	if want := (Share{2, 1}); f.With != want || f.Without != (Share{1, 0}) || f.ByMinutes || f.Changes != 1 || f.AfterEvent != 1 {
		t.Errorf("%+v", f)
	}
	if want := (stratum{1, 60, 70, 2, 3}); len(s.whole) != 1 || s.whole[0] != want {
		t.Errorf("%+v, not %+v", s.whole, want)
	}
}

// told is a journal of which only its stretches are known.
type told [][]facts.Stretch

func (j told) Stretches(_ context.Context, _ journal.Outcome, _ journal.Factor, tell func([]facts.Stretch)) error {
	for _, s := range j {
		tell(s)
	}
	return nil
}

func TestFindAsksOnlyOfWhatCanChange(t *testing.T) {
	t.Parallel()
	j := told(season{sessions: 60, rate: 0.4, ratio: 1, usual: 0.75, follow: 0.9}.invent(rand.New(rand.NewPCG(1, 1))))
	for _, c := range []struct {
		outcome, factor string
		follows         bool
	}{{"tangles", "junction", true}, {"tangles", "water", false}, {"hookups", "junction", false}, {"downtime", "tag-length", true}} {
		o, err := journal.OutcomeByKey(c.outcome)
		if err != nil {
			t.Fatal(err)
		}
		f, err := journal.FactorByKey(c.factor)
		if err != nil {
			t.Fatal(err)
		}
		found, err := Find(t.Context(), j, o, f)
		if err != nil || found.Follows() != c.follows || found.Outcome != c.outcome || found.Factor != c.factor {
			t.Errorf("%s by %s: %+v (%v)", c.outcome, c.factor, found, err)
		}
	}
}

// A journal whose every factor is changed after a tangle is told of for each; one in which nothing goes with anything, for none.
func TestAllTellsOfEveryFactorThatFollows(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(4, 4))
	for _, follow := range []float64{0, 0.9} {
		some := follow > 0
		list, err := All(t.Context(), told(season{sessions: 60, rate: 0.4, ratio: 1, usual: 0.75, follow: follow}.invent(rng)))
		if err != nil || len(list) > 0 != some {
			t.Errorf("changed after %.1f of events: %d findings (%v)", follow, len(list), err)
		}
		seen := map[string]bool{}
		for _, f := range list {
			seen[f.Factor] = true
			if f.Factor == "rig" || f.Factor == "angler" || f.Outcome == "downtime" || f.Outcome == "hookups" {
				t.Errorf("changes of the %s after %s are told of", f.Factor, f.Outcome)
			}
		}
		if some && (!seen["junction"] || !seen["tag-length"] || !seen["stroke"]) {
			t.Errorf("only of %v is told", seen)
		}
	}
}
