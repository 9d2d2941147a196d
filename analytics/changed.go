package analytics

import (
	"context"
	"math"

	"rigtally/analytics/answer"
	"rigtally/analytics/change"
	"rigtally/journal"
)

// Chronicle holds what happened, and in which order; *pg.Store is one.
type Chronicle interface {
	Asker
	change.Historian
}

// FindChanged looks, in the whole journal, whether a factor that the answer divides by was changed after what
// it counts. If so, each comparison is also fitted without the sessions' multiplier, which shows what
// the changes would have done to it.
func (a *RateAnswer) FindChanged(ctx context.Context, j Chronicle, r Request) (err error) {
	var factors []journal.Factor
	for _, by := range a.By {
		factors = append(factors, by.Factor)
	}
	if a.Changed, err = change.Of(ctx, j, a.Outcome, factors...); err != nil || a.Changed == nil || a.Model != Frailty {
		return err
	}
	r.Model = string(Marginal)
	other, err := Rates(ctx, j, r)
	if err != nil {
		return err
	}
	for i, g := range a.Groups {
		if m := other.Groups[i].Corrected; g.Corrected != nil && m != nil {
			g.Corrected.MarginalRatio = m.Ratio
		}
	}
	return nil
}

// Rise is the ratio of a curve's rates at the ends of the middle three fifths of what was fished.
type Rise struct {
	From     float64  `json:"from"`
	To       float64  `json:"to"`
	Ratio    *float64 `json:"ratio"`
	Marginal *float64 `json:"marginal_ratio"` // without the sessions' multiplier
}

// FindChanged looks, in the whole journal, whether the number that the curve goes over was changed after what
// it counts, and then says how far its rise is from that without the sessions' multiplier.
func (a *CurveAnswer) FindChanged(ctx context.Context, j Chronicle, r CurveRequest) (err error) {
	if a.Changed, err = change.Of(ctx, j, a.Outcome, a.Over); err != nil || a.Changed == nil || a.Model != Frailty || a.belief == nil {
		return err
	}
	r.Model = string(Marginal)
	other, err := Curve(ctx, j, r)
	if err != nil || other.belief == nil {
		return err
	}
	from, to := FishedRange(a.Rug, 0.6)
	rise := func(b *curveBelief) *float64 { return answer.Known(math.Exp(b.f.estimate(b.between(to, from)))) }
	a.Rise = &Rise{From: from, To: to, Ratio: rise(a.belief), Marginal: rise(other.belief)}
	return nil
}

// Opposed reports whether two ratios point to different sides of 1, and neither lies next to it.
func Opposed(a, b *float64) bool {
	if a == nil || b == nil || !(*a > 0) || !(*b > 0) {
		return false
	}
	x, y := math.Log(*a), math.Log(*b)
	return x*y < 0 && min(math.Abs(x), math.Abs(y)) > math.Log(hardlyOff)
}
