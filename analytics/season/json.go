package season

import (
	"encoding/json"
	"fmt"

	"rigtally/analytics/answer"
	"rigtally/analytics/caution"
	"rigtally/journal"
)

// object is one as JSON has it.
type object = map[string]any

// MarshalJSON writes the review in full precision and in storage units. The angler
// is null for the outfit. With waters blurred a day is its month, 2026-06.
func (a Answer) MarshalJSON() ([]byte, error) {
	q := a.Quality
	missing := map[string]int{}
	for k, n := range q.Missing {
		missing[k.String()] = n
	}
	out := object{
		"angler":   nullable(a.Angler),
		"outfit":   a.Outfit,
		"season":   a.Year,
		"totals":   a.totalsJSON(),
		"waters":   answer.List(a.Waters),
		"months":   object{"fished": answer.List(a.Months.List), "hookups": a.Months.Hookups, "landed": a.Months.Landed},
		"outcomes": answer.Each(a.Outcomes, Outcome.json),
		"compared": a.Compared,
		"rigs":     object{"fished": answer.List(a.Rigs.List), "tangles": a.Rigs.Tangles, "hookups": a.Rigs.Hookups, "landed": a.Rigs.Landed},
		"charts":   answer.Each(a.Charts, a.chartJSON),
		"asked":    a.Asked,
		"evidence": answer.Each(a.Evidence, Evidence.json),
		"cautions": answer.Each(a.Cautions, a.cautionJSON),
		"quality": object{"logged_late": q.Late, "together": q.Together, "stints_without_minutes": q.Untimed,
			"stints_without_minutes_lost": q.UntimedTangles, "stints_assumed_recorded": q.Assumed, "stints_not_recorded": missing},
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

// totalsJSON are the totals; a count is null where none was kept.
func (a Answer) totalsJSON() object {
	t := a.Totals
	return object{"sessions": t.Sessions, "days": t.Days, "stints": t.Stints, "stints_without_minutes": t.Untimed, "hours": t.Hours,
		"hookups": t.Hookups.Known(), "landed": t.Landed.Known(), "tangles": t.Tangles.Known(),
		"stints_recorded": object{"hookups": t.Hookups.Kept, "landed": t.Landed.Kept, "tangles": t.Tangles.Kept},
		"first":           a.day(t.First), "last": a.day(t.Last)}
}

// json is the outcome; events and exposure are null where no count was kept.
func (o Outcome) json() object {
	known, counted, base := o.Kept > 0, o.Own.Exposure > 0, o.Baseline
	return object{"outcome": o.Outcome.Key, "unit": o.Outcome.Unit(), "sessions": o.Own.Sessions, "stints_recorded": o.Kept,
		"events": answer.If(known, o.Own.Events), "exposure": answer.If(known, o.Own.Exposure),
		"dispersion": answer.If(counted, o.Own.Dispersion), "rate": answer.If(counted, o.Own.Rate), "shrunk": o.Shrunk, "low": o.Low, "high": o.High,
		"baseline": answer.If(counted, base.Rate), "baseline_low": answer.If(base.HasInterval, base.Low), "baseline_high": answer.If(base.HasInterval, base.High),
		"compared_with": o.Units, "varies": o.Varies, "p": o.P, "q": o.Q, "standing": o.Standing, "left_out": o.LeftOut}
}

// chartJSON is a chart; a day is as far as told, and there is no id where anything is left out.
func (a Answer) chartJSON(c Chart) object {
	points := answer.Each(c.Points, func(p ChartPoint) object {
		point := object{"day": a.Day(p.Day), "angler": p.Angler, "events": p.Events, "exposure": p.Exposure, "rate": p.Rate, "low": p.Low, "high": p.High, "out": p.Out}
		if !a.Shared.Any() {
			point["session"] = p.ID
		}
		return point
	})
	out := object{"outcome": c.Outcome.Key, "unit": c.Outcome.Unit(), "centre": c.Centre, "sigma": c.Sigma, "points": points, "trend": nil}
	if t := c.Trend; t != nil {
		out["trend"] = object{"ratio": answer.Known(t.Ratio), "ratio_low": answer.Known(t.Low), "ratio_high": answer.Known(t.High), "p": answer.Known(t.P), "per": "month", "method": t.Method}
	}
	return out
}

func (e Evidence) json() object {
	return object{"angler": nullable(e.Angler), "from": e.From, "to": e.To, "sessions": e.Sessions, "hours": e.Hours, "hours_per_outing": e.PerOuting,
		"claims_tested": e.Claims.Tested, "comparisons": e.Compared, "findings": answer.Each(e.Findings, e.findingJSON), "open": answer.Each(e.Open, e.findingJSON)}
}

func (e Evidence) findingJSON(f Finding) any {
	f.Level, f.Versus = answer.List(f.Level), answer.List(f.Versus)
	out := struct {
		Claim   *string  `json:"claim"`
		Outcome string   `json:"outcome"`
		Factor  string   `json:"factor"`
		Step    *float64 `json:"step"`
		Finding
	}{nil, f.Outcome.Key, f.Factor.Key, answer.If(f.Step != 0, f.Step), f}
	if f.Claim >= 0 {
		out.Claim = nullable(e.Claims.Claims[f.Claim].Claim.Words)
	}
	return out
}

func (a Answer) cautionJSON(c Caution) any {
	days := answer.Each(c.Stopped, func(s journal.SessionRef) string { return a.Day(s.Day) })
	return struct {
		caution.Tally
		Days    []string `json:"stop_days"`
		Highest *float64 `json:"highest"`
	}{c.Tally, days, c.Highest}
}
