package prose

import (
	"fmt"

	"rigtally/analytics/bench"
	"rigtally/internal/units"
)

// NoKnotTable says why no strengths come with the program.
const NoKnotTable = "rigtally comes with no table of knot strengths: no published one was found for junction knots in tippet. Every number here comes from your own pulls."

// PullSafely says what to mind when a line is pulled to breaking.
const PullSafely = "Wear eye protection. Stand to one side of the line, with nobody in the way: what breaks flies back. Pull slowly, keep hooks off, and follow the makers’ directions for line and scale."

// BenchNotes says what the reader of an answer must know, a sentence each.
func BenchNotes(a bench.Answer, sys units.System) []string {
	var list []string
	for _, n := range a.Notes {
		if text := benchNote(a, n, sys); text != "" {
			list = append(list, text)
		}
	}
	return list
}

func benchNote(a bench.Answer, n bench.Note, sys units.System) string {
	name := ""
	if n.Group >= 0 {
		name = capital(BenchLevel(a, a.Groups[n.Group], sys))
	}
	switch n.Kind {
	case bench.NoteSlips:
		line := "the Weibull line counts it as holding at least that much, since the line itself did not break"
		if a.SlipsFail {
			line = "so does the Weibull line"
		}
		return fmt.Sprintf("%s slipped. A knot that slips has failed: means and tests use the force at the slip as its strength; %s.", countOf(n.Count, "pull"), line)
	case bench.NoteHeld:
		return fmt.Sprintf("%s did not break, or broke at the grip: the line holds at least that much. The rank test and the Weibull line allow for that; means use the force as it is and come out low.", countOf(n.Count, "pull"))
	case bench.NoteRelative:
		text := "The groups mix tippets, so each strength is a share of the mean of unknotted pulls with the same tippet, material and wetness"
		if n.Count > 0 {
			text += fmt.Sprintf("; %s left out for lack of them", countOf(n.Count, "pull"))
		}
		return text + ". The scatter of that mean counts in the interval of “of unknotted”, not in that of the 10% strength."
	case bench.NoteMixed:
		return fmt.Sprintf("The groups mix tippets, and %s no unknotted pulls with the same tippet, material and wetness, so a mixed group gets no Weibull line: narrow to one tippet, or pull some line without a knot.", have(n.Count, "pull"))
	case bench.NoteNoReference:
		return have(n.Count, "group") + " too few unknotted pulls with the same tippet, material and wetness to say what share of the line’s strength is left: pull at least two."
	case bench.NoteOneTier:
		return "One person tied every knot here; another pair of hands may get other numbers."
	case bench.NoteFew:
		return have(n.Count, "group") + " fewer than 5 pulls, too few to see how they scatter: take the interval with care."
	case bench.NoteMixesKnots:
		if n.Count == 1 {
			return "One group mixes facings or props, so its mean is that of the mix: ask by junction and facing, or narrow to one."
		}
		return fmt.Sprintf("%s mix facings or props, so their means are those of the mix: ask by junction and facing, or narrow to one.", countOf(n.Count, "group"))
	case bench.NoteUnlike:
		return fmt.Sprintf("%s had no match in the reference group (same %s) and no part in the comparison.", countOf(n.Count, "pull"), BenchAlike(a))
	case bench.NoteDisagree:
		return name + ": the test of means and the rank test disagree, as happens when a few pulls are far from the rest. Look at the dots before you trust either."
	case bench.NoteMany:
		return fmt.Sprintf("%d comparisons were made at once; q is p adjusted for that.", n.Count)
	case bench.NoteUnbounded:
		return name + ": the unknotted pulls scatter so much that the share of their strength has no bounded interval; pull more line without a knot."
	}
	return ""
}

// BenchLeftOut says what an answer could not use.
func BenchLeftOut(a bench.Answer) []string {
	return LeftOut(a.LeftOut)
}
