package rigs

import (
	"context"
	"html/template"
	"math"
	"slices"
	"strconv"

	"rigtally/analytics/plan"
	"rigtally/drawing"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/form"
)

// costs are what a budget of tag and tippet rests on, in mm.
type costs struct{ waste, least, retie, keep float64 }

// costs reads them from the form, and fills those left blank with what the
// journal or common practice says.
func (s *pages) costs(ctx context.Context, f *form.Form, rig journal.Rig) (costs, error) {
	usual, err := s.usualCosts(ctx, rig, f.Units)
	if err != nil {
		return costs{}, err
	}
	or := func(v *float64, usual plan.Assumed) float64 {
		if v == nil {
			return usual.Value
		}
		return *v
	}
	return costs{
		waste: or(f.ShortLength("waste"), usual.waste), least: or(f.ShortLength("least"), usual.least),
		retie: or(f.ShortLength("retie"), usual.retie), keep: or(f.LongLength("keep"), usual.keep),
	}, nil
}

// usualCosts are the costs where nobody says otherwise, each with its origin.
type usualCosts struct{ waste, least, retie, keep plan.Assumed }

func (s *pages) usualCosts(ctx context.Context, rig journal.Rig, sys units.System) (usualCosts, error) {
	cuts, err := s.Store.TagCuts(ctx)
	if err != nil {
		return usualCosts{}, err
	}
	top := 0.0
	for _, p := range rig.Droppers() {
		if p.DistanceMM != nil {
			top += *p.DistanceMM
		}
	}
	usual := func(mm float64) plan.Assumed { return plan.PracticeLength(mm, sys) }
	return usualCosts{plan.TagWaste(cuts, sys), usual(plan.PracticeLeastTagMM), usual(plan.PracticeRetieMM), usual(math.Max(plan.PracticeLeastTippetMM, top))}, nil
}

// costFields are the costs as fields of the form, blank where the usual is taken.
func costFields(f *form.Form, usual usualCosts) []form.Field {
	hint := func(a plan.Assumed, unit string) string {
		return unit + "; blank: " + units.FormatLength(a.Value, f.Units) + ", " + prose.Assumed(a)
	}
	short, long := f.Unit(units.Inch, units.Millimetre), f.Unit(units.Foot, units.Metre)
	return []form.Field{
		f.Input("waste", "Tag lost at each fly change", hint(usual.waste, short)),
		f.Input("least", "Shortest useful tag", hint(usual.least, short)),
		f.Input("retie", "Tippet lost at each re-tie", hint(usual.retie, short)),
		f.Input("keep", "Shortest useful tippet", hint(usual.keep, long)),
	}
}

// seenPart is what a rig looks like and what follows from how it is tied.
type seenPart struct {
	Strip, Sheet template.HTML
	Notes        []string
	Faults       []string // fields that make no sense, and so are left out
	Rules        *rulesPart
	Budget       *budgetPart
}

// rulesPart is a rig held against a set of rules.
type rulesPart struct {
	Summary, Source, Caution string
	Href                     string
	Rows                     []ruleRow
}

type ruleRow struct{ Rule, Found, Verdict, Look, Advice string }

// budgetPart says what tags and tippet still hold.
type budgetPart struct {
	Tags   []tagPart
	Tippet string
}

type tagPart struct {
	Words   string
	Picture template.HTML
}

// seen puts a rig before the eyes: its drawing, the chosen rules, its budget.
// The form says which rules and what a change costs.
func (s *pages) seen(ctx context.Context, f *form.Form, rig journal.Rig, sets []journal.RuleSet) (seenPart, error) {
	rig.Positions = slices.Clone(rig.Positions)
	slices.SortStableFunc(rig.Positions, func(a, b journal.RigPosition) int { return a.Position - b.Position })
	p := seenPart{
		Strip: svg(drawing.Strip(rig, drawing.Options{Units: f.Units, ID: "strip"}, false)),
		Sheet: svg(drawing.Sheet(rig, drawing.Options{Units: f.Units, ID: "sheet"})),
		Notes: drawing.Notes(rig, f.Units),
	}
	if set := chosenRules(f, sets); set != nil {
		p.Rules = newRulesPart(*set, rig, f.Units)
	}
	var err error
	p.Budget, err = s.budget(ctx, f, rig)
	for _, w := range f.Faults {
		if w.Field != "name" {
			p.Faults = append(p.Faults, w.Text)
		}
	}
	return p, err
}

// svg takes a drawing as it is: the package drawing escapes what people wrote.
func svg(drawn string) template.HTML { return template.HTML(drawn) }

const noRules = "none"

// chosenRules is the set that the form names, else the first.
func chosenRules(f *form.Form, sets []journal.RuleSet) *journal.RuleSet {
	now := f.Text("rules")
	if now == noRules {
		return nil
	}
	for i, set := range sets {
		if set.ID.String() == now {
			return &sets[i]
		}
	}
	if len(sets) == 0 {
		return nil
	}
	return &sets[0]
}

// rulesInUse lists the rule sets that were not deleted.
func (s *pages) rulesInUse(ctx context.Context) ([]journal.RuleSet, error) {
	list, err := s.Store.RuleSets(ctx)
	return slices.DeleteFunc(list, journal.RuleSet.Deleted), err
}

func chooseRules(f *form.Form, sets []journal.RuleSet) form.Choice {
	var options []form.Option
	for _, set := range sets {
		options = append(options, form.Option{Value: set.ID.String(), Text: set.Name})
	}
	options = append(options, form.Option{Value: noRules, Text: "No rules"})
	if set := chosenRules(f, sets); set != nil {
		f.Set("rules", set.ID.String())
	}
	return f.Choose("rules", "Check it against", "", options)
}

func newRulesPart(set journal.RuleSet, rig journal.Rig, sys units.System) *rulesPart {
	checks := set.Check(rig)
	p := &rulesPart{Summary: prose.RulesSummary(set, checks), Source: set.Source, Caution: prose.RulesCaution(set), Href: "/rigs/rules/set/" + set.ID.String()}
	if set.AsOf != nil {
		p.Source = "As of " + prose.Day(*set.AsOf) + ". " + p.Source
	}
	for _, c := range checks {
		p.Rows = append(p.Rows, ruleRow{prose.Rule(c, sys), prose.RuleFound(c, sys), prose.Capital(string(c.Verdict)), ruleLooks[c.Verdict], prose.RuleAdvice(c, sys)})
	}
	return p
}

// ruleLooks are the marks of the verdicts; each differs in form, not in colour alone.
var ruleLooks = map[journal.RuleVerdict]string{journal.RulePass: "pass", journal.RuleBreaks: "breaks", journal.RuleUnknown: "unknown"}

// budget works out what tags and tippet hold, at the costs of the form.
func (s *pages) budget(ctx context.Context, f *form.Form, rig journal.Rig) (*budgetPart, error) {
	waste, err := s.costs(ctx, f, rig)
	if err != nil {
		return nil, err
	}
	last, err := s.lastTags(ctx, rig)
	if err != nil {
		return nil, err
	}
	b := &budgetPart{}
	for _, p := range rig.Droppers() {
		if part := newTagPart(f, p, last, waste); part != nil {
			b.Tags = append(b.Tags, *part)
		}
	}
	b.Tippet = "Can't tell how many re-ties the tippet has left: its length isn't noted."
	if rig.TippetLengthMM != nil {
		t, err := plan.NewTippetBudget(*rig.TippetLengthMM, waste.retie, waste.keep)
		if err != nil {
			f.Fault("retie", err.Error())
			return b, nil
		}
		b.Tippet = prose.TippetBudget(t, f.Units)
	}
	return b, nil
}

func (s *pages) lastTags(ctx context.Context, rig journal.Rig) ([]journal.LastTag, error) {
	if rig.ID.IsZero() {
		return nil, nil
	}
	return s.Store.LastTags(ctx, rig)
}

// newTagPart is the budget of one tag, nil for a dropper without one.
func newTagPart(f *form.Form, p journal.RigPosition, last []journal.LastTag, c costs) *tagPart {
	if p.Hang != journal.HangTag {
		return nil
	}
	name := prose.Position(p.Position)
	length, how := p.TagLengthMM, " as tied"
	for _, l := range last {
		if l.Position == p.Position && (length == nil || l.LengthMM != *length) {
			length, how = &l.LengthMM, " at the end of its last stint, "+prose.Day(l.Day)
		}
	}
	if length == nil {
		return &tagPart{Words: name + ": its tag's length isn't noted, so can't tell how many fly changes are left."}
	}
	b, err := plan.NewTagBudget(*length, c.waste, c.least)
	if err != nil {
		f.Fault("waste", err.Error())
		return nil
	}
	title := prose.TagBudget(name+", "+units.FormatLength(*length, f.Units)+how, b, f.Units)
	return &tagPart{Words: title, Picture: svg(drawing.Tags(append([]float64{*length}, b.AfterMM...), c.least, title, drawing.Options{Units: f.Units, ID: "tags-" + strconv.Itoa(p.Position)}))}
}
