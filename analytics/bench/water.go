package bench

import (
	"context"
	"encoding/json"
	"slices"
	"strings"

	"rigtally/analytics"
	"rigtally/analytics/answer"
	"rigtally/analytics/stat/strength"
	"rigtally/internal/units"
	"rigtally/journal"
)

// WaterKeeper holds both what was pulled and what was fished; *pg.Store is one.
type WaterKeeper interface {
	Keeper
	analytics.Asker
}

// BesideWater sets the strength of knots on the bench beside how often they
// break on the water.
type BesideWater struct {
	Factor  journal.Factor
	Of      StrengthOf
	Points  []BesidePoint // levels known on both sides
	Missing []string      // levels known on one side only, and on which
	Ranks   strength.Concordance
	HasRank bool // at least two points
}

// StrengthOf says what strengths are.
type StrengthOf string

// Strengths beside the water are shares of unknotted line or, where there is
// too little of that, mean forces on one tippet.
const (
	OfUnknotted StrengthOf = "share of unknotted"
	OfForce     StrengthOf = "N"
)

// BesidePoint is one level on both sides, with 95% intervals.
type BesidePoint struct {
	Level    string   `json:"level"`
	Pulls    int      `json:"pulls"`
	Strength float64  `json:"strength"`
	Low      *float64 `json:"strength_low"`
	High     *float64 `json:"strength_high"`
	Loads    float64  `json:"loads"`
	Breaks   float64  `json:"breaks"`
	Share    float64  `json:"share"` // junction breaks per load
	ShareLow *float64 `json:"share_low"`
	ShareTop *float64 `json:"share_high"`
}

// BesideFactors lists by what bench and water can be set side by side.
func BesideFactors() []string { return []string{"junction", "facing", "prop"} }

// Beside asks the bench and the journal the same question: the strength of each
// level pulled, and junction breaks per load fished with it. Filters hold on
// both sides where both know the factor.
func Beside(ctx context.Context, from WaterKeeper, by string, where []string, sys units.System) (BesideWater, error) {
	if !slices.Contains(BesideFactors(), by) {
		return BesideWater{}, journal.Invalidf("bench and water can't be set side by side by %q; choose one of: %s", by, strings.Join(BesideFactors(), ", "))
	}
	bench, err := Compare(ctx, from, Request{By: []string{by}, Where: where, Units: sys})
	if err != nil {
		return BesideWater{}, err
	}
	var onWater []string
	for _, w := range where {
		key, _, _ := strings.Cut(w, "=")
		if _, err := journal.FactorByKey(strings.TrimSpace(key)); err == nil && key != "angler" { // who tied is not who fished
			onWater = append(onWater, w)
		}
	}
	water, err := analytics.Rates(ctx, from, analytics.Request{Outcome: "junction-break", By: []string{by}, Where: onWater, Units: sys})
	if err != nil {
		return BesideWater{}, err
	}
	out := BesideWater{Factor: bench.By[0], Of: OfUnknotted}
	for _, g := range bench.Groups {
		if !g.Unknotted && g.Efficiency == nil {
			out.Of = OfForce
		}
	}
	fished := map[string]analytics.Group{}
	for _, g := range water.Groups {
		fished[strings.ToLower(g.Level[0].Word)] = g
	}
	for _, g := range bench.Groups {
		if g.Unknotted {
			continue
		}
		name := g.Level[0].Word
		f, both := fished[strings.ToLower(name)]
		delete(fished, strings.ToLower(name))
		if !both {
			out.Missing = append(out.Missing, name+" (not fished)")
			continue
		}
		if p, ok := beside(name, g, f, out.Of, bench.Relative); ok {
			out.Points = append(out.Points, p)
		}
	}
	for _, g := range water.Groups {
		if _, left := fished[strings.ToLower(g.Level[0].Word)]; left {
			out.Missing = append(out.Missing, g.Level[0].Word+" (not pulled)")
		}
	}
	return out, out.rank()
}

func beside(name string, g Group, f analytics.Group, of StrengthOf, relative bool) (BesidePoint, bool) {
	p := BesidePoint{Level: name, Pulls: g.N, Share: f.Rate, Breaks: f.Events, Loads: f.Exposure}
	if f.HasInterval {
		p.ShareLow, p.ShareTop = answer.Known(f.Low), answer.Known(f.High)
	}
	switch {
	case of == OfUnknotted:
		p.Strength = g.Efficiency.Ratio
		if g.Efficiency.Bounds == strength.Bounded {
			p.Low, p.High = answer.Known(g.Efficiency.Low), answer.Known(g.Efficiency.High)
		}
	case relative || mixed(g.pulls) || g.N == 0:
		return p, false // a mean over several tippets tells of their mix
	default:
		p.Strength, p.Low, p.High = g.Mean, g.MeanLow, g.MeanHigh
	}
	return p, true
}

// rank counts the pairs in which the stronger knot breaks less.
func (b *BesideWater) rank() error {
	if len(b.Points) < 2 {
		return nil
	}
	var holding, whole []float64
	for _, p := range b.Points {
		holding, whole = append(holding, p.Strength), append(whole, -p.Share)
	}
	var err error
	b.Ranks, err = strength.Kendall(holding, whole)
	b.HasRank = err == nil
	return err
}

// MarshalJSON writes bench and water in full precision.
func (b BesideWater) MarshalJSON() ([]byte, error) {
	return json.Marshal(object{"by": b.Factor.Key, "unit": b.Of, "points": answer.List(b.Points), "missing": answer.List(b.Missing),
		"pairs_agree": b.Ranks.Agree, "pairs_against": b.Ranks.Against, "p": answer.If(b.HasRank, b.Ranks.P)})
}
