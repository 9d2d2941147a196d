package wear

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// wearCase is a made-up part whose troubles come more often the larger it is.
type wearCase struct {
	Part
	start    float64
	cost     Cost
	trouble  func(size float64) float64
	failure  func(size float64) float64
	regular  bool // changes come at equal times, not by chance
	describe string
}

func wearCases() []wearCase {
	var list []wearCase
	grow := func(x float64) float64 { return 0.3 * math.Exp((x-120)*(x-120)/1e4) }
	for _, start := range []float64{100, 152, 165, 240} {
		for _, rate := range []float64{0.5, 2} {
			for _, anew := range []bool{false, true} {
				for _, regular := range []bool{false, true} {
					if anew && regular {
						continue // the closed form then needs changes that come by chance
					}
					list = append(list, wearCase{Part{100, 13, rate, anew}, start, Cost{4, 8, 6}, grow, func(x float64) float64 { return 0.1 + 0.0005*x },
						regular, fmt.Sprintf("from %g, %g changes per hour, anew %t, regular %t", start, rate, anew, regular)})
				}
			}
		}
	}
	return list
}

func (c wearCase) closed(t *testing.T) Loss {
	t.Helper()
	sizes, err := c.Sizes(c.start)
	if err != nil {
		t.Fatal(err)
	}
	trouble, failure := make([]float64, len(sizes)), make([]float64, len(sizes))
	for i, x := range sizes {
		trouble[i], failure[i] = c.trouble(x), c.failure(x)
	}
	l, err := c.Loss(trouble, failure, c.cost)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// simulate lives through parts event by event: nothing in it knows of the closed form.
// It returns the loss per hour and its standard error from the scatter of the parts'
// lives (ratio estimator; Cochran 1977, Sampling Techniques, §6).
func (c wearCase) simulate(random *rand.Rand, lives int) (rate, se float64) {
	losses, hours := make([]float64, lives), make([]float64, lives)
	for k := range lives {
		losses[k], hours[k] = c.live(random)
	}
	loss, hour := 0.0, 0.0
	for k := range lives {
		loss += losses[k]
		hour += hours[k]
	}
	rate = loss / hour
	scatter := 0.0
	for k := range lives {
		d := losses[k] - rate*hours[k]
		scatter += d * d
	}
	return rate, math.Sqrt(scatter) / hour
}

// live is one part from new to used up, or to its first failure.
func (c wearCase) live(random *rand.Rand) (loss, hours float64) {
	size := c.start
	nextChange := func() float64 {
		if c.regular {
			return 1 / c.Rate
		}
		return random.ExpFloat64() / c.Rate
	}
	change := nextChange()
	for {
		// The next thing to happen at this size, by whichever of three clocks rings first.
		trouble, failure := random.ExpFloat64()/c.trouble(size), random.ExpFloat64()/c.failure(size)
		first := min(change, trouble, failure)
		hours += first
		change -= first
		switch first {
		case trouble:
			loss += c.cost.Trouble
		case failure:
			loss += c.cost.Failure
			if c.Anew {
				return loss, hours
			}
		default:
			if size-c.Step < c.Least {
				return loss + c.cost.Renewal, hours
			}
			size -= c.Step
			change = nextChange()
		}
	}
}

// The closed form agrees with a discrete-event simulation within the simulation's own
// error: no case is off by more than 4 standard errors, and over all cases the squared
// distances average about 1, as they must if the standard errors are honest.
func TestWearAgreesWithSimulation(t *testing.T) {
	t.Parallel()
	random := rand.New(rand.NewPCG(20261125, 5))
	sum, cases := 0.0, wearCases()
	for _, c := range cases {
		want := c.closed(t)
		rate, se := c.simulate(random, 20000)
		z := (rate - want.Total()) / se
		if math.Abs(z) > 4 || se > 0.02*rate {
			t.Errorf("%s: simulated %.4f ± %.4f, closed form %.4f: off by %.1f standard errors", c.describe, rate, se, want.Total(), z)
		}
		sum += z * z
	}
	// χ² with as many degrees of freedom as cases; 4 standard deviations either way.
	n := float64(len(cases))
	if wide := 4 * math.Sqrt(2/n); math.Abs(sum/n-1) > wide {
		t.Errorf("squared distances average %.2f over %g cases, want 1 ± %.2f", sum/n, n, wide)
	}
}

// By hand: 3 sizes of 1 hour each; 1, 2 and 3 troubles of 2 min, one failure each of
// 5 min, and 6 min for the renewal: (12 + 15 + 6)/3 = 11 min per hour.
func TestWearByHand(t *testing.T) {
	t.Parallel()
	l, err := Part{Least: 100, Step: 10, Rate: 1}.Loss([]float64{3, 2, 1}, []float64{1, 1, 1}, Cost{2, 5, 6})
	if err != nil || l.Trouble != 4 || l.Failure != 5 || l.Renewal != 2 || l.Changes != 2 || l.Hours != 3 {
		t.Errorf("%+v (%v)", l, err)
	}
	// Failures as often as changes halve the chance of each further size: 1/2, 1/4, 1/8 h,
	// so 7/8 h a life; 7/8 failures and 1/8 renewals.
	l, err = Part{Least: 100, Step: 10, Rate: 1, Anew: true}.Loss([]float64{0, 0, 0}, []float64{1, 1, 1}, Cost{0, 5, 6})
	if err != nil || l.Hours != 0.875 || l.Failure != 5 || math.Abs(l.Renewal-6.0/7) > 1e-12 {
		t.Errorf("%+v (%v)", l, err)
	}
}

// The trade's rule: a tag of 150 to 180 mm, useful down to about 100 mm, takes four or
// five fly changes (common practice, no source). At 15 mm a change that is what the
// count of sizes gives for most of the range.
func TestTheTradesCountOfChanges(t *testing.T) {
	t.Parallel()
	w := Part{Least: 100, Step: 15, Rate: 1.5}
	for start, changes := range map[float64]int{160: 4, 165: 4, 170: 4, 175: 5, 180: 5} {
		sizes, err := w.Sizes(start)
		if err != nil || len(sizes)-1 != changes {
			t.Errorf("from %g mm %d changes (%v), want %d", start, len(sizes)-1, err, changes)
		}
	}
	// A number of steps that is whole but for rounding is whole.
	if sizes, err := (Part{Least: 101.6, Step: 12.7, Rate: 1}).Sizes(101.6 + 4*12.7); err != nil || len(sizes) != 5 {
		t.Errorf("%g (%v)", sizes, err)
	}
}

func TestWearRefuses(t *testing.T) {
	t.Parallel()
	w := Part{Least: 100, Step: 10, Rate: 1}
	if _, err := w.Sizes(90); !errors.Is(err, ErrTooSmall) {
		t.Errorf("a start below the least: %v", err)
	}
	for _, bad := range []Part{{100, 0, 1, false}, {100, -1, 1, false}, {100, math.NaN(), 1, false}, {0, 1e-9, 1, false}} {
		if _, err := bad.Sizes(150); err == nil {
			t.Errorf("%+v passes", bad)
		}
	}
	for _, c := range []struct {
		w                Part
		trouble, failure []float64
	}{
		{w, nil, nil}, {w, []float64{1}, []float64{1, 2}}, {w, []float64{-1}, []float64{0}}, {w, []float64{math.NaN()}, []float64{0}}, {w, []float64{math.Inf(1)}, []float64{0}},
		{Part{Least: 100, Step: 10}, []float64{1}, []float64{1}},
	} {
		if l, err := c.w.Loss(c.trouble, c.failure, Cost{1, 1, 1}); err == nil {
			t.Errorf("%+v passes as %+v", c, l)
		}
	}
}
