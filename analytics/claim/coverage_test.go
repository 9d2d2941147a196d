package claim

import (
	"flag"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"rigtally/analytics/stat"
	"rigtally/internal/units"
	"rigtally/journal"
)

var longBoards = flag.Bool("boards", false, "run the long grid of boards of claims and print its table")

// boards returns the share of boards that say of some claim that it holds here or that the opposite does, and
// the share that has one settled by itself, whatever the board says; and how many claims a board could test.
func (c boardSeason) boards(t *testing.T, seed uint64, boards int) (marked, settled, tested float64) {
	t.Helper()
	r := rand.New(rand.NewPCG(seed, 2026))
	claims := journal.StartingClaims()
	for range boards {
		b, err := Judge(t.Context(), c.invent(r, claims), units.Metric)
		if err != nil {
			t.Fatalf("%s: %v", c, err)
		}
		says := func(is func(Answer) bool) float64 {
			if slices.ContainsFunc(b.Claims, is) {
				return 1
			}
			return 0
		}
		marked += says(func(a Answer) bool { return a.Standing == Holds || a.Standing == OppositeHolds }) / float64(boards)
		settled += says(func(a Answer) bool { return a.Verdict == stat.Differs }) / float64(boards)
		tested += float64(b.Tested) / float64(boards)
	}
	return marked, settled, tested
}

func (c boardSeason) check(t *testing.T, seed uint64, boards int, noise float64) {
	t.Helper()
	marked, settled, tested := c.boards(t, seed, boards)
	t.Logf("| %s | %.1f | %.1f%% | %.1f%% |", c, tested, 100*marked, 100*settled)
	const most = 0.06
	if room := noise * math.Sqrt(0.05*0.95/float64(boards)); marked > most+room {
		t.Errorf("%s: %.3f of boards say that a claim or its opposite holds; want at most %.2f", c, marked, most)
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
// of whole boards say of any claim that it, or its opposite, holds here. The
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

// TestBoardCoverageGrid is the long form (flag -boards), about twenty minutes; -v
// prints its table.
func TestBoardCoverageGrid(t *testing.T) {
	if !*longBoards {
		t.Skip("only with -boards")
	}
	for i, c := range boardGrid() {
		c.check(t, uint64(i), 2000, 0)
	}
}
