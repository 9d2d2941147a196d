package rigs

import (
	"context"
	"net/http"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/field"
	"rigtally/web/form"
	"rigtally/web/page"
)

// ruleFields are the rules that a set may have.
var ruleFields = []field.Field[journal.RuleSet]{
	field.Of(func(s *journal.RuleSet) any { return &s.MostFlies }, field.Description{Key: "flies", Label: "Flies, at most", High: maxFlies}),
	field.Of(func(s *journal.RuleSet) any { return &s.LeastApartMM }, field.Description{Key: "apart", Label: "Between flies, at least", Quantity: units.Length}),
	field.Of(func(s *journal.RuleSet) any { return &s.MostLeaderMM }, field.Description{Key: "leader", Label: "Leader, at most", Quantity: units.Length, Long: true}),
	field.Of(func(s *journal.RuleSet) any { return &s.MostLeaderRods }, field.Description{Key: "leader-rods", Label: "Leader, at most this many rod lengths", Hint: "such as 2"}),
	field.Of(func(s *journal.RuleSet) any { return &s.MostRodMM }, field.Description{Key: "rod", Label: "Rod, at most", Quantity: units.Length, Long: true}),
	field.Of(func(s *journal.RuleSet) any { return &s.LeastTagMM }, field.Description{Key: "tag-least", Label: "Tag, at least", Quantity: units.Length}),
	field.Of(func(s *journal.RuleSet) any { return &s.MostTagMM }, field.Description{Key: "tag-most", Label: "Tag, at most", Quantity: units.Length}),
	field.Of(func(s *journal.RuleSet) any { return &s.MostBeadMM }, field.Description{Key: "bead", Label: "Bead, at most", Hint: "mm", Quantity: units.Length, Fixed: units.Millimetre}),
	field.Of(func(s *journal.RuleSet) any { return &s.NoRings }, field.Description{Key: "no-rings", Label: "No rings, at the sighter or as a junction"}),
	field.Of(func(s *journal.RuleSet) any { return &s.NoSwivels }, field.Description{Key: "no-swivels", Label: "No swivels"}),
}

// ruleSet is the form of a rule set.
func (s *pages) ruleSet() page.Editor[journal.RuleSet] {
	return page.Editor[journal.RuleSet]{
		Desk: s.Desk, Tab: "rigs", Template: "ruleset", Add: "Add rules", Change: "Change rules",
		Fresh: func(id journal.ID, _ journal.Outfit) journal.RuleSet { return journal.RuleSet{ID: id} },
		Held:  func(r *http.Request) (journal.RuleSet, error) { return page.At(r, s.Store.RuleSetByID) },
		Fill: func(f *form.Form, set journal.RuleSet) {
			f.Set("name", set.Name)
			f.Set("source", set.Source)
			f.Set("as-of", form.Shown(set.AsOf, journal.Date.String))
			form.Fill(f, ruleFields, &set, form.Own)
		},
		Read: readRules,
		Store: func(ctx context.Context, set journal.RuleSet) error {
			_, err := s.Store.SaveRuleSet(ctx, set)
			return err
		},
		Then: "/rigs/rules?done=rules-saved",
		More: func(_ *http.Request, e page.Entry[journal.RuleSet]) (any, error) {
			return ruleSetPage{e, form.Parts(e.Form, ruleFields, form.Own)}, nil
		},
	}
}

// ruleSetPage is the form with a field for each rule.
type ruleSetPage struct {
	page.Entry[journal.RuleSet]
	Rules []form.Part
}

// readRules turns the form into a rule set; faults are noted in the form.
func readRules(f *form.Form, id journal.ID) journal.RuleSet {
	set := journal.RuleSet{ID: id, Source: f.Text("source"), AsOf: form.Optional(f, "as-of", journal.ParseDate)}
	form.Take(f, ruleFields, &set, form.Own)
	set.Name = f.Filled("name", "give the rules a name, such as Club day 2026")
	return set
}
