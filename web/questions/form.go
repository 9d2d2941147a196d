package questions

import (
	"cmp"
	"context"
	"slices"
	"strings"
	"time"

	"rigtally/analytics"
	"rigtally/inquiry"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/prose"
	"rigtally/web/form"
)

// questionForm is the form that asks one question.
type questionForm struct {
	Outcomes []form.Option
	By       [2][]form.Option
	Add      []form.OptionGroup // filters that the journal could answer
	Given    []givenOption      // what can be held alike
}

func (s *pages) questionForm(ctx context.Context, q inquiry.Query, sys units.System) (questionForm, error) {
	f := questionForm{Outcomes: outcomeOptions(q.Get("outcome")), Given: givenOptions(q)}
	for i := range f.By {
		chosen := ""
		if by := q.All("by"); i < len(by) {
			chosen = by[i]
		}
		f.By[i] = factorOptions(chosen, sys)
	}
	var err error
	f.Add, err = s.filtersToAdd(ctx, sys)
	return f, err
}

func outcomeOptions(chosen string) []form.Option {
	return form.Select(form.Offer("", journal.Outcomes(), form.Outcome), chosen)
}

// factorOptions lists the factors, those of lengths also in bands.
func factorOptions(chosen string, sys units.System) []form.Option {
	var list []form.Option
	for _, f := range journal.Factors() {
		list = append(list, form.Option{Value: f.Key, Text: f.Title})
		if f.Quantity == journal.Length {
			for _, b := range bandOptions(sys) {
				list = append(list, form.Option{Value: f.Key + ":" + b.Value, Text: f.Title + ", " + b.Text})
			}
		}
	}
	return form.Select(list, chosen)
}

// bandOptions lists widths of bands of tag length.
func bandOptions(sys units.System) []form.Option {
	if sys == units.US {
		return form.Pairs("1in", "in bands of 1 in", "0.5in", "in bands of 1/2 in")
	}
	return form.Pairs("25mm", "in bands of 25 mm", "10mm", "in bands of 10 mm")
}

// filterOptions words the filters in force; one that is not understood stays as typed.
func filterOptions(q inquiry.Query, sys units.System) []form.Option {
	var list []form.Option
	for _, w := range q.All("where") {
		o := form.Option{Value: w, Text: w, Selected: true}
		r := analytics.Request{Outcome: "tangles", Where: []string{w}, Units: sys}
		if asked, err := r.Question(); err == nil {
			o.Text = prose.Condition(asked.Where[0], sys)
		}
		list = append(list, o)
	}
	return list
}

// correctable are the factors that may make two groups unlike each other and are
// usually noted. Any other factor can be written into the address.
var correctable = []string{"angler", "water", "temperature", "temperature-peak", "flow", "flow-percentile", "trend-6h", "trend-24h", "season", "stroke", "junction", "tag-length", "bulk", "tippet", "hang", "swivel"}

// givenOptions lists what can be held alike, besides what is asked by; what is on no list stays as
// it was typed. What would be held alike if another question were asked is among them unseen, so
// that a form that is changed to that question holds it.
func givenOptions(q inquiry.Query, asked ...string) []givenOption {
	asked = append(asked, q.Get("over"))
	for _, by := range q.All("by") {
		asked = append(asked, inquiry.Factor(by))
	}
	given := q.All("given")
	var list []givenOption
	for _, key := range correctable {
		unseen := slices.Contains(asked, key)
		if f, err := journal.FactorByKey(key); err == nil && (!unseen || slices.Contains(given, key)) {
			list = append(list, givenOption{Option: form.Factor(f), Unseen: unseen})
		}
	}
	for _, g := range given {
		i := slices.IndexFunc(list, func(o givenOption) bool { return o.Value == g })
		if i < 0 {
			o := givenOption{Option: form.Option{Value: g, Text: g}}
			if f, err := journal.FactorByKey(inquiry.Factor(g)); err == nil && strings.HasSuffix(g, ":linear") {
				o.Text = f.Title + ", as a straight line"
			}
			list, i = append(list, o), len(list)
		}
		list[i].Selected = true
	}
	return list
}

// givenOption is a factor that may be held alike.
type givenOption struct {
	form.Option
	Unseen bool
}

// filtersToAdd lists what the journal could be narrowed to, by factor.
func (s *pages) filtersToAdd(ctx context.Context, sys units.System) ([]form.OptionGroup, error) {
	levels, err := levels(ctx, s.Store)
	if err != nil {
		return nil, err
	}
	var groups []form.OptionGroup
	for _, f := range journal.Factors() {
		g := form.OptionGroup{Title: f.Title, Options: form.Offer("", levels[f.Key], func(l journal.Level) form.Option {
			return form.Option{Value: filter(f, l), Text: prose.Level(f, l, sys)}
		})}
		if len(g.Options) > 0 {
			groups = append(groups, g)
		}
	}
	return groups, nil
}

// levels lists the values that the journal's anglers, waters and rigs have, by
// factor; flows and temperatures are too many to list.
func levels(ctx context.Context, store *pg.Store) (map[string][]journal.Level, error) {
	l := levelList{}
	anglers, err := store.Anglers(ctx)
	if err != nil {
		return nil, err
	}
	for _, a := range anglers {
		l.word("angler", a.Name)
	}
	waters, err := store.Waters(ctx)
	if err != nil {
		return nil, err
	}
	for _, w := range waters {
		l.word("water", w.Name)
		for _, b := range w.Beats {
			l.word("beat", w.Name+", "+b.Name)
		}
	}
	rigs, err := store.Rigs(ctx)
	if err != nil {
		return nil, err
	}
	for _, r := range rigs {
		if r.Stints > 0 {
			l.rig(r.Rig)
		}
	}
	seasons, err := store.Seasons(ctx)
	if err != nil {
		return nil, err
	}
	for _, year := range seasons {
		l.number("season", float64(year))
	}
	if len(seasons) > 0 {
		for m := time.January; m <= time.December; m++ {
			l.number("month", float64(m))
		}
		for _, stroke := range journal.Strokes() {
			l.word("stroke", string(stroke))
		}
	}
	l.sort()
	return l, nil
}

// WordsFor lists the words that a factor may have: its own, those noted in the journal, and
// more that were chosen before.
func WordsFor(ctx context.Context, store *pg.Store, factor journal.Factor, more ...string) ([]form.Option, error) {
	list := slices.Clone(factor.Vocabulary())
	levels, err := levels(ctx, store)
	if err != nil {
		return nil, err
	}
	var noted []string
	for _, l := range levels[factor.Key] {
		noted = append(noted, l.Word)
	}
	for _, word := range append(noted, more...) {
		if word = inquiry.PlainText(word); word != "" && !slices.ContainsFunc(list, func(w string) bool { return strings.EqualFold(w, word) }) {
			list = append(list, word)
		}
	}
	return form.Offer("", list, func(word string) form.Option { return form.Option{Value: word, Text: word} }), nil
}

// levelList gathers the values of factors, each once.
type levelList map[string][]journal.Level

func (l levelList) add(key string, level journal.Level) {
	if !slices.Contains(l[key], level) {
		l[key] = append(l[key], level)
	}
}

func (l levelList) word(key, word string) {
	if word != "" {
		l.add(key, journal.Level{Kind: journal.WordLevel, Word: word})
	}
}

func (l levelList) number(key string, v float64) {
	l.add(key, journal.Level{Kind: journal.NumberLevel, Number: v})
}

// rig adds what a rig and its flies have of the factors.
func (l levelList) rig(r journal.Rig) {
	for _, f := range journal.Factors() {
		switch {
		case f.Scope() == journal.OfRig:
			l.noted(f, &journal.Setting{Rig: &r})
		case f.ByPosition():
			for i := range r.Positions {
				l.noted(f, &journal.Setting{Rig: &r, Fly: &r.Positions[i]})
			}
		}
	}
}

func (l levelList) noted(f journal.Factor, s *journal.Setting) {
	l.word(f.Key, f.Word(s))
	if n := f.NumberIn(s); n != nil {
		l.number(f.Key, *n)
	}
}

// sort puts numbers upward, a factor's own words in its order, and names by the alphabet.
func (l levelList) sort() {
	for _, f := range journal.Factors() {
		own := f.Vocabulary()
		rank := func(word string) int {
			if i := slices.Index(own, word); i >= 0 {
				return i
			}
			return len(own)
		}
		slices.SortFunc(l[f.Key], func(a, b journal.Level) int {
			return cmp.Or(cmp.Compare(a.Number, b.Number), cmp.Compare(rank(a.Word), rank(b.Word)),
				strings.Compare(strings.ToLower(a.Word), strings.ToLower(b.Word)))
		})
	}
}
