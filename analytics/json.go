package analytics

import (
	"encoding/json"

	"rigtally/analytics/answer"
	"rigtally/analytics/change"
	"rigtally/journal"
)

// answerVersion is that of the JSON of rates and curves. Since 2 verdict and q are those of the
// like-for-like comparison, and more_hours stands in the place of hours_needed.
const answerVersion = 2

// groupJSON is a group as other programs may rely on it. Nothing is rounded; a
// value that does not exist is null.
type groupJSON struct {
	Level map[string]any `json:"level"`
	Group
	Low    *float64       `json:"low"`
	High   *float64       `json:"high"`
	Versus map[string]any `json:"versus"`
	Comparison
	Corrected *Corrected `json:"corrected"`
}

// MarshalJSON writes the answer in full precision, levels in storage units.
func (a RateAnswer) MarshalJSON() ([]byte, error) {
	var by []journal.Factor
	for _, b := range a.By {
		by = append(by, b.Factor)
	}
	groups := []groupJSON{}
	for _, g := range a.Groups {
		out := groupJSON{Level: answer.Levels(by, g.Level), Group: g, Low: answer.If(g.HasInterval, g.Low), High: answer.If(g.HasInterval, g.High), Corrected: g.Corrected}
		if g.Versus != nil {
			out.Versus, out.Comparison = answer.Levels(by, a.Groups[a.Reference].Level), *g.Versus
		}
		groups = append(groups, out)
	}
	return json.Marshal(struct {
		Version int            `json:"version"`
		Outcome string         `json:"outcome"`
		Unit    string         `json:"unit"`
		By      []string       `json:"by"`
		Given   []Given        `json:"given"`
		Groups  []groupJSON    `json:"groups"`
		Bet     any            `json:"bet"`
		LeftOut map[string]int `json:"left_out"`
		Told    journal.Told   `json:"told"`

		Changed *change.Finding `json:"changed"`
	}{answerVersion, a.Outcome.Key, a.Outcome.Unit(), answer.Keys(by), answer.List(a.Given), groups, a.BetJSON(), a.LeftOut, a.Told, a.Changed})
}
