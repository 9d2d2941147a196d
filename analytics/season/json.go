package season

import (
	"encoding/json"
	"fmt"

	"rigtally/analytics/answer"
	"rigtally/analytics/caution"
	"rigtally/journal"
)

type totalsJSON struct {
	Sessions int      `json:"sessions"`
	Days     int      `json:"days"`
	Stints   int      `json:"stints"`
	Untimed  int      `json:"stints_without_minutes"`
	Hours    float64  `json:"hours"`
	Hookups  *int     `json:"hookups"` // null where no count was kept, as the next two
	Landed   *int     `json:"landed"`
	Tangles  *int     `json:"tangles"`
	Kept     keptJSON `json:"stints_recorded"`
	First    *string  `json:"first"`
	Last     *string  `json:"last"`
}

// keptJSON says in how many stints count was kept.
type keptJSON struct {
	Hookups int `json:"hookups"`
	Landed  int `json:"landed"`
	Tangles int `json:"tangles"`
}

type outcomeJSON struct {
	Outcome    string         `json:"outcome"`
	Unit       string         `json:"unit"`
	Sessions   int            `json:"sessions"`
	Kept       int            `json:"stints_recorded"`
	Events     *float64       `json:"events"` // null where no count was kept, as the next
	Exposure   *float64       `json:"exposure"`
	Dispersion *float64       `json:"dispersion"`
	Rate       *float64       `json:"rate"`
	Shrunk     *float64       `json:"shrunk"`
	Low        *float64       `json:"low"`
	High       *float64       `json:"high"`
	Baseline   *float64       `json:"baseline"`
	BaseLow    *float64       `json:"baseline_low"`
	BaseHigh   *float64       `json:"baseline_high"`
	Units      int            `json:"compared_with"`
	Varies     bool           `json:"varies"`
	P          *float64       `json:"p"`
	Q          *float64       `json:"q"`
	Standing   Standard       `json:"standing"`
	LeftOut    map[string]int `json:"left_out"`
}

type findingJSON struct {
	Claim   *string  `json:"claim"`
	Outcome string   `json:"outcome"`
	Factor  string   `json:"factor"`
	Step    *float64 `json:"step"`
	Finding
}

type evidenceJSON struct {
	Angler    *string       `json:"angler"`
	From      int           `json:"from"`
	To        int           `json:"to"`
	Sessions  int           `json:"sessions"`
	Hours     float64       `json:"hours"`
	PerOuting float64       `json:"hours_per_outing"`
	Claims    int           `json:"claims_tested"`
	Compared  int           `json:"comparisons"`
	Findings  []findingJSON `json:"findings"`
	Open      []findingJSON `json:"open"`
}

type cautionJSON struct {
	caution.Tally
	Days    []string `json:"stop_days"`
	Highest *float64 `json:"highest"`
}

// MarshalJSON writes the review in full precision and in storage units. The angler
// is null for the outfit. With waters blurred a day is its month, 2026-06.
func (a Answer) MarshalJSON() ([]byte, error) {
	out := map[string]any{
		"angler":   nullable(a.Angler),
		"outfit":   a.Outfit,
		"season":   a.Year,
		"totals":   a.totalsJSON(),
		"waters":   answer.List(a.Waters),
		"months":   map[string]any{"fished": answer.List(a.Months.List), "hookups": a.Months.Hookups, "landed": a.Months.Landed},
		"outcomes": a.outcomesJSON(),
		"compared": a.Compared,
		"rigs":     map[string]any{"fished": answer.List(a.Rigs.List), "tangles": a.Rigs.Tangles, "hookups": a.Rigs.Hookups, "landed": a.Rigs.Landed},
		"charts":   a.chartsJSON(),
		"evidence": a.evidenceJSON(),
		"cautions": a.cautionsJSON(),
		"quality": map[string]any{"logged_late": a.Quality.Late, "together": a.Quality.Together, "stints_without_minutes": a.Quality.Untimed,
			"stints_without_minutes_lost": a.Quality.UntimedTangles, "stints_assumed_recorded": a.Quality.Assumed, "stints_not_recorded": a.Quality.missingJSON()},
		"without_names":  a.Shared.WithoutNames,
		"waters_blurred": a.Shared.BlurWaters,
	}
	if a.Angler == "" {
		out["anglers"] = answer.List(a.People)
	}
	if a.Totals.Sessions == 0 { // there are no answers to write
		out["months"], out["rigs"] = nil, nil
	}
	return json.Marshal(out)
}

func nullable(s string) *string {
	if s == "" {
		return nil
	}
	return &s
}

// Day writes a day as far as the review tells it: 2026-06-30, or 2026-06.
func (a Answer) Day(d journal.Date) string {
	if a.Shared.BlurWaters {
		return fmt.Sprintf("%04d-%02d", d.Year, d.Month)
	}
	return d.String()
}

func (a Answer) day(d journal.Date) *string {
	if d.IsZero() {
		return nil
	}
	return nullable(a.Day(d))
}

func (a Answer) totalsJSON() totalsJSON {
	t := a.Totals
	return totalsJSON{t.Sessions, t.Days, t.Stints, t.Untimed, t.Hours, t.Hookups.Known(), t.Landed.Known(), t.Tangles.Known(),
		keptJSON{t.Hookups.Kept, t.Landed.Kept, t.Tangles.Kept}, a.day(t.First), a.day(t.Last)}
}

func (a Answer) outcomesJSON() []outcomeJSON {
	list := []outcomeJSON{}
	for _, o := range a.Outcomes {
		known, counted, base := o.Kept > 0, o.Own.Exposure > 0, o.Baseline
		list = append(list, outcomeJSON{o.Outcome.Key, o.Outcome.Unit(), o.Own.Sessions, o.Kept, answer.If(known, o.Own.Events), answer.If(known, o.Own.Exposure),
			answer.If(counted, o.Own.Dispersion), answer.If(counted, o.Own.Rate), o.Shrunk, o.Low, o.High,
			answer.If(counted, base.Rate), answer.If(base.HasInterval, base.Low), answer.If(base.HasInterval, base.High),
			o.Units, o.Varies, o.P, o.Q, o.Standing, o.LeftOut})
	}
	return list
}

// missingJSON names the kinds by their words.
func (q Quality) missingJSON() map[string]int {
	out := map[string]int{}
	for k, n := range q.Missing {
		out[k.String()] = n
	}
	return out
}

// chartsJSON are the charts; a day is as far as told, and there is no id where anything is left out.
func (a Answer) chartsJSON() []any {
	list := []any{}
	for _, c := range a.Charts {
		points := []map[string]any{}
		for _, p := range c.Points {
			point := map[string]any{"day": a.Day(p.Day), "angler": p.Angler, "events": p.Events, "exposure": p.Exposure, "rate": p.Rate, "low": p.Low, "high": p.High, "out": p.Out}
			if !a.Shared.Any() {
				point["session"] = p.ID
			}
			points = append(points, point)
		}
		out := map[string]any{"outcome": c.Outcome.Key, "unit": c.Outcome.Unit(), "centre": c.Centre, "sigma": c.Sigma, "points": points, "trend": nil}
		if t := c.Trend; t != nil {
			out["trend"] = map[string]any{"ratio": answer.Known(t.Ratio), "ratio_low": answer.Known(t.Low), "ratio_high": answer.Known(t.High), "p": answer.Known(t.P), "per": "month", "method": t.Method}
		}
		list = append(list, out)
	}
	return list
}

func (a Answer) evidenceJSON() []evidenceJSON {
	list := []evidenceJSON{}
	for _, e := range a.Evidence {
		list = append(list, evidenceJSON{nullable(e.Angler), e.From, e.To, e.Sessions, e.Hours, e.PerOuting, e.Claims.Tested, e.Compared,
			e.findingsJSON(e.Findings), e.findingsJSON(e.Open)})
	}
	return list
}

func (e Evidence) findingsJSON(findings []Finding) []findingJSON {
	list := []findingJSON{}
	for _, f := range findings {
		f.Level, f.Versus = answer.List(f.Level), answer.List(f.Versus)
		out := findingJSON{Outcome: f.Outcome.Key, Factor: f.Factor.Key, Step: answer.If(f.Step != 0, f.Step), Finding: f}
		if f.Claim >= 0 {
			out.Claim = nullable(e.Claims.Claims[f.Claim].Claim.Words)
		}
		list = append(list, out)
	}
	return list
}

func (a Answer) cautionsJSON() []cautionJSON {
	list := []cautionJSON{}
	for _, c := range a.Cautions {
		out := cautionJSON{c.Tally, []string{}, c.Highest}
		for _, s := range c.Stopped {
			out.Days = append(out.Days, a.Day(s.Day))
		}
		list = append(list, out)
	}
	return list
}
