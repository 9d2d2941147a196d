package questions

import (
	"net/url"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"rigtally/analytics"
	"rigtally/internal/units"
	"rigtally/journal"
)

// Question is a question as an address holds it, in the words of the command
// line: outcome=tangles, by=junction (at most twice), where=angler=Orrin (any
// number of times), given=angler (any number of times), versus=blood, over= for
// a curve, and as=bars. Its texts are as typed and may be wrong.
type Question struct {
	Outcome string
	Over    string // of a curve
	By      []string
	Where   []string
	Given   []string
	Versus  string
	As      string // "bars" shows two factors as bars instead of a heat map
}

// asBars is the value of as= that asks for bars.
const asBars = "bars"

// Read reads an address. tidy is false when it holds empty parts, as a
// form sends them, or the same filter twice.
func Read(v url.Values) (q Question, tidy bool) {
	q = Question{Outcome: PlainText(v.Get("outcome")), Over: PlainText(v.Get("over")), Versus: PlainText(v.Get("versus"))}
	if v.Get("as") == asBars {
		q.As = asBars
	}
	parts := 0
	add := func(list *[]string, name string) {
		for _, text := range v[name] {
			parts++
			if text = PlainText(text); text != "" && !slices.Contains(*list, text) {
				*list = append(*list, text)
			}
		}
	}
	add(&q.By, "by")
	add(&q.Where, "where")
	add(&q.Given, "given")
	return q, parts == len(q.By)+len(q.Where)+len(q.Given) && (q.Versus != "" || !v.Has("versus"))
}

// PlainText makes a typed text fit to be asked for and shown, whatever an
// address holds.
func PlainText(s string) string {
	return strings.TrimSpace(strings.Map(func(r rune) rune {
		if unicode.IsControl(r) {
			return unicode.ReplacementChar
		}
		return r
	}, s))
}

// URL is the address of the question on a page.
func (q Question) URL(path string) string {
	var parts []string
	add := func(name, text string) {
		if text != "" {
			parts = append(parts, name+"="+Escape(text))
		}
	}
	add("outcome", q.Outcome)
	add("over", q.Over)
	for _, by := range q.By {
		add("by", by)
	}
	for _, w := range q.Where {
		add("where", w)
	}
	for _, g := range q.Given {
		add("given", g)
	}
	add("versus", q.Versus)
	add("as", q.As)
	if len(parts) == 0 {
		return path
	}
	return path + "?" + strings.Join(parts, "&")
}

// Escape leaves the signs of a filter that may stand in a query as they are, so
// that an address can be read.
func Escape(text string) string {
	return strings.NewReplacer("%3D", "=", "%3A", ":", "%2C", ",").Replace(url.QueryEscape(text))
}

func (q Question) request(sys units.System) analytics.Request {
	return analytics.Request{Outcome: q.Outcome, By: q.By, Where: q.Where, Given: q.Given, Versus: q.Versus, Units: sys}
}

// without leaves one filter out.
func (q Question) without(where string) Question {
	q.Where = slices.DeleteFunc(slices.Clone(q.Where), func(w string) bool { return w == where })
	return q
}

// narrowed keeps to one group of an answer, and asks by the next factor, since
// within one level there is nothing to compare.
func (q Question) narrowed(by []journal.By, g analytics.Group, sys units.System) Question {
	q.Where = slices.Clone(q.Where)
	for i, l := range g.Level {
		if text := filter(by[i].Factor, l); !slices.Contains(q.Where, text) {
			q.Where = append(q.Where, text)
		}
	}
	next := q.nextFactor()
	q.By, q.Versus, q.As = []string{AskedBy(next, sys)}, "", ""
	held := []string{next}
	for _, b := range by {
		held = append(held, b.Factor.Key)
	}
	return q.notGiven(held...)
}

// notGiven leaves factors out of what is corrected for: one that is asked by, or
// that a filter holds, has nothing left to correct.
func (q Question) notGiven(keys ...string) Question {
	q.Given = slices.DeleteFunc(slices.Clone(q.Given), func(g string) bool { return slices.Contains(keys, factorOf(g)) })
	return q
}

// factorOf is the factor that a part of a question names, without its bands or form.
func factorOf(text string) string {
	key, _, _ := strings.Cut(text, ":")
	return key
}

// nextFactor is the first of the factors worth asking by that no filter holds.
func (q Question) nextFactor() string {
	order := []string{"junction", "tag-length", "facing", "bulk", "tippet", "angler", "water", "stroke", "month", "season", "rig"}
	for _, key := range order {
		held := slices.ContainsFunc(q.Where, func(w string) bool { return strings.HasPrefix(w, key+"=") })
		if !held {
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
	}
	return ""
}
