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

// wentWith is the given whose removal brings most of the difference as fished back, each session keeping its
// multiplier, and which share of it; no given when leaving the multipliers out brings back more, for
// then it went with the sessions.
func (a *RateAnswer) wentWith(f *Regression, group int, asFished, likeForLike float64) (by journal.Factor, share float64, err error) {
	back := func(d *design) (float64, error) {
		fit, err := d.fitOnly()
		if errors.Is(err, regress.ErrNotConverged) {
			return 0, nil // it tells nothing
		}
		if err != nil {
			return 0, fmt.Errorf("compare with less held alike: %w", err)
		}
		rest := Regression{design: d, fit: fit}
		return (rest.estimate(rest.against(group)) - likeForLike) / asFished, nil
	}
	for given, g := range f.givens {
		if g.columns == 0 {
			continue
		}
		part, err := back(f.without(given, f.exposure))
		if err != nil {
			return by, 0, err
		}
		if part > share {
			by, share = f.Given[given].Factor, part
		}
	}
	sessions, err := back(f.design)
	if err == nil && sessions > share {
		return journal.Factor{}, sessions, nil
	}
	return by, share, err
}
