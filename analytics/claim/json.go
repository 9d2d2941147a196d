package claim

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"strconv"
	"strings"

	"rigtally/analytics/answer"
	"rigtally/journal"
)

// answerJSON is a claim on the board as other programs may rely on it. Nothing is
// rounded; a value that does not exist is null.
type answerJSON struct {
	journal.Claim
	Number      int            `json:"number"`
	Unit        string         `json:"unit"`
	Standing    Standing       `json:"standing"`
	Step        *float64       `json:"step"`
	Ratio       *float64       `json:"ratio"`
	Low         *float64       `json:"ratio_low"`
	High        *float64       `json:"ratio_high"`
	SELog       *float64       `json:"se_log"`
	DF          *float64       `json:"df"`
	Method      string         `json:"method,omitempty"`
	PFor        *float64       `json:"p"`
	QFor        *float64       `json:"q"`
	PAgainst    *float64       `json:"p_against"`
	QAgainst    *float64       `json:"q_against"`
	Stints      int            `json:"stints"`
	Sessions    int            `json:"sessions"`
	Hours       float64        `json:"hours"`
	Exposure    float64        `json:"exposure"`
	Events      float64        `json:"events"`
	HoursNeeded *float64       `json:"hours_needed"`
	Notes       []string       `json:"notes"`
	LeftOut     map[string]int `json:"left_out"`
	Problem     []string       `json:"problem,omitempty"`
}

// MarshalJSON writes the board in full precision, steps in storage units.
func (b Board) MarshalJSON() ([]byte, error) {
	out := struct {
		Tested  int          `json:"tested"`
		Claims  []answerJSON `json:"claims"`
		Retired []Retired    `json:"retired"`
	}{b.Tested, []answerJSON{}, append([]Retired{}, b.Rest...)}
	for _, c := range b.Claims {
		out.Claims = append(out.Claims, c.json())
	}
	return json.Marshal(out)
}

func (a Answer) json() answerJSON {
	out := answerJSON{Claim: a.Claim, Number: a.Number, Unit: a.Outcome.Unit(), Standing: a.Standing, Ratio: a.Ratio, Low: a.Low, High: a.High,
		SELog: a.SELog, DF: a.DF, Method: a.Method, PFor: a.PFor, QFor: a.QFor, PAgainst: a.PAgainst, QAgainst: a.QAgainst,
		Stints: a.Total.Stints, Sessions: a.Total.Sessions, Hours: a.Total.Hours, Exposure: a.Total.Exposure, Events: a.Total.Events,
		HoursNeeded: a.HoursNeeded, Notes: []string{}, LeftOut: map[string]int{}}
	if a.Step != 0 {
		out.Step = &a.Step
	}
	for _, n := range a.Notes {
		out.Notes = append(out.Notes, string(n.Kind))
	}
	for reason, n := range a.LeftOut {
		out.LeftOut[reason] = n
	}
	if a.Problem != nil {
		out.Problem = a.Problem.Problems
	}
	return out
}

// WriteCSV writes a header and a row for each claim on the board, in full
// precision; a cell is empty where a value does not exist.
func (b Board) WriteCSV(w io.Writer) error {
	rows := [][]string{{"number", "id", "words", "outcome", "factor", "direction", "level", "versus", "given", "source", "standing", "step",
		"ratio", "ratio_low", "ratio_high", "p", "q", "p_against", "q_against", "se_log", "df", "method",
		"stints", "sessions", "hours", "exposure", "events", "hours_needed"}}
	for _, a := range b.Claims {
		c, j := a.Claim, a.json()
		list := func(words []string) string { return strings.Join(words, ",") }
		rows = append(rows, []string{strconv.Itoa(a.Number), c.ID.String(), c.Words, c.Outcome, c.Factor, string(c.Direction), list(c.Level), list(c.Versus), list(c.Given), string(c.Source),
			string(a.Standing), answer.Decimal(j.Step), answer.Decimal(a.Ratio), answer.Decimal(a.Low), answer.Decimal(a.High), answer.Decimal(a.PFor), answer.Decimal(a.QFor), answer.Decimal(a.PAgainst), answer.Decimal(a.QAgainst),
			answer.Decimal(a.SELog), answer.Decimal(a.DF), a.Method, strconv.Itoa(a.Total.Stints), strconv.Itoa(a.Total.Sessions), answer.Decimal(&a.Total.Hours), answer.Decimal(&a.Total.Exposure),
			answer.Decimal(&a.Total.Events), answer.Decimal(a.HoursNeeded)})
	}
	if err := csv.NewWriter(w).WriteAll(rows); err != nil {
		return fmt.Errorf("write the claims as CSV: %w", err)
	}
	return nil
}
