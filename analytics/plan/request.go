package plan

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"rigtally/analytics"
	"rigtally/analytics/answer"
	"rigtally/internal/units"
	"rigtally/journal"
)

// Request asks for a plan, as a person puts it. What is left empty is taken from
// the journal or, where that is silent, from common practice.
type Request struct {
	Where []string // as in Request
	Given []string // as in Request, for the curves of tangles and breaks

	// Tangles are the tangles per hour, typed in: "120mm=0.3, 180mm=0.8".
	Tangles string
	// Breaks are the breaks per hour, typed in: "0.05", the same at every length, or as
	// Tangles. "curve" asks for the journal's curve however few its breaks are, "constant"
	// for its one rate for all lengths.
	Breaks string

	Inputs  map[string]string // by the keys of Keys, with or without a unit
	Longest string            // the longest tag to look at
	Anew    bool              // a break gives a fresh tag of full length
	Units   units.System
}

// The ways to take breaks from the journal.
const (
	BreaksCurve    = "curve"
	BreaksConstant = "constant"
)

// question is a request resolved.
type question struct {
	where           []journal.Condition
	inputs          map[string]float64 // those typed in
	longest         float64            // 0 when not asked for
	tangles, breaks []RateAt           // typed in
	constant        *float64           // breaks per hour, typed in
	units           units.System
}

func (r Request) resolve() (q question, err error) {
	whole, err := analytics.Request{Outcome: "tangles", Where: r.Where, Units: r.Units}.Question()
	if err != nil {
		return q, err
	}
	q.where, q.units = whole.Where, r.Units
	if q.inputs, err = r.inputs(); err != nil {
		return q, err
	}
	if r.Longest != "" {
		if q.longest, err = r.length("the longest tag", r.Longest); err != nil {
			return q, err
		}
	}
	if r.Tangles != "" {
		if q.tangles, err = r.rates("tangles", r.Tangles); err != nil {
			return q, err
		}
		if len(q.tangles) < 2 {
			return q, journal.Invalidf("one rate of tangles can't say how it goes over length; write it for two lengths at least, such as 120mm=0.3, 180mm=0.8")
		}
	}
	return q, r.resolveBreaks(&q)
}

func (r Request) resolveBreaks(q *question) (err error) {
	switch text := strings.ToLower(strings.TrimSpace(r.Breaks)); {
	case text == "" || text == BreaksCurve || text == BreaksConstant:
	case !strings.Contains(text, "="):
		v, err := units.ParseNumber(text)
		if err != nil || v < 0 {
			return journal.Invalidf("breaks %q is not understood; write them per hour, such as 0.05, or for some lengths, such as 120mm=0.03, 180mm=0.06", r.Breaks)
		}
		q.constant = &v
	default:
		q.breaks, err = r.rates("breaks", r.Breaks)
	}
	return err
}

// rates reads rates per hour at lengths.
func (r Request) rates(what, text string) ([]RateAt, error) {
	separator := ","
	if strings.ContainsAny(text, ";\n") {
		separator = ";"
		text = strings.ReplaceAll(text, "\n", ";")
	}
	var list []RateAt
	for part := range strings.SplitSeq(text, separator) {
		if strings.TrimSpace(part) == "" {
			continue
		}
		length, rate, ok := strings.Cut(part, "=")
		if !ok {
			return nil, journal.Invalidf("%s %q are not understood; write LENGTH=RATE PER HOUR, such as 120mm=0.3, 180mm=0.8", what, strings.TrimSpace(part))
		}
		mm, err := r.length("the length of a rate of "+what, length)
		if err != nil {
			return nil, err
		}
		v, err := units.ParseNumber(strings.TrimSpace(rate))
		if err != nil || v < 0 || v > 100 {
			return nil, journal.Invalidf("%s per hour %q is not a rate; write a number from 0 to 100", what, strings.TrimSpace(rate))
		}
		if slices.ContainsFunc(list, func(other RateAt) bool { return other.LengthMM == mm }) {
			return nil, journal.Invalidf("%s are given twice for the same length; write each length once", what)
		}
		list = append(list, RateAt{mm, v})
	}
	slices.SortFunc(list, func(x, y RateAt) int { return cmp.Compare(x.LengthMM, y.LengthMM) })
	return list, nil
}

func (r Request) inputs() (map[string]float64, error) {
	out := map[string]float64{}
	for key, text := range r.Inputs {
		if text = strings.TrimSpace(text); text == "" {
			continue
		}
		at := slices.Index(Keys(), key)
		if at < 0 {
			return nil, journal.Invalidf("a plan has no input %q; change one of: %s", key, strings.Join(Keys(), ", "))
		}
		v, err := r.input(kinds()[at], text)
		if err != nil {
			return nil, err
		}
		out[key] = v
	}
	return out, nil
}

func (r Request) input(want kind, text string) (v float64, err error) {
	switch want.quantity {
	case units.Length:
		v, err = r.length(want.title, text)
	case units.Duration:
		if v, err = (units.Parser{}).Parse(units.Duration, text, units.Minute); err != nil {
			err = journal.Invalidf("%s: %v", want.title, err)
		}
	default:
		if v, err = units.ParseNumber(text); err != nil {
			err = journal.Invalidf("%s: %v", want.title, err)
		}
	}
	if err != nil {
		return 0, err
	}
	if !(v >= want.low && v <= want.high) || math.IsNaN(v) {
		return 0, journal.Invalidf("%s can't be %s; write %s to %s", want.title, strings.TrimSpace(text), r.say(want, want.low), r.say(want, want.high))
	}
	return v, nil
}

func (r Request) say(want kind, v float64) string {
	if want.quantity == units.Length {
		return units.FormatLength(v, r.Units)
	}
	return answer.Decimal(&v)
}

// length reads a length; a bare number is in the person's short unit.
func (r Request) length(title, text string) (float64, error) {
	bare := units.Millimetre
	if r.Units == units.US {
		bare = units.Inch
	}
	v, err := units.Parse(units.Length, strings.TrimSpace(text), bare)
	if err != nil {
		return 0, journal.Invalidf("%s: %v", title, err)
	}
	return v, nil
}
