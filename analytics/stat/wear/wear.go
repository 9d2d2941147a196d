// Package wear works out what a part that gets smaller with use costs, by the size it starts at.
package wear

import (
	"errors"
	"fmt"
	"math"

	"rigtally/analytics/stat"
)

// Part is a part that gets smaller with use. It starts at some size, each change
// takes Step off it, changes come at Rate an hour, and the change that would leave
// less than Least makes it anew, at the size that it started from.
type Part struct {
	Least, Step float64 // sizes; Step is positive
	Rate        float64 // changes per hour, positive
	Anew        bool    // a failure makes it anew too, at the cost of the failure alone
}

// Cost is what each thing that goes wrong costs, in any one unit.
type Cost struct {
	Trouble float64 // each trouble
	Failure float64 // each failure
	Renewal float64 // making it anew when it is used up
}

// Loss is the long-run loss per hour, by cause, and what it rests on.
type Loss struct {
	Trouble, Failure, Renewal float64 // per hour, in the unit of the costs
	Changes                   int     // that a new part allows, n
	Hours                     float64 // expected from one renewal to the next
}

// Total is the loss per hour from all causes.
func (l Loss) Total() float64 { return l.Trouble + l.Failure + l.Renewal }

// ErrTooSmall means that a part starts below the least size.
var ErrTooSmall = errors.New("it starts smaller than the least size")

const (
	// mostSizes keeps a tiny step from making endless work.
	mostSizes = 10000
	// rounding is what rounding may take off a size.
	rounding = 1e-9
)

// Sizes are those that a part of a start goes through before it is made anew: n + 1,
// with n = ⌊(start − least)/step⌋, the largest first. A start below Least is ErrTooSmall.
func (w Part) Sizes(start float64) ([]float64, error) {
	if !(w.Step > 0) || !stat.Finite(w.Step) || !stat.Finite(w.Least) || !stat.Finite(start) {
		return nil, fmt.Errorf("sizes of a part: from %g to %g in steps of %g: the step must be positive and all finite", start, w.Least, w.Step)
	}
	if start < w.Least-rounding*math.Abs(w.Least) {
		return nil, ErrTooSmall
	}
	n := math.Floor((start-w.Least)/w.Step + rounding)
	if n >= mostSizes {
		return nil, fmt.Errorf("sizes of a part: %g steps of %g from %g to %g are too many", n, w.Step, start, w.Least)
	}
	sizes := make([]float64, int(n)+1)
	for i := range sizes {
		sizes[i] = start - float64(i)*w.Step
	}
	return sizes, nil
}

// Loss is the long-run loss per hour of a part whose troubles and failures come at
// the given rates per hour at each of its Sizes. By the renewal–reward theorem (Ross
// 1996, Stochastic Processes, 2nd ed., theorem 3.6.1) it is the expected loss from one
// renewal to the next over the expected hours between them, whatever the distribution
// of the times between changes is:
//
//	( Σ(λᵢ·trouble + βᵢ·failure)/c + renewal ) / ( (n + 1)/c )
//
// with c the rate of changes. A failure is mended as it was, so that it ends nothing. With Anew
// it ends the part's life instead: with changes and failures at constant rates, size i
// is reached with probability sᵢ = Π_{j<i} c/(c + βⱼ) and kept for sᵢ/(c + βᵢ) hours, and only the
// share sₙ·c/(c + βₙ) of parts is used up.
func (w Part) Loss(trouble, failure []float64, cost Cost) (Loss, error) {
	if len(trouble) == 0 || len(trouble) != len(failure) {
		return Loss{}, fmt.Errorf("loss of a part: %d rates of trouble and %d of failure; there must be as many, one for each size", len(trouble), len(failure))
	}
	if !(w.Rate > 0) || !stat.Finite(w.Rate) {
		return Loss{}, fmt.Errorf("loss of a part: %g changes per hour; there must be some", w.Rate)
	}
	for i := range trouble {
		if !(trouble[i] >= 0) || !(failure[i] >= 0) || !stat.Finite(trouble[i]+failure[i]) {
			return Loss{}, fmt.Errorf("loss of a part: rates %g and %g at size %d; they can't be less than 0", trouble[i], failure[i], i+1)
		}
	}
	reached, troubles, failures, hours := 1.0, 0.0, 0.0, 0.0
	for i := range trouble {
		ends := w.Rate
		if w.Anew {
			ends += failure[i]
		}
		t := reached / ends
		hours += t
		troubles += t * trouble[i]
		failures += t * failure[i]
		reached *= w.Rate / ends
	}
	return Loss{
		Trouble: troubles * cost.Trouble / hours, Failure: failures * cost.Failure / hours, Renewal: reached * cost.Renewal / hours,
		Changes: len(trouble) - 1, Hours: hours,
	}, nil
}
