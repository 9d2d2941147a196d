package plan

import (
	"encoding/json"

	"rigtally/analytics"
)

type inputJSON struct {
	Key   string   `json:"key"`
	Value float64  `json:"value"`
	From  Origin   `json:"from"`
	Notes int      `json:"notes"` // how many notes of the journal are behind it
	Low   *float64 `json:"low"`
	High  *float64 `json:"high"`
}

type pointJSON struct {
	LengthMM float64  `json:"length_mm"`
	Changes  int      `json:"changes"`
	Tangles  float64  `json:"tangles"`
	Breaks   float64  `json:"breaks"`
	Reties   float64  `json:"reties"`
	Loss     float64  `json:"loss"`
	Low      *float64 `json:"low"`
	High     *float64 `json:"high"`
	Best     *float64 `json:"best"`
	Near     *float64 `json:"near"`
	Beyond   bool     `json:"beyond"`
}

type rateJSON struct {
	From     Origin                 `json:"from"`
	Constant *float64               `json:"constant"`
	Table    []rateAtJSON           `json:"table"`
	Curve    *analytics.CurveAnswer `json:"curve"`
	Events   float64                `json:"events"`
	Hours    float64                `json:"hours"`
	Loads    float64                `json:"loads_per_hour"`
	Rates    []rateBandJSON         `json:"rates"`
}

type rateAtJSON struct {
	LengthMM float64 `json:"length_mm"`
	Rate     float64 `json:"rate"`
}

type rateBandJSON struct {
	rateAtJSON
	Low  *float64 `json:"low"`
	High *float64 `json:"high"`
}

type moveJSON struct {
	Key      string     `json:"key"`
	Values   []float64  `json:"values"`
	Own      bool       `json:"own_interval"`
	LengthMM [2]float64 `json:"length_mm"`
	Loss     [2]float64 `json:"loss"`
	Costs    float64    `json:"costs"`
}

type noteJSON struct {
	Kind  NoteKind `json:"kind"`
	Count int      `json:"count"`
	Value float64  `json:"value"`
	Other float64  `json:"other"`
}

type bestJSON struct {
	pointJSON
	From         float64 `json:"from_mm"`
	To           float64 `json:"to_mm"`
	Reties       int     `json:"reties_per_tippet"`
	FlyChanges   int     `json:"changes_per_tippet"`
	TippetHours  float64 `json:"tippet_hours"`
	TippetLeftMM float64 `json:"tippet_left_mm"`
}

func (p Point) json() pointJSON {
	return pointJSON{p.LengthMM, p.Changes, p.Tangles, p.Breaks, p.Renewal, p.Loss, p.Low, p.High, p.Best, p.Near, p.Beyond}
}

func (r Rate) json() rateJSON {
	out := rateJSON{From: r.From, Constant: r.Constant, Table: []rateAtJSON{}, Curve: r.Curve, Events: r.Events, Hours: r.Hours, Loads: r.LoadsHour, Rates: []rateBandJSON{}}
	for _, t := range r.Table {
		out.Table = append(out.Table, rateAtJSON(t))
	}
	for _, b := range r.Shown {
		out.Rates = append(out.Rates, rateBandJSON{rateAtJSON(b.RateAt), b.Low, b.High})
	}
	return out
}

// MarshalJSON writes the plan in full precision, in storage units: lengths in mm, losses
// in minutes per hour fished, rates per hour.
func (a Answer) MarshalJSON() ([]byte, error) {
	out := struct {
		Given   []string    `json:"given"`
		Inputs  []inputJSON `json:"inputs"`
		Tangles rateJSON    `json:"tangles"`
		Breaks  rateJSON    `json:"breaks"`
		Anew    bool        `json:"break_gives_fresh_tag"`
		Points  []pointJSON `json:"points"`
		Best    *bestJSON   `json:"best"`
		Moves   []moveJSON  `json:"moves"`
		Notes   []noteJSON  `json:"notes"`
	}{[]string{}, []inputJSON{}, a.Tangles.json(), a.Breaks.json(), a.Anew, []pointJSON{}, nil, []moveJSON{}, []noteJSON{}}
	for _, g := range a.Given {
		out.Given = append(out.Given, g.String())
	}
	for _, in := range a.Inputs {
		out.Inputs = append(out.Inputs, inputJSON{in.Key, in.Value, in.From, in.N, in.Low, in.High})
	}
	for _, p := range a.Points {
		out.Points = append(out.Points, p.json())
	}
	if a.Best >= 0 && a.Best < len(a.Points) {
		out.Best = &bestJSON{a.Points[a.Best].json(), a.From, a.To, a.Tippet.Reties, a.Tippet.Changes, a.Tippet.Hours, a.Tippet.LeftMM}
	}
	for _, v := range a.Moves {
		m := moveJSON{Key: v.Key, Values: []float64{v.Low, v.High}, Own: v.Own, Costs: v.Costs}
		if v.Key == BreakAnew {
			m.Values = []float64{}
		}
		for i, at := range v.At {
			m.LengthMM[i], m.Loss[i] = at.LengthMM, at.Loss
		}
		out.Moves = append(out.Moves, m)
	}
	for _, n := range a.Notes {
		out.Notes = append(out.Notes, noteJSON(n))
	}
	return json.Marshal(out)
}
