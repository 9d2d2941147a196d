package pg

import (
	"context"

	"rigtally/journal"
)

var ruleSets = &shelf[journal.RuleSet]{
	table: tableOf[journal.RuleSet]("rule_set", "outfit_id"),
	what:  "rule set", called: "rule set", order: "example, created_at DESC, id",
	start: journal.StartingRules,
	mark:  func(r *journal.RuleSet) marks { return marks{r.ID, new(int), &r.CreatedAt, &r.DeletedAt} },
	equal: journal.RuleSet.Equal,
	carry: func(r, held *journal.RuleSet) { r.Example = held != nil && held.Example && r.SameRules(*held) },
}

// RuleSets lists every rule set, the deleted ones too: the user's own first, the
// latest first, then the examples. The first use sets the examples up.
func (s *Store) RuleSets(ctx context.Context) ([]journal.RuleSet, error) { return ruleSets.all(ctx, s) }

// RuleSetByID returns a rule set, or ErrNotFound.
func (s *Store) RuleSetByID(ctx context.Context, id journal.ID) (journal.RuleSet, error) {
	return ruleSets.byID(ctx, s, id)
}

// SaveRuleSet adds a rule set, or changes the one of the same id, and returns it
// as stored. An example that says something else is the user's own from then on.
func (s *Store) SaveRuleSet(ctx context.Context, r journal.RuleSet) (journal.RuleSet, error) {
	return save(ctx, s, ruleSets, r)
}

// DeleteRuleSet takes a rule set out of use; RestoreRuleSet puts it back.
func (s *Store) DeleteRuleSet(ctx context.Context, id journal.ID) error {
	return ruleSets.take(ctx, s, "delete", id, 0, true)
}

// RestoreRuleSet puts a deleted rule set back into use.
func (s *Store) RestoreRuleSet(ctx context.Context, id journal.ID) error {
	return ruleSets.take(ctx, s, "restore", id, 0, false)
}
