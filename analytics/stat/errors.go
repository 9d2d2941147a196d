package stat

import (
	"errors"
	"fmt"
	"math"
)

// Errors that callers may want to tell apart; every other error of the package
// means input that no observation can give.
var (
	// ErrNoExposure means that a group has no exposure, hence no rate.
	ErrNoExposure = errors.New("no exposure, so there is no rate")
	// ErrNoEvents means that neither of two groups has an event, hence no ratio.
	ErrNoEvents = errors.New("no events in either group, so there is no ratio")
	// ErrNoDifference means that two values to be told apart are equal.
	ErrNoDifference = errors.New("the two values are equal, so no exposure can tell them apart")
)

func Finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// CheckProbability refuses confidence levels, error rates and powers outside
// the open interval from 0 to 1.
func CheckProbability(name string, x float64) error {
	if !(x > 0 && x < 1) {
		return fmt.Errorf("%s is %g: it must lie between 0 and 1, both excluded", name, x)
	}
	return nil
}

// Positive counts and exposures must be of a size that can be computed with. The
// exact methods take fewer events and trials: above ten million the incomplete
// beta function loses digits.
const (
	least     = 1e-60
	most      = 1e12
	mostExact = 1e7
)

// checkCount refuses counts, amounts and exposures that no observation can give.
func checkCount(k, t float64) error {
	if k != 0 && !(k >= least && k <= most) {
		return fmt.Errorf("event count is %g: it must be zero or a positive number, at most %g", k, most)
	}
	if t != 0 && !(t >= least && t <= most) {
		return fmt.Errorf("exposure is %g: it must be a positive number, at most %g", t, most)
	}
	if t == 0 {
		return ErrNoExposure
	}
	return nil
}

// CheckEvents is checkCount for the exact methods.
func CheckEvents(k, t float64) error {
	if k > mostExact {
		return fmt.Errorf("event count is %g: the exact methods take at most %g", k, mostExact)
	}
	return checkCount(k, t)
}

// CheckTrials is checkEvents for events that happen at most once a trial.
func CheckTrials(k, n float64) error {
	if err := CheckEvents(k, n); err != nil {
		return err
	}
	if n > mostExact {
		return fmt.Errorf("number of trials is %g: the exact methods take at most %g", n, mostExact)
	}
	if k > n*(1+slack) {
		return fmt.Errorf("%g events in %g trials: there cannot be more events than trials", k, n)
	}
	return nil
}
