package rigs

import (
	"context"
	"net/http"

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

// ruleSetView is a rule set with its rules in words.
type ruleSetView struct {
	journal.RuleSet
	Rules []string
}

func (s *pages) rules(w http.ResponseWriter, r *http.Request, fr page.Frame) error {
	list, err := s.Store.RuleSets(r.Context())
	if err != nil {
		return err
	}
	p := rulesPage{Frame: fr}
	for _, set := range list {
		v := ruleSetView{RuleSet: set}
		for _, c := range set.Check(journal.Rig{}) {
			v.Rules = append(v.Rules, prose.Rule(c, fr.Units))
		}
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

// deleteRules and restoreRules take a set out of use and put it back; rules have no versions.
func (s *pages) deleteRules(ctx context.Context, id journal.ID, _ int) error {
	return s.Store.DeleteRuleSet(ctx, id)
}

func (s *pages) restoreRules(ctx context.Context, id journal.ID, _ int) error {
	return s.Store.RestoreRuleSet(ctx, id)
}
