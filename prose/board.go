package prose

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"rigtally/analytics/claim"
	"rigtally/internal/table"
	"rigtally/internal/units"
)

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
		{claim.LeansFor, "leans that way", "lean that way"},
		{claim.LeansOther, "leans the other way", "lean the other way"},
		{claim.HoldsNot, "does not hold here", "do not hold here"},
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
	return fmt.Sprintf("Of %s on the board, %s.", counted(len(b.Claims), "claim"), listed(parts))
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// SayBoard puts a board into words and a table: what must be known of each claim stands below it.
// Claims are numbered with those retired, so that a number stays the same.
func SayBoard(b claim.Board, sys units.System) Said {
	s := Said{Title: "Rules of thumb", Sentence: Board(b)}
	if len(b.Claims) > 0 {
		s.Tables = []table.Table{BoardTable(b, sys)}
		for _, c := range b.Claims {
			s.After = append(s.After, fmt.Sprintf("%d. %s.", c.Number, capital(ClaimTest(c.Claim, c.Outcome, c.Factor, sys))))
			for _, n := range ClaimNotes(c) {
				s.After = append(s.After, "   "+n)
			}
		}
		if b.Tested > 0 {
			s.Notes = []string{fmt.Sprintf("q is the one-sided p for the claim, adjusted for %s tested at once (in parentheses, the p for the opposite).", counted(b.Tested, "claim"))}
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
	c.Words("standing", "Verdict", func(a row) string { return string(a.Standing) })
	c.Value("step", func(a row) *float64 {
		if a.Step == 0 {
			return nil
		}
		return &a.Step
	})
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
		if a.QFor == nil {
			return table.Unknown
		}
		return PValue(*a.QFor) + " (" + PValue(*a.QAgainst) + ")"
	}).Spare = 3
	c.Value("ratio_low", func(a row) *float64 { return a.Low })
	c.Value("ratio_high", func(a row) *float64 { return a.High })
	c.Value("p", func(a row) *float64 { return a.PFor })
	c.Value("q", func(a row) *float64 { return a.QFor })
	c.Value("p_against", func(a row) *float64 { return a.PAgainst })
	c.Value("q_against", func(a row) *float64 { return a.QAgainst })
	c.Value("se_log", func(a row) *float64 { return a.SELog })
	c.Value("df", func(a row) *float64 { return a.DF })
	c.Plain("method", func(a row) string { return a.Method })
	c.Add("stints", "", func(a row) table.Cell { return table.Count(a.Total.Stints) }).For = table.Programs
	c.Add("sessions", "", func(a row) table.Cell { return table.Count(a.Total.Sessions) }).For = table.Programs
	c.Number("hours", "Hours behind it", func(v float64) string { return strconv.FormatFloat(math.Round(v), 'f', 0, 64) }, func(a row) *float64 { return &a.Total.Hours }).Spare = 1
	c.Value("exposure", func(a row) *float64 { return &a.Total.Exposure })
	c.Value("events", func(a row) *float64 { return &a.Total.Events })
	c.Add("hours_needed", "Needed in all", func(a row) table.Cell {
		text := ClaimNeed(a)
		if text == "" {
			text = table.Unknown
		}
		return table.Number(text, a.HoursNeeded)
	}).Spare = 4
	return c.Make(b.Claims)
}
