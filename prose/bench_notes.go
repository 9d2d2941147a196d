package prose

import (
	"fmt"

	"rigtally/analytics/bench"
	"rigtally/internal/units"
)

// NoKnotTable says why no strengths come with the program.
const NoKnotTable = "No table of knot strengths comes with rigtally: no published one was found for junction knots in tippet. What stands here was pulled by you."

// PullSafely says what to mind when a line is pulled to breaking.
const PullSafely = "Wear eye protection and stand aside of the line, with nobody in the way: what breaks flies back. Pull slowly, keep hooks off, and follow the makers’ guidance for line and scale."

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
		line := "the Weibull line takes it as bearing at least that much, since the line itself did not break"
		if a.SlipsFail {
			line = "the Weibull line takes it so too"
		}
		return fmt.Sprintf("%s slipped. A knot that slips has failed: means and tests take the force at the slip for its strength; %s.", countOf(n.Count, "pull"), line)
	case bench.NoteHeld:
		return fmt.Sprintf("%s did not break, or broke at the grip: the line holds at least that much. The rank test and the Weibull line know that; means take the force as it is and understate.", countOf(n.Count, "pull"))
	case bench.NoteRelative:
		text := "The groups mix tippets, so strengths are given as shares of the mean of unknotted pulls of the same tippet, material and wetness"
		if n.Count > 0 {
			text += fmt.Sprintf("; %s without such pulls are left out of that", countOf(n.Count, "pull"))
		}
		return text + ". The scatter of that mean is in the interval of “of unknotted”, not in that of the 10% strength."
	case bench.NoteMixed:
		return fmt.Sprintf("The groups mix tippets and %s have no unknotted pulls of their tippet, material and wetness, so no Weibull line is drawn for a mixed group: narrow to one tippet, or pull some line without a knot.", countOf(n.Count, "pull"))
	case bench.NoteNoReference:
		if n.Count == 1 {
			return "One group has too few unknotted pulls of its tippet, material and wetness to say what share of the line’s strength is left: pull at least two."
		}
		return fmt.Sprintf("%s have too few unknotted pulls of their tippet, material and wetness to say what share of the line’s strength is left: pull at least two.", countOf(n.Count, "group"))
	case bench.NoteOneTier:
		return "Everything here was tied by one person: it shows how these hands tie, and another’s may differ."
	case bench.NoteFew:
		if n.Count == 1 {
			return "One group has fewer than 5 pulls, too few to see how they scatter: take its interval with care."
		}
		return fmt.Sprintf("%s have fewer than 5 pulls, too few to see how they scatter: take their intervals with care.", countOf(n.Count, "group"))
	case bench.NoteMixesKnots:
		if n.Count == 1 {
			return "One group mixes facings or props, so its mean is that of the mix: ask by junction and facing, or narrow to one."
		}
		return fmt.Sprintf("%s mix facings or props, so their means are those of the mix: ask by junction and facing, or narrow to one.", countOf(n.Count, "group"))
	case bench.NoteUnlike:
		return fmt.Sprintf("%s had no like in the reference group (same %s) and count for no comparison.", countOf(n.Count, "pull"), BenchAlike(a))
	case bench.NoteDisagree:
		return name + ": the test of means and the rank test disagree, as they do when a few pulls lie far out. Look at the dots before you trust either."
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
