package season

import (
	"math"
	"math/rand/v2"
	"testing"

	"rigtally/analytics/stat"
	"rigtally/internal/units"
	"rigtally/journal"
)

// reviews returns the share of invented seasons whose review of one angler, with the outfit's part, advises
// a change, and the share in which a question is settled by itself; and how many questions a review asks.
func (c inventedSeason) reviews(t *testing.T, seed uint64, reviews int) (advising, settled, asked float64) {
	t.Helper()
	rng := rand.New(rand.NewPCG(seed, 2026))
	claims := journal.StartingClaims()
	for range reviews {
		j, err := c.invent(rng, claims)
		if err != nil {
			t.Fatal(err)
		}
		a := Answer{Angler: "Ilse", Year: 2026}
		s := maker{Answer: &a, rows: j.Season(2026)}
		s.total()
		if a.Evidence, err = s.evidence(t.Context(), j, units.Metric); err != nil {
			t.Fatalf("%s: %v", c, err)
		}
		advises, some := 0.0, 0.0
		for _, e := range a.Evidence {
			if len(e.Findings) > 0 {
				advises, some = 1, 1
			}
			for _, f := range e.Open {
				if f.Verdict == stat.Differs {
					some = 1
				}
			}
		}
		advising += advises / float64(reviews)
		settled += some / float64(reviews)
		asked += float64(a.Asked) / float64(reviews)
	}
	return advising, settled, asked
}

func (c inventedSeason) check(t *testing.T, seed uint64, reviews int, noise float64) {
	t.Helper()
	advising, settled, asked := c.reviews(t, seed, reviews)
	t.Logf("| %s | %.1f | %.1f%% | %.1f%% |", c, asked, 100*advising, 100*settled)
	const most = 0.06
	if room := noise * math.Sqrt(0.05*0.95/float64(reviews)); advising > most+room {
		t.Errorf("%s: %.3f of reviews advise a change; want at most %.2f", c, advising, most)
	}
}

// TestSeasonAdviceCoverage is the promise of a review, shortly and, with -long, in full: where nothing makes a
// difference at most 6% of reviews, both their parts together, advise a change, also where rigs are changed
// because they have tangled.
func TestSeasonAdviceCoverage(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("simulates for seconds")
	}
	if !*long {
		for i, c := range []inventedSeason{{40, 0.4, 0.5, nothing}, {60, 0.8, 1, junctions}, {60, 0.8, 1, tags}} {
			c.check(t, uint64(i+1), 40, 1)
		}
		return
	}
	seed := uint64(100)
	for _, sessions := range []int{40, 80} {
		for _, level := range []struct{ rate, cv float64 }{{0.4, 0.5}, {0.8, 1}} {
			for _, changes := range []change{nothing, junctions, tags} {
				seed++
				inventedSeason{sessions, level.rate, level.cv, changes}.check(t, seed, 1000, 0.5)
			}
		}
	}
	heavyTails(t)
}

// heavyTails is the same where no gamma distribution has drawn the sessions' luck.
func heavyTails(t *testing.T) {
	t.Helper()
	seed := uint64(200)
	for _, sessions := range []int{40, 80} {
		for _, changes := range []change{nothing, junctions, tags} {
			inventedSeason{sessions, 0.6, 0, changes}.check(t, seed, 500, 0.5)
			seed++
		}
	}
}
