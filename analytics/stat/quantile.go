package stat

import (
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// NormalUpper is the value that a standard normal variable exceeds with
// probability q.
func NormalUpper(q float64) float64 { return -distuv.UnitNormal.Quantile(q) }

// NormalTwoSided is the probability that a standard normal variable lies
// further from 0 than z.
func NormalTwoSided(z float64) float64 { return math.Erfc(math.Abs(z) / math.Sqrt2) }

// StudentUpper is the value that Student's t with df degrees of freedom exceeds
// with probability q < ½.
func StudentUpper(q, df float64) float64 {
	return -distuv.StudentsT{Sigma: 1, Nu: df}.Quantile(q)
}

// StudentTwoSided is the probability that Student's t with df degrees of
// freedom lies further from 0 than t.
func StudentTwoSided(t, df float64) float64 {
	if math.IsInf(t, 0) {
		return 0
	}
	return mathext.RegIncBeta(df/2, 0.5, df/(df+t*t))
}

// StudentSurvival is the chance of a value above x. It is taken from the lower tail
// at -x, where small probabilities keep their digits.
func StudentSurvival(x, df float64) float64 {
	if math.IsInf(df, 1) {
		return math.Erfc(x/math.Sqrt2) / 2
	}
	return distuv.StudentsT{Sigma: 1, Nu: df}.CDF(-x)
}

// gammaLower is the x that a gamma variable of shape a > 0 and scale 1 stays
// below with probability p.
func gammaLower(p, a float64) float64 {
	cdf := func(x float64) float64 { return mathext.GammaIncReg(a, x) }
	return invert(cdf, p, mathext.GammaIncRegInv(a, p), math.Inf(1))
}

// gammaUpper is the x that a gamma variable of shape a > 0 and scale 1 exceeds
// with probability q.
func gammaUpper(q, a float64) float64 {
	survival := func(x float64) float64 { return -mathext.GammaIncRegComp(a, x) }
	return invert(survival, -q, mathext.GammaIncRegCompInv(a, q), math.Inf(1))
}

// betaLower is the x that a beta variable with parameters a, b > 0 stays below
// with probability p.
func betaLower(p, a, b float64) float64 {
	cdf := func(x float64) float64 { return incompleteBeta(a, b, x) }
	return invert(cdf, p, mathext.InvRegIncBeta(a, b, p), 1)
}

// betaOdds is x/(1 − x) for the x of betaLower, without the loss of digits
// near 1.
func betaOdds(p, a, b float64) float64 {
	if x := betaLower(p, a, b); x <= 0.5 {
		return x / (1 - x)
	}
	rest := betaLower(1-p, b, a)
	return (1 - rest) / rest
}

// incompleteBeta is the regularised incomplete beta function. Its continued
// fraction does not converge in the 300 steps of mathext close to the mean when
// both parameters are large; there the first Edgeworth correction of the normal
// distribution (Abramowitz & Stegun 26.2.48, number from memory, with the skewness of the beta
// distribution) is good to 1e-6.
func incompleteBeta(a, b, x float64) float64 {
	const large, nearMean = 1e5, 0.25
	if a < large || b < large {
		return mathext.RegIncBeta(a, b, x)
	}
	n := a + b
	z := (x*n - a) * math.Sqrt((n+1)/(a*b))
	if math.Abs(z) > nearMean {
		return mathext.RegIncBeta(a, b, x)
	}
	skew := 2 * (b - a) * math.Sqrt((n+1)/(a*b)) / (n + 2)
	return math.Erfc(-z/math.Sqrt2)/2 - skew/6*(z*z-1)*math.Exp(-z*z/2)/math.Sqrt(2*math.Pi)
}

// smallest and largest bound every search on the positive axis; beyond them a
// limit is 0 or infinite for all purposes.
const (
	smallest = 1e-300
	largest  = 1e300
)

// invert returns the x in (0, top) with f(x) = want, f rising. The guess is
// returned when it is right to eleven digits, else x is found by bisection on the
// logarithmic scale. A solution below the smallest number is 0.
func invert(f func(float64) float64, want, guess, top float64) float64 {
	if guess > 0 && guess < top && math.Abs(f(guess)-want) <= 1e-11*math.Abs(want) {
		return guess
	}
	low, high := smallest, math.Min(top, largest)
	if f(low) >= want {
		return 0
	}
	return Bisect(func(x float64) bool { return f(x) < want }, low, high)
}

// Bisect returns the point between low and high (both positive) at which below
// turns from true to false, to the precision of float64.
func Bisect(below func(x float64) bool, low, high float64) float64 {
	for range 200 {
		mid := math.Sqrt(low) * math.Sqrt(high)
		if !(mid > low && mid < high) {
			break
		}
		if below(mid) {
			low = mid
		} else {
			high = mid
		}
	}
	return high
}
