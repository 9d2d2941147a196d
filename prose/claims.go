package prose

import (
	"fmt"
	"math"
	"rigtally/analytics"
	"rigtally/analytics/answer"
	"rigtally/analytics/claim"
	"rigtally/analytics/stat"
	"rigtally/internal/table"
	"rigtally/internal/units"
	"rigtally/journal"
	"slices"
	"strings"
)

// Grown names what a number is when there is more of it, and less: "longer",
// "shorter".
func Grown(f journal.Factor) (more, less string) {
	switch f.Quantity {
	case journal.Length:
		return "longer", "shorter"
	case journal.Diameter:
		return "thicker", "finer"
	case journal.Flow, journal.Percent:
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
	case f.Quantity == journal.Percent:
		return "25% of years " + more
	case f.Key == "hook-size":
		return "two sizes " + more
	case f.Key == "month" || f.Key == "season":
		return f.Key + " " + more
	}
	return "step " + more
}

// ClaimTest says what is computed for a claim: "Twists per hour, legged against
// slim; angler and water held equal".
func ClaimTest(a claim.Answer, sys units.System) string {
	text := Measure(a.Outcome) + ", "
	if a.Factor.Quantity == journal.Words {
		text += strings.Join(a.Claim.Level, " or ") + " against " + strings.Join(a.Claim.Versus, " or ")
	} else {
		text += "for each " + Step(a.Factor, sys)
	}
	if given := ClaimGivens(a); len(given) > 0 {
		text += "; " + Listed(given) + " held equal"
	}
	return text
}

// ClaimGivens names what a claim holds equal: what it was tested with or, where it could not be, what it names.
func ClaimGivens(a claim.Answer) []string {
	given := a.Claim.Given
	if len(a.Given) > 0 {
		given = each(a.Given, analytics.Given.String)
	}
	if slices.Equal(given, []string{journal.NoGiven}) {
		return nil
	}
	return Givens(given)
}

// ClaimStanding says how a claim does: "holds here", "settled by itself, one of 11 asked".
func ClaimStanding(a claim.Answer) string {
	if a.Standing == claim.Settled {
		return fmt.Sprintf("%s, one of %d asked", a.Standing, a.Asked)
	}
	if a.Standing == claim.Same {
		return string(NoMatter)
	}
	return string(a.Standing)
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

// ClaimRatio says a claim's ratio with its interval: "1.70 times (1.31–2.20)",
// for a number "1.12 times (1.05–1.20) per inch longer".
func ClaimRatio(a claim.Answer, sys units.System) string {
	if a.Ratio == nil {
		return "?"
	}
	text := Ratio(*a.Ratio) + " times"
	if a.Low != nil && a.High != nil {
		text += " (" + ratioSpan(a.Low, a.High) + ")"
	}
	if a.Step != 0 {
		text += " per " + Step(a.Factor, sys)
	}
	return text
}

// ClaimPlainly says a claim's ratio as people do: "about 25% more twists per inch longer".
func ClaimPlainly(a claim.Answer, sys units.System) string {
	if a.Ratio == nil {
		return "can’t be compared"
	}
	text := Plainly(a.Outcome, *a.Ratio)
	if a.Step != 0 {
		text += " per " + Step(a.Factor, sys)
	}
	return text
}

// ClaimHours says what is behind a claim: "412 h".
func ClaimHours(a claim.Answer) string { return Count(math.Round(a.Total.Hours)) + " h" }

// ClaimLate says after how much of its evidence a claim was written, "212 h of these", "" when after none.
func ClaimLate(a claim.Answer) string {
	if a.Stated == nil {
		return ""
	}
	return FishedHours(a.Stated.Before) + " of these"
}

// EnoughFor is said of an open question on which enough was fished: so large a difference would have shown.
const EnoughFor = "none for 1.5 times"

// ClaimMore says how many hours more a claim needs, "none" when it is settled, "" when nothing tells.
func ClaimMore(a claim.Answer) string {
	switch {
	case a.MoreHours == nil:
		return ""
	case *a.MoreHours == 0 && (a.Verdict == stat.Differs || a.Verdict == stat.SameForPractice):
		return "none"
	case *a.MoreHours == 0:
		return EnoughFor
	}
	return AboutHours(*a.MoreHours)
}

// ClaimSides says what was fished on each side of a claim, a line each.
func ClaimSides(a claim.Answer) []string {
	side := func(name string, s claim.Side) string {
		return fmt.Sprintf("%s: %s %s in %s %s, %s", name, Count(tenth(s.Events)), a.Outcome.Events, Tenths(s.Exposure), Against(a.Outcome), Several(s.Sessions, "session"))
	}
	if a.Step != 0 {
		return []string{side("In all", a.Total)}
	}
	return []string{side(Capital(strings.Join(a.Claim.Level, " or ")), a.Level), side(Capital(strings.Join(a.Claim.Versus, " or ")), a.Versus)}
}

// ClaimNotes says why a claim could not be tested, and what else the reader
// must know, a sentence each.
func ClaimNotes(a claim.Answer) []string {
	var list []string
	if a.Problem != nil {
		for _, p := range a.Problem.Problems {
			list = append(list, Capital(strings.TrimSuffix(p, "."))+".")
		}
	}
	list = append(list, claimSettled(a), claimStated(a.Stated))
	list = slices.DeleteFunc(list, func(text string) bool { return text == "" })
	list = append(list, worded(a.Notes, func(n analytics.Note) string { return claimNote(a, n) })...)
	if left := LeftOut(a.LeftOut); len(left) > 0 {
		list = append(list, "Left out: "+strings.Join(left, "; ")+".")
	}
	return list
}

// claimSettled says of a claim that is settled by itself alone which way, and why it is not marked.
func claimSettled(a claim.Answer) string {
	if a.Standing != claim.Settled {
		return ""
	}
	way := "against the claim"
	if a.SpeaksFor() {
		way = "as the claim says"
	}
	return fmt.Sprintf("By itself this is settled, %s. Of %d questions asked at once some come out so though nothing is behind them, and among them it does not stand out enough.", way, a.Asked)
}

// claimStated says that a claim was written after the evidence, and what came after it.
func claimStated(s *claim.Stated) string {
	if s == nil {
		return ""
	}
	text := fmt.Sprintf("Stated on %s, after %s of these hours, which it may be drawn from.", Day(s.Day), FishedHours(s.Before))
	switch {
	case s.Since == 0:
		return text + " Nothing has been fished on it since."
	case s.Ratio == nil:
		return text + fmt.Sprintf(" The %s since then are too few for a ratio.", FishedHours(s.Since))
	}
	return text + fmt.Sprintf(" In the %s since then: %s times.", FishedHours(s.Since), Ratio(*s.Ratio))
}

// claimStands says who or what stands in the way of like for like.
func claimStands(a claim.Answer, n analytics.Note) string {
	own, other := strings.Join(a.Claim.Level, " or "), strings.Join(a.Claim.Versus, " or ")
	words := Listed(n.Words)
	switch {
	case len(n.Words) == 0:
		return fmt.Sprintf("%s goes so closely with what is held equal (%s) that like for like can't be had; hold fewer things equal, or fish the other combinations too.", a.Factor.Title, Listed(ClaimGivens(a)))
	case n.Factor.Key == "angler":
		return fmt.Sprintf("Only %s fished %s, and never %s, so like for like can't be had; somebody has to fish both.", words, own, other)
	}
	return fmt.Sprintf("With %s, %s was always %s, and never so with %s, so like for like can't be had; fish both alike.", own, strings.ToLower(n.Factor.Title), words, other)
}

func claimNote(a claim.Answer, n analytics.Note) string {
	sides := [][]string{a.Claim.Level, a.Claim.Versus, slices.Concat(a.Claim.Level, a.Claim.Versus)}
	switch n.Kind {
	case analytics.NoteNothing:
		if text := ungauged(a.LeftOut, " that counts here"); text != "" {
			return text
		}
	case analytics.NoteExplained:
		return claimStands(a, n)
	case claim.NoteOneSide:
		if n.Count < 1 || n.Count > len(sides) {
			return ""
		}
		return fmt.Sprintf("Nothing was fished with %s %s, so there is nothing to compare.", strings.ToLower(a.Factor.Title), strings.Join(sides[n.Count-1], " or "))
	}
	if text, ok := map[analytics.NoteKind]string{
		analytics.NoteNothing:         "The journal has nothing on it yet.",
		claim.NoteOneValue:            fmt.Sprintf("%s was always the same, so there is nothing to compare.", a.Factor.Title),
		analytics.NoteNoEvents:        fmt.Sprintf("No %s at all in %s %s, so can't tell yet.", a.Outcome.Events, Tenths(a.Total.Exposure), Against(a.Outcome)),
		analytics.NoteTooFewToCorrect: fmt.Sprintf("%s can't show how sessions differ; a few more are needed.", Capital(Several(n.Count, "session"))),
		analytics.NoteFewToCorrect:    fmt.Sprintf("Few sessions (%d), so the interval is wider: how much they differ is not well known.", n.Count),
		analytics.NoteOneSession:      "One side was fished in a single session, which says nothing about how sessions differ, so there is no interval.",
		analytics.NotePenalised:       "Something that is compared or held equal has none at all; Firth’s penalty keeps the estimate from running off to infinity.",
		analytics.NoteNoneToCorrect:   fmt.Sprintf("One side has no %s at all, so there is no ratio.", a.Outcome.Events),
		analytics.NoteUnsettled:       "The comparison found no stable answer; hold fewer things equal.",
	}[n.Kind]; ok {
		return text
	}
	return note(analytics.RateAnswer{Outcome: a.Outcome}, n, units.Metric)
}

// Board says in a sentence how the claims do together.
func Board(b claim.Board) string {
	if len(b.Claims) == 0 {
		return "No claim is on the board."
	}
	count := map[claim.Standing]int{}
	for _, c := range b.Claims {
		count[c.Standing]++
	}
	var parts []string
	for _, s := range []struct {
		standing  claim.Standing
		one, many string
	}{
		{claim.Holds, "holds here", "hold here"},
		{claim.OppositeHolds, "has an opposite that holds", "have opposites that hold"},
		{claim.Settled, "is settled only by itself", "are settled only by themselves"},
		{claim.LeansFor, "leans that way", "lean that way"},
		{claim.LeansOther, "leans the other way", "lean the other way"},
		{claim.Same, "makes no difference that matters", "make no difference that matters"},
		{claim.OpenStill, "can't be judged yet", "can't be judged yet"},
	} {
		switch n := count[s.standing]; n {
		case 0:
		case 1:
			parts = append(parts, "1 "+s.one)
		default:
			parts = append(parts, fmt.Sprintf("%d %s", n, s.many))
		}
	}
	return fmt.Sprintf("Of %s on the board, %s.", Several(len(b.Claims), "claim"), Listed(parts))
}

// SayBoard puts a board into words and a table: what must be known of each claim stands below it.
// Claims are numbered with those retired, so that a number stays the same.
func SayBoard(b claim.Board, sys units.System) Said {
	s := Said{Title: "Rules of thumb", Sentence: Board(b)}
	if len(b.Claims) > 0 {
		s.Tables = []table.Table{BoardTable(b, sys)}
		for _, c := range b.Claims {
			s.After = append(s.After, fmt.Sprintf("%d. %s.", c.Number, Capital(ClaimTest(c, sys))))
			for _, n := range ClaimNotes(c) {
				s.After = append(s.After, "   "+n)
			}
		}
		if b.Tested > 0 {
			s.Notes = []string{fmt.Sprintf("q is the two-sided p among the comparisons of the claim's own question; in parentheses among all %s tested at once, which decides what holds.", Several(b.Tested, "claim"))}
		}
	}
	for i, c := range b.Rest {
		if i == 0 {
			s.Notes = append(s.Notes, "Retired:")
		}
		s.Notes = append(s.Notes, fmt.Sprintf("%d. %s", c.Number, c.Words))
	}
	return s
}

// BoardTable lays the claims on the board out, one in a row.
func BoardTable(b claim.Board, sys units.System) table.Table {
	type row = claim.Answer
	var c table.Columns[row]
	list := func(key string, words func(row) []string) {
		c.Plain(key, func(a row) string { return strings.Join(words(a), ",") })
	}
	c.Count("number", "No.", func(a row) int { return a.Number }).Words = true
	c.Plain("id", func(a row) string { return a.Claim.ID.String() })
	c.Words("words", "Claim", func(a row) string { return a.Claim.Words })
	c.Plain("outcome", func(a row) string { return a.Claim.Outcome })
	c.Plain("factor", func(a row) string { return a.Claim.Factor })
	c.Plain("direction", func(a row) string { return string(a.Claim.Direction) })
	list("level", func(a row) []string { return a.Claim.Level })
	list("versus", func(a row) []string { return a.Claim.Versus })
	list("given", func(a row) []string { return a.Claim.Given })
	c.Plain("source", func(a row) string { return string(a.Claim.Source) })
	c.Add("standing", "Verdict", func(a row) table.Cell { return table.Cell{Text: ClaimStanding(a), Value: string(a.Standing)} }).Words = true
	c.Value("step", func(a row) *float64 { return answer.If(a.Step != 0, a.Step) })
	c.Number("ratio", "Times", Ratio, func(a row) *float64 { return a.Ratio })
	c.Said("interval", "95% interval", func(a row) string {
		if a.High == nil {
			return table.Unknown
		}
		return ratioSpan(a.Low, a.High)
	})
	c.Said("each", "For each", func(a row) string {
		if a.Step == 0 {
			return ""
		}
		return Step(a.Factor, sys)
	}).Spare = 2
	c.Said("q", "q", func(a row) string {
		if a.QListed == nil {
			return table.Unknown
		}
		return PValue(*a.Q) + " (" + PValue(*a.QListed) + ")"
	}).Spare = 3
	c.Values(func(a row) []*float64 {
		return []*float64{a.Low, a.High, a.P, a.Q, a.QListed, a.SELog, a.DF}
	}, "ratio_low", "ratio_high", "p", "q", "q_listed", "se_log", "df")
	c.Plain("verdict", func(a row) string { return string(a.Verdict) })
	list("held_equal", func(a row) []string { return each(a.Given, analytics.Given.String) })
	c.Plain("method", func(a row) string { return a.Method })
	c.Add("stints", "", func(a row) table.Cell { return table.Count(a.Total.Stints) }).For = table.Programs
	c.Add("sessions", "", func(a row) table.Cell { return table.Count(a.Total.Sessions) }).For = table.Programs
	c.Number("hours", "Hours behind it", func(v float64) string { return Count(math.Round(v)) }, func(a row) *float64 { return &a.Total.Hours }).Spare = 1
	c.Values(func(a row) []*float64 { return []*float64{&a.Total.Exposure, &a.Total.Events} }, "exposure", "events")
	c.Add("more_hours", "Hours more", func(a row) table.Cell {
		text := ClaimMore(a)
		if text == "" {
			text = table.Unknown
		}
		return table.Number(text, a.MoreHours)
	}).Spare = 4
	c.Values(func(a row) []*float64 {
		if a.Stated == nil {
			return nil
		}
		return []*float64{&a.Stated.Before, &a.Stated.Since, a.Stated.Ratio}
	}, "hours_before_stated", "hours_since_stated", "ratio_since_stated")
	return c.Make(b.Claims)
}
