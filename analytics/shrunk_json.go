package analytics

import (
	"encoding/json"
	"rigtally/analytics/answer"
)

type outfitJSON struct {
	Stints     int      `json:"stints"`
	Sessions   int      `json:"sessions"`
	Exposure   float64  `json:"exposure"`
	Events     float64  `json:"events"`
	Dispersion *float64 `json:"dispersion"`
	Rate       *float64 `json:"rate"`
	Low        *float64 `json:"low"`
	High       *float64 `json:"high"`
}

type shrunkJSON struct {
	Angler     string   `json:"angler"`
	Stints     int      `json:"stints"`
	Sessions   int      `json:"sessions"`
	Hours      float64  `json:"hours"`
	Exposure   float64  `json:"exposure"`
	Events     float64  `json:"events"`
	Dispersion float64  `json:"dispersion"`
	Rate       float64  `json:"rate"`
	Shrunk     float64  `json:"shrunk"`
	Low        *float64 `json:"low"`
	High       *float64 `json:"high"`
}

// MarshalJSON writes the answer in full precision; the outfit's rate and interval
// are null when nothing was fished.
func (a ShrunkAnswer) MarshalJSON() ([]byte, error) {
	out := struct {
		Outcome string         `json:"outcome"`
		Unit    string         `json:"unit"`
		Outfit  outfitJSON     `json:"outfit"`
		Varies  bool           `json:"varies"`
		Anglers []shrunkJSON   `json:"anglers"`
		LeftOut map[string]int `json:"left_out"`
	}{Outcome: a.Outcome.Key, Unit: a.Outcome.Unit(), Varies: a.Varies, Anglers: []shrunkJSON{}, LeftOut: a.LeftOut}
	o := a.Outfit
	out.Outfit = outfitJSON{Stints: o.Stints, Sessions: o.Sessions, Exposure: o.Exposure, Events: o.Events}
	if o.Exposure > 0 {
		out.Outfit.Dispersion, out.Outfit.Rate = answer.Known(o.Dispersion), answer.Known(o.Rate)
	}
	if o.HasInterval {
		out.Outfit.Low, out.Outfit.High = answer.Known(o.Low), answer.Known(o.High)
	}
	for _, s := range a.Anglers {
		out.Anglers = append(out.Anglers, shrunkJSON{s.Angler, s.Stints, s.Sessions, s.Hours, s.Exposure, s.Events, s.Dispersion, s.Rate, s.Shrunk, answer.Known(s.Low), answer.Known(s.High)})
	}
	return json.Marshal(out)
}
