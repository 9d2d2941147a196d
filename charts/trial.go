package charts

import (
	"fmt"
	"math"
	"strconv"

	echarts "github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"
	"github.com/go-echarts/go-echarts/v2/types"

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
	from, to := t.stakes()
	axis := opts.XAxis{Type: "value", Min: 0, Max: t.hours(), SplitNumber: 5}
	bare, below := axis, axis
	bare.AxisLabel = &opts.AxisLabel{Show: opts.Bool(false)}
	below.GridIndex, below.Name, below.NameLocation = 1, "Hours fished in the trial", "middle"
	most := t.mostRatio()
	stakeAxis := opts.YAxis{Type: "value", Name: "A stake of 1 on a difference", NameLocation: "end", Min: 0, Max: to - from, MinInterval: 1, MaxInterval: 1,
		AxisLabel: &opts.AxisLabel{Formatter: types.FuncStr(FormatNames)}}
	ratioAxis := opts.YAxis{Type: "log", Name: "A to B, times", NameLocation: "end", Min: 1 / most, Max: most, GridIndex: 1}
	return Chart{
		Height: trialHeight,
		Names:  stakeNames(from, to),
		Option: Option{
			Grid: []opts.Grid{
				{Top: strconv.Itoa(stakeTop), Height: strconv.Itoa(stakeHeight)},
				{Top: strconv.Itoa(ratioTop), Height: strconv.Itoa(ratioHeight)},
			},
			XAxis:  []opts.XAxis{bare, below},
			YAxis:  []opts.YAxis{stakeAxis, ratioAxis},
			Series: append(t.stakeSeries(from, to), t.ratioSeries(most)...),
		},
		Key: []Key{{"line-1", "resting on the drawing of the order, which decides"}, {"dash-2", "by the model, beside it"}, {"band", "ratios not excluded yet"}},
	}
}

type trialPicture struct{ trial.Answer }

// stakeNames are the stakes at the ticks of the axis, which counts powers of ten
// from its foot.
func stakeNames(from, to float64) []string {
	var names []string
	for power := from; power <= to; power++ {
		names = append(names, strconv.FormatFloat(math.Pow(10, power), 'f', -1, 64))
	}
	return names
}

// stakes is the range of powers of ten that the axis shows: from 0.1, or 0.01 where
// it is needed, to 100 at least.
func (t trialPicture) stakes() (from, to float64) {
	least, most := 0.0, 2.0
	for _, l := range t.Looks {
		for _, s := range []sequential.Sequence{l.Robust, l.Model} {
			least, most = math.Min(least, s.LogE/math.Ln10), math.Max(most, s.LogE/math.Ln10)
		}
	}
	to = math.Min(math.Ceil(most), mostStake)
	if from = -1; least < -1 || to > 3 {
		from = leastStake
	}
	return from, to
}

// hours is the end of the axis of hours.
func (t trialPicture) hours() float64 {
	l := t.Looks[len(t.Looks)-1]
	return reaching(math.Max(l.Hours, 1), exposureAxes).end
}

// mostRatio is the end of the axis of ratios: a power of 2.
func (t trialPicture) mostRatio() float64 {
	reach := 2.0
	for _, l := range t.Looks[3*len(t.Looks)/4:] {
		for _, v := range []float64{l.Robust.Low, l.Robust.High} {
			if v > 0 && !math.IsInf(v, 1) {
				reach = math.Max(reach, math.Max(v, 1/v))
			}
		}
	}
	return math.Min(math.Exp2(math.Ceil(math.Log2(reach))), mostRatio)
}

func (t trialPicture) stakeSeries(from, to float64) []echarts.SingleSeries {
	at := func(logE float64) *float64 {
		return finite(math.Min(math.Max(logE/math.Ln10, from), to) - from)
	}
	robust := Mark{Name: "Resting on the drawing", Value: []*float64{finite(0), at(0)}, Tone: 1, Points: [][]*float64{{finite(0), at(0)}}}
	model := Mark{Name: "By the model", Value: robust.Value, Tone: 2, Dash: true, Points: [][]*float64{{finite(0), at(0)}}}
	var dots []Mark
	for i, l := range t.Looks {
		robust.Points = append(robust.Points, []*float64{finite(l.Hours), at(l.Robust.LogE)})
		model.Points = append(model.Points, []*float64{finite(l.Hours), at(l.Model.LogE)})
		dots = append(dots, Mark{Name: fmt.Sprintf("Session %d, %s", i+1, l.Day), Value: []*float64{finite(l.Hours), at(l.Robust.LogE), nil}, Tone: 1, Detail: t.detail(l)})
	}
	return []echarts.SingleSeries{
		{Type: types.ChartCustom, Id: ShapeLine + ":3", Data: []Mark{t.level(at(math.Log(20)), "20 settles it")}},
		{Type: types.ChartCustom, Id: ShapeLine, Data: []Mark{model}},
		{Type: types.ChartCustom, Id: ShapeLine + ":2", Data: []Mark{robust}},
		{Type: types.ChartCustom, Id: ShapeDots, Data: dots},
	}
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

// level is a broken line across a part, with its label at the left,
// where the evidence has not got to yet.
func (t trialPicture) level(at *float64, label string) Mark {
	return Mark{Name: label, Label: label, Dash: true, Value: []*float64{finite(0), at}, Points: [][]*float64{{finite(0), at}, {finite(t.hours()), at}}}
}

// ratioSeries are the ratio as it went, in its interval that narrows in steps from
// look to look.
func (t trialPicture) ratioSeries(most float64) []echarts.SingleSeries {
	clip := func(v float64) *float64 { return finite(math.Min(math.Max(v, 1/most), most)) }
	band := Mark{Name: "A to B", Value: []*float64{finite(0), finite(1)}}
	for i, l := range t.Looks {
		if l.Blocks == 0 || l.Ratio == nil {
			continue
		}
		ratio := clip(*l.Ratio)
		band.Points = append(band.Points, []*float64{finite(l.Hours), ratio, clip(l.Robust.Low), clip(l.Robust.High)})
		if i+1 < len(t.Looks) { // the interval holds till the next look, the ratio goes on from here
			next := t.Looks[i+1]
			if next.Ratio != nil {
				ratio = clip(*next.Ratio)
			}
			band.Points = append(band.Points, []*float64{finite(next.Hours), ratio, clip(l.Robust.Low), clip(l.Robust.High)})
		}
	}
	lines := []Mark{t.level(finite(1), "no difference")}
	if worth := t.Trial.Worth; worth <= most {
		lines = append(lines, t.level(finite(worth), "worth knowing"), t.level(finite(1/worth), ""))
	}
	series := []echarts.SingleSeries{
		{Type: types.ChartCustom, Id: ShapeCurve, Data: []Mark{band}, XAxisIndex: 1, YAxisIndex: 1},
		{Type: types.ChartCustom, Id: ShapeLine + ":4", Data: lines, XAxisIndex: 1, YAxisIndex: 1},
	}
	if t.Ratio != nil && *t.Ratio > 0 {
		l := t.Looks[len(t.Looks)-1]
		series = append(series, echarts.SingleSeries{Type: types.ChartCustom, Id: ShapeDots + ":2", XAxisIndex: 1, YAxisIndex: 1, Data: []Mark{{
			Name: "So far", Value: []*float64{finite(l.Hours), clip(*t.Ratio), nil}, Tone: 1, Label: prose.Ratio(*t.Ratio), Detail: t.detail(l)}}})
	}
	return series
}
