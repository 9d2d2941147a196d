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

// betJSON is a bet as other programs may rely on it.
type betJSON struct {
	Option  map[string]any `json:"option"`
	Against map[string]any `json:"against"`
	Chance  float64        `json:"chance"`
	Prior   float64        `json:"prior_sd"`
	Best    bool           `json:"best"`
}

// BetJSON is the bet with the levels that it is about, in storage units; nil without one.
func (a RateAnswer) BetJSON() any {
	if a.Bet == nil {
		return nil
	}
	factors := answer.Each(a.By, func(b journal.By) journal.Factor { return b.Factor })
	level := func(g int) map[string]any { return answer.Levels(factors, a.Groups[g].Level) }
	return betJSON{level(a.Bet.Option), level(a.Bet.Against), a.Bet.Chance, a.Bet.Prior, a.Bet.Best()}
}

// MarshalJSON adds whether it is a best bet.
func (b CurveBet) MarshalJSON() ([]byte, error) {
	type plain CurveBet
	return json.Marshal(struct {
		plain
		Best bool `json:"best"`
	}{plain(b), b.Best()})
}

// curvePointJSON has null for what does not exist.
type curvePointJSON struct {
	At    float64  `json:"at"`
	Rate  float64  `json:"rate"`
	Low   *float64 `json:"low"`
	High  *float64 `json:"high"`
	SELog *float64 `json:"se_log"`
}

type pJSON struct {
	P *float64 `json:"p"`
}

// MarshalJSON writes the answer in full precision, values in storage units.
func (a CurveAnswer) MarshalJSON() ([]byte, error) {
	points, best := []curvePointJSON{}, "lowest"
	for _, p := range a.Points {
		points = append(points, curvePointJSON{p.At, p.Rate, answer.If(p.HasInterval, p.Low), answer.If(p.HasInterval, p.High), answer.If(p.HasInterval, p.SELog)})
	}
	lowest, highest := a.Choice(), (*Choice)(nil)
	if a.Highest {
		best, lowest, highest = "highest", nil, lowest
	}
	return json.Marshal(struct {
		Version  int              `json:"version"`
		Outcome  string           `json:"outcome"`
		Unit     string           `json:"unit"`
		Over     string           `json:"over"`
		Given    []Given          `json:"given"`
		Model    Model            `json:"model"`
		Points   []curvePointJSON `json:"points"`
		Matters  pJSON            `json:"matters"`
		Bends    pJSON            `json:"bends"`
		Best     []Chance         `json:"best"`
		BestIs   string           `json:"best_is"`
		Lowest   *Choice          `json:"lowest_at"`
		Highest  *Choice          `json:"highest_at"`
		Bet      *CurveBet        `json:"bet"`
		Exposure []Rug            `json:"exposure"`
		Knots    []float64        `json:"knots"`
		Boundary []float64        `json:"boundary"`
		Method   string           `json:"method"`
		LeftOut  map[string]int   `json:"left_out"`
		Told     journal.Told     `json:"told"`
		Changed  *change.Finding  `json:"changed"`
		Rise     *Rise            `json:"rise"`
	}{answerVersion, a.Outcome.Key, a.Outcome.Unit(), a.Over.Key, answer.List(a.Given), a.Model, points, pJSON{a.Matters}, pJSON{a.Bends}, answer.List(a.Best), best, lowest, highest, a.Bet,
		answer.List(a.Rug), answer.List(a.Knots), answer.List(a.Boundary), a.Method, a.LeftOut, a.Told, a.Changed, a.Rise})
}
