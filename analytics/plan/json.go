package plan

import (
	"encoding/json"

	"rigtally/analytics"
	"rigtally/analytics/answer"
)

type moveJSON struct {
	Key      string     `json:"key"`
	Values   []float64  `json:"values"`
	Own      bool       `json:"own_interval"`
	LengthMM [2]float64 `json:"length_mm"`
	Loss     [2]float64 `json:"loss"`
	Costs    float64    `json:"costs"`
}

type bestJSON struct {
	Point
	From float64 `json:"from_mm"`
	To   float64 `json:"to_mm"`
	Tippet
}

// MarshalJSON writes lists, though they be empty.
func (r Rate) MarshalJSON() ([]byte, error) {
	type plain Rate
	r.Table, r.Shown = answer.List(r.Table), answer.List(r.Shown)
	return json.Marshal(plain(r))
}

// MarshalJSON writes the plan in full precision, in storage units: lengths in mm, losses
// in minutes per hour fished, rates per hour.
func (a Answer) MarshalJSON() ([]byte, error) {
	var best *bestJSON
	if a.Best >= 0 && a.Best < len(a.Points) {
		best = &bestJSON{a.Points[a.Best], a.From, a.To, a.Tippet}
	}
	moves := []moveJSON{}
	for _, v := range a.Moves {
		m := moveJSON{Key: v.Key, Values: []float64{v.Low, v.High}, Own: v.Own, Costs: v.Costs}
		if v.Key == BreakAnew {
			m.Values = []float64{}
		}
		for i, at := range v.At {
			m.LengthMM[i], m.Loss[i] = at.LengthMM, at.Loss
		}
		moves = append(moves, m)
	}
	return json.Marshal(struct {
		Given   []analytics.Given `json:"given"`
		Inputs  []Input           `json:"inputs"`
		Tangles Rate              `json:"tangles"`
		Breaks  Rate              `json:"breaks"`
		Anew    bool              `json:"break_gives_fresh_tag"`
		Points  []Point           `json:"points"`
		Best    *bestJSON         `json:"best"`
		Moves   []moveJSON        `json:"moves"`
		Notes   []Note            `json:"notes"`
	}{answer.List(a.Given), answer.List(a.Inputs), a.Tangles, a.Breaks, a.Anew, answer.List(a.Points), best, moves, answer.List(a.Notes)})
}
