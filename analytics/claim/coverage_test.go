package claim

import (
	"flag"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"rigtally/internal/units"
	"rigtally/journal"
)

var longBoards = flag.Bool("boards", false, "run the long grid of boards of claims and print its table")

// boardsSaying returns the shares of boards that say of some claim that it holds
// here, and that it does not, and how many claims a board could test.
func (c boardSeason) boardsSaying(t *testing.T, seed uint64, boards int) (holds, holdsNot, tested float64) {
	t.Helper()
	r := rand.New(rand.NewPCG(seed, 2026))
	claims := journal.StartingClaims()
	for range boards {
		b, err := Judge(t.Context(), c.invent(r, claims), units.Metric)
		if err != nil {
			t.Fatalf("%s: %v", c, err)
		}
		says := func(s Standing) float64 {
			if slices.ContainsFunc(b.Claims, func(a Answer) bool { return a.Standing == s }) {
				return 1
			}
			return 0
		}
		holds += says(Holds) / float64(boards)
		holdsNot += says(HoldsNot) / float64(boards)
		tested += float64(b.Tested) / float64(boards)
	}
	return holds, holdsNot, tested
}

func (c boardSeason) check(t *testing.T, seed uint64, boards int, noise float64) {
	t.Helper()
	holds, holdsNot, tested := c.boardsSaying(t, seed, boards)
	t.Logf("| %s | %.1f | %.1f%% | %.1f%% |", c, tested, 100*holds, 100*holdsNot)
	const most = 0.06
	if room := noise * math.Sqrt(0.05*0.95/float64(boards)); holds > most+room || holdsNot > most+room {
		t.Errorf("%s: %.3f of boards say that a claim holds, %.3f that one does not; want at most %.2f", c, holds, holdsNot, most)
	}
}

func boardGrid() []boardSeason {
	var grid []boardSeason
	for _, sessions := range []int{8, 20, 40, 80} {
		for _, cv := range []float64{0, 0.8} {
			for _, level := range []struct{ rate, share float64 }{{0.25, 0.1}, {1, 0.3}} {
				for _, rigs := range []int{5, 20} {
					grid = append(grid, boardSeason{sessions, level.rate, level.share, cv, rigs})
				}
			}
		}
	}
	return grid
}

// TestBoardCoverage is the short form of the promise: under no effect at most 6%
// of whole boards say of any claim that it holds here, nor that it does not. The
// seed is fixed, so the run repeats exactly.
func TestBoardCoverage(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("simulates for seconds")
	}
	for i, c := range []boardSeason{{8, 1, 0.3, 0.8, 20}, {20, 0.25, 0.1, 0.8, 5}, {40, 1, 0.3, 0.4, 20}, {80, 0.25, 0.1, 0.8, 20}} {
		c.check(t, uint64(1+i), 160, 1)
	}
}

// TestBoardCoverageGrid is the long form (flag -boards), about ten minutes; -v
// prints its table.
func TestBoardCoverageGrid(t *testing.T) {
	if !*longBoards {
		t.Skip("only with -boards")
	}
	for i, c := range boardGrid() {
		c.check(t, uint64(i), 4000, 0)
	}
}
