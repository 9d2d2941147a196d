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

// costs are what a budget of tag and tippet rests on, in mm, each with its origin.
type costs struct{ waste, least, retie, keep plan.Assumed }

// usualCosts are the costs where nobody says otherwise.
func (s *pages) usualCosts(ctx context.Context, rig journal.Rig, sys units.System) (costs, error) {
	cuts, err := s.Store.TagCuts(ctx)
	if err != nil {
		return costs{}, err
	}
	top := 0.0
	for _, p := range rig.Droppers() {
		top += form.Or0(p.DistanceMM)
	}
	usual := func(mm float64) plan.Assumed { return plan.PracticeLength(mm, sys) }
	return costs{plan.TagWaste(cuts, sys), usual(plan.PracticeLeastTagMM), usual(plan.PracticeRetieMM), usual(math.Max(plan.PracticeLeastTippetMM, top))}, nil
}

// said are the costs that the form gives, and the usual ones for those left blank.
func (c costs) said(f *form.Form) costs {
	c.waste.Value = form.Or(f.ShortLength("waste"), c.waste.Value)
	c.least.Value = form.Or(f.ShortLength("least"), c.least.Value)
	c.retie.Value = form.Or(f.ShortLength("retie"), c.retie.Value)
	c.keep.Value = form.Or(f.LongLength("keep"), c.keep.Value)
	return c
}

// costFields are the costs as fields of the form, blank where the usual is taken.
func costFields(f *form.Form, usual costs) []form.Field {
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
	Faults       []string    // fields that make no sense, and so are left out
	Choice       form.Choice // of the rules
	Costs        []form.Field
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
// The form says which rules and what a change costs. What is wrong with it is noted in look, which
// has the same fields.
func (s *pages) seen(ctx context.Context, f, look *form.Form, rig journal.Rig) (seenPart, error) {
	rig.Positions = slices.Clone(rig.Positions)
	slices.SortStableFunc(rig.Positions, func(a, b journal.RigPosition) int { return a.Position - b.Position })
	p := seenPart{
		Strip: svg(drawing.Strip(rig, drawing.Options{Units: f.Units, ID: "strip"}, false)),
		Sheet: svg(drawing.Sheet(rig, drawing.Options{Units: f.Units, ID: "sheet"})),
		Notes: drawing.Notes(rig, f.Units),
	}
	sets, err := s.Store.RuleSets(ctx)
	if err != nil {
		return p, err
	}
	sets = slices.DeleteFunc(sets, journal.RuleSet.Deleted)
	if set := chosenRules(f, sets); set != nil {
		p.Rules = newRulesPart(*set, rig, f.Units)
	}
	usual, err := s.usualCosts(ctx, rig, f.Units)
	if err != nil {
		return p, err
	}
	if p.Budget, err = s.budget(ctx, look, rig, usual.said(look)); err != nil {
		return p, err
	}
	p.Choice, p.Costs = chooseRules(f, sets), costFields(f, usual)
	for _, w := range look.Faults {
		if w.Field != "name" {
			p.Faults = append(p.Faults, w.Text)
		}
	}
	return p, nil
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

func chooseRules(f *form.Form, sets []journal.RuleSet) form.Choice {
	options := form.Offer("", sets, func(set journal.RuleSet) form.Option { return form.Option{Value: set.ID.String(), Text: set.Name} })
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

// budget works out what tags and tippet hold, at some costs.
func (s *pages) budget(ctx context.Context, f *form.Form, rig journal.Rig, c costs) (*budgetPart, error) {
	var last []journal.LastTag
	var err error
	if !rig.ID.IsZero() {
		if last, err = s.Store.LastTags(ctx, rig); err != nil {
			return nil, err
		}
	}
	b := &budgetPart{}
	for _, p := range rig.Droppers() {
		if part := newTagPart(f, p, last, c); part != nil {
			b.Tags = append(b.Tags, *part)
		}
	}
	b.Tippet = "Can't tell how many re-ties the tippet has left: its length isn't noted."
	if rig.TippetLengthMM != nil {
		t, err := plan.NewTippetBudget(*rig.TippetLengthMM, c.retie.Value, c.keep.Value)
		if err != nil {
			f.Fault("retie", err.Error())
			return b, nil
		}
		b.Tippet = prose.TippetBudget(t, f.Units)
	}
	return b, nil
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
	b, err := plan.NewTagBudget(*length, c.waste.Value, c.least.Value)
	if err != nil {
		f.Fault("waste", err.Error())
		return nil
	}
	title := prose.TagBudget(name+", "+units.FormatLength(*length, f.Units)+how, b, f.Units)
	return &tagPart{Words: title, Picture: svg(drawing.Tags(append([]float64{*length}, b.AfterMM...), c.least.Value, title, drawing.Options{Units: f.Units, ID: "tags-" + strconv.Itoa(p.Position)}))}
}
