package rigs

import (
	"context"
	"net/http"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/page"
)

// rulesPage lists the rule sets that rigs are held against.
type rulesPage struct {
	page.Frame
	Sets    []ruleSetView
	Deleted []ruleSetView
	Undo    *ruleSetView // what was just deleted
}

// ruleSetView is a rule set in short.
type ruleSetView struct {
	Name, Href, Delete, Restore string
	Example                     bool
	AsOf, Source                string
	Rules                       []string
}

func (s *pages) rules(w http.ResponseWriter, r *http.Request, fr page.Frame) error {
	list, err := s.Store.RuleSets(r.Context())
	if err != nil {
		return err
	}
	p := rulesPage{Frame: fr}
	for _, set := range list {
		v := newRuleSetView(set, fr.Units)
		switch {
		case !set.Deleted():
			p.Sets = append(p.Sets, v)
		case set.ID.String() == r.URL.Query().Get("undo"):
			p.Undo = &v
		default:
			p.Deleted = append(p.Deleted, v)
		}
	}
	return s.Render(w, http.StatusOK, "rules", p)
}

func newRuleSetView(set journal.RuleSet, sys units.System) ruleSetView {
	at := "/rigs/rules/set/" + set.ID.String()
	v := ruleSetView{Name: set.Name, Href: at, Delete: at + "/delete", Restore: at + "/restore", Example: set.Example, Source: set.Source}
	if set.AsOf != nil {
		v.AsOf = prose.Day(*set.AsOf)
	}
	for _, c := range set.Check(journal.Rig{}) {
		v.Rules = append(v.Rules, prose.Rule(c, sys))
	}
	return v
}

// deleteRules and restoreRules take a set out of use and put it back; rules have no versions.
func (s *pages) deleteRules(ctx context.Context, id journal.ID, _ int) error {
	return s.Store.DeleteRuleSet(ctx, id)
}

func (s *pages) restoreRules(ctx context.Context, id journal.ID, _ int) error {
	return s.Store.RestoreRuleSet(ctx, id)
}
