package stat

import (
	"flag"
	"math"
	"math/rand/v2"
	"testing"
)

var long = flag.Bool("long", false, "run the long coverage grid and print its table")

// need is the coverage promised for 95 % intervals.
func (c season) need() float64 {
	if c.clusters < 6 {
		return 0.90
	}
	return 0.93
}

// check runs one cell and fails where it breaks the promise by more than noise
// standard errors.
func (c season) check(t *testing.T, seed uint64, repetitions int, noise float64) (single, pair float64) {
	t.Helper()
	n, err := c.run(rand.New(rand.NewPCG(seed, 2024)), repetitions)
	if err != nil {
		t.Fatalf("%s: %v", c, err)
	}
	single, pair, found := n.singleHit/n.single, n.pairHit/n.pair, n.found/n.pair
	t.Logf("%s: intervals %.3f, ratios %.3f, found %.3f", c, single, pair, found)
	room := noise * math.Sqrt(0.05*0.95/float64(repetitions))
	if least := c.need() - room; single < least || pair < least {
		t.Errorf("%s: intervals cover %.3f, ratios %.3f, want at least %.2f", c, single, pair, c.need())
	}
	if c.fold == 1 && found > 0.06+room {
		t.Errorf("%s: %.3f of comparisons find a difference, want at most 0.06", c, found)
	}
	return single, pair
}

// TestCoverage is the short form of the promise: with 6 or more clusters a
// group 95 % intervals cover at least 93 %, with 4 or 5 at least 90 %, on
// average at most 98 %, and without a difference at most 6 % of comparisons
// find one. The seed is fixed, so the run repeats exactly.
func TestCoverage(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("simulates for seconds")
	}
	cells := []season{
		{kind: Rate, groups: 2, clusters: 6, times: 1, rate: 0.5, fold: 4, cv: 0.8},
		{kind: Rate, groups: 4, clusters: 6, times: 1, rate: 2, fold: 1, cv: 0.8, shared: true},
		{kind: Rate, groups: 4, clusters: 8, times: 3, rate: 2, fold: 4, cv: 0.4},
		{kind: Rate, groups: 2, clusters: 4, times: 1, rate: 2, fold: 4, cv: 0.8},
		{kind: Rate, groups: 3, clusters: 5, times: 1, rate: 0.5, fold: 1, cv: 0},
		{kind: Rate, groups: 2, clusters: 40, times: 1, rate: 0.05, fold: 1, cv: 0.4},
		{kind: Share, groups: 2, clusters: 8, times: 1, rate: 0.2, fold: 1, cv: 0.8},
		{kind: Share, groups: 2, clusters: 15, times: 3, rate: 0.1, fold: 4, cv: 0.4},
		{kind: Share, groups: 4, clusters: 4, times: 1, rate: 0.4, fold: 1, cv: 0.4},
	}
	var single, pair float64
	for i, c := range cells {
		one, two := c.check(t, uint64(i), 1500, 0)
		single += one / float64(len(cells))
		pair += two / float64(len(cells))
	}
	if single > 0.98 || pair > 0.98 {
		t.Errorf("on average intervals cover %.3f and ratios %.3f, want at most 0.98", single, pair)
	}
}

// TestCoverageGrid is the long form over the whole grid (flag -long), about two
// minutes; -v prints its table. Cells with fewer than 5 expected events a group
// are left out.
func TestCoverageGrid(t *testing.T) {
	if !*long {
		t.Skip("only with -long")
	}
	var single, pair, cells float64
	for _, c := range grid() {
		one, two := c.check(t, uint64(cells), 3000, 3)
		single += one
		pair += two
		cells++
	}
	t.Logf("%g cells, on average intervals %.3f, ratios %.3f", cells, single/cells, pair/cells)
	if single > 0.98*cells || pair > 0.98*cells {
		t.Error("intervals are too wide on average")
	}
}

// grid crosses kinds, rates, sizes, heterogeneity, effects and layouts.
func grid() (cells []season) {
	rates := map[Kind][]float64{Rate: {0.05, 0.2, 0.5, 2}, Share: {0.01, 0.05, 0.1, 0.4}}
	exposure := map[Kind]float64{Rate: 4, Share: 6}
	for _, kind := range []Kind{Rate, Share} {
		for _, rate := range rates[kind] {
			for _, n := range []int{4, 6, 8, 15, 40, 80} {
				if rate*float64(n)*exposure[kind] < 5 {
					continue
				}
				for _, c := range layouts(kind) {
					c.rate, c.clusters = rate, n
					if kind == Share && c.rate*c.fold > 0.4 {
						continue
					}
					cells = append(cells, c)
				}
			}
		}
	}
	return cells
}

// layouts crosses the settings of the grid other than rate and size.
func layouts(kind Kind) (cells []season) {
	for _, groups := range []int{2, 4} {
		for _, fold := range []float64{1, 4} {
			for _, cv := range []float64{0, 0.4, 0.8} {
				c := season{kind: kind, groups: groups, times: 1, fold: fold, cv: cv}
				cells = append(cells, c)
				c.times = 3
				cells = append(cells, c)
				if c.times, c.shared = 1, true; kind == Rate {
					cells = append(cells, c)
				}
			}
		}
	}
	return cells
}

// TestAmountCoverage is the same promise for amounts: minutes lost in an
// outing, a sum of skewed amounts over its scattered events.
func TestAmountCoverage(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("simulates for seconds")
	}
	const reps, rate, mean, spread = 1500, 2.0, 5.0, 0.8
	rng := rand.New(rand.NewPCG(10, 1))
	group := func(n int) (s Sums) {
		for range n {
			hours := 2 + 4*rng.Float64()
			var lost float64
			for range int(cluster(rng, Rate, rate, hours, 0.16)) {
				lost += mean * math.Exp(spread*rng.NormFloat64()-spread*spread/2)
			}
			add(t, &s, lost, hours)
		}
		return s
	}
	for _, n := range []int{4, 6, 15} {
		var hit, pairHit, found float64
		for range reps {
			a, b := group(n), group(2*n)
			i, err := AmountInterval(a, 0.95)
			if err != nil {
				t.Fatal(err)
			}
			c, err := RatioOfAmounts(a, b, 0.95)
			if err != nil {
				t.Fatal(err)
			}
			hit += inside(rate*mean, i)
			pairHit += inside(1, c.Interval)
			if c.P < 0.05 {
				found++
			}
		}
		t.Logf("%d clusters: %.3f, ratios %.3f, found %.3f", n, hit/reps, pairHit/reps, found/reps)
		if least := 0.93; hit/reps < least || pairHit/reps < least || found/reps > 0.06 {
			t.Errorf("%d clusters: intervals cover %.3f, ratios %.3f, found %.3f", n, hit/reps, pairHit/reps, found/reps)
		}
	}
}
