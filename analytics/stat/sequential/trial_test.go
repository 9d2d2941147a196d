package sequential

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"rigtally/analytics/stat"
)

var long = flag.Bool("long", false, "run the long grid of simulated trials and print its table")

// alarms are the shares of trials of equal arms in which the e-values reach 20.
func (r trialRun) alarms(t *testing.T, seed uint64, trials int) (robust, model float64) {
	t.Helper()
	rng := rand.New(rand.NewPCG(seed, 31))
	for range trials {
		one, err := r.try(rng, false)
		if err != nil {
			t.Fatalf("%s: %v", r, err)
		}
		if !math.IsInf(one.robust, 1) {
			robust += 1 / float64(trials)
		}
		if !math.IsInf(one.model, 1) {
			model += 1 / float64(trials)
		}
	}
	return robust, model
}

// Ensure that of trials of equal arms, looked at after every session for 200
// hours, at most 5% are ever called settled, also when sessions differ, blocks
// span sessions, or one arm is always fished for twice as long. This is Ville's
// inequality at 1/20. The model's e-value keeps it too, except where units of a
// block have levels of their own: hence the robust one decides.
func TestTrialFalseAlarms(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("simulates for seconds")
	}
	for i, r := range []trialRun{
		{rate: 1, cv: 0, stints: 2, size: 2},
		{rate: 1, cv: 0.4, stints: 3, size: 4},
		{rate: 1, cv: 0.8, stints: 2, size: 2, lingering: 2},
		{rate: 1, cv: 0.8, size: 2},
		{kind: stat.Share, rate: 0.1, cv: 0.8, stints: 2, size: 2},
	} {
		r.ratio, r.worth, r.hours = 1, 1.5, 200
		robust, model := r.alarms(t, uint64(i), 300)
		t.Logf("%s: robust %.3f, model %.3f", r, robust, model)
		if robust > 0.05 {
			t.Errorf("%s: %.3f of trials have a false alarm", r, robust)
		}
		if r.stints > 0 && model > 0.05 {
			t.Errorf("%s: %.3f of trials have a false alarm by the model", r, model)
		}
		if r.stints == 0 && model < 0.1 {
			t.Errorf("%s: the model has only %.3f false alarms, so it could decide", r, model)
		}
	}
}

// Ensure that the confidence sequences hold the ratio at every look of at least
// 95% of trials; the model's is not asked where its assumption fails.
func TestTrialIntervalsHold(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("simulates for seconds")
	}
	const trials = 60
	for i, r := range []trialRun{
		{rate: 1, ratio: 2, cv: 0.8, stints: 2, size: 2},
		{rate: 1, ratio: 0.5, cv: 0.8, size: 2},
		{kind: stat.Share, rate: 0.1, ratio: 2, cv: 0.4, stints: 2, size: 2},
	} {
		r.worth, r.hours = 1.5, 60
		rng := rand.New(rand.NewPCG(uint64(i), 32))
		var robust, model float64
		for range trials {
			one, err := r.try(rng, true)
			if err != nil {
				t.Fatalf("%s: %v", r, err)
			}
			if one.robustHeld {
				robust += 1.0 / trials
			}
			if one.modelHeld {
				model += 1.0 / trials
			}
		}
		t.Logf("%s: robust %.3f, model %.3f", r, robust, model)
		if robust < 0.95 || r.stints > 0 && model < 0.95-0.03 { // one standard error
			t.Errorf("%s: held in %.3f of trials, by the model in %.3f", r, robust, model)
		}
	}
}

// Ensure that the arms swapped turn the interval over and leave the e-value.
func TestTrialIsSymmetric(t *testing.T) {
	t.Parallel()
	for _, kind := range []stat.Kind{stat.Rate, stat.Share} {
		var e [2]Evidence
		for side := range e {
			m, err := NewMonitor(Options{Kind: kind, Worth: 1.5, Conf: 0.95})
			if err != nil {
				t.Fatal(err)
			}
			rng := rand.New(rand.NewPCG(3, 3))
			for range 30 {
				k1, k2 := float64(rng.IntN(4)), float64(rng.IntN(9))
				if err := m.Add(Block{{side == 0, k1, 9}, {side == 1, k2, 12}}); err != nil {
					t.Fatal(err)
				}
			}
			e[side] = m.Evidence()
		}
		for _, s := range [][2]Sequence{{e[0].Robust, e[1].Robust}, {e[0].Model, e[1].Model}} {
			agrees(t, "log e", s[0].LogE, s[1].LogE, 1e-9)
			agrees(t, "low", s[0].Low, 1/s[1].High, 1e-9)
			agrees(t, "high", s[0].High, 1/s[1].Low, 1e-9)
		}
	}
}

// Ensure that a block without an arm, an event or exposure says nothing, and that
// what no trial can have is refused.
func TestTrialEdges(t *testing.T) {
	t.Parallel()
	for _, kind := range []stat.Kind{stat.Rate, stat.Share} {
		m, err := NewMonitor(Options{Kind: kind, Worth: 2, Conf: 0.95})
		if err != nil {
			t.Fatal(err)
		}
		for _, b := range []Block{nil, {{true, 3, 4}}, {{true, 0, 4}, {false, 0, 4}}, {{true, 3, 4}, {false, 0, 0}}} {
			if err := m.Add(b); err != nil {
				t.Error(err)
			}
		}
		if e := m.Evidence(); e.Blocks != 4 || e.Robust.LogE != 0 || e.Model.LogE > 0 && kind == stat.Rate || e.Robust.Low != 0 || !math.IsInf(e.Robust.High, 1) {
			t.Errorf("nothing to count gives %+v", e)
		}
		for _, b := range []Block{
			{{true, -1, 4}, {false, 1, 4}}, {{true, 1.5, 4}, {false, 1, 4}}, {{true, math.NaN(), 4}, {false, 1, 4}}, {{true, 6000, 1e5}, {false, 1, 4}},
			{{true, 1, math.Inf(1)}, {false, 1, 4}}, make(Block, 0, 7),
		} {
			if len(b) == 0 {
				for i := range 7 {
					b = append(b, Unit{i%2 == 0, 1, 2})
				}
			}
			if err := m.Add(b); err == nil {
				t.Errorf("%v was taken", b)
			}
		}
	}
	for _, o := range []Options{{Worth: 1, Conf: 0.95}, {Worth: math.NaN(), Conf: 0.95}, {Worth: 11, Conf: 0.95}, {Worth: 2}} {
		if _, err := NewMonitor(o); err == nil {
			t.Errorf("%+v was taken", o)
		}
	}
}

// Ensure that many events in a block, where thinning is drawn at random, give
// the same numbers each time and come close to the model's.
func TestTrialOfManyEvents(t *testing.T) {
	t.Parallel()
	var e [2]Evidence
	for i := range e {
		m, err := NewMonitor(Options{Kind: stat.Rate, Worth: 1.5, Conf: 0.95})
		if err != nil {
			t.Fatal(err)
		}
		for range 8 {
			if err := m.Add(Block{{true, 60, 10}, {false, 42, 10}, {false, 38, 10}, {true, 66, 10}}); err != nil {
				t.Fatal(err)
			}
		}
		e[i] = m.Evidence()
	}
	if e[0] != e[1] {
		t.Errorf("twice the same gives %+v and %+v", e[0], e[1])
	}
	if i := e[0].Robust; !(i.Low > 1.1 && i.Low < 1.6 && i.High > 1.6 && i.High < 2.4) {
		t.Errorf("a ratio of about 1.6 has %+v", i)
	}
}

// TestTrialGrid is the long form (flag -long): false alarms with looks after every
// session for 300 hours, and the average hours to a decision at ratios 1.5 and 2
// against a test of fixed size with the same level and power of 80%. About ten
// minutes; -v prints its tables.
func TestTrialGrid(t *testing.T) {
	if !*long {
		t.Skip("only with -long")
	}
	const trials = 2000
	room := 3 * math.Sqrt(0.05*0.95/trials)
	layouts := []trialRun{{stints: 2, size: 2}, {stints: 4, size: 2}, {stints: 4, size: 4}, {stints: 3, size: 4}, {size: 2}}
	table := "false alarms, robust / model:\n"
	for _, kind := range []stat.Kind{stat.Rate, stat.Share} {
		for _, rate := range map[stat.Kind][]float64{stat.Rate: {0.3, 1, 2}, stat.Share: {0.1, 0.3}}[kind] {
			for _, cv := range []float64{0, 0.4, 0.8} {
				for _, r := range layouts {
					r.kind, r.rate, r.cv, r.ratio, r.worth, r.hours = kind, rate, cv, 1, 1.5, 300
					robust, model := r.alarms(t, uint64(len(table)), trials)
					table += fmt.Sprintf("%s: %.1f%% / %.1f%%\n", r, 100*robust, 100*model)
					if robust > 0.05+room {
						t.Errorf("%s: %.3f of trials have a false alarm", r, robust)
					}
				}
			}
		}
	}
	t.Log(table)
	t.Log(hoursToDecision(t, layouts))
}

// hoursToDecision tables the waiting times at two ratios.
func hoursToDecision(t *testing.T, layouts []trialRun) string {
	table := "hours to a decision, mean (80% have one by): robust; model; fixed size:\n"
	for _, ratio := range []float64{1.5, 2} {
		for _, rate := range []float64{0.5, 1, 2} {
			for _, cv := range []float64{0, 0.4, 0.8} {
				for _, r := range layouts {
					r.rate, r.cv, r.ratio, r.worth = rate, cv, ratio, 1.5
					fixed, err := r.fixed()
					if err != nil {
						t.Fatal(err)
					}
					r.hours = 6 * fixed
					rng := rand.New(rand.NewPCG(uint64(len(table)), 33))
					var robust, model []float64
					for range 1000 {
						one, err := r.try(rng, false)
						if err != nil {
							t.Fatalf("%s: %v", r, err)
						}
						robust, model = append(robust, one.robust), append(model, one.model)
					}
					words := func(hours []float64) string {
						mean, limit, ok := waited(hours)
						if !ok {
							return "fewer than 80% decided"
						}
						return fmt.Sprintf("%.0f (%.0f), %.2f of fixed", mean, limit, mean/fixed)
					}
					table += fmt.Sprintf("%s: %s; %s; %.0f\n", r, words(robust), words(model), fixed)
				}
			}
		}
	}
	return table
}
