package season

import (
	"flag"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"rigtally/analytics"
	"rigtally/journal"
)

var long = flag.Bool("long", false, "simulate ten times as often")

func simulations(short int) int {
	if *long {
		return 10 * short
	}
	return short
}

// Where no angler differs, at most 6% of reviews may call any outcome better or
// worse (the promise of the project's other verdicts); seeded and invented.
func TestSeasonOutcomesAreRarelyCalledApartByChance(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("simulates for seconds")
	}
	const anglers = 5
	reviews := simulations(50)
	rng := rand.New(rand.NewPCG(4, 9))
	wrong := 0
	for range reviews {
		s := maker{Answer: &Answer{}}
		for _, o := range journal.Outcomes() {
			if o.Measure == journal.AmountPer {
				continue
			}
			groups, all := alike(rng, o, anglers)
			out := Outcome{Outcome: o, Baseline: all}
			if err := out.shrink(groups, 0); err != nil {
				t.Fatal(err)
			}
			s.Outcomes = append(s.Outcomes, out)
		}
		if err := s.judgeOutcomes(); err != nil {
			t.Fatal(err)
		}
		for _, o := range s.Outcomes {
			if o.Standing == Better || o.Standing == Worse {
				wrong++
				break
			}
		}
	}
	if share := float64(wrong) / float64(reviews); share > 0.06 {
		t.Errorf("%.1f%% of reviews call an outcome better or worse where none is", 100*share)
	}
}

// alike are anglers alike in everything but how much they fish.
func alike(rng *rand.Rand, o journal.Outcome, anglers int) (groups []analytics.Group, all analytics.Group) {
	var k, t float64
	for range anglers {
		g := analytics.Group{Exposure: float64(40 + rng.IntN(160)), Dispersion: 1}
		if o.Measure == journal.ShareOf {
			g.Events = distuv.Binomial{N: g.Exposure, P: 0.12, Src: rng}.Rand()
		} else {
			g.Events = distuv.Poisson{Lambda: 0.6 * g.Exposure, Src: rng}.Rand()
		}
		g.Rate = g.Events / g.Exposure
		k, t = k+g.Events, t+g.Exposure
		groups = append(groups, g)
	}
	all.Rate = k / t
	return groups, all
}
