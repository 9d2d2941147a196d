package charts

import (
	"math"
	"time"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/gauge"
)

// days is the axis of time: every six hours of the water's own clock, every twelve where a session went on past midnight, or
// every other day.
func (p *riverPlan) days() Axis {
	a := Axis{From: moment(p.From), To: moment(p.To)}
	step := 6
	if p.last != p.first {
		step = 12
	}
	for d := journal.DateOf(p.From.In(p.loc)); !d.In(p.loc).After(p.To); d = dayAfter(d, 1) {
		if p.daily() {
			if int(d.In(time.UTC).Sub(p.first.In(time.UTC)).Hours())%48 == 0 {
				a.Ticks = append(a.Ticks, Tick{At: moment(d.In(p.loc)), Text: d.In(p.loc).Format("2 Jan")})
			}
			continue
		}
		for hour := 0; hour < 24; hour += step {
			t := time.Date(d.Year, d.Month, d.Day, hour, 0, 0, 0, p.loc)
			if hour == 0 {
				t = d.In(p.loc)
			}
			if !t.After(p.To) {
				a.Ticks = append(a.Ticks, Tick{moment(t), t.Format("15:04"), hour%(2*step) != 0})
			}
		}
	}
	return a
}

// named writes the names of days below their hours.
func (p *riverPlan) named(x Axis) Layer {
	l := Layer{Shape: Words}
	for d := journal.DateOf(p.From.In(p.loc)); d.In(p.loc).Before(p.To); d = dayAfter(d, 1) {
		from, to := moment(d.In(p.loc)), moment(dayAfter(d, 1).In(p.loc))
		l.Marks = append(l.Marks, Mark{X: (from + to) / 2, Y: math.Inf(-1), Up: -32, Label: d.In(time.UTC).Format("Mon 2 Jan")})
	}
	return l
}

// hours are at most six ticks on the round hours and half hours of a clock.
func hours(from, to time.Time, loc *time.Location) (ticks []Tick) {
	step := 30 * time.Minute
	for to.Sub(from) > 6*step {
		step *= 2
	}
	l := from.In(loc)
	for t := time.Date(l.Year(), l.Month(), l.Day(), 0, 0, 0, 0, loc); !t.After(to); t = t.Add(step) {
		if !t.Before(from) {
			ticks = append(ticks, Tick{At: moment(t), Text: t.Format("15:04")})
		}
	}
	return ticks
}

// riverAxis is an axis of a quantity in the units people chose, and what brings stored values to it. Flow begins at nothing, or is
// logarithmic where it is many times as high in one place as in another; stage and temperature never look livelier than they were.
func riverAxis(q gauge.Quantity, span Span, height float64, sys units.System) (Axis, func(float64) float64) {
	of, title, least := units.Flow, "Flow", 0.0
	switch q {
	case gauge.Stage:
		of, title, least = units.Depth, "Stage", leastStage
	case gauge.Temperature:
		of, title, least = units.Temperature, "Water", leastTemperatureC
	}
	zero, unit := units.In(of, 0, sys)
	one, _ := units.In(of, 1, sys)
	scale := func(v float64) float64 { return zero + v*(one-zero) }
	title += ", " + unit
	if q == gauge.Flow {
		low, high := scale(span.Low), scale(span.High)
		if low > 0 && high > floods*low {
			return logAxis(title, low, high), scale
		}
		low = math.Min(low, 0) // tides run backward
		step := stepFor(math.Max(high-low, 1e-3) * 1.08 * 140 / height)
		return numbers(title, math.Floor(low/step)*step, math.Ceil(math.Max(high*1.05, low+step)/step-1e-9)*step, step, ""), scale
	}
	if more := least - (span.High - span.Low); more > 0 {
		span = Span{span.Low - more/2, span.High + more/2}
	}
	low, high := scale(span.Low), scale(span.High)
	step := stepFor((high - low) * 130 / height)
	return numbers(title, math.Floor(low/step)*step, math.Ceil(high/step-1e-9)*step, step, ""), scale
}

// logAxis has ticks at 1, 2 and 5 times powers of ten, or fewer where these are many.
func logAxis(title string, low, high float64) Axis {
	a := Axis{Title: title, From: low / 1.2, To: high * 1.2, Log: true}
	steps := []float64{1, 2, 5}
	switch decades := math.Log10(a.To / a.From); {
	case decades > 4:
		steps = []float64{1}
	case decades > 2:
		steps = []float64{1, 3}
	}
	for power := int(math.Floor(math.Log10(a.From))); power <= int(math.Ceil(math.Log10(a.To))); power++ {
		for _, s := range steps {
			if v := decimal(s, power); v >= a.From && v <= a.To {
				a.Ticks = append(a.Ticks, Tick{At: v, Text: grouped(v)})
			}
		}
	}
	return a
}

// of is the number at a part of the axis.
func (a Axis) of(part float64) float64 {
	if a.Log {
		return a.From * math.Pow(a.To/a.From, part)
	}
	return a.From + part*(a.To-a.From)
}
