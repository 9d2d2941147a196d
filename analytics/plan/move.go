package plan

import (
	"cmp"
	"math"
	"slices"
)

// Move says what becomes of the answer when one number is another and all others stay.
type Move struct {
	Key       string
	Low, High float64 // what it is moved to: in its storage unit, or times itself for a level or a rise
	Short     bool    // Low is the shortest that was fished, not a quarter less
	Own       bool    // these are the ends of its 95% interval; else a quarter less and more
	At        [2]MovedTo
	Costs     float64 // minutes per hour lost, at most, by keeping to the planned length
}

// MovedTo is the answer with a number moved.
type MovedTo struct{ LengthMM, Loss float64 }

// Shift is how far the best length moves at most, in mm.
func (v Move) Shift(from float64) float64 {
	return math.Max(math.Abs(v.At[0].LengthMM-from), math.Abs(v.At[1].LengthMM-from))
}

// unsure is by how much a number is moved whose own uncertainty nobody knows.
const unsure = 0.25

// move fills the moves, one number at a time.
func (a *Answer) move(m model) error {
	for _, key := range moved() {
		in := a.Input(key)
		low, high, own := in.Value*(1-unsure), in.Value*(1+unsure), false
		if in.Low != nil && in.High != nil {
			low, high, own = *in.Low, *in.High, true
		}
		v := Move{Key: key, Low: low, High: high, Own: own}
		if shortest := math.Max(m.tangles.low, m.breaks.low); key == Least && v.Low < shortest {
			v.Low, v.Short = shortest, true
		}
		if err := a.try(m, v, func(m *model, v float64) { *m.of(key) = v }); err != nil {
			return err
		}
	}
	level, rise, err := m.tangles.doubt()
	if err != nil {
		return err
	}
	breaks, _, err := m.breaks.doubt()
	if err != nil {
		return err
	}
	level.Key, rise.Key, breaks.Key = TangleLevel, TangleRise, BreakLevel
	for _, of := range []struct {
		Move
		change func(*model, float64)
	}{
		{level, func(m *model, v float64) { m.level = v }},
		{rise, func(m *model, v float64) { m.rise = math.Log(v) / 100 }},
		{breaks, func(m *model, v float64) { m.breakWide = v }},
		{Move{Key: BreakAnew, Own: true}, func(m *model, _ float64) { m.anew = !m.anew }},
	} {
		if err := a.try(m, of.Move, of.change); err != nil {
			return err
		}
	}
	slices.SortStableFunc(a.Moves, func(x, y Move) int {
		best := a.Points[a.Best].LengthMM
		return cmp.Or(cmp.Compare(y.Costs, x.Costs), cmp.Compare(y.Shift(best), x.Shift(best)))
	})
	return nil
}

// try tries both values of a move among the lengths that competed.
func (a *Answer) try(m model, v Move, change func(*model, float64)) error {
	for end, value := range []float64{v.Low, v.High} {
		other := m
		change(&other, value)
		best, planned := MovedTo{Loss: math.Inf(1)}, math.NaN()
		for i, p := range a.Points {
			if p.Beyond {
				continue
			}
			l, ok, err := other.loss(p.LengthMM)
			if err != nil {
				return err
			}
			if !ok {
				continue
			}
			if loss := l.Total(); loss < best.Loss {
				best = MovedTo{p.LengthMM, loss}
			}
			if i == a.Best {
				planned = l.Total()
			}
		}
		if math.IsInf(best.Loss, 1) {
			return nil // with this number no tag is long enough
		}
		v.At[end] = best
		if costs := planned - best.Loss; costs > v.Costs {
			v.Costs = costs
		}
	}
	a.Moves = append(a.Moves, v)
	return nil
}

// guessed is a factor of which nobody knows how far it may be off.
var guessed = Move{Low: 1 - unsure, High: 1 + unsure}

// doubt is what is not known of a rate: its level, as a factor at the centre of what has been
// fished, and its rise from the shortest to the longest length, as a factor for each 100 mm.
func (h *hourly) doubt() (level, rise Move, err error) {
	level, rise = guessed, guessed
	if h.draws == nil || h.spread <= 0 && h.centre > 0 {
		return level, rise, nil
	}
	ends := []float64{h.centre, h.low, h.high}
	if math.IsInf(h.high, 1) { // the same at every length
		ends = ends[:1]
	}
	drawn, err := h.draws(ends)
	if err != nil {
		return level, rise, err
	}
	at := h.at(h.centre)
	if at <= 0 {
		return level, rise, nil
	}
	low, high := middle95(drawn[0])
	level = Move{Low: *low / at, High: *high / at, Own: true}
	if len(ends) == 1 {
		return level, rise, nil
	}
	slope := math.Log(h.at(h.high)/h.at(h.low)) / h.spread
	tilts := make([]float64, len(drawn[1]))
	for k := range tilts {
		tilts[k] = math.Exp(100 * (math.Log(drawn[2][k]/drawn[1][k])/h.spread - slope))
	}
	low, high = middle95(tilts)
	return level, Move{Low: *low, High: *high, Own: true}, nil
}
