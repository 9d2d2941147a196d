// Package mixture fits counts of units whose own rates vary, draws the rates together, and tests for too many zeros.
package mixture

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// mixture is a family of counts whose rates vary between units with a mean and
// a dispersion, 0 when they do not vary.
type family interface {
	// centre is the mean of highest likelihood at a dispersion above 0.
	centre(dispersion float64) float64
	// slope is the derivative of the likelihood by log dispersion, mean fixed.
	slope(dispersion, mean float64) float64
	// logLik takes a dispersion of 0 as no variation.
	logLik(dispersion, mean float64) float64
	// single is the pooled mean.
	single() float64
}

// Dispersions searched for a maximum. The smallest is a coefficient of variation
// of about a third of a per cent: less is no variation.
const smallestDispersion, largestDispersion = 1e-5, 1e6

// largestProfile is the dispersion of highest likelihood, or 0.
func largestProfile(m family) float64 {
	profile := func(logD float64) float64 {
		d := math.Exp(logD)
		return m.slope(d, m.centre(d))
	}
	best, highest := 0.0, m.logLik(0, m.single())
	consider := func(logD float64) {
		d := math.Exp(logD)
		if l := m.logLik(d, m.centre(d)); l > highest {
			best, highest = d, l
		}
	}
	const step = math.Ln2
	from := math.Log(smallestDispersion)
	slope := profile(from)
	for from < math.Log(largestDispersion) {
		to := from + step
		next := profile(to)
		if slope > 0 && next <= 0 {
			consider(riddersRoot(profile, from, to))
		}
		from, slope = to, next
	}
	if slope > 0 {
		consider(from)
	}
	return best
}

// riddersRoot is where f, of opposite signs at a and b, crosses zero (Ridders 1979,
// IEEE Trans Circuits Syst 26:979).
func riddersRoot(f func(float64) float64, a, b float64) float64 {
	return riddersRootTo(1e-15, f, a, b)
}

// riddersRootTo stops when the ends, or two steps, are nearer each other than a share of both.
func riddersRootTo(near float64, f func(float64) float64, a, b float64) float64 {
	fa, fb, last := f(a), f(b), math.Inf(1)
	for range 100 {
		mid := a + (b-a)/2
		fm := f(mid)
		root := math.Sqrt(fm*fm - fa*fb)
		if fm == 0 || root == 0 || mid == a || mid == b {
			return mid
		}
		x := mid + (mid-a)*math.Copysign(fm, (fa-fb)*fm)/root
		fx := f(x)
		switch {
		case fx == 0:
			return x
		case math.Signbit(fm) != math.Signbit(fx):
			a, fa, b, fb = mid, fm, x, fx
		case math.Signbit(fa) != math.Signbit(fx):
			b, fb = x, fx
		default:
			a, fa = x, fx
		}
		if math.Abs(b-a) <= near*(math.Abs(a)+math.Abs(b)) || math.Abs(x-last) <= near*math.Abs(x) {
			return x
		}
		last = x
	}
	return a + (b-a)/2
}

// gammaPoisson has k Poisson with mean rate·t and gamma rates: variance
// μ + dispersion·μ².
type gammaPoisson struct {
	k, t   []float64
	pooled float64
}

func (m *gammaPoisson) single() float64 { return m.pooled }

func (m *gammaPoisson) centre(d float64) float64 {
	low, high := math.Inf(1), 0.0
	for i, k := range m.k {
		low, high = min(low, k/m.t[i]), max(high, k/m.t[i])
	}
	if low == high {
		return m.pooled
	}
	return riddersRoot(func(mean float64) float64 {
		sum := 0.0
		for i, k := range m.k {
			mu := mean * m.t[i]
			sum += (k - mu) / (1 + d*mu)
		}
		return sum
	}, low, high)
}

func (m *gammaPoisson) slope(d, mean float64) float64 {
	shape, sum := 1/d, 0.0
	atShape := mathext.Digamma(shape)
	for i, k := range m.k {
		mu := mean * m.t[i]
		sum += mathext.Digamma(k+shape) - atShape - math.Log1p(d*mu) + (mu-k)/(shape+mu)
	}
	return -shape * sum
}

func (m *gammaPoisson) logLik(d, mean float64) float64 {
	sum := 0.0
	for i, k := range m.k {
		mu := mean * m.t[i]
		sum -= lnGamma(k + 1)
		if k > 0 {
			sum += k * math.Log(mu)
		}
		if d == 0 {
			sum -= mu
			continue
		}
		sum += lnGamma(k+1/d) - lnGamma(1/d) + k*math.Log(d) - (k+1/d)*math.Log1p(d*mu)
	}
	return sum
}

// betaBinomial has k binomial of n with beta shares: dispersion is 1/(α+β).
type betaBinomial struct {
	k, n   []float64
	pooled float64
}

func (m *betaBinomial) single() float64 { return m.pooled }

func (m *betaBinomial) centre(d float64) float64 {
	const edge = 1e-12
	return riddersRoot(func(mean float64) float64 {
		yes, no := m.digammas(d, mean)
		return yes - no
	}, edge, 1-edge)
}

// digammas are Σψ(k+α)−ψ(α) and Σψ(n−k+β)−ψ(β).
func (m *betaBinomial) digammas(d, mean float64) (yes, no float64) {
	a, b := mean/d, (1-mean)/d
	atA, atB := mathext.Digamma(a), mathext.Digamma(b)
	for i, k := range m.k {
		if k > 0 {
			yes += mathext.Digamma(k+a) - atA
		}
		if k < m.n[i] {
			no += mathext.Digamma(m.n[i]-k+b) - atB
		}
	}
	return yes, no
}

func (m *betaBinomial) slope(d, mean float64) float64 {
	yes, no := m.digammas(d, mean)
	sum := mean*yes + (1-mean)*no
	atSum := mathext.Digamma(1 / d)
	for _, n := range m.n {
		sum -= mathext.Digamma(n+1/d) - atSum
	}
	return -sum / d
}

func (m *betaBinomial) logLik(d, mean float64) float64 {
	sum := 0.0
	for i, k := range m.k {
		n := m.n[i]
		sum += lnGamma(n+1) - lnGamma(k+1) - lnGamma(n-k+1)
		switch {
		case d > 0:
			sum += rising(mean/d, k) + rising((1-mean)/d, n-k) - rising(1/d, n)
		default:
			if k > 0 {
				sum += k * math.Log(mean)
			}
			if k < n {
				sum += (n - k) * math.Log1p(-mean)
			}
		}
	}
	return sum
}

// rising is log Γ(a+k)/Γ(a).
func rising(a, k float64) float64 { return lnGamma(a+k) - lnGamma(a) }

func lnGamma(x float64) float64 {
	l, _ := math.Lgamma(x)
	return l
}
