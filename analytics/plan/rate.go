package plan

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"sort"

	"gonum.org/v1/gonum/stat/distuv"

	"rigtally/analytics"
	"rigtally/analytics/stat"
	"rigtally/journal"
	"rigtally/journal/facts"
)

// hourly is a rate per hour over the length of a tag.
type hourly struct {
	at        func(mm float64) float64
	draws     func(at []float64) ([][]float64, error) // of each length: its rate in each of the draws; nil when nothing is in doubt
	low, high float64                                 // the lengths for which it is known
	from, to  float64                                 // those fished enough for one of them to be named as the best
	believed  *hourly                                 // what is believed of it when it comes to a bet; nil for what is known
	usual     float64                                 // the length fished most, 0 when nobody knows
	centre    float64                                 // the length about which a rise is tilted
	spread    float64                                 // between low and high, over which its slope is measured
}

const (
	// draws are those of the coefficients, the same ones each time.
	draws      = 2000
	tangleSeed = 2
	breakSeed  = 3
	// fewBreaks is the number of breaks below which they have no curve of their own: ten for
	// each coefficient of the spline, a rule of thumb (Peduzzi and others 1996, J Clin
	// Epidemiol 49:1373, for logistic regression).
	fewBreaks = 30
)

// tangleRate is nil when the journal can't tell and the person does not say.
func (a *Answer) tangleRate(ctx context.Context, journalOf Keeper, r Request, q question) (*hourly, error) {
	if q.tangles != nil {
		a.Tangles = Rate{From: FromYou, Table: q.tangles}
		a.note(NoteGuess, 0, 0, 0)
		return table(q.tangles, a.Input(Least).Value, &a.Tangles), nil
	}
	curve, mixed, err := analytics.MixedCurve(ctx, journalOf, analytics.CurveRequest{Outcome: "tangles", Where: r.Where, Given: r.Given, Units: r.Units}, 1)
	if err != nil {
		return nil, err
	}
	a.Tangles, a.Given = Rate{From: FromJournal, Curve: &curve}, curve.Given
	a.CurveNotes = curve.Notes
	if mixed == nil {
		a.note(NoteNoCurve, 0, 0, 0)
		return nil, nil
	}
	if curve.Matters != nil && *curve.Matters >= 0.05 {
		a.note(NoteUnsettled, 0, *curve.Matters, 0)
	}
	return ofCurve(mixed, tangleSeed, &a.Tangles), nil
}

// breakRate is the journal's curve of breaks per load times its loads per hour, where
// there are breaks enough for one, else one rate for all lengths.
func (a *Answer) breakRate(ctx context.Context, journalOf Keeper, r Request, q question, sessions []facts.TagSession) (*hourly, error) {
	switch {
	case q.constant != nil:
		a.Breaks = Rate{From: FromYou}
		return constant(*q.constant, nil, &a.Breaks), nil
	case q.breaks != nil:
		a.Breaks = Rate{From: FromYou, Table: q.breaks}
		return table(q.breaks, a.Input(Least).Value, &a.Breaks), nil
	}
	var sums stat.Sums
	loads := 0.0
	for _, s := range sessions {
		if err := sums.Add(s.Breaks, s.Hours); err != nil {
			return nil, fmt.Errorf("add up breaks: %w", err)
		}
		loads += s.Loads
	}
	if r.Breaks == BreaksCurve || r.Breaks == "" && sums.K >= fewBreaks {
		curve, mixed, err := analytics.MixedCurve(ctx, journalOf, analytics.CurveRequest{Outcome: "junction-break", Where: r.Where, Given: r.Given, Units: r.Units}, loads/sums.T)
		if err != nil && !journal.IsInvalid(err) {
			return nil, err
		}
		if mixed != nil && sums.T > 0 {
			a.Breaks = Rate{From: FromJournal, Curve: &curve, LoadsHour: loads / sums.T, Events: sums.K, Hours: sums.T}
			return ofCurve(mixed, breakSeed, &a.Breaks), nil
		}
	}
	a.Breaks = Rate{From: FromJournal, Events: sums.K, Hours: sums.T}
	if sums.K == 0 {
		a.note(NoteNoBreaks, 0, sums.T, 0)
	} else if r.Breaks != BreaksConstant {
		a.note(NoteConstantBreaks, int(math.Round(sums.K)), 0, 0)
	}
	return constant(sums.Rate(), jeffreys(sums), &a.Breaks), nil
}

// jeffreys draws a rate from what a count says of it: Gamma with shape k + 1/2 and rate t,
// Jeffreys' posterior, on effective counts (stat.Disperse).
func jeffreys(sums stat.Sums) func() []float64 {
	if sums.T == 0 {
		return nil
	}
	return func() []float64 {
		k, t := sums.K, sums.T
		if d, err := stat.Disperse(stat.Rate, []stat.Sums{sums}, sums.N); err == nil {
			k, t = d.Effective(0, sums)
		}
		gamma := distuv.Gamma{Alpha: k + 0.5, Beta: t, Src: rand.New(rand.NewPCG(breakSeed, 0))}
		out := make([]float64, draws)
		for i := range out {
			out[i] = gamma.Rand()
		}
		return out
	}
}

func constant(rate float64, draw func() []float64, out *Rate) *hourly {
	h := &hourly{at: func(float64) float64 { return rate }, high: math.Inf(1), to: math.Inf(1)}
	if draw != nil {
		h.draws = func(at []float64) ([][]float64, error) {
			one := draw()
			all := make([][]float64, len(at))
			for i := range all {
				all[i] = one
			}
			return all, nil
		}
	}
	out.Constant, out.High = &rate, h.high
	return h
}

// table goes through typed-in rates: in equal proportions from one length to the next,
// as the log of a fitted curve does, or straight where one is 0. Down to the least
// length it goes on as it did; beyond the longest it is not known.
func table(rates []RateAt, least float64, out *Rate) *hourly {
	first, last := rates[0].LengthMM, rates[len(rates)-1].LengthMM
	h := &hourly{low: min(first, least), high: last, from: min(first, least), to: last, centre: (first + last) / 2, spread: last - first}
	h.at = func(mm float64) float64 {
		if len(rates) == 1 {
			return rates[0].Rate
		}
		i := min(max(sort.Search(len(rates), func(i int) bool { return rates[i].LengthMM >= mm }), 1), len(rates)-1)
		x, y := rates[i-1], rates[i]
		share := (mm - x.LengthMM) / (y.LengthMM - x.LengthMM)
		if x.Rate > 0 && y.Rate > 0 {
			return x.Rate * math.Pow(y.Rate/x.Rate, share)
		}
		return math.Max(0, x.Rate+share*(y.Rate-x.Rate))
	}
	out.Low, out.High = h.low, h.high
	return h
}

// ofCurve is the journal's curve as a rate, at the level of the journal's own mix of what is given.
func ofCurve(m *analytics.Mixed, seed uint64, out *Rate) *hourly {
	h := drawnFrom(m, seed, out.Curve.Rug)
	if b := m.Believed(); b != nil && out.Curve.Bet != nil {
		h.believed, h.usual = drawnFrom(b, seed, out.Curve.Rug), out.Curve.Bet.Against
	}
	out.Low, out.High = h.low, h.high
	return h
}

func drawnFrom(m *analytics.Mixed, seed uint64, rug []analytics.Rug) *hourly {
	h := &hourly{at: m.At, low: rug[0].At, high: rug[len(rug)-1].At}
	h.from, h.to = analytics.FishedRange(rug, analytics.FishedShare)
	total, sum := 0.0, 0.0
	for _, r := range rug {
		total += r.Exposure
		sum += r.Exposure * r.At
	}
	h.centre, h.spread = sum/total, h.high-h.low
	if m.Sure() {
		h.draws = func(at []float64) ([][]float64, error) { return m.Draws(at, draws, seed) }
	}
	return h
}
