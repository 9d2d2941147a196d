package stat

import (
	"rigtally/analytics/stat/published"

	"errors"
	"math"
	"testing"
)

// TestImpossibleInput: each is refused with a message, none gives a number.
func TestImpossibleInput(t *testing.T) {
	t.Parallel()
	nan, inf := math.NaN(), math.Inf(1)
	var ok Sums
	add(t, &ok, 5, 2)
	add(t, &ok, 1, 4)
	broken := func(change func(s *Sums)) []Sums {
		s := ok
		change(&s)
		return []Sums{s}
	}
	one := func(_ any, err error) error { return err }
	for name, err := range map[string]error{
		"negative count":           one(RateInterval(-1, 2, 0.95)),
		"count not a number":       one(RateInterval(nan, 2, 0.95)),
		"infinite exposure":        one(RateInterval(1, inf, 0.95)),
		"negative exposure":        one(RateInterval(1, -2, 0.95)),
		"level of 95":              one(RateInterval(1, 2, 95)),
		"level not a number":       one(ShareInterval(1, 2, nan)),
		"more events than trials":  one(ShareInterval(3, 2, 0.95)),
		"level of 1":               one(RatioOfRates(1, 2, 3, 4, 1)),
		"shares above 1":           one(RatioOfShares(1, 2, 5, 4, 0.9)),
		"amounts, level of 0":      one(AmountInterval(ok, 0)),
		"ratio, level of 0":        one(RatioOfAmounts(ok, ok, 0)),
		"p-value above 1":          one(AdjustBH([]float64{0.5, 1.5})),
		"p-value not a number":     one(AdjustBH([]float64{nan})),
		"kind":                     one(Disperse(Kind(7), nil, 0)),
		"too few clusters":         one(Disperse(Rate, []Sums{ok}, 1)),
		"no clusters":              one(Disperse(Rate, broken(func(s *Sums) { s.N = 0 }), 0)),
		"negative total":           one(Disperse(Rate, broken(func(s *Sums) { s.K = -1 }), 0)),
		"squares too small":        one(Disperse(Rate, broken(func(s *Sums) { s.KK = 7 }), 0)),
		"squares too large":        one(Disperse(Rate, broken(func(s *Sums) { s.TT = 37 }), 0)),
		"products too large":       one(Disperse(Rate, broken(func(s *Sums) { s.KT = 24 }), 0)),
		"cubes missing":            one(Disperse(Rate, broken(func(s *Sums) { s.TTT = 0 }), 0)),
		"sum not a number":         one(AmountInterval(broken(func(s *Sums) { s.KK = nan })[0], 0.95)),
		"cluster above its trials": one(Disperse(Share, []Sums{ok}, 0)),
		"planning, dispersion":     one(ExposureNeededRates(1, 2, 0.5, 0.05, 0.8)),
		"planning, rate":           one(ExposureNeededRates(nan, 2, 1, 0.05, 0.8)),
		"planning, share":          one(ExposureNeededShares(0.2, 1.2, 1, 0.05, 0.8)),
		"planning, power":          one(ExposureNeededShares(0.2, 0.3, 1, 0.05, 1)),
		"planning, error rate":     one(ExposureNeededRates(1, 2, 1, 0, 0.8)),
	} {
		if err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

func TestErrorsToTellApart(t *testing.T) {
	t.Parallel()
	one := func(_ any, err error) error { return err }
	for name, c := range map[string]struct{ got, want error }{
		"rate":                {one(RateInterval(0, 0, 0.95)), ErrNoExposure},
		"share":               {one(ShareInterval(0, 0, 0.95)), ErrNoExposure},
		"amount":              {one(AmountInterval(Sums{}, 0.95)), ErrNoExposure},
		"ratio of rates":      {one(RatioOfRates(0, 2, 0, 3, 0.95)), ErrNoEvents},
		"ratio, no hours":     {one(RatioOfRates(1, 2, 0, 0, 0.95)), ErrNoExposure},
		"ratio of shares":     {one(RatioOfShares(0, 2, 0, 3, 0.95)), ErrNoEvents},
		"ratio of amounts":    {one(RatioOfAmounts(Sums{N: 1, T: 1, TT: 1, TTT: 1}, Sums{N: 1, T: 1, TT: 1, TTT: 1}, 0.95)), ErrNoEvents},
		"planning, rates":     {one(ExposureNeededRates(2, 2, 1, 0.05, 0.8)), ErrNoDifference},
		"planning, shares":    {one(ExposureNeededShares(0, 0, 1, 0.05, 0.8)), ErrNoDifference},
		"events, no exposure": {new(Sums).Add(2, 0), ErrNoExposure},
	} {
		if !errors.Is(c.got, c.want) {
			t.Errorf("%s: %v, want %v", name, c.got, c.want)
		}
	}
}

func TestAddIgnoresEmptyClusters(t *testing.T) {
	t.Parallel()
	var s Sums
	if err := s.Add(0, 0); err != nil || s != (Sums{}) {
		t.Errorf("empty cluster gives %+v, %v", s, err)
	}
	if err := s.Add(1, -1); err == nil || s != (Sums{}) {
		t.Errorf("negative exposure gives %+v, %v", s, err)
	}
	if s.Rate() != 0 {
		t.Errorf("rate of an empty group is %g", s.Rate())
	}
}

// TestRatioEdges covers groups without events, with every trial an event, and
// too little to say anything. The closed forms 1 + z²/n and n/(n + z²) for two
// full groups follow from the score equation, N/(N − 1) included.
func TestRatioEdges(t *testing.T) {
	t.Parallel()
	c, err := RatioOfShares(0, 20, 4, 30, 0.95)
	if err != nil || c.Ratio != 0 || c.Low != 0 || !(c.High > 0 && c.High < 2) || !(c.P < 0.2) {
		t.Errorf("no events in the first group: %+v, %v", c, err)
	}
	c, err = RatioOfShares(4, 30, 0, 20, 0.95)
	if err != nil || !math.IsInf(c.Ratio, 1) || !math.IsInf(c.High, 1) || !(c.Low > 0.5) {
		t.Errorf("no events in the second group: %+v, %v", c, err)
	}
	c, err = RatioOfShares(12, 12, 7, 7, 0.95)
	z2 := 1.959963984540054 * 1.959963984540054 * 19 / 18
	if err != nil || c.P != 1 || !published.Near(c.Low, 12/(12+z2), 1e-9) || !published.Near(c.High, 1+z2/7, 1e-9) {
		t.Errorf("all trials are events: %+v, %v", c, err)
	}
	c, err = RatioOfShares(0.2, 0.4, 0.1, 0.5, 0.95)
	if err != nil || c.P != 1 || c.Low != 0 || !math.IsInf(c.High, 1) {
		t.Errorf("less than one effective trial: %+v, %v", c, err)
	}
	c, err = RatioOfRates(5, 10, 5, 10, 0.95)
	if err != nil || c.P != 1 || !published.Near(c.Low*c.High, 1, 1e-9) {
		t.Errorf("equal rates: %+v, %v", c, err)
	}
}

// TestAmountsWithoutScatter: clusters that are all alike, or a single one, say
// nothing about how clusters differ, and no narrow interval comes out.
func TestAmountsWithoutScatter(t *testing.T) {
	t.Parallel()
	var alike, none, single, scattered Sums
	for i := range 5 {
		add(t, &alike, 3, 0.3)
		add(t, &none, 0, 0.3)
		add(t, &scattered, float64(i), 0.7)
	}
	add(t, &single, 3, 1)
	for name, s := range map[string]Sums{"alike": alike, "none": none, "single": single} {
		i, err := AmountInterval(s, 0.95)
		if err != nil || i.Low != 0 || !math.IsInf(i.High, 1) {
			t.Errorf("%s: %+v, %v", name, i, err)
		}
		c, err := RatioOfAmounts(scattered, s, 0.95)
		if err != nil || c.P != 1 || c.Low != 0 || !math.IsInf(c.High, 1) || c.Ratio != quotient(scattered.Rate(), s.Rate()) {
			t.Errorf("ratio to %s: %+v, %v", name, c, err)
		}
	}
	i, err := AmountInterval(scattered, 0.95)
	if err != nil || !(i.Low > 0 && i.Low < scattered.Rate() && Finite(i.High)) {
		t.Errorf("scattered: %+v, %v", i, err)
	}
}

func TestJudge(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		q         float64
		low, high float64
		want      Verdict
	}{
		{0.049, 1.3, 3, Differs},
		{0.049, 0.85, 0.97, Differs}, // small, but a difference all the same
		{0.05, 1.01, 3, Leans},
		{0.199, 0.85, 1.02, Leans},
		{0.20, 0.80, 1.25, SameForPractice},
		{0.9, 0.79, 1.2, CannotTell},
		{1, 0.9, 1.26, CannotTell},
		{1, 0, math.Inf(1), CannotTell},
		{math.NaN(), 0, math.Inf(1), CannotTell},
	} {
		if got := Judge(c.q, Interval{c.low, c.high}); got != c.want {
			t.Errorf("q = %g, %g to %g: %q, want %q", c.q, c.low, c.high, got, c.want)
		}
	}
}
