package strength

import (
	"fmt"
	"math"
	"slices"

	"rigtally/analytics/stat"
)

// RankTest compares two samples by rank.
type RankTest struct {
	W     float64 // pairs in which X is the larger, ties counting ½ (Mann & Whitney's U of X)
	Pairs int     // of an X and a Y, within strata
	P     float64 // two-sided
	Exact bool    // P is from all permutations, not from the normal approximation
	Ties  bool    // some values are equal

	Shift         float64 // Hodges & Lehmann's: the median of the pairs' differences X − Y
	stat.Interval         // of the shift
	Actual        float64 // confidence level of the interval, at least the one asked for
}

// Ranked are two samples for a rank test, one of its strata. A value that is
// censored is known only to be larger than what was seen.
type Ranked struct {
	X, Y                 []float64
	XCensored, YCensored []bool // nil: none is
}

// mostRanked is how many values there may be in a stratum for an exact test.
const mostRanked = 80

// MannWhitney tests whether values of X tend to be larger than those of Y (Mann
// & Whitney 1947, Annals of Mathematical Statistics 18:50; Wilcoxon 1945), and
// estimates by how much (Hodges & Lehmann 1963, Annals of Mathematical
// Statistics 34:598).
//
// P is exact: the share of all ways to deal the values out to the two samples,
// within each stratum, in which W lies at least as far from its mean as here.
// Ties are part of that distribution. Pairs whose order a censored value leaves
// open count ½ (Gehan 1965, Biometrika 52:203), so without censoring it is the
// test by midranks. Above 80 values in a stratum the normal approximation is
// taken, with the variance of the permutations and a continuity correction.
//
// The interval of the shift is made of order statistics of the differences
// within strata, chosen by the distribution without ties; with ties it covers
// more than it says. It takes censored values as they are.
func MannWhitney(conf float64, strata ...Ranked) (RankTest, error) {
	if err := stat.CheckProbability("confidence level", conf); err != nil {
		return RankTest{}, err
	}
	r := RankTest{Exact: true}
	null, free := []float64{1}, []float64{1} // chances of 2W, and of W without ties
	var differences []float64
	mean, variance := 0.0, 0.0
	for _, s := range strata {
		m, n := len(s.X), len(s.Y)
		if m == 0 || n == 0 {
			return r, ErrTooFew
		}
		scores, ties, err := s.scores()
		if err != nil {
			return r, err
		}
		r.Ties = r.Ties || ties
		r.Pairs += m * n
		r.W += s.wins()
		mean += float64(m*n) / 2
		variance += float64(m*n) * sumSquares(scores) / (4 * float64(m+n) * float64(m+n-1))
		for _, x := range s.X {
			for _, y := range s.Y {
				differences = append(differences, x-y)
			}
		}
		if m+n > mostRanked {
			r.Exact = false
		}
		if r.Exact {
			null = convolve(null, chancesOf(scores, m))
			free = convolve(free, untied(m, n))
		}
	}
	if len(strata) == 0 {
		return r, ErrTooFew
	}
	slices.Sort(differences)
	r.Shift = median(differences)
	if r.Exact {
		r.P = beyond(null, 2*r.W)
		r.invert(free, differences, conf)
		return r, nil
	}
	r.P = 1
	if variance > 0 {
		r.P = min(1, stat.NormalTwoSided(max(0, math.Abs(r.W-mean)-0.5)/math.Sqrt(variance)))
	}
	r.approximate(strata, differences, conf)
	return r, nil
}

// invert finds the order statistics between which the shift lies.
func (r *RankTest) invert(free, differences []float64, conf float64) {
	tail, k := 0.0, 0
	for k < len(differences)/2 && tail+free[k] <= (1-conf)/2 {
		tail += free[k]
		k++
	}
	if k == 0 { // no interval of that confidence: the widest there is
		r.Low, r.High, r.Actual = math.Inf(-1), math.Inf(1), 1
		return
	}
	r.Low, r.High, r.Actual = differences[k-1], differences[len(differences)-k], 1-2*tail
}

func (r *RankTest) approximate(strata []Ranked, differences []float64, conf float64) {
	variance := 0.0
	for _, s := range strata {
		m, n := float64(len(s.X)), float64(len(s.Y))
		variance += m * n * (m + n + 1) / 12
	}
	k := int(math.Floor(float64(r.Pairs)/2 - stat.NormalUpper((1-conf)/2)*math.Sqrt(variance)))
	if k < 1 {
		r.Low, r.High, r.Actual = math.Inf(-1), math.Inf(1), 1
		return
	}
	r.Low, r.High, r.Actual = differences[k-1], differences[len(differences)-k], conf
}

// before says whether value a is surely less than b.
func before(a, b float64, aCensored, bCensored bool) bool {
	return !aCensored && (a < b || bCensored && a == b)
}

// scores are Gehan's: for each value of X, then of Y, how many of the others are
// surely less, minus how many are surely more. They add up to 0.
func (s Ranked) scores() (scores []int, ties bool, err error) {
	all := slices.Concat(s.X, s.Y)
	if s.XCensored != nil && len(s.XCensored) != len(s.X) || s.YCensored != nil && len(s.YCensored) != len(s.Y) {
		return nil, false, fmt.Errorf("censoring is told of %d and %d values, but there are %d and %d", len(s.XCensored), len(s.YCensored), len(s.X), len(s.Y))
	}
	open := make([]bool, len(all))
	copy(open, s.XCensored)
	copy(open[len(s.X):], s.YCensored)
	scores = make([]int, len(all))
	for i, a := range all {
		if !stat.Finite(a) {
			return nil, false, fmt.Errorf("value %d is %g: it must be a number", i+1, a)
		}
		for j, b := range all {
			switch {
			case before(b, a, open[j], open[i]):
				scores[i]++
			case before(a, b, open[i], open[j]):
				scores[i]--
			case i != j:
				ties = true
			}
		}
	}
	return scores, ties, nil
}

// wins counts the pairs in which X is surely larger, and half of the open ones.
func (s Ranked) wins() float64 {
	censored := func(list []bool, i int) bool { return list != nil && list[i] }
	w := 0.0
	for i, x := range s.X {
		for j, y := range s.Y {
			switch cx, cy := censored(s.XCensored, i), censored(s.YCensored, j); {
			case before(y, x, cy, cx):
				w++
			case !before(x, y, cx, cy):
				w += 0.5
			}
		}
	}
	return w
}

// chancesOf gives the chance of each value of 2W when m of the values are dealt to
// X at random: W = (Σ scores of X + mn)/2, since pairs within X cancel.
func chancesOf(scores []int, m int) []float64 {
	n := len(scores) - m
	least := slices.Min(scores)
	span := 0
	for _, v := range scores {
		span += v - least
	}
	ways := make([][]float64, m+1) // by how many are dealt and the sum of their scores over the least
	for k := range ways {
		ways[k] = make([]float64, span+1)
	}
	ways[0][0] = 1
	for at, v := range scores {
		for k := min(at+1, m); k >= 1; k-- {
			for sum := span; sum >= v-least; sum-- {
				ways[k][sum] += ways[k-1][sum-(v-least)]
			}
		}
	}
	chances := make([]float64, 2*m*n+1)
	total := 0.0
	for _, w := range ways[m] {
		total += w
	}
	for sum, w := range ways[m] {
		if w > 0 {
			chances[sum+m*least+m*n] += w / total
		}
	}
	return chances
}

// untied gives the chance of each W when no two values are equal.
func untied(m, n int) []float64 {
	scores := make([]int, m+n)
	for i := range scores {
		scores[i] = 2*i - (m + n - 1)
	}
	double := chancesOf(scores, m)
	chances := make([]float64, m*n+1)
	for i := range chances {
		chances[i] = double[2*i]
	}
	return chances
}

func convolve(a, b []float64) []float64 {
	sum := make([]float64, len(a)+len(b)-1)
	for i, x := range a {
		if x > 0 {
			for j, y := range b {
				sum[i+j] += x * y
			}
		}
	}
	return sum
}

// beyond is the chance of lying at least as far from the middle as at.
func beyond(chances []float64, at float64) float64 {
	middle := float64(len(chances)-1) / 2
	far := math.Abs(at-middle) - 1e-9
	p := 0.0
	for i, c := range chances {
		if math.Abs(float64(i)-middle) >= far {
			p += c
		}
	}
	return min(1, p)
}

func sumSquares(scores []int) float64 {
	sum := 0.0
	for _, v := range scores {
		sum += float64(v * v)
	}
	return sum
}

// median is that of sorted values.
func median(sorted []float64) float64 {
	n := len(sorted)
	return (sorted[(n-1)/2] + sorted[n/2]) / 2
}
