package prose

import (
	"fmt"
	"strings"

	"rigtally/analytics/bench"
	"rigtally/internal/table"
	"rigtally/internal/units"
)

// BesideHonest says what bench and water can and can't tell of each other.
const BesideHonest = "A slow, straight pull on a fresh knot is not a fish. On the water, shocks, nicks, worn knots, the hand on the rod and the choice of tippet count too, and nothing here corrects for them. The bench says what a knot can hold; the water says what it did hold."

// BesideSentence says whether the bench foretells the water.
func BesideSentence(b bench.BesideWater) string {
	if len(b.Points) < 2 {
		return fmt.Sprintf("Bench and water have %s in common, too few to compare: pull the knots you fish.", countOf(len(b.Points), "level"))
	}
	agree, against := b.Ranks.Agree, b.Ranks.Against
	pairs := len(b.Points) * (len(b.Points) - 1) / 2
	text := fmt.Sprintf("Of %d pairs, %d agree with the bench (the stronger breaks less on the water) and %d go the other way.", pairs, agree, against)
	if pairs == 1 {
		text = "The one that is stronger on the bench breaks less on the water too."
		if agree == 0 {
			text = "The one that is stronger on the bench does not break less on the water."
		}
		return text + " One pair proves nothing: chance does that half the time."
	}
	switch {
	case b.Ranks.P < 0.05 && agree > against:
		return text + fmt.Sprintf(" That is more than chance would do (p %s).", PValue(b.Ranks.P))
	case b.Ranks.P < 0.05:
		return text + fmt.Sprintf(" That is the opposite of what the bench says, and more than chance would do (p %s).", PValue(b.Ranks.P))
	}
	return text + fmt.Sprintf(" Chance alone could do as much (p %s), so the bench does not predict the water here yet.", PValue(b.Ranks.P))
}

// SayBeside puts bench and water into words and a table.
func SayBeside(b bench.BesideWater, sys units.System) Said {
	s := Said{Title: "Bench beside water", Sentence: BesideSentence(b), Notes: []string{BesideHonest}}
	if len(b.Points) > 0 {
		s.Tables = []table.Table{BesideTable(b, sys)}
	}
	if len(b.Missing) > 0 {
		s.After = []string{"On one side only: " + strings.Join(b.Missing, "; ") + "."}
	}
	return s
}

// BesideTable lays bench and water out: one row for each level known on both sides.
func BesideTable(b bench.BesideWater, sys units.System) table.Table {
	type point = bench.BesidePoint
	relative := b.Of == bench.OfUnknotted
	strength := func(v float64) string { return Strength(v, relative, sys) }
	scale := "Mean"
	if relative {
		scale = "Of unknotted"
	}
	var c table.Columns[point]
	c.Words(b.Factor.Key, b.Factor.Title, func(p point) string { return p.Level })
	c.Plain("unit", func(point) string { return string(b.Of) })
	c.Count("pulls", "Pulls", func(p point) int { return p.Pulls })
	c.Number("strength", scale, strength, func(p point) *float64 { return &p.Strength })
	c.Said("strength_interval", "95% interval", func(p point) string {
		switch {
		case p.Low == nil || p.High == nil:
			return table.Unknown
		case relative:
			return strings.TrimSuffix(strength(*p.Low), "%") + "–" + strength(*p.High)
		}
		return span(strength(*p.Low), strength(*p.High))
	})
	c.Value("strength_low", func(p point) *float64 { return p.Low })
	c.Value("strength_high", func(p point) *float64 { return p.High })
	c.Number("loads", "Loads", Count, func(p point) *float64 { return &p.Loads })
	c.Number("breaks", "Junction breaks", Count, func(p point) *float64 { return &p.Breaks })
	c.Number("share", "Of loads", percent, func(p point) *float64 { return &p.Share })
	c.Said("share_interval", "95% interval", func(p point) string {
		if p.ShareLow == nil || p.ShareTop == nil {
			return table.Unknown
		}
		return strings.TrimSuffix(percent(*p.ShareLow), "%") + "–" + percent(*p.ShareTop)
	})
	c.Value("share_low", func(p point) *float64 { return p.ShareLow })
	c.Value("share_high", func(p point) *float64 { return p.ShareTop })
	return c.Make(b.Points)
}
