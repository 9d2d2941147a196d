package questions

import (
	"net/http"
	"slices"
	"strconv"

	"rigtally/analytics"
	"rigtally/inquiry"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/web/form"
	"rigtally/web/page"
)

// asBars is the value of as= that asks for bars where two factors are a heat map.
const asBars = "bars"

// Asking makes an action that shows a question, as its address has it, in a frame.
func Asking(d *page.Desk, tab, title, path string, params []inquiry.Param, show func(http.ResponseWriter, *http.Request, page.Frame, inquiry.Query) error) page.Action {
	return func(w http.ResponseWriter, r *http.Request) error {
		q, tidy := inquiry.Read(params, r.URL.Query())
		if !tidy {
			return page.See(w, r, q.URL(path))
		}
		f, err := d.Frame(r, tab, title)
		if err != nil {
			return err
		}
		return show(w, r, f, q)
	}
}

// asked is what every page of a question shows.
type asked struct {
	page.Frame
	Where    []form.Option // filters in force
	Filters  []Taken       // the same, each with the page without it
	Problems []string      // why the question has no answer
}

func newAsked(f page.Frame, q inquiry.Query, path string) asked {
	where := filterOptions(q, f.Units)
	return asked{Frame: f, Where: where, Filters: TakenFilters(where, q, path)}
}

// rates is a question of how often something happens, as pages ask it: in the words of the
// command line, and with as=bars. said are keys with their texts.
func rates(said map[string][]string) inquiry.Query {
	q, _ := inquiry.Read(rateParams(), said)
	return q
}

func rateParams() []inquiry.Param {
	return append(inquiry.Rates().Params, inquiry.Param{Key: "as", Kind: inquiry.Yes, Words: func() []string { return []string{asBars} }})
}

// notAsked leaves out of what is said to be held alike those of the usual ones that are asked by: a form
// holds them for another question.
func notAsked(q inquiry.Query) inquiry.Query {
	asked := []string{q.Get("over")}
	for _, by := range q.All("by") {
		asked = append(asked, inquiry.Factor(by))
	}
	for _, key := range usualGivens(q) {
		if slices.Contains(asked, key) {
			q = q.NotGiven(key)
		}
	}
	return q
}

// first makes a question that asks nothing ask how often flies tangle, by junction.
func first(q inquiry.Query) inquiry.Query {
	if len(q.All("by")) == 0 {
		q = q.With("by", "junction")
	}
	return firstOutcome(q)
}

func firstOutcome(q inquiry.Query) inquiry.Query {
	if q.Get("outcome") == "" {
		q = q.With("outcome", "tangles")
	}
	return q
}

// narrowed keeps to one group of an answer, and asks by the next factor, since
// within one level there is nothing to compare.
func narrowed(q inquiry.Query, by []journal.By, g analytics.Group, sys units.System) inquiry.Query {
	where := slices.Clone(q.All("where"))
	for i, l := range g.Level {
		if text := filter(by[i].Factor, l); !slices.Contains(where, text) {
			where = append(where, text)
		}
	}
	q = q.With("where", where...)
	next := nextFactor(q)
	held := []string{next}
	for _, b := range by {
		held = append(held, b.Factor.Key)
	}
	return q.With("by", AskedBy(next, sys)).With("versus").With("as").NotGiven(held...)
}

// nextFactor is the first of the factors worth asking by that no filter holds.
func nextFactor(q inquiry.Query) string {
	order := []string{"junction", "tag-length", "facing", "bulk", "tippet", "angler", "water", "stroke", "month", "season", "rig"}
	for _, key := range order {
		if !q.Holds(key) {
			return key
		}
	}
	return order[0]
}

// AskedBy is how a factor is best asked by: tag lengths are many, so in bands.
func AskedBy(key string, sys units.System) string {
	if key == "tag-length" {
		return key + ":" + bandOptions(sys)[0].Value
	}
	return key
}

// RatesURL is the address of a question of how often something happens.
func RatesURL(said map[string][]string) string { return rates(said).URL("/findings") }

// CurveURL is the address of a question of how something goes over a number.
func CurveURL(said map[string][]string) string {
	q, _ := inquiry.Read(inquiry.Curve().Params, said)
	return q.URL("/curve")
}

// filter writes a level as a filter, in the storage unit, so that it means the
// same whatever units are shown.
func filter(f journal.Factor, l journal.Level) string {
	number := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) + storageUnit(f.Quantity) }
	switch l.Kind {
	case journal.NumberLevel:
		return f.Key + "=" + number(l.Number)
	case journal.BandLevel:
		return f.Key + "=" + number(l.Number) + "..<" + number(l.Upper)
	case journal.BelowLevel:
		return f.Key + "=..<" + number(l.Upper)
	case journal.AboveLevel:
		return f.Key + "=" + number(l.Number) + ".."
	}
	return f.Key + "=" + l.Word
}

func storageUnit(q journal.Quantity) string {
	switch q {
	case journal.Length, journal.Diameter:
		return "mm"
	case journal.Flow:
		return "m3/s"
	case journal.Temperature:
		return "C"
	case journal.Percent:
		return "%"
	}
	return ""
}
