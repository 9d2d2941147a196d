// Package survive estimates how long things last, and compares groups of them.
package survive

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"rigtally/analytics/stat"
)

// Life is how long something lasted. It ended at Time or, when it did not, was still
// whole when it was last seen. Lives of one Cluster are not independent.
type Life struct {
	Time    float64 // positive
	Ended   bool
	Cluster int
}

// Curve is the Kaplan–Meier estimate of the share that lasts longer than a time.
type Curve struct {
	N, Ended int
	Longest  float64   // the longest time seen
	Steps    []Step    // at each time at which one ended, ascending
	times    []float64 // of all lives, ascending
}

// Step is the estimate from a time on.
type Step struct {
	Time         float64
	AtRisk       int     // whole just before
	Ended        int     // at this time
	Share        float64 // that lasts longer
	SE           float64 // Greenwood's; NaN when nothing lasts longer
	ClusterSE    float64 // from the scatter of the clusters; NaN as well
	Low, High    float64 // of the interval
	HasIntervals bool    // false when nothing lasts longer
}

// ErrNoLives means that there is nothing to follow.
var ErrNoLives = errors.New("there is no life to follow")

func checkLives(lives []Life) error {
	if len(lives) == 0 {
		return ErrNoLives
	}
	for i, l := range lives {
		if !(l.Time > 0) || !stat.Finite(l.Time) {
			return fmt.Errorf("life %d lasts %g: it must be a positive number", i+1, l.Time)
		}
	}
	return nil
}

// KaplanMeier estimates how long lives last (Kaplan & Meier 1958, JASA 53:457):
//
//	S(t) = Π_{tⱼ ≤ t} (1 − dⱼ/Yⱼ)
//
// over the times at which dⱼ of the Yⱼ then whole end. Where lives end and are last seen
// at the same time, the ends come first. The variance is Greenwood's (1926, Reports on
// Public Health 33), S²·Σ dⱼ/(Yⱼ(Yⱼ − dⱼ)), and that of the infinitesimal jackknife by
// cluster (Lin & Wei 1989, JASA 84:1074, as in R's survfit with cluster), to which
// Greenwood's is equal when every life is a cluster of its own. The interval is symmetric for
// log(−log S) (Kalbfleisch & Prentice 1980, §1.3), S^exp(±z·se/(S·log S)), with Greenwood's
// error or, if clustered, the larger of the two: clusters that are few scatter too
// little for their own.
func KaplanMeier(lives []Life, conf float64, clustered bool) (Curve, error) {
	if err := stat.CheckProbability("confidence level", conf); err != nil {
		return Curve{}, err
	}
	if err := checkLives(lives); err != nil {
		return Curve{}, err
	}
	sorted := slices.Clone(lives)
	slices.SortFunc(sorted, func(x, y Life) int { return cmp.Compare(x.Time, y.Time) })
	s := Curve{N: len(sorted), Longest: sorted[len(sorted)-1].Time}
	for _, l := range sorted {
		s.times = append(s.times, l.Time)
	}
	z := stat.NormalUpper((1 - conf) / 2)
	jackknife := newJackknife(sorted)
	share, greenwood := 1.0, 0.0
	for i := 0; i < len(sorted); {
		next, ended := i, 0
		for ; next < len(sorted) && sorted[next].Time == sorted[i].Time; next++ {
			if sorted[next].Ended {
				ended++
			}
		}
		spread := jackknife.pass(i, next, ended)
		if ended > 0 {
			y, d := float64(len(sorted)-i), float64(ended)
			share *= 1 - d/y
			greenwood += d / (y * (y - d))
			step := Step{Time: sorted[i].Time, AtRisk: len(sorted) - i, Ended: ended, Share: share, SE: math.NaN(), ClusterSE: math.NaN()}
			if ended == len(sorted)-i {
				step.Share, share = 0, 0
			} else {
				step.SE, step.ClusterSE = share*math.Sqrt(greenwood), share*spread
				step.bound(z, clustered)
			}
			s.Ended += ended
			s.Steps = append(s.Steps, step)
		}
		i = next
	}
	return s, nil
}

func (p *Step) bound(z float64, clustered bool) {
	se := p.SE
	if clustered {
		se = max(se, p.ClusterSE)
	}
	half := z * se / (p.Share * math.Log(p.Share))
	p.Low, p.High = math.Pow(p.Share, math.Exp(-half)), math.Pow(p.Share, math.Exp(half))
	p.HasIntervals = true
}

// jackknife adds up what each cluster moves −log S by, to first order. A life i moves it by
// Σⱼ (dNᵢⱼ − dⱼ/Yⱼ while whole)/(Yⱼ − dⱼ), of which the second part is the same for all that
// are whole, so that only those that leave need to be looked at.
type jackknife struct {
	lives   []Life
	cluster []int     // of each life, numbered from 0
	left    []float64 // of each cluster: what its lives moved that are no longer whole
	whole   []float64 // and how many are
	shared  float64   // Σ dⱼ/(Yⱼ(Yⱼ − dⱼ)) so far
	// Over the clusters: Σ left², Σ left·whole, Σ whole².
	squares, products, counts float64
}

func newJackknife(sorted []Life) *jackknife {
	j := &jackknife{lives: sorted}
	number := map[int]int{}
	for _, l := range sorted {
		k, ok := number[l.Cluster]
		if !ok {
			k = len(number)
			number[l.Cluster] = k
			j.left, j.whole = append(j.left, 0), append(j.whole, 0)
		}
		j.cluster = append(j.cluster, k)
		j.whole[k]++
	}
	for _, n := range j.whole {
		j.counts += n * n
	}
	return j
}

// pass goes past the time of lives from to next − 1, of which some ended, and returns the
// root of the clusters' sum of squares; NaN when all that were whole ended.
func (j *jackknife) pass(from, next, ended int) float64 {
	y, d := float64(len(j.lives)-from), float64(ended)
	if y == d {
		return math.NaN()
	}
	j.shared += d / (y * (y - d))
	for i := from; i < next; i++ {
		moved := -j.shared
		if j.lives[i].Ended {
			moved += 1 / (y - d)
		}
		j.leave(j.cluster[i], moved)
	}
	return math.Sqrt(max(0, j.squares-2*j.shared*j.products+j.shared*j.shared*j.counts))
}

func (j *jackknife) leave(cluster int, moved float64) {
	f, n := j.left[cluster], j.whole[cluster]
	j.squares += (f+moved)*(f+moved) - f*f
	j.products += (f+moved)*(n-1) - f*n
	j.counts += (n-1)*(n-1) - n*n
	j.left[cluster], j.whole[cluster] = f+moved, n-1
}

// At is the estimate at a time, and whether anything was whole then: beyond the
// longest time seen nothing is known, unless nothing was left.
func (s Curve) At(t float64) (Step, bool) {
	last := Step{Share: 1, Low: 1, High: 1, AtRisk: s.N}
	for _, step := range s.Steps {
		if step.Time > t {
			break
		}
		last = step
	}
	return last, t <= s.Longest || last.Share == 0 && len(s.Steps) > 0
}

// AtRisk is how many lives were whole just before a time.
func (s Curve) AtRisk(t float64) int {
	i, _ := slices.BinarySearch(s.times, t)
	return s.N - i
}

// TimeTo is the first time by which the given share has ended, with its interval: the
// times at which the ends of the interval of S reach the same (Brookmeyer & Crowley
// 1982, Biometrics 38:29). Where S equals it over a stretch it is the middle of that. A value that was
// not reached is nil.
func (s Curve) TimeTo(share float64) (at, low, high *float64) {
	left := 1 - share
	const equal = 1e-12
	first := func(of func(Step) float64) *float64 {
		for i, step := range s.Steps {
			v := of(step)
			if !(v <= left+equal) {
				continue
			}
			t := step.Time
			if v >= left-equal && i+1 < len(s.Steps) {
				t = (t + s.Steps[i+1].Time) / 2
			}
			return &t
		}
		return nil
	}
	bound := func(end func(Step) float64) func(Step) float64 {
		return func(p Step) float64 {
			if !p.HasIntervals {
				return math.NaN()
			}
			return end(p)
		}
	}
	return first(func(p Step) float64 { return p.Share }),
		first(bound(func(p Step) float64 { return p.Low })), first(bound(func(p Step) float64 { return p.High }))
}

// TimeAtRisk is the longest time that so many lives reached, 0 when there are fewer.
func (s Curve) TimeAtRisk(n int) float64 {
	if n < 1 || n > s.N {
		return 0
	}
	return s.times[s.N-n]
}
