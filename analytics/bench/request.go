package bench

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"

	"rigtally/analytics"
	"rigtally/analytics/answer"
	"rigtally/internal/units"
	"rigtally/journal"
)

// Keeper holds the pulls of the bench; *pg.Store is one.
type Keeper interface {
	BenchPulls(ctx context.Context) ([]journal.BenchPull, error)
	Anglers(ctx context.Context) ([]journal.Angler, error)
}

// Request is a question of the bench as a person puts it.
type Request struct {
	By     []string // factors' keys, at most two; none asks for all knots together
	Where  []string // "junction=figure-eight", "tippet=6X"; several on one factor are alternatives
	Versus string   // the level that others are compared with; empty for the knot with most pulls
	Slips  string   // what a slip is to the Weibull line: SlipsCensored, which "" is too, or SlipsFail
	Units  units.System
}

// How a slip enters the Weibull line.
const (
	SlipsCensored = "censored" // the line would have borne at least that much
	SlipsFail     = "failure"  // that is all that the knot holds
)

// Unknotted is the level of junction of a line without one.
const Unknotted = "unknotted"

// factor is something that pulls can be divided by.
type factor struct {
	journal.Factor
	vocabulary []string // nil: people name the levels
	ofKnot     bool     // only a knotted line has it
	level      func(p journal.BenchPull, tiers map[journal.ID]string) journal.Level
}

func word[T ~string](get func(p journal.BenchPull) T) func(journal.BenchPull, map[journal.ID]string) journal.Level {
	return func(p journal.BenchPull, _ map[journal.ID]string) journal.Level {
		return journal.Level{Word: string(get(p))}
	}
}

func vocabularyOf[T ~string](words []T) []string {
	return answer.Each(words, func(w T) string { return string(w) })
}

func factors() []factor {
	named := func(key, title, missing string) journal.Factor {
		return journal.Factor{Key: key, Title: title, Missing: missing}
	}
	junctions := vocabularyOf(journal.Junctions())
	junctions[len(junctions)-1] = Unknotted
	return []factor{
		{Factor: named("junction", "Junction", ""), vocabulary: junctions, level: word(func(p journal.BenchPull) string {
			if !p.Knotted() {
				return Unknotted
			}
			return p.Knot()
		})},
		{Factor: named("facing", "Facing", "knots with no facing noted"), vocabulary: vocabularyOf(journal.Facings()), ofKnot: true, level: word(func(p journal.BenchPull) journal.Facing { return p.Facing })},
		{Factor: named("prop", "Prop", "knots with no prop noted"), vocabulary: vocabularyOf(journal.Props()), ofKnot: true, level: word(func(p journal.BenchPull) journal.Prop { return p.Prop })},
		{Factor: journal.Factor{Key: "tippet", Title: "Tippet", Quantity: journal.Diameter}, level: func(p journal.BenchPull, _ map[journal.ID]string) journal.Level {
			return journal.Level{Kind: journal.NumberLevel, Number: p.TippetMM}
		}},
		{Factor: named("material", "Material", "pulls with no material noted"), vocabulary: vocabularyOf(journal.Materials()), level: word(func(p journal.BenchPull) journal.Material { return p.Material })},
		{Factor: named("pulled-on", "Pulled on", "knots with no part pulled on noted"), vocabulary: vocabularyOf(journal.PulledOns()), ofKnot: true, level: word(func(p journal.BenchPull) journal.PulledOn { return p.PulledOn })},
		{Factor: named("wet", "Wet or dry", "pulls not noted as wet or dry"), vocabulary: vocabularyOf(journal.Wetnesses()), level: word(func(p journal.BenchPull) journal.Wetness { return p.Wetness })},
		{Factor: named("angler", "Tied by", "pulls with nobody noted who tied it"), level: func(p journal.BenchPull, tiers map[journal.ID]string) journal.Level {
			if p.AnglerID == nil {
				return journal.Level{}
			}
			return journal.Level{Word: tiers[*p.AnglerID]}
		}},
		{Factor: named("label", "Label", "pulls without a label"), level: word(func(p journal.BenchPull) string { return p.Label })},
	}
}

// Factors lists what pulls can be divided by.
func Factors() []journal.Factor {
	return answer.Each(factors(), func(f factor) journal.Factor { return f.Factor })
}

func factorByKey(key string) (factor, error) {
	var keys []string
	for _, f := range factors() {
		if f.Key == key {
			return f, nil
		}
		keys = append(keys, f.Key)
	}
	return factor{}, journal.Invalidf("the bench knows no factor %q; ask by one of: %s", key, strings.Join(keys, ", "))
}

// heldAlike lists the factors in which pulls must agree to be compared, besides the
// factor asked by: what they were pulled in, and what else makes the knot where
// the question is about a part of it.
func heldAlike(by []factor) []factor {
	keys := []string{"tippet", "material", "wet", "pulled-on"}
	if !slices.ContainsFunc(by, func(f factor) bool { return f.Key == "junction" }) {
		keys = append(keys, "junction", "facing", "prop")
	}
	var list []factor
	for _, key := range keys {
		f, _ := factorByKey(key)
		if !slices.ContainsFunc(by, func(b factor) bool { return b.Key == key }) {
			list = append(list, f)
		}
	}
	return list
}

// filter is a condition with its factor.
type filter struct {
	factor
	journal.Condition
}

func (r Request) filters() ([]filter, error) {
	var list []filter
	for _, text := range r.Where {
		key, value, ok := strings.Cut(text, "=")
		value = strings.TrimSpace(value)
		if !ok || value == "" {
			return nil, journal.Invalidf("filter %q is not understood; write FACTOR=VALUE, for example junction=blood", text)
		}
		f, err := factorByKey(strings.TrimSpace(key))
		if err != nil {
			return nil, err
		}
		c := journal.Condition{Factor: f.Factor, Word: value}
		if f.Quantity != journal.Words {
			v, err := analytics.ParseValue(f.Factor, value, r.Units)
			if err != nil {
				return nil, err
			}
			c = journal.Condition{Factor: f.Factor, Low: v, High: v}
		} else if f.vocabulary != nil && f.Key != "junction" {
			i := slices.IndexFunc(f.vocabulary, func(w string) bool { return strings.EqualFold(w, value) })
			if i < 0 {
				return nil, journal.Invalidf("%s %q is not known; write one of: %s", strings.ToLower(f.Title), value, strings.Join(f.vocabulary, ", "))
			}
			c.Word = f.vocabulary[i]
		}
		list = append(list, filter{f, c})
	}
	return list, nil
}

// passes reports whether a pull meets one condition on each factor.
func passes(p journal.BenchPull, filters []filter, tiers map[journal.ID]string) bool {
	met := map[string]bool{}
	for _, f := range filters {
		key := f.factor.Key
		level := f.level(p, tiers)
		if level.Kind == journal.NumberLevel {
			const hair = 5e-4 // mm; labels carry three decimals
			met[key] = met[key] || level.Number > f.Low-hair && level.Number < f.High+hair
		} else {
			met[key] = met[key] || strings.EqualFold(level.Word, f.Word)
		}
	}
	return !slices.Contains(slices.Collect(maps.Values(met)), false)
}

func (r Request) factors() ([]factor, error) {
	if len(r.By) > 2 {
		return nil, journal.Invalidf("pulls can be divided by two factors at most; leave out %q", r.By[2])
	}
	var list []factor
	for _, key := range r.By {
		f, err := factorByKey(strings.TrimSpace(key))
		if err != nil {
			return nil, err
		}
		if slices.ContainsFunc(list, func(other factor) bool { return other.Key == f.Key }) {
			return nil, journal.Invalidf("factor %q is asked by twice; name it once", f.Key)
		}
		list = append(list, f)
	}
	if r.Slips != "" && r.Slips != SlipsCensored && r.Slips != SlipsFail {
		return nil, journal.Invalidf("slips can't be taken as %q; write %s or %s", r.Slips, SlipsCensored, SlipsFail)
	}
	return list, nil
}

// tiers names those who tied.
func tiers(ctx context.Context, from Keeper) (map[journal.ID]string, error) {
	list, err := from.Anglers(ctx)
	if err != nil {
		return nil, fmt.Errorf("read who tied the knots: %w", err)
	}
	names := map[journal.ID]string{}
	for _, a := range list {
		names[a.ID] = a.Name
	}
	return names, nil
}

// Levels lists the levels that pulls have of each factor, in their natural
// order.
func Levels(ctx context.Context, from Keeper) (map[string][]journal.Level, error) {
	pulls, err := from.BenchPulls(ctx)
	if err != nil {
		return nil, err
	}
	names, err := tiers(ctx, from)
	if err != nil {
		return nil, err
	}
	found := map[string][]journal.Level{}
	for _, f := range factors() {
		for _, p := range pulls {
			l := f.level(p, names)
			if l != (journal.Level{}) && !slices.Contains(found[f.Key], l) {
				found[f.Key] = append(found[f.Key], l)
			}
		}
		slices.SortFunc(found[f.Key], f.compare)
	}
	return found, nil
}
