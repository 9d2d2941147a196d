package change

import (
	"math"

	"rigtally/analytics/answer"
	"rigtally/analytics/stat"
)

// stratum is time of which a part is held against the rest.
type stratum struct {
	session      int32
	after, other float64 // minutes
	hits, n      float64 // what fell into the first of them, of so many
}

// hit notes that the change came after an event. Often it came at once, in no time at all; then it is
// given the minute to which events are noted.
func (s *stratum) hit() {
	s.hits = 1
	if more := min(1-s.after, s.other); more > 0 {
		s.after, s.other = s.after+more, s.other-more
	}
}

// joined adds a stratum to those that say anything: it has both kinds of time, and something fell into it.
func (s stratum) joined(list []stratum) []stratum {
	if s.n > 0 && s.after > 0 && s.other > 0 {
		list = append(list, s)
	}
	return list
}

// confidence is that of the interval.
const confidence = 0.95

// estimate is the logistic regression hits/n with nothing but an intercept, the log of the ratio, and log(after/other) as offset.
// The interval holds the ratios that the score does not refuse: its variance is the larger of that of the
// binomial and that of sessions times G/(G − 1), and it is held against Student's t with G − 1 degrees
// of freedom. A score, unlike an estimate's standard error, serves also where every change came after an event.
func (f *Finding) estimate(strata []stratum) {
	s := score{strata: strata}
	hits, n, expected := 0.0, 0.0, 0.0
	session := int32(-1)
	for _, st := range strata {
		if st.session != session {
			session = st.session
			f.Sessions++
		}
		hits, n = hits+st.hits, n+st.n
		expected += st.n * st.after / (st.after + st.other)
	}
	if f.ByMinutes && n > 0 {
		f.Expected = &expected
	}
	if f.Sessions < 2 {
		return
	}
	s.sessions = float64(f.Sessions)
	df := s.sessions - 1
	limit := stat.StudentUpper((1-confidence)/2, df)
	middle := far
	switch {
	case hits < n && hits > 0:
		middle = s.where(func(u, _ float64) float64 { return u }, 0)
		f.Ratio = answer.Known(math.Exp(middle))
	case hits == 0:
		f.Ratio, middle = answer.Known(0), -far
	}
	z := func(sign float64) func(u, v float64) float64 {
		return func(u, v float64) float64 {
			if v == 0 {
				return sign * limit
			}
			return u/math.Sqrt(v) + sign*limit
		}
	}
	f.Low, f.High = answer.Known(0), nil
	if hits > 0 {
		f.Low = answer.Known(math.Exp(s.where(z(-1), middle)))
	}
	if hits < n {
		if high := s.where(z(1), middle); high < far {
			f.High = answer.Known(math.Exp(high))
		}
	}
	if u, v := s.at(0); v > 0 {
		f.P = answer.Known(stat.StudentTwoSided(math.Abs(u)/math.Sqrt(v), df))
	}
}

// far is a log of a ratio beyond which it has no end.
const far = 25.0

// score is that of the log of the ratio.
type score struct {
	strata   []stratum
	sessions float64
}

// at returns the score and its variance at a log of the ratio.
func (s score) at(theta float64) (u, v float64) {
	ratio := math.Exp(theta)
	var model, between, of float64
	for i, st := range s.strata {
		p := ratio * st.after / (ratio*st.after + st.other)
		d := st.hits - st.n*p
		u += d
		of += d
		model += st.n * p * (1 - p)
		if i+1 == len(s.strata) || s.strata[i+1].session != st.session {
			between += of * of
			of = 0
		}
	}
	return u, math.Max(model, between*s.sessions/(s.sessions-1))
}

// where returns the log of the ratio at which a function of score and variance, which falls with it, is
// zero: by steps outwards from a start, then by the Illinois rule. It is −∞ or far when there is none.
func (s score) where(f func(u, v float64) float64, start float64) float64 {
	value := func(theta float64) float64 { return f(s.at(theta)) }
	a := start
	fa := value(a)
	if fa == 0 {
		return a
	}
	b, fb := a, fa
	for step := math.Copysign(0.25, fa); (fb > 0) == (fa > 0); step *= 2 {
		if a, fa = b, fb; math.Abs(a) > far {
			return math.Inf(int(math.Copysign(1, a)))
		}
		b += step
		if fb = value(b); fb == 0 {
			return b
		}
	}
	for range 100 {
		c := (a*fb - b*fa) / (fb - fa)
		fc := value(c)
		if fc == 0 || math.Abs(c-b) < 1e-12 {
			return c
		}
		if (fc > 0) != (fb > 0) {
			a, fa = b, fb
		} else {
			fa /= 2
		}
		b, fb = c, fc
	}
	return b
}
