package claim

import (
	"encoding/json"

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
