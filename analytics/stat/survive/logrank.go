package survive

import (
	"cmp"
	"errors"
	"fmt"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"rigtally/analytics/stat"
)

// LogRankTest holds groups of lives against each other.
type LogRankTest struct {
	Observed, Expected []float64 // ends of each group, and those it would have if all were alike
	DF                 int
	ChiSquared, P      float64
	Clusters           int
	// By the scatter of the clusters; nil when they are too few or too alike to show it.
	ClusterChiSquared, ClusterP *float64
}

// Cautious is the larger p of the two tests: the plain one is too sure where clusters
// differ, and the clustered one where few of a group's have ends.
func (t LogRankTest) Cautious() float64 {
	if t.ClusterP == nil {
		return t.P
	}
	return max(t.P, *t.ClusterP)
}

// ErrOneGroup means that there are not two groups with lives that could end.
var ErrOneGroup = errors.New("there are not two groups to compare")

// LogRank tests whether groups of lives last alike (Mantel 1966, Cancer Chemother. Rep.
// 50:163; for several groups Peto & Peto 1972): at each time at which lives end, each
// group's share of those ends is held against its share of the lives then whole. The
// variance of the differences is hypergeometric, which allows for ties.
//
// Lives of one cluster may hang together. The second test takes the variance from the
// clusters instead (the robust score test of Lin & Wei 1989, JASA 84:1074; R's coxph with
// cluster, ties by Breslow): it sums what each life adds to the differences,
// dNᵢ − Σⱼ dⱼ/Yⱼ while it is whole, weighed by group less the mean of those whole, within each cluster.
func LogRank(groups [][]Life) (LogRankTest, error) {
	r, err := newRanks(groups)
	if err != nil {
		return LogRankTest{}, err
	}
	r.run()
	t := LogRankTest{Observed: r.observed, Expected: r.expected, Clusters: len(r.clusters)}
	var kept []int
	for g, e := range r.expected {
		if e > 0 {
			kept = append(kept, g)
		}
	}
	if len(kept) < 2 {
		return t, ErrOneGroup
	}
	kept = kept[1:] // the first follows from the others
	t.DF = len(kept)
	difference := mat.NewVecDense(t.DF, nil)
	plain, clustered := mat.NewSymDense(t.DF, nil), mat.NewSymDense(t.DF, nil)
	for i, g := range kept {
		difference.SetVec(i, r.observed[g]-r.expected[g])
		for j := range i + 1 {
			plain.SetSym(i, j, r.variance[g][kept[j]])
			sum := 0.0
			for _, w := range r.clusters {
				sum += w[g] * w[kept[j]]
			}
			clustered.SetSym(i, j, sum)
		}
	}
	square, ok := scoreSquare(plain, difference)
	if !ok {
		return t, ErrOneGroup
	}
	chi := distuv.ChiSquared{K: float64(t.DF)}
	t.ChiSquared, t.P = square, chi.Survival(square)
	if square, ok := scoreSquare(clustered, difference); ok && t.Clusters > t.DF+1 {
		p := chi.Survival(square)
		t.ClusterChiSquared, t.ClusterP = &square, &p
	}
	return t, nil
}

// scoreSquare is d'V⁻¹d; ok is false when V can't be inverted.
func scoreSquare(v *mat.SymDense, d *mat.VecDense) (square float64, ok bool) {
	var root mat.Cholesky
	if !root.Factorize(v) || root.Cond() > 1e12 {
		return 0, false
	}
	var solved mat.VecDense
	if err := root.SolveVecTo(&solved, d); err != nil {
		return 0, false
	}
	square = mat.Dot(d, &solved)
	return square, stat.Finite(square)
}

// ranks goes through the lives of all groups together, in order of time.
type ranks struct {
	lives              []grouped
	observed, expected []float64
	variance           [][]float64
	clusters           [][]float64 // what the lives of each add to the differences, in order of their first life
}

type grouped struct {
	Life
	group, place int // place is that of its cluster
}

func newRanks(groups [][]Life) (*ranks, error) {
	k := len(groups)
	r := &ranks{observed: make([]float64, k), expected: make([]float64, k), variance: make([][]float64, k)}
	places := map[int]int{}
	for g, lives := range groups {
		r.variance[g] = make([]float64, k)
		if len(lives) == 0 {
			continue
		}
		if err := checkLives(lives); err != nil {
			return nil, fmt.Errorf("group %d: %w", g+1, err)
		}
		for _, l := range lives {
			place, known := places[l.Cluster]
			if !known {
				place = len(r.clusters)
				places[l.Cluster] = place
				r.clusters = append(r.clusters, make([]float64, k))
			}
			r.lives = append(r.lives, grouped{l, g, place})
		}
	}
	if len(r.lives) == 0 {
		return nil, ErrNoLives
	}
	slices.SortStableFunc(r.lives, func(x, y grouped) int { return cmp.Compare(x.Time, y.Time) })
	return r, nil
}

// run adds up, from the first time to the last. hazard is Σ dⱼ/Yⱼ so far, and drift that
// of each group's share of those whole times the same.
func (r *ranks) run() {
	k := len(r.observed)
	whole := make([]float64, k)
	for _, l := range r.lives {
		whole[l.group]++
	}
	hazard, drift := 0.0, make([]float64, k)
	for i := 0; i < len(r.lives); {
		next := i
		ended := make([]float64, k)
		d, y := 0.0, float64(len(r.lives)-i)
		for ; next < len(r.lives) && r.lives[next].Time == r.lives[i].Time; next++ {
			if l := r.lives[next]; l.Ended {
				ended[l.group]++
				d++
			}
		}
		if d > 0 {
			r.at(whole, ended, d, y)
			hazard += d / y
			for g := range drift {
				drift[g] += d / y * whole[g] / y
			}
		}
		for _, l := range r.lives[i:next] {
			w := r.clusters[l.place]
			for g := range w {
				in := 0.0
				if l.group == g {
					in = 1
				}
				if l.Ended {
					w[g] += in - whole[g]/y
				}
				w[g] -= in*hazard - drift[g]
			}
		}
		for _, l := range r.lives[i:next] {
			whole[l.group]--
		}
		i = next
	}
}

// at adds a time at which d of the y then whole ended.
func (r *ranks) at(whole, ended []float64, d, y float64) {
	spread := 0.0
	if y > 1 {
		spread = d * (y - d) / (y - 1)
	}
	for g := range whole {
		r.observed[g] += ended[g]
		r.expected[g] += d * whole[g] / y
		for h := range whole {
			same := 0.0
			if g == h {
				same = 1
			}
			r.variance[g][h] += spread * whole[g] / y * (same - whole[h]/y)
		}
	}
}
