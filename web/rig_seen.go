package web

import (
	"context"
	"html/template"
	"slices"
	"strconv"

	"rigtally/analytics/plan"
	"rigtally/drawing"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

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
func (s *Server) seen(ctx context.Context, f *form, rig journal.Rig, sets []journal.RuleSet) (seenPart, error) {
	rig.Positions = slices.Clone(rig.Positions)
	slices.SortStableFunc(rig.Positions, func(a, b journal.RigPosition) int { return a.Position - b.Position })
	p := seenPart{
		Strip: svg(drawing.Strip(rig, drawing.Options{Units: f.units, ID: "strip"}, false)),
		Sheet: svg(drawing.Sheet(rig, drawing.Options{Units: f.units, ID: "sheet"})),
		Notes: drawing.Notes(rig, f.units),
	}
	if set := chosenRules(f, sets); set != nil {
		p.Rules = newRulesPart(*set, rig, f.units)
	}
	var err error
	p.Budget, err = s.budget(ctx, f, rig)
	for _, w := range f.faults {
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
func chosenRules(f *form, sets []journal.RuleSet) *journal.RuleSet {
	now := f.text("rules")
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
func (s *Server) rulesInUse(ctx context.Context) ([]journal.RuleSet, error) {
	list, err := s.store.RuleSets(ctx)
	return slices.DeleteFunc(list, journal.RuleSet.Deleted), err
}

func (f *form) chooseRules(sets []journal.RuleSet) choice {
	var options []option
	for _, set := range sets {
		options = append(options, option{Value: set.ID.String(), Text: set.Name})
	}
	options = append(options, option{Value: noRules, Text: "No rules"})
	if set := chosenRules(f, sets); set != nil {
		f.set("rules", set.ID.String())
	}
	return f.choose("rules", "Hold it against", "", options)
}

func newRulesPart(set journal.RuleSet, rig journal.Rig, sys units.System) *rulesPart {
	checks := set.Check(rig)
	p := &rulesPart{Summary: prose.RulesSummary(set, checks), Source: set.Source, Caution: prose.RulesCaution(set), Href: "/rigs/rules/set/" + set.ID.String()}
	if set.AsOf != nil {
		p.Source = "As of " + dayWords(*set.AsOf) + ". " + p.Source
	}
	for _, c := range checks {
		p.Rows = append(p.Rows, ruleRow{prose.Rule(c, sys), prose.RuleFound(c, sys), capital(string(c.Verdict)), ruleLooks[c.Verdict], prose.RuleAdvice(c, sys)})
	}
	return p
}

// ruleLooks are the marks of the verdicts; each differs in form, not in colour alone.
var ruleLooks = map[journal.RuleVerdict]string{journal.RulePass: "pass", journal.RuleBreaks: "breaks", journal.RuleUnknown: "unknown"}

// budget works out what tags and tippet hold, at the costs of the form.
func (s *Server) budget(ctx context.Context, f *form, rig journal.Rig) (*budgetPart, error) {
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
	b.Tippet = "How many re-ties the tippet has left can't be told: its length isn't noted."
	if rig.TippetLengthMM != nil {
		t, err := plan.NewTippetBudget(*rig.TippetLengthMM, waste.retie, waste.keep)
		if err != nil {
			f.fault("retie", err.Error())
			return b, nil
		}
		b.Tippet = prose.TippetBudget(t, f.units)
	}
	return b, nil
}

func (s *Server) lastTags(ctx context.Context, rig journal.Rig) ([]journal.LastTag, error) {
	if rig.ID.IsZero() {
		return nil, nil
	}
	return s.store.LastTags(ctx, rig)
}

// newTagPart is the budget of one tag, nil for a dropper without one.
func newTagPart(f *form, p journal.RigPosition, last []journal.LastTag, c costs) *tagPart {
	if p.Hang != journal.HangTag {
		return nil
	}
	name := positionLabel(p.Position)
	length, how := p.TagLengthMM, " as tied"
	for _, l := range last {
		if l.Position == p.Position && (length == nil || l.LengthMM != *length) {
			length, how = &l.LengthMM, " at the end of its last stint, "+dayWords(l.Day)
		}
	}
	if length == nil {
		return &tagPart{Words: name + ": its tag's length isn't noted, so the fly changes left can't be told."}
	}
	b, err := plan.NewTagBudget(*length, c.waste, c.least)
	if err != nil {
		f.fault("waste", err.Error())
		return nil
	}
	title := prose.TagBudget(name+", "+units.FormatLength(*length, f.units)+how, b, f.units)
	return &tagPart{Words: title, Picture: svg(drawing.Tags(append([]float64{*length}, b.AfterMM...), c.least, title, drawing.Options{Units: f.units, ID: "tags-" + strconv.Itoa(p.Position)}))}
}
