// Package analytics asks questions of a journal and answers them with honest
// uncertainty.
package analytics

import (
	"context"
	"math"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/facts"
)

// Asker holds what happened; *pg.Store is one.
type Asker interface {
	// Ask returns the sums of a question's groups, and Rows the rows behind them, too.
	Ask(ctx context.Context, q journal.Question) (journal.Answer, error)
	Rows(ctx context.Context, q journal.Question) (*facts.Rows, error)
}

// Request is a question as a person puts it.
type Request struct {
	Outcome string   // an outcome's key
	By      []string // factors' keys, at most two; "tag-length:25mm" asks for bands of that width
	Where   []string // "junction=blood", "tag-length=150mm..180mm", "flow=10..<20"
	Versus  string   // the level that others are compared with; empty for the one with most exposure
	Given   []string // factors whose differences are taken out: "angler", "tag-length" (a curve), "tag-length:linear"; empty for angler and water, "none" for none
	Model   string   // "frailty", also when empty, or "marginal"
	Prior   float64  // standard deviation of log ratios before anything was fished, for the bet; 0 for PriorSD
	Units   units.System
}

// Question resolves a request into what the journal can be asked. Its error
// says which part is not understood and what would be.
func (r Request) Question() (journal.Question, error) {
	outcome, err := journal.OutcomeByKey(r.Outcome)
	if err != nil {
		return journal.Question{}, err
	}
	q := journal.Question{Outcome: outcome}
	for _, text := range r.By {
		by, err := r.parseBy(text)
		if err != nil {
			return journal.Question{}, err
		}
		for _, other := range q.By {
			if other.Factor.Key == by.Factor.Key {
				return journal.Question{}, journal.Invalidf("factor %q is asked by twice; name it once", by.Factor.Key)
			}
		}
		q.By = append(q.By, by)
	}
	if len(q.By) > 2 {
		return journal.Question{}, journal.Invalidf("a question can be divided by two factors at most; leave out %q", r.By[2])
	}
	for _, text := range r.Where {
		c, err := r.parseCondition(text)
		if err != nil {
			return journal.Question{}, err
		}
		q.Where = append(q.Where, c)
	}
	if _, err := ModelNamed(r.Model); err != nil {
		return q, err
	}
	return q, r.give(&q)
}

// give puts what is given into the question. Without anything to compare nothing is.
func (r Request) give(q *journal.Question) error {
	if len(q.By) == 0 {
		if list, _, err := GivensFor(r.Given); err != nil || len(list) == 0 || len(r.Given) == 0 {
			return err
		}
		return journal.Invalidf("a correction needs something to compare; say by which factor, for example by junction, or give nothing")
	}
	var asked []journal.Factor
	for _, by := range q.By {
		asked = append(asked, by.Factor)
	}
	list, _, err := GivensFor(r.Given, asked...)
	q.Given = factorsOf(list)
	return err
}

func (r Request) parseCondition(text string) (journal.Condition, error) {
	key, value, ok := strings.Cut(text, "=")
	value = strings.TrimSpace(value)
	if !ok || value == "" {
		return journal.Condition{}, journal.Invalidf("filter %q is not understood; write FACTOR=VALUE, for example junction=blood", text)
	}
	f, err := journal.FactorByKey(strings.TrimSpace(key))
	if err != nil {
		return journal.Condition{}, err
	}
	c := journal.Condition{Factor: f}
	if f.Quantity == journal.Words {
		c.Word, err = KnownWord(f, value)
		return c, err
	}
	c.Low, c.High = math.Inf(-1), math.Inf(1)
	from, to, isRange := strings.Cut(value, "..")
	if !isRange {
		v, err := ParseValue(f, value, r.Units)
		if err != nil {
			return c, journal.Invalidf("%v; a range has two dots, as LOW..HIGH or LOW..", err)
		}
		c.Low, c.High = v, v
		return c, nil
	}
	if from = strings.TrimSpace(from); from != "" {
		if c.Low, err = ParseValue(f, from, r.Units); err != nil {
			return c, err
		}
	}
	if to, c.Below = strings.CutPrefix(strings.TrimSpace(to), "<"); to != "" {
		if c.High, err = ParseValue(f, to, r.Units); err != nil {
			return c, err
		}
	}
	if c.Low > c.High {
		return c, journal.Invalidf("the range of filter %q runs backwards; write the smaller value first", text)
	}
	return c, nil
}

// KnownWord checks a word against the factor's vocabulary, if it has a closed one.
func KnownWord(f journal.Factor, word string) (string, error) {
	vocabulary := f.Vocabulary()
	if vocabulary == nil || f.Key == "junction" { // users name junctions of their own
		return word, nil
	}
	for _, v := range vocabulary {
		if strings.EqualFold(v, word) {
			return v, nil
		}
	}
	return "", journal.Invalidf("%s %q is not known; write one of: %s", strings.ToLower(f.Title), word, strings.Join(vocabulary, ", "))
}

// ParseValue reads a value of a continuous factor, a bare number being in the
// unit that the person sees.
func ParseValue(f journal.Factor, text string, sys units.System) (float64, error) {
	if f.Quantity == journal.Number {
		v, err := units.ParseNumber(text)
		if err != nil {
			return 0, journal.Invalidf("%s: %v", strings.ToLower(f.Title), err)
		}
		return v, nil
	}
	quantity, bare := unitOf(f.Quantity, sys)
	v, err := units.Parser{}.Parse(quantity, text, bare)
	if err != nil {
		return 0, journal.Invalidf("%s: %v", strings.ToLower(f.Title), err)
	}
	return v, nil
}

// unitOf returns how a factor's values are written in a system.
func unitOf(q journal.Quantity, sys units.System) (units.Quantity, units.Unit) {
	us := sys == units.US
	switch q {
	case journal.Length:
		if us {
			return units.Length, units.Inch
		}
		return units.Length, units.Millimetre
	case journal.Diameter:
		return units.Tippet, units.X
	case journal.Flow:
		if us {
			return units.Flow, units.CubicFootPerSecond
		}
		return units.Flow, units.CubicMetrePerSecond
	case journal.Percent:
		return units.Percent, units.PerCent
	}
	if us {
		return units.Temperature, units.Fahrenheit
	}
	return units.Temperature, units.Celsius
}
