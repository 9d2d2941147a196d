package charts

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"
	"time"

	"rigtally/internal/svg"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/gauge"
)

// SeasonRiver is a water in a season: what its gauge measured day by day, and the days fished on it.
type SeasonRiver struct {
	Water string
	Daily gauge.Series // daily means
	Days  []journal.Date
}

const seasonRiverHeight = 84 // px

// SeasonRivers draws the daily means of waters through a season, as far as it has come, and the days fished on them.
func SeasonRivers(list []SeasonRiver, year int, first, last time.Month, now time.Time, sys units.System) *Chart {
	from, to := time.Date(year, first, 1, 0, 0, 0, 0, time.UTC), time.Date(year, last+1, 1, 0, 0, 0, 0, time.UTC)
	x := Axis{From: moment(from), To: moment(to)}
	for m := from; m.Before(to); m = m.AddDate(0, 1, 0) {
		x.Ticks = append(x.Ticks, Tick{At: moment(m), Text: m.Format("Jan")})
	}
	c := Chart{Left: besideFlow, Right: 12, Height: riverTop - 44}
	for _, r := range list {
		runs, gaps := r.Daily.Runs(from, earlier(to.Add(-time.Nanosecond), now))
		if len(runs) == 0 {
			continue
		}
		span := noSpan
		for _, run := range runs {
			for _, v := range run {
				span = span.with(v.Value)
			}
		}
		f := Field{Top: c.Height + 44, Height: seasonRiverHeight, X: x}
		y, scale := riverAxis(r.Daily.Quantity, span, seasonRiverHeight, sys)
		f.Y = y
		f.Y.Title = r.Water + ": " + strings.ToLower(y.Title[:1]) + y.Title[1:]
		for _, run := range runs {
			run = slices.Clone(run)
			for i := range run {
				run[i].Flags = 0 // one line, whoever looked at its readings since
			}
			for _, l := range lines(run, r.Daily, scale) {
				l.Ground, l.Step, l.Loose = !y.Log, false, true // an area says nothing where the axis has no 0
				f.Layers = append(f.Layers, l)
			}
		}
		f.Layers = append(f.Layers, Layer{Shape: Gaps, Marks: gapMarks(longer(gaps, 14*24*time.Hour), r.Daily)}, daysFished(r, f.Y, scale))
		c.Fields, c.Height = append(c.Fields, f), f.Top+f.Height+24
	}
	if len(c.Fields) == 0 {
		return nil
	}
	c.Key = []Key{{LookLanded, "A day fished, at that day’s flow"}}
	for _, f := range c.Fields {
		if slices.ContainsFunc(f.Layers[len(f.Layers)-1].Marks, func(m Mark) bool { return m.Look == LookLost }) {
			c.Key = append(c.Key, Key{LookLost, "A day fished, without readings"})
			break
		}
	}
	return &c
}

func longer(gaps []gauge.Gap, than time.Duration) (kept []gauge.Gap) {
	for _, g := range gaps {
		if g.To.Sub(g.From) > than {
			kept = append(kept, g)
		}
	}
	return kept
}

// daysFished marks each day at what was measured on it, or hollow at the foot.
func daysFished(r SeasonRiver, y Axis, scale func(float64) float64) Layer {
	l := Layer{Shape: Points}
	for _, d := range r.Days {
		at := d.In(time.UTC)
		m := Mark{X: moment(at.Add(12 * time.Hour)), Y: y.From, Radius: 2.2, Look: LookLost}
		if on := r.Daily.Between(at, at); len(on) == 1 && on[0].Usable() {
			m.Y, m.Look = scale(on[0].Value), LookLanded
		}
		l.Marks = append(l.Marks, m)
	}
	return l
}

// Spark is how a river went lately, hour by hour, as the smallest of drawings; "" where it is hardly known.
func Spark(s gauge.Series, from, to time.Time) template.HTML {
	const wide, high, steady = 2, 12, 0.1
	span, known := noSpan, 0
	var list []float64
	for at := from; !at.After(to); at = at.Add(time.Hour) {
		v := math.NaN()
		if r, _, ok := s.At(at); ok {
			v, span, known = r.Value, span.with(r.Value), known+1
		}
		list = append(list, v)
	}
	if known < 6 {
		return ""
	}
	room := math.Max(span.High-span.Low, steady*math.Abs(span.High)) // what is steady is not to look lively
	var w svg.Writer
	x, y, open := 0, 0, false
	for i, v := range list {
		if math.IsNaN(v) {
			open = false
			continue
		}
		nx, ny := wide*i, int(math.Round(high*((span.High+span.Low+room)/2-v)/math.Max(room, 1e-9)))
		if open {
			w.Put("%s", strings.ReplaceAll(fmt.Sprintf(" %d %d", nx-x, ny-y), " -", "-"))
		} else {
			w.Put("M%d %dl", nx, ny)
		}
		x, y, open = nx, ny, true
	}
	return template.HTML(`<svg class="spark" viewBox="-1 -1 50 14" aria-hidden="true"><path d="` + strings.TrimSuffix(w.String(), "l") + `"/></svg>`)
}
