package regress

import (
	"fmt"

	"gonum.org/v1/gonum/mat"
)

// Contrast implements Tester with the degrees of freedom of Satterthwaite
// (1946, Biometrics Bull 2:110): twice the squared mean over the variance of
// the variance estimate under the working model (Bell & McCaffrey 2002). It
// returns ErrOneCluster when some cluster alone decides the contrast.
func (v *CR2) Contrast(c []float64) (Contrast, error) {
	if err := estimable(v.fit, c); err != nil {
		return Contrast{}, err
	}
	parts, err := v.parts([][]float64{c})
	if err != nil {
		return Contrast{}, err
	}
	return newContrast(dotProduct(c, v.fit.Coef), quadratic(v.cov, c), parts.df())
}

// Wald implements Tester with the approximate Hotelling T² test "HTZ" of
// Pustejovsky & Tipton (2018, J Bus Econ Stat 36:672, §3.2): the degrees of
// freedom match the total variance of the covariance estimate of the contrasts.
func (v *CR2) Wald(contrasts [][]float64) (WaldTest, error) {
	set, err := newContrastSet(v.fit, contrasts)
	if err != nil {
		return WaldTest{}, fmt.Errorf("Wald test: %w", err)
	}
	q2, err := set.statistic(v.cov)
	if err != nil {
		return WaldTest{}, fmt.Errorf("Wald test: %w", err)
	}
	parts, err := v.parts(set.rows)
	if err != nil {
		return WaldTest{}, fmt.Errorf("Wald test: %w", err)
	}
	q, df := float64(len(set.rows)), parts.df()
	if df <= q-1 {
		return WaldTest{}, fmt.Errorf("Wald test of %g contrasts on %.1f degrees of freedom: %w", q, df, ErrFewClusters)
	}
	return newWaldTest(q2*(df-q+1)/(df*q), q, df-q+1), nil
}

// cr2Parts holds what the inner products g_is'·g_jt of the estimator's weight
// vectors need, for clusters i, j and contrasts s, t made orthonormal under the
// working model: own[i] − shared[i]·shared[j]' with own[i] on the diagonal only.
type cr2Parts struct {
	own    []*mat.Dense // q×q a cluster
	shared []*mat.Dense // q×p a cluster
}

func (v *CR2) parts(contrasts [][]float64) (*cr2Parts, error) {
	directions, err := v.directions(contrasts)
	if err != nil {
		return nil, err
	}
	q, _ := directions.Dims()
	out := &cr2Parts{}
	for i := range v.leverage {
		h := &v.leverage[i]
		var along mat.Dense // directions in the cluster's eigenvectors
		along.Mul(directions, h.vectors)
		weighted := mat.NewDense(q, len(h.values), nil)
		for k, value := range h.values {
			for s := range q {
				x := along.At(s, k)
				if h.inverse[k] == 0 && x*x > wholeLeverage {
					return nil, ErrOneCluster
				}
				weighted.Set(s, k, x*h.inverse[k]*value)
			}
		}
		var own, scaled, shared mat.Dense
		scaled.Apply(func(_, k int, x float64) float64 { return x * h.inverse[k] }, &along)
		own.Mul(&scaled, weighted.T())
		shared.Mul(weighted, h.vectors.T())
		out.own = append(out.own, &own)
		out.shared = append(out.shared, &shared)
	}
	return out, nil
}

// directions are the contrasts times L, made orthonormal: their covariance
// under the working model is C·L·(C·L)'.
func (v *CR2) directions(contrasts [][]float64) (*mat.Dense, error) {
	q, p := len(contrasts), len(v.kept)
	c := mat.NewDense(q, p, nil)
	for s, row := range contrasts {
		for k, j := range v.kept {
			c.Set(s, k, row[j])
		}
	}
	var scaled mat.Dense
	scaled.Mul(c, v.root)
	outer := mat.NewSymDense(q, nil)
	outer.SymOuterK(1, &scaled)
	l, err := lowerRoot(outer)
	if err != nil {
		return nil, ErrNoSpread
	}
	out := mat.NewDense(q, p, nil)
	if err := out.Solve(l, &scaled); err != nil {
		return nil, ErrNoSpread
	}
	return out, nil
}

// df is q(q+1) over the summed variances of the entries of the standardised
// covariance estimate; for one contrast it is Satterthwaite's. The sum over all
// pairs of clusters of the products of shared parts goes through their p×p sums,
// in time linear in the clusters.
func (c *cr2Parts) df() float64 {
	q := c.own[0].RawMatrix().Rows
	total := c.pairsShared()
	for i, shared := range c.shared {
		var both, rest mat.Dense
		both.Mul(shared, shared.T())
		rest.Sub(c.own[i], &both)
		total += crossSquares(&rest) - crossSquares(&both)
	}
	return float64(q*(q+1)) / total
}

// pairsShared is the sum of crossSquares(shared[i]·shared[j]') over i and j.
func (c *cr2Parts) pairsShared() float64 {
	q, p := c.shared[0].Dims()
	total := 0.0
	for s := range q {
		for t := range q {
			sum := mat.NewDense(p, p, nil)
			for _, shared := range c.shared {
				sum.RankOne(sum, 1, shared.RowView(s), shared.RowView(t))
			}
			for k := range p {
				for m := range p {
					total += sum.At(k, m) * (sum.At(k, m) + sum.At(m, k))
				}
			}
		}
	}
	return total
}

// crossSquares is Σ over s, t of m_ss·m_tt + m_st·m_ts, the variance that a pair
// of clusters adds under normal errors.
func crossSquares(m *mat.Dense) float64 {
	q, _ := m.Dims()
	sum := 0.0
	for s := range q {
		for t := range q {
			sum += m.At(s, s)*m.At(t, t) + m.At(s, t)*m.At(t, s)
		}
	}
	return sum
}
