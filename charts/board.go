package charts

import (
	"math"
	"slices"

	"rigtally/analytics/claim"
	"rigtally/prose"
)

// standings in the order of the key, with their looks.
var standings = []struct {
	look     string
	standing claim.Standing
}{{LookDiffers, claim.Holds}, {LookLeans, claim.LeansFor}, {LookOpen, claim.OpenStill}, {LookLeansAgainst, claim.LeansOther}, {LookAgainst, claim.HoldsNot}}

// Board draws every claim on the board that has a ratio with its 95% interval, on
// an axis on which twice and half lie equally far from 1.
func Board(b claim.Board) Chart {
	most := 0.0
	for _, a := range b.Claims {
		most = math.Max(most, a.Total.Hours)
	}
	var rows []Row
	var marks []Mark
	far := 1.0
	for _, a := range b.Claims {
		row := Row{Name: a.Claim.Words, Note: string(a.Standing)}
		if a.Ratio != nil && *a.Ratio > 0 {
			m := Mark{Name: a.Claim.Words, X: *a.Ratio, Y: float64(len(rows)), Across: span(a.Low, a.High), Radius: leastRadius + 2, Look: LookOpen, Note: prose.Hours(a.Total.Hours)}
			for _, s := range standings {
				if s.standing == a.Standing {
					m.Look = s.look
				}
			}
			if most > 0 {
				m.Share = a.Total.Hours / most
			}
			row.Value = prose.Ratio(*a.Ratio)
			far = math.Max(far, math.Ceil(math.Abs(math.Log2(*a.Ratio))))
			marks = append(marks, m)
		}
		rows = append(rows, row)
	}
	c := lying(rows, ratios("", math.Min(far+1, widest)), "Hours", level(1, nowhere, "no difference"), Layer{Shape: Points, Marks: marks})
	c.Drawn, c.Ratios = len(marks), true
	for _, s := range standings {
		if slices.ContainsFunc(marks, func(m Mark) bool { return m.Look == s.look }) {
			c.Key = append(c.Key, Key{s.look, string(s.standing)})
		}
	}
	return c
}
