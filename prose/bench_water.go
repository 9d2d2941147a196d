package prose

import (
	"fmt"
	"io"
	"strings"

	"rigtally/analytics/bench"
	"rigtally/internal/units"
)

// BesideHonest says what bench and water can and can't tell of each other.
const BesideHonest = "A slow, straight pull on a fresh knot is not a fish: on the water shocks, nicks, worn knots, the hand on the rod and the tippet chosen count too, and nothing here is corrected for them. The bench says what a knot can bear, the water what it did bear."

// BesideSentence says whether the bench foretells the water.
func BesideSentence(b bench.BesideWater) string {
	if len(b.Points) < 2 {
		return fmt.Sprintf("Bench and water have %s in common, too few to set side by side: pull the knots that you fish.", countOf(len(b.Points), "level"))
	}
	agree, against := b.Ranks.Agree, b.Ranks.Against
	pairs := len(b.Points) * (len(b.Points) - 1) / 2
	text := fmt.Sprintf("Of %d pairs, %d go as the bench says, the stronger breaking less on the water, and %d the other way.", pairs, agree, against)
	if pairs == 1 {
		text = "The one that is stronger on the bench breaks less on the water too."
		if agree == 0 {
			text = "The one that is stronger on the bench does not break less on the water."
		}
		return text + " One pair proves nothing: chance does that every other time."
	}
	switch {
	case b.Ranks.P < 0.05 && agree > against:
		return text + fmt.Sprintf(" That is more than chance would do (p %s).", PValue(b.Ranks.P))
	case b.Ranks.P < 0.05:
		return text + fmt.Sprintf(" That is the opposite of what the bench says, and more than chance would do (p %s).", PValue(b.Ranks.P))
	}
	return text + fmt.Sprintf(" Chance alone would do as much (p %s), so the bench foretells nothing here yet.", PValue(b.Ranks.P))
}

// BesideTable lays bench and water out: one row for each level known on both sides.
func BesideTable(b bench.BesideWater, sys units.System) (header []string, rows [][]string) {
	relative := b.Of == bench.OfUnknotted
	scale := "Mean"
	if relative {
		scale = "Of unknotted"
	}
	header = []string{b.Factor.Title, "Pulls", scale, "95% interval", "Loads", "Junction breaks", "Of loads", "95% interval"}
	for _, p := range b.Points {
		row := []string{p.Level, fmt.Sprint(p.Pulls), Strength(p.Strength, relative, sys), "?", Count(p.Loads), Count(p.Breaks), percent(p.Share), "?"}
		if p.Low != nil && p.High != nil {
			low, high := Strength(*p.Low, relative, sys), Strength(*p.High, relative, sys)
			row[3] = span(low, high)
			if relative {
				row[3] = strings.TrimSuffix(low, "%") + "–" + high
			}
		}
		if p.ShareLow != nil && p.ShareTop != nil {
			row[7] = strings.TrimSuffix(percent(*p.ShareLow), "%") + "–" + percent(*p.ShareTop)
		}
		rows = append(rows, row)
	}
	return header, rows
}

// BesideText writes bench and water for a terminal.
func BesideText(w io.Writer, b bench.BesideWater, sys units.System) error {
	var text strings.Builder
	text.WriteString(BesideSentence(b) + "\n")
	if len(b.Points) > 0 {
		header, rows := BesideTable(b, sys)
		text.WriteString("\n")
		writeTable(&text, header, rows, 1)
		text.WriteString("\n")
	}
	if len(b.Missing) > 0 {
		text.WriteString("On one side only: " + strings.Join(b.Missing, "; ") + ".\n")
	}
	text.WriteString(BesideHonest + "\n")
	_, err := io.WriteString(w, text.String())
	return err
}
