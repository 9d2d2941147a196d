package prose

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"rigtally/analytics"
	"rigtally/analytics/claim"
	"rigtally/internal/units"
	"rigtally/journal"
)

// Grown names what a number is when there is more of it, and less: "longer",
// "shorter".
func Grown(f journal.Factor) (more, less string) {
	switch f.Quantity {
	case journal.Length:
		return "longer", "shorter"
	case journal.Diameter:
		return "thicker", "finer"
	case journal.Flow:
		return "higher", "lower"
	case journal.Temperature:
		return "warmer", "colder"
	}
	switch f.Key {
	case "hook-size":
		return "smaller", "larger" // the greater the number, the smaller the hook
	case "month", "season":
		return "later", "earlier"
	}
	return "greater", "smaller"
}

// Step says for how much of a number a claim's ratio is: "inch longer", "X finer".
func Step(f journal.Factor, sys units.System) string {
	more, less := Grown(f)
	us := sys == units.US
	switch {
	case f.Quantity == journal.Length && us:
		return "inch " + more
	case f.Quantity == journal.Length:
		return "25 mm " + more
	case f.Quantity == journal.Diameter:
		return "X " + less
	case f.Quantity == journal.Flow && us:
		return "100 cfs " + more
	case f.Quantity == journal.Flow:
		return "m³/s " + more
	case f.Quantity == journal.Temperature && us:
		return "5 °F " + more
	case f.Quantity == journal.Temperature:
		return "2 °C " + more
	case f.Key == "hook-size":
		return "two sizes " + more
	case f.Key == "month" || f.Key == "season":
		return f.Key + " " + more
	}
	return "step " + more
}

// ClaimTest says what is computed for a claim: "Twists per hour, legged against
// slim; angler and water alike".
func ClaimTest(c journal.Claim, o journal.Outcome, f journal.Factor, sys units.System) string {
	text := Measure(o) + ", "
	if f.Quantity == journal.Words {
		text += strings.Join(c.Level, " or ") + " against " + strings.Join(c.Versus, " or ")
	} else {
		text += "for each " + Step(f, sys)
	}
	if len(c.Given) > 0 {
		text += "; " + listed(Givens(c.Given)) + " held equal"
	}
	return text
}

// Givens names the factors that a comparison holds alike.
func Givens(given []string) []string {
	names := make([]string, len(given))
	for i, g := range given {
		key, linear := strings.CutSuffix(g, journal.LinearGiven)
		names[i] = key
		if f, err := journal.FactorByKey(key); err == nil {
			names[i] = strings.ToLower(f.Title)
		}
		if linear {
			names[i] += " (as a straight line)"
		}
	}
	return names
}

func listed(names []string) string {
	if n := len(names); n > 1 {
		return strings.Join(names[:n-1], ", ") + " and " + names[n-1]
	}
	return strings.Join(names, "")
}

// ClaimRatio says a claim's ratio with its interval: "1.70 times (1.31–2.20)",
// for a number "1.12 times (1.05–1.20) per inch longer".
func ClaimRatio(a claim.Answer, sys units.System) string {
	if a.Ratio == nil {
		return "?"
	}
	text := Ratio(*a.Ratio) + " times"
	if a.Low != nil && a.High != nil {
		text += " (" + Ratio(*a.Low) + "–" + Ratio(*a.High) + ")"
	}
	if a.Step != 0 {
		text += " per " + Step(a.Factor, sys)
	}
	return text
}

// ClaimHours says what is behind a claim: "412 h".
func ClaimHours(a claim.Answer) string { return fmt.Sprintf("%.0f h", a.Total.Hours) }

// ClaimNeed says how many hours a claim needs in all, "" when nothing tells.
func ClaimNeed(a claim.Answer) string {
	if a.HoursNeeded == nil {
		return ""
	}
	const most = 100_000 // nobody fishes that long
	if *a.HoursNeeded > most {
		return "over 100000 h"
	}
	return "about " + Figure(math.Ceil(*a.HoursNeeded)) + " h"
}

// ClaimSides says what was fished on each side of a claim, a line each.
func ClaimSides(a claim.Answer) []string {
	side := func(name string, s claim.Side) string {
		return fmt.Sprintf("%s: %s %s in %s %s, %s", name, Count(tenth(s.Events)), a.Outcome.Events, exposure(tenth(s.Exposure)), a.Outcome.Exposure, sessions(s.Sessions))
	}
	if a.Step != 0 {
		return []string{side("In all", a.Total)}
	}
	return []string{side(capital(strings.Join(a.Claim.Level, " or ")), a.Level), side(capital(strings.Join(a.Claim.Versus, " or ")), a.Versus)}
}

func tenth(v float64) float64 { return math.Round(v*10) / 10 }

func sessions(n int) string {
	if n == 1 {
		return "1 session"
	}
	return fmt.Sprintf("%d sessions", n)
}

// ClaimNotes says why a claim could not be tested, and what else the reader
// must know, a sentence each.
func ClaimNotes(a claim.Answer) []string {
	var list []string
	if a.Problem != nil {
		for _, p := range a.Problem.Problems {
			list = append(list, capital(strings.TrimSuffix(p, "."))+".")
		}
	}
	for _, n := range a.Notes {
		if text := claimNote(a, n); text != "" {
			list = append(list, text)
		}
	}
	if left := LeftOut(a.LeftOut); len(left) > 0 {
		list = append(list, "Left out: "+strings.Join(left, "; ")+".")
	}
	return list
}

func claimNote(a claim.Answer, n analytics.Note) string {
	sides := [][]string{a.Claim.Level, a.Claim.Versus, slices.Concat(a.Claim.Level, a.Claim.Versus)}
	switch n.Kind {
	case analytics.NoteNothing:
		return "The journal has nothing on it yet."
	case claim.NoteOneSide:
		if n.Count < 1 || n.Count > len(sides) {
			return ""
		}
		return fmt.Sprintf("Nothing was fished with %s %s, so there is nothing to compare.", strings.ToLower(a.Factor.Title), strings.Join(sides[n.Count-1], " or "))
	case claim.NoteOneValue:
		return fmt.Sprintf("%s was always the same, so there is nothing to compare.", a.Factor.Title)
	case analytics.NoteNoEvents:
		return fmt.Sprintf("No %s at all in %s %s, so can't tell yet.", a.Outcome.Events, exposure(tenth(a.Total.Exposure)), a.Outcome.Exposure)
	case claim.NoteSmallOdds:
		return "If there is a difference, it is small: the 90% interval lies within 0.80 to 1.25."
	case analytics.NoteTooFewToCorrect:
		return fmt.Sprintf("%s can't show how sessions differ; a few more are needed.", capital(sessions(n.Count)))
	case analytics.NoteFewToCorrect:
		return fmt.Sprintf("Few sessions (%d), so the interval is wider: how much they differ is not well known.", n.Count)
	case analytics.NoteOneSession:
		return "One side was fished in a single session, which says nothing about how sessions differ, so there is no interval."
	case analytics.NoteExplained:
		return fmt.Sprintf("%s goes so closely with what is held equal (%s) that nothing is left to compare; hold fewer things equal, or fish the other combinations too.", a.Factor.Title, listed(Givens(a.Claim.Given)))
	case analytics.NotePenalised:
		return "One side, or something held equal, has none at all; Firth’s penalty keeps the estimate from running off to infinity."
	case analytics.NoteNoneToCorrect:
		return fmt.Sprintf("One side has no %s at all, so there is no ratio.", a.Outcome.Events)
	case analytics.NoteUnsettled:
		return "The comparison found no stable answer; hold fewer things equal."
	}
	return note(analytics.RateAnswer{Outcome: a.Outcome}, n, units.Metric)
}
