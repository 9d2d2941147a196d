package prose

import (
	"fmt"

	"rigtally/analytics/plan"
	"rigtally/internal/units"
)

// TagBudget says how many fly changes a tag has left. what names the tag and how
// its length is known: "Dropper 1, 165 mm as tied".
func TagBudget(what string, b plan.TagBudget, sys units.System) string {
	length := func(mm float64) string { return units.FormatLength(mm, sys) }
	switch {
	case b.LengthMM < b.LeastMM:
		return what + ": shorter than " + length(b.LeastMM) + " already. Tie it again."
	case b.Changes == 0:
		return what + ": no fly change left; the next would leave " + left(b.NextMM, sys) + "."
	}
	return fmt.Sprintf("%s: %s left, at %s each down to %s. One more would leave %s.", what, plural(b.Changes, "fly change", "fly changes"), length(b.WasteMM), length(b.LeastMM), left(b.NextMM, sys))
}

func left(mm float64, sys units.System) string {
	if mm <= 0 {
		return "no tag"
	}
	return units.FormatLength(mm, sys)
}

// TippetBudget says how many re-ties a tippet has left.
func TippetBudget(b plan.TippetBudget, sys units.System) string {
	length := func(mm float64) string { return units.FormatLength(mm, sys) }
	text := fmt.Sprintf("Tippet, %s: ", length(b.LengthMM))
	if b.Reties == 0 {
		return text + fmt.Sprintf("no re-tie left, at %s each down to %s.", length(b.CostMM), length(b.LeastMM))
	}
	return text + fmt.Sprintf("%s left, at %s each down to %s.", plural(b.Reties, "re-tie", "re-ties"), length(b.CostMM), length(b.LeastMM))
}

// Assumed says where a number that a plan rests on comes from.
func Assumed(a plan.Assumed) string {
	if a.From == plan.FromJournal {
		return "median of " + plural(a.N, "cut", "cuts") + " noted in this journal"
	}
	return string(a.From)
}
