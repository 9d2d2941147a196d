// Package sequential follows randomised trials whose evidence may be looked at after every block.
package sequential

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"

	"rigtally/analytics/stat"
)

// Unit is a unit of a randomised trial of two arms: K events in exposure T,
// with the first arm or with the second.
type Unit struct {
	First bool
	K, T  float64
}

// Block holds the units of one block of the random order that can be
// counted. Given how many there are of each arm, every arrangement of the arms
// over them was equally likely to be drawn.
type Block []Unit

// mostUnits in a block keep the arrangements few: 20.
const mostUnits = 6

// Sequence is one measure of a trial's evidence so far.
type Sequence struct {
	// LogE is the natural logarithm of the e-value against equal arms. Whatever
	// the moment at which one looks or stops, the chance that e ever reaches 1/α
	// is at most α when the arms are equal (Ville 1939).
	LogE float64
	// Interval is the confidence sequence for the ratio of the first arm to the
	// second: every ratio whose own e-value never reached 1/α, α = 1 − conf. Low
	// is 0 and High +Inf where nothing is excluded yet.
	stat.Interval
}

// EValue is an e-value by its logarithm, at most the greatest number there is.
func EValue(logE float64) float64 { return math.Min(math.Exp(logE), math.MaxFloat64) }

// MarshalJSON writes the e-value, too, and null for an upper end that is not limited yet.
func (s Sequence) MarshalJSON() ([]byte, error) {
	high := &s.High
	if math.IsInf(s.High, 1) {
		high = nil
	}
	return json.Marshal(struct {
		E    float64  `json:"e"`
		LogE float64  `json:"log_e"`
		Low  float64  `json:"ratio_low"`
		High *float64 `json:"ratio_high"`
	}{EValue(s.LogE), s.LogE, s.Low, high})
}

// Evidence is what a trial says after some blocks.
type Evidence struct {
	Blocks int
	// Robust rests on the drawing of the order alone; see labelBets.
	Robust Sequence
	// Model rests on Poisson counts, or on independent trials, with one level
	// within a block; see rateBets and shareBets.
	Model Sequence
}

// Options set a trial's test up, before its first block.
type Options struct {
	Kind  stat.Kind
	Worth float64 // the smallest ratio worth knowing, above 1: what the bets are sized for
	Conf  float64 // of the confidence sequences, such as 0.95
	// NoIntervals leaves the confidence sequences out, which is much faster.
	NoIntervals bool
}

// Monitor follows a trial block by block. Its evidence may be looked at after
// every block, and the trial stopped on what is seen.
type Monitor struct {
	opt    Options
	now    Evidence
	robust *labelBets
	rates  *rateBets
	shares *shareBets
}

// NewMonitor prepares the bets of a trial.
func NewMonitor(opt Options) (*Monitor, error) {
	if err := stat.CheckProbability("confidence level", opt.Conf); err != nil {
		return nil, err
	}
	if !(opt.Worth > 1 && opt.Worth <= 10) {
		return nil, fmt.Errorf("the smallest ratio worth knowing is %g: it must be above 1 and at most 10", opt.Worth)
	}
	grid := []float64{0}
	if !opt.NoIntervals {
		grid = ratioGrid()
	}
	m := &Monitor{opt: opt, robust: newLabelBets(grid, opt.Worth)}
	if opt.Kind == stat.Share {
		m.shares = newShareBets(grid, opt.Worth)
	} else {
		m.rates = newRateBets(opt.Worth)
	}
	m.now.Robust.Interval = stat.Interval{Low: 0, High: math.Inf(1)}
	m.now.Model.Interval = m.now.Robust.Interval
	return m, nil
}

// Confidence sequences are sought among these log ratios, 5% apart; their ends
// are interpolated.
const (
	gridStep = 0.05
	gridEnd  = 3.5 // a ratio of 33
)

func ratioGrid() []float64 {
	n := int(math.Round(gridEnd / gridStep))
	grid := make([]float64, 2*n+1)
	for i := range grid {
		grid[i] = float64(i-n) * gridStep
	}
	return grid
}

// Add counts a block. A unit without exposure is passed over, and a block in
// which an arm is missing says nothing.
func (m *Monitor) Add(block Block) error {
	units := make(Block, 0, len(block))
	for i, u := range block {
		switch err := m.check(u); {
		case errors.Is(err, stat.ErrNoExposure):
		case err != nil:
			return fmt.Errorf("unit %d of a block: %w", i+1, err)
		default:
			units = append(units, u)
		}
	}
	if len(units) > mostUnits {
		return fmt.Errorf("a block has %d units: it can have at most %d", len(units), mostUnits)
	}
	m.now.Blocks++
	m.robust.add(units)
	m.narrow(&m.now.Robust, m.robust.sums, m.robust.grid)
	if m.shares != nil {
		m.shares.add(units.sums())
		m.narrow(&m.now.Model, m.shares.sums, m.shares.grid)
		return nil
	}
	m.rates.add(units.sums())
	m.now.Model.LogE = m.rates.logE(1)
	if !m.opt.NoIntervals {
		m.now.Model.Interval = m.now.Model.within(m.rates.interval(m.threshold()))
	}
	return nil
}

// mostEvents in a unit of a trial keep its bets quick to count.
const mostEvents = 5000

func (m *Monitor) check(u Unit) error {
	check := stat.CheckEvents
	if m.opt.Kind == stat.Share {
		check = stat.CheckTrials
	}
	if err := check(u.K, u.T); err != nil {
		return err
	}
	if u.K != math.Trunc(u.K) || u.K > mostEvents {
		return fmt.Errorf("it has %g events: that must be a whole number of at most %d", u.K, mostEvents)
	}
	return nil
}

func (m *Monitor) threshold() float64 { return -math.Log(1 - m.opt.Conf) }

// narrow takes over the e-values over the grid of ratios.
func (m *Monitor) narrow(s *Sequence, sums []float64, grid []float64) {
	s.LogE = sums[len(grid)/2]
	if !m.opt.NoIntervals {
		s.Interval = s.within(unrefuted(grid, sums, m.threshold()))
	}
}

// within is what is left of the ratios after another look: what was excluded
// once stays so. Where nothing would be left the last interval stands.
func (s Sequence) within(next stat.Interval) stat.Interval {
	low, high := math.Max(s.Low, next.Low), math.Min(s.High, next.High)
	if !(low < high) {
		return s.Interval
	}
	return stat.Interval{Low: low, High: high}
}

// unrefuted spans the ratios whose log e-value is below a threshold.
func unrefuted(grid, logE []float64, threshold float64) stat.Interval {
	first, last := -1, -1
	for i, e := range logE {
		if e < threshold {
			if first < 0 {
				first = i
			}
			last = i
		}
	}
	if first < 0 {
		return stat.Interval{Low: 1, High: 0} // nothing is left
	}
	crossing := func(in, out int) float64 {
		return math.Exp(grid[in] + (grid[out]-grid[in])*(threshold-logE[in])/(logE[out]-logE[in]))
	}
	i := stat.Interval{Low: 0, High: math.Inf(1)}
	if first > 0 {
		i.Low = crossing(first, first-1)
	}
	if last < len(grid)-1 {
		i.High = crossing(last, last+1)
	}
	return i
}

// Evidence returns what the blocks so far say.
func (m *Monitor) Evidence() Evidence { return m.now }

// pair holds the events and exposures of the two arms in a block.
type pair struct{ k1, t1, k2, t2 float64 }

func (b Block) sums() (p pair) {
	for _, u := range b {
		if u.First {
			p.k1, p.t1 = p.k1+u.K, p.t1+u.T
		} else {
			p.k2, p.t2 = p.k2+u.K, p.t2+u.T
		}
	}
	return p
}

// effects are the log ratios that a trial bets on, with weights that add up to
// one: six sizes each way, from half of the smallest worth knowing to four times
// it, on the log scale.
func effects(worth float64) (sizes, weights []float64) {
	unit := math.Log(worth)
	shape := []struct{ size, weight float64 }{{0.5, 1}, {1, 2}, {1.5, 2}, {2, 2}, {3, 2}, {4, 1}}
	for _, s := range shape {
		for _, side := range []float64{-1, 1} {
			sizes = append(sizes, side*s.size*unit)
			weights = append(weights, s.weight/20)
		}
	}
	return sizes, weights
}

// logMean is log Σ w·exp(x).
func logMean(x, w []float64) float64 {
	top := math.Inf(-1)
	for _, v := range x {
		top = math.Max(top, v)
	}
	if math.IsInf(top, -1) {
		return top
	}
	sum := 0.0
	for i, v := range x {
		sum += w[i] * math.Exp(v-top)
	}
	return top + math.Log(sum)
}
