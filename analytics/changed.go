package analytics

import (
	"context"

	"rigtally/analytics/change"
	"rigtally/journal"
)

// FindChanged looks, in the whole journal, whether a factor that the answer divides by was changed after what it counts.
func (a *RateAnswer) FindChanged(ctx context.Context, h change.Historian) (err error) {
	var factors []journal.Factor
	for _, by := range a.By {
		factors = append(factors, by.Factor)
	}
	a.Changed, err = change.Of(ctx, h, a.Outcome, factors...)
	return err
}

// FindChanged looks, in the whole journal, whether the number that the curve goes over was changed after what it counts.
func (a *CurveAnswer) FindChanged(ctx context.Context, h change.Historian) (err error) {
	a.Changed, err = change.Of(ctx, h, a.Outcome, a.Over)
	return err
}
