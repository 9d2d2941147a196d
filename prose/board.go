package prose

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"rigtally/analytics/claim"
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
		{claim.OpenStill, "can't be told yet", "can't be told yet"},
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

// BoardText writes a board for a terminal: sentence, table, and what must be
// known of each claim. Claims are numbered with those retired, so that a number
// stays the same.
func BoardText(w io.Writer, b claim.Board, sys units.System) error {
	var out strings.Builder
	out.WriteString(Board(b) + "\n")
	if len(b.Claims) > 0 {
		header := []string{"No.", "Claim", "Verdict", "Times", "95% interval", "For each", "q", "Hours behind it", "Needed in all"}
		var rows [][]string
		for _, c := range b.Claims {
			rows = append(rows, boardRow(c, sys))
		}
		out.WriteString("\n")
		writeTable(&out, header, rows, 3)
		out.WriteString("\n")
		for _, c := range b.Claims {
			fmt.Fprintf(&out, "%d. %s\n", c.Number, capital(ClaimTest(c.Claim, c.Outcome, c.Factor, sys))+".")
			for _, n := range ClaimNotes(c) {
				out.WriteString("   " + n + "\n")
			}
		}
		if b.Tested > 0 {
			fmt.Fprintf(&out, "\nq is the one-sided p for the claim, adjusted for %s tested at once (in brackets: that for the opposite).\n", counted(b.Tested, "claim"))
		}
	}
	for i, c := range b.Rest {
		if i == 0 {
			out.WriteString("\nRetired:\n")
		}
		fmt.Fprintf(&out, "%d. %s\n", c.Number, c.Words)
	}
	_, err := io.WriteString(w, out.String())
	return err
}

func boardRow(c claim.Answer, sys units.System) []string {
	ratio, interval, step, q, need := "?", "?", "", "?", ClaimNeed(c)
	if c.Ratio != nil {
		ratio = Ratio(*c.Ratio)
	}
	if c.Low != nil && c.High != nil {
		interval = Ratio(*c.Low) + "–" + Ratio(*c.High)
	}
	if c.Step != 0 {
		step = Step(c.Factor, sys)
	}
	if c.QFor != nil {
		q = PValue(*c.QFor) + " (" + PValue(*c.QAgainst) + ")"
	}
	if need == "" {
		need = "?"
	}
	hours := strconv.FormatFloat(math.Round(c.Total.Hours), 'f', 0, 64)
	return []string{strconv.Itoa(c.Number), c.Claim.Words, string(c.Standing), ratio, interval, step, q, hours, need}
}
