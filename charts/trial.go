package charts

import (
	"fmt"
	"math"

	"rigtally/analytics/stat/sequential"
	"rigtally/analytics/trial"
	"rigtally/prose"
)

// Heights in px of the two parts of a trial's chart.
const (
	stakeTop, stakeHeight = 30, 210
	ratioTop, ratioHeight = 290, 200
	trialHeight           = 540
)

// The e-values and the ratios that are drawn, by their logarithms.
const (
	leastStake, mostStake = -2, 6 // of 10
	mostRatio             = 16.0
)

// Trial draws the evidence of a trial over the hours fished: above, the e-value
// after each session on a logarithmic scale, with the line at 20 that settles it;
// below, the ratio of arm A to arm B with its confidence sequence narrowing. It
// needs at least one look with a block.
func Trial(a trial.Answer) Chart {
	t := trialPicture{a}
	end := reaching(math.Max(a.Looks[len(a.Looks)-1].Hours, 1), exposureAxes).end
	across := numbers("Hours fished in the trial", 0, end, stepFor(end), "")
	bare := across
	bare.Bare, bare.Title = true, ""
	c := upright(trialHeight, t.stakes(bare), t.ratios(across))
	c.Key = []Key{{LookBand, "ratios not excluded yet"}}
	return c
}

type trialPicture struct{ trial.Answer }

// stakeAxis shows powers of ten from 0.1, or 0.01 where it is needed, to 100 at least.
func (t trialPicture) stakeAxis() Axis {
	least, most := 0.0, 2.0
	for _, l := range t.Looks {
		for _, s := range []sequential.Sequence{l.Robust, l.Model} {
			least, most = math.Min(least, s.LogE/math.Ln10), math.Max(most, s.LogE/math.Ln10)
		}
	}
	to := math.Min(math.Ceil(most), mostStake)
	from := -1.0
	if least < -1 || to > 3 {
		from = leastStake
	}
	a := Axis{Title: "A stake of 1 on a difference", From: decimal(1, int(from)), To: decimal(1, int(to)), Log: true}
	for power := int(from); power <= int(to); power++ {
		v := decimal(1, power)
		a.Ticks = append(a.Ticks, Tick{At: v, Text: grouped(v)})
	}
	return a
}

// stakes is the upper field. Every look tells its numbers.
func (t trialPicture) stakes(across Axis) Field {
	f := Field{Top: stakeTop, Height: stakeHeight, X: across, Y: t.stakeAxis()}
	at := func(hours, logE float64) Mark {
		return Mark{X: hours, Y: math.Min(math.Max(math.Exp(logE), f.Y.From), f.Y.To)}
	}
	robust, model := []Mark{at(0, 0)}, []Mark{at(0, 0)}
	var dots, stops []Mark
	for i, l := range t.Looks {
		m := at(l.Hours, l.Robust.LogE)
		robust, model = append(robust, m), append(model, at(l.Hours, l.Model.LogE))
		m.Radius = 5
		dots = append(dots, m)
		m.Name, m.Detail = fmt.Sprintf("Session %d, %s", i+1, l.Day), t.detail(l)
		stops = append(stops, m)
	}
	f.Layers = []Layer{level(0, 20, "20 settles it"), {Shape: Line, Says: "by the model", Tone: 2, Dash: true, Marks: model},
		{Shape: Line, Says: "by the drawing", Tone: 1, Marks: robust}, {Shape: Points, Tone: 1, Small: true, Marks: dots}, {Shape: Stops, Marks: stops}}
	return f
}

func (t trialPicture) detail(l trial.Look) [][]string {
	return [][]string{
		{"A stake of 1 has come to", prose.EValue(l.Robust.LogE)},
		{"A to B, 95%", prose.TrialSpan(l.Robust.Low, l.Robust.High)},
		{"Hours", prose.Hours1(l.Hours)},
		{t.Outcome.Title, prose.Count(l.Events)},
		{"By the model", prose.EValue(l.Model.LogE)},
	}
}

// ratioReach is the end of the axis of ratios, in doublings.
func (t trialPicture) ratioReach() float64 {
	most := 2.0
	for _, l := range t.Looks[3*len(t.Looks)/4:] {
		for _, v := range []float64{l.Robust.Low, l.Robust.High} {
			if v > 0 && !math.IsInf(v, 1) {
				most = math.Max(most, math.Max(v, 1/v))
			}
		}
	}
	return math.Min(math.Ceil(math.Log2(most)), math.Log2(mostRatio))
}

// ratios is the lower field: the ratio as it went, in its interval that narrows in
// steps from look to look.
func (t trialPicture) ratios(across Axis) Field {
	f := Field{Top: ratioTop, Height: ratioHeight, X: across, Y: ratios("A to B, times", t.ratioReach())}
	clip := func(v float64) float64 { return math.Min(math.Max(v, f.Y.From), f.Y.To) }
	var band []Mark
	for i, l := range t.Looks {
		if l.Blocks == 0 || l.Ratio == nil {
			continue
		}
		m := Mark{X: l.Hours, Y: clip(*l.Ratio), Upright: &Span{clip(l.Robust.Low), clip(l.Robust.High)}}
		band = append(band, m)
		if i+1 < len(t.Looks) { // the interval holds till the next look, the ratio goes on from here
			next := t.Looks[i+1]
			if m.X = next.Hours; next.Ratio != nil {
				m.Y = clip(*next.Ratio)
			}
			band = append(band, m)
		}
	}
	f.Layers = []Layer{{Shape: Line, Name: "A to B", Tone: 1, Marks: band}, level(0, 1, "no difference")}
	if worth := t.Trial.Worth; worth <= f.Y.To {
		f.Layers = append(f.Layers, level(0, worth, "worth knowing"), level(0, 1/worth, ""))
	}
	if t.Ratio != nil && *t.Ratio > 0 {
		l := t.Looks[len(t.Looks)-1]
		f.Layers = append(f.Layers, Layer{Shape: Points, Tone: 1, Marks: []Mark{{Name: "So far", X: l.Hours, Y: clip(*t.Ratio), Radius: 5, Label: prose.Ratio(*t.Ratio), Detail: t.detail(l)}}})
	}
	return f
}
