package analytics

import (
	"math"
	"slices"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
)

// CurveRequest asks how a rate goes over a number, as a person puts it.
type CurveRequest struct {
	Outcome  string   // an outcome's key
	Over     string   // the key of a factor that is a number; "" for the tag length
	Where    []string // as in Request
	Given    []string // as in Request
	Model    string   // as in Request
	Prior    float64  // as in Request
	Knots    []string // where the curve bends, at least one; none places two by the exposure. A bare number is in the storage unit
	Boundary []string // the two ends beyond which it is straight; none places them by the exposure
	Units    units.System
}

// curveQuestion is a request resolved.
type curveQuestion struct {
	journal.Question
	over     journal.Factor
	givens   []Given
	usual    bool
	model    Model
	knots    []float64 // ascending
	boundary []float64 // none or two, ascending
}

// resolve turns a request into what the journal can be asked. Its error says which
// part is not understood.
func (r CurveRequest) resolve() (q curveQuestion, err error) {
	key := strings.TrimSpace(r.Over)
	if key == "" {
		key = "tag-length"
	}
	if q.over, err = journal.FactorByKey(key); err != nil {
		return q, err
	}
	if q.over.Quantity == journal.Words {
		return q, journal.Invalidf("a curve goes over a number, and %s is a word; ask for rates by %s, or for a curve over tag-length, tippet, flow or temperature", strings.ToLower(q.over.Title), q.over.Key)
	}
	whole := Request{Outcome: r.Outcome, Where: r.Where, Units: r.Units}
	if q.Question, err = whole.Question(); err != nil {
		return q, err
	}
	q.By = []journal.By{{Factor: q.over}}
	if q.givens, q.usual, err = GivensFor(r.Given, q.over); err != nil {
		return q, err
	}
	q.Given = factorsOf(q.givens)
	if q.model, err = ModelNamed(r.Model); err != nil {
		return q, err
	}
	q.model = modelOf(q.model, q.Outcome)
	return q, q.resolveKnots(r)
}

func (q *curveQuestion) resolveKnots(r CurveRequest) (err error) {
	if q.knots, err = r.values(q.over, r.Knots); err != nil {
		return err
	}
	if q.boundary, err = r.values(q.over, r.Boundary); err != nil {
		return err
	}
	if len(q.boundary) != 0 && len(q.boundary) != 2 {
		return journal.Invalidf("the boundary of a curve has two ends, not %d; write them with a comma between, for example 80mm,240mm", len(q.boundary))
	}
	all := q.knots
	if len(q.boundary) == 2 {
		if len(q.knots) == 0 {
			return journal.Invalidf("a boundary needs knots between its ends; name them too, for example 120mm,160mm")
		}
		all = slices.Concat(q.boundary[:1], q.knots, q.boundary[1:])
	}
	for i := 1; i < len(all); i++ {
		if all[i] <= all[i-1] {
			return journal.Invalidf("the knots of a curve must all differ and lie within its boundary; choose others")
		}
	}
	if len(q.knots) > mostKnots {
		return journal.Invalidf("a curve can have %d knots at most; name fewer", mostKnots)
	}
	return nil
}

// mostKnots keeps a curve from having more bends than any journal can tell.
const mostKnots = 8

// values reads numbers of a factor, and returns them in ascending order. Bare ones are
// in the storage unit, as those of an answer are, so that a curve can be asked for again.
func (r CurveRequest) values(f journal.Factor, texts []string) ([]float64, error) {
	var list []float64
	for _, text := range texts {
		v, err := storedValue(f, strings.TrimSpace(text))
		if err != nil {
			return nil, journal.Invalidf("%s: %v", strings.ToLower(f.Title), err)
		}
		list = append(list, v)
	}
	slices.Sort(list)
	return list, nil
}

func storedValue(f journal.Factor, text string) (float64, error) {
	if f.Quantity == journal.Number {
		return units.ParseNumber(text)
	}
	quantity, bare := unitOf(f.Quantity, units.Metric)
	if f.Quantity == journal.Diameter {
		bare = units.Millimetre
	}
	return units.Parser{}.Parse(quantity, text, bare)
}

// CurveSteps are the values at which a curve is told: round ones in the person's unit, within the range.
func CurveSteps(f journal.Factor, sys units.System, low, high float64) []float64 {
	size, zero := stepOfCurve(f, sys, high-low)
	const slack = 1e-9 // of a step, for what rounding does to a value on the grid
	first, last := math.Ceil((low-zero)/size-slack), math.Floor((high-zero)/size+slack)
	var list []float64
	for k := first; k <= last; k++ {
		list = append(list, Tidy(zero+k*size))
	}
	if len(list) < 2 {
		return []float64{low, high}
	}
	return list
}

// stepOfCurve is the size of the steps, in the storage unit, and a value that is on the grid:
// 5 mm or a quarter inch for lengths, a whole X for tippet, a degree (or 2 °F) for
// temperature, 5% for flows for the time of year, and for flows the round number that makes about 25 steps.
func stepOfCurve(f journal.Factor, sys units.System, span float64) (size, zero float64) {
	us := sys == units.US
	switch f.Quantity {
	case journal.Length:
		if us {
			return 25.4 / 4, 0
		}
		return 5, 0
	case journal.Diameter:
		return 0.0254, 0 // a thousandth of an inch, by the rule of eleven
	case journal.Temperature:
		if us {
			return 2 / 1.8, -32 / 1.8
		}
		return 1, 0
	case journal.Percent:
		return 5, 0
	case journal.Flow:
		unit := 1.0
		if us {
			unit = 0.028316846592 // a cubic foot per second
		}
		return RoundStep(span/unit/25) * unit, 0
	}
	return 1, 0
}

// RoundStep is the next 1, 2 or 5 times a power of ten.
func RoundStep(v float64) float64 {
	if !(v > 0) {
		return 1
	}
	power := math.Pow(10, math.Floor(math.Log10(v)))
	for _, m := range []float64{1, 2, 5} {
		if v <= m*power*(1+1e-9) {
			return m * power
		}
	}
	return 10 * power
}
