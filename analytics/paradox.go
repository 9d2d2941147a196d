package analytics

import (
	"errors"
	"fmt"
	"math"

	"rigtally/analytics/stat/regress"
	"rigtally/journal"
)

const (
	// hardlyOff keeps ratios on both sides of 1, but next to it, from being told as a reversal.
	hardlyOff = 1.05
	// worthTelling is a difference as fished of which it is worth saying what it went with.
	worthTelling = 1.25
)

// noteMoved tells where the like-for-like ratio lies on the other side of 1 than the one as fished
// (Simpson 1951, JRSS B 13:238), or has lost most of the difference, and names the given that
// accounts for most of that: the one without which it comes back.
func (a *RateAnswer) noteMoved(f *Regression) error {
	for i, g := range a.Groups {
		if g.Corrected == nil || g.Versus.Ratio == nil || *g.Versus.Ratio <= 0 {
			continue
		}
		asFished, likeForLike := math.Log(*g.Versus.Ratio), math.Log(*g.Corrected.Ratio)
		reversed := asFished*likeForLike < 0 && min(math.Abs(asFished), math.Abs(likeForLike)) > math.Log(hardlyOff)
		went := math.Abs(asFished) > math.Log(worthTelling) && likeForLike/asFished < 0.5
		if !reversed && !went {
			continue
		}
		by, share, err := a.wentWith(f, i, asFished, likeForLike)
		if err != nil {
			return err
		}
		switch {
		case reversed:
			a.Notes = append(a.Notes, Note{Kind: NoteReversal, Group: i, Factor: by})
		case share > 0.5:
			a.Notes = append(a.Notes, Note{Kind: NoteWent, Group: i, Factor: by, Value: share})
		}
	}
	return nil
}

// wentWith is the given whose removal brings most of the difference as fished back, and which share of it;
// no given when more of it was gone before anything was given, for then it went with the sessions.
func (a *RateAnswer) wentWith(f *Regression, group int, asFished, likeForLike float64) (by journal.Factor, share float64, err error) {
	estimate := func(d *design) (float64, error) {
		fit, err := d.fitOnly(f.Model)
		if err != nil {
			return 0, fmt.Errorf("compare with less given: %w", err)
		}
		rest := Regression{design: d, fit: fit}
		return rest.estimate(rest.against(group)), nil
	}
	for given, g := range f.givens {
		if g.columns == 0 {
			continue
		}
		left, err := estimate(f.without(given))
		if errors.Is(err, regress.ErrNotConverged) {
			continue
		}
		if err != nil {
			return by, 0, err
		}
		if back := (left - likeForLike) / asFished; back > share {
			by, share = f.Given[given].Factor, back
		}
	}
	alone := likeForLike
	if len(f.givens) > 0 {
		if alone, err = estimate(f.bare()); errors.Is(err, regress.ErrNotConverged) {
			return by, share, nil
		}
		if err != nil {
			return by, share, err
		}
	}
	if gone := 1 - alone/asFished; gone > share {
		return journal.Factor{}, gone, nil
	}
	return by, share, nil
}
