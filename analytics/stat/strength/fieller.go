package strength

import (
	"errors"
	"math"

	"rigtally/analytics/stat"
)

// ErrNoScatter means that values do not scatter at all, so that no interval
// follows from them.
var ErrNoScatter = errors.New("the values are all alike, so their scatter is not known")

// RatioBounds says what shape the set of ratios has that the data allow.
type RatioBounds string

// The shapes of Fieller's set.
const (
	Bounded   RatioBounds = "bounded"   // from Low to High
	Outside   RatioBounds = "outside"   // up to Low and from High on: the denominator can't be told from 0
	Unbounded RatioBounds = "unbounded" // every ratio
)

// RatioSet is a ratio with the set of ratios that the data allow.
type RatioSet struct {
	Ratio  float64
	Bounds RatioBounds
	DF     float64
	stat.Interval
}

// Fieller is the set of ratios α/β that the estimates a of α and b of β allow
// at the confidence level, when they are normal with variances va and vb and
// covariance cab known up to a common scale with df degrees of freedom (Fieller
// 1954, JRSS B 16:175): every ρ with (a − ρb)² ≤ t²(va − 2ρ·cab + ρ²·vb), the
// solutions of a quadratic. With g = t²vb/b² < 1 it is the interval
//
//	[ab − t²cab ± √((ab − t²cab)² − (b² − t²vb)(a² − t²va))] / (b² − t²vb)
//
// else it has no ends, or leaves out the ratios between two.
func Fieller(a, b, va, vb, cab, df, conf float64) (RatioSet, error) {
	if err := stat.CheckProbability("confidence level", conf); err != nil {
		return RatioSet{}, err
	}
	const slack = 1e-9
	if !stat.Finite(a) || !stat.Finite(b) || b == 0 || !(va >= 0) || !(vb >= 0) || !(df > 0) || cab*cab > va*vb*(1+slack) {
		return RatioSet{}, errors.New("a ratio needs two numbers, the second of them not 0, with variances, a covariance that they allow and degrees of freedom")
	}
	if va == 0 && vb == 0 {
		return RatioSet{}, ErrNoScatter
	}
	t := stat.StudentUpper((1-conf)/2, df)
	tt := t * t
	lead, middle, last := b*b-tt*vb, a*b-tt*cab, a*a-tt*va
	r := RatioSet{Ratio: a / b, DF: df, Bounds: Bounded}
	root := middle*middle - lead*last
	if lead == 0 || root < 0 {
		r.Bounds = Unbounded
		r.Low, r.High = math.Inf(-1), math.Inf(1)
		return r, nil
	}
	half := math.Sqrt(root)
	r.Low, r.High = (middle-half)/lead, (middle+half)/lead
	if lead < 0 {
		r.Bounds = Outside
		r.Low, r.High = r.High, r.Low
	}
	return r, nil
}

// RatioOfMeans is the ratio of the mean of X to that of Y with Fieller's
// interval for means that need not scatter alike: the degrees of freedom are
// Satterthwaite's at the ratio itself (Tamhane & Logan 2004, Journal of
// Biopharmaceutical Statistics 14:843). With several strata it is the ratio of
// the weighted means. Errors are those of Welch.
func RatioOfMeans(conf float64, strata ...Stratum) (RatioSet, error) {
	w, err := weigh(strata)
	if err != nil {
		return RatioSet{}, err
	}
	va, vb := sumTerms(w.xTerms), sumTerms(w.yTerms)
	if va == 0 && vb == 0 {
		return RatioSet{}, ErrNoScatter
	}
	_, df := w.satterthwaite(w.x / w.y)
	return Fieller(w.x, w.y, va, vb, 0, max(1, df), conf)
}
