package change

import (
	"math"
	"slices"

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
		if n := len(list); n == cap(list) { // doubled, where append would copy a large one many times
			list = slices.Grow(list, max(n, 1024))
		}
		list = append(list, s)
	}
	return list
}

// confidence is that of the interval.
const confidence = 0.95

// estimate is the logistic regression hits/n with nothing but an intercept, the log of the ratio, and log(after/other) as offset.
// The interval holds the ratios that the score does not refuse, by Student's t of the scores of the G sessions with G − 1 degrees of
// freedom; its variance is no less than that of the binomial. A score, unlike an estimate's standard
// error, serves also where every change came after an event.
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
	case hits == 0:
		middle = -far
	case hits < n:
		middle = s.where(0, 0)
	}
	f.Low = new(0.0)
	if middle > -far {
		if low := s.where(limit, middle); low > -far {
			f.Low = answer.Known(math.Exp(low))
		}
	}
	if middle < far {
		f.Ratio = new(0.0)
		if middle > -far {
			*f.Ratio = math.Exp(middle)
		}
		if high := s.where(-limit, middle); high < far {
			f.High = answer.Known(math.Exp(high))
		}
	}
	if u, v, _ := s.at(0); v > 0 {
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

// at returns the score at a log of the ratio, its variance, and that of the binomial alone, which is how fast the score falls.
func (s score) at(theta float64) (u, v, model float64) {
	ratio := math.Exp(theta)
	var between, of float64
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
	return u, math.Max(model, (between-u*u/s.sessions)*s.sessions/(s.sessions-1)), model
}

// where returns the log of the ratio at which the score is so many of its standard errors: by steps outwards from
// a start, then by the Illinois rule. It is infinite, or beyond far, when there is none.
func (s score) where(errors, start float64) float64 {
	slope := 0.0
	value := func(theta float64) float64 {
		u, v, model := s.at(theta)
		if v == 0 {
			return -errors
		}
		slope = model / math.Sqrt(v)
		return u/math.Sqrt(v) - errors
	}
	a := start
	fa := value(a)
	b, fb := a, fa
	step := math.Copysign(1, fa)
	if slope > 0 {
		step = max(-1, min(fa/slope, 1))
	}
	for ; (fb > 0) == (fa > 0); step *= 2 {
		if a, fa = b, fb; fa == 0 || math.Abs(a) > far {
			return a
		}
		b += step
		fb = value(b)
	}
	for range 100 {
		c := (a*fb - b*fa) / (fb - fa)
		fc := value(c)
		if fc == 0 || math.Abs(c-b) < 1e-11 {
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
