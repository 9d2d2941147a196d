package pg

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

var ruleSetTable = []string{"outfit_id", "id", "name", "source", "as_of", "example", "most_flies", "least_apart_mm", "most_leader_mm", "most_leader_rods",
	"most_rod_mm", "no_rings", "no_swivels", "least_tag_mm", "most_tag_mm", "most_bead_mm", "created_at", "deleted_at"}

func ruleSetRow(s journal.RuleSet, outfit journal.ID) []any {
	return []any{outfit, s.ID, s.Name, s.Source, s.AsOf, s.Example, s.MostFlies, s.LeastApartMM, s.MostLeaderMM, s.MostLeaderRods,
		s.MostRodMM, s.NoRings, s.NoSwivels, s.LeastTagMM, s.MostTagMM, s.MostBeadMM, s.CreatedAt, s.DeletedAt}
}

func readRuleSet(row pgx.CollectableRow) (journal.RuleSet, error) {
	var s journal.RuleSet
	err := row.Scan(&s.ID, &s.Name, &s.Source, &s.AsOf, &s.Example, &s.MostFlies, &s.LeastApartMM, &s.MostLeaderMM, &s.MostLeaderRods,
		&s.MostRodMM, &s.NoRings, &s.NoSwivels, &s.LeastTagMM, &s.MostTagMM, &s.MostBeadMM, &s.CreatedAt, &s.DeletedAt)
	s.Normalize()
	return s, err
}

// RuleSets lists every rule set, the deleted ones too: the user's own first, the
// latest first, then the examples. The first use sets the examples up.
func (s *Store) RuleSets(ctx context.Context) ([]journal.RuleSet, error) {
	const order = "example, created_at DESC, id"
	list, err := s.readRuleSets(ctx, s.pool, order)
	if err != nil || len(list) > 0 {
		return list, explain("list the rule sets", err)
	}
	if err := s.write(ctx, "set up the rule sets", s.startRules(ctx)); err != nil {
		return nil, err
	}
	list, err = s.readRuleSets(ctx, s.pool, order)
	return list, explain("list the rule sets", err)
}

func (s *Store) readRuleSets(ctx context.Context, from querier, order string) ([]journal.RuleSet, error) {
	rows, err := from.Query(ctx, `SELECT id, name, source, as_of, example, most_flies, least_apart_mm, most_leader_mm, most_leader_rods,
		most_rod_mm, no_rings, no_swivels, least_tag_mm, most_tag_mm, most_bead_mm, created_at, deleted_at
		FROM rule_set WHERE outfit_id = $1 ORDER BY `+order, s.outfit)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, readRuleSet)
}

// startRules adds the examples to a journal that has never had a rule set.
// Deleted sets are kept, so they do not come back.
func (s *Store) startRules(ctx context.Context) func(pgx.Tx) error {
	return func(tx pgx.Tx) error {
		var used bool
		if err := tx.QueryRow(ctx, `SELECT EXISTS (SELECT FROM rule_set WHERE outfit_id = $1)`, s.outfit).Scan(&used); err != nil || used {
			return err
		}
		batch := &pgx.Batch{}
		for _, r := range journal.StartingRules() {
			batch.Queue(insertInto("rule_set", ruleSetTable)+` ON CONFLICT DO NOTHING`, ruleSetRow(r, s.outfit)...) // another process may be first
		}
		return tx.SendBatch(ctx, batch).Close()
	}
}

// RuleSetByID returns a rule set, or ErrNotFound.
func (s *Store) RuleSetByID(ctx context.Context, id journal.ID) (journal.RuleSet, error) {
	list, err := s.RuleSets(ctx)
	if err != nil {
		return journal.RuleSet{}, err
	}
	for _, r := range list {
		if r.ID == id {
			return r, nil
		}
	}
	return journal.RuleSet{}, fmt.Errorf("rule set %s: %w", id, journal.ErrNotFound)
}

// SaveRuleSet adds a rule set, or changes the one of the same id, and returns it
// as stored. An example that says something else is the user's own from then on.
func (s *Store) SaveRuleSet(ctx context.Context, r journal.RuleSet) (journal.RuleSet, error) {
	r.Normalize()
	if err := r.Validate(); err != nil {
		return journal.RuleSet{}, err
	}
	err := s.write(ctx, "save the rule set", func(tx pgx.Tx) error {
		if err := s.startRules(ctx)(tx); err != nil {
			return err
		}
		held, err := s.lockRuleSet(ctx, tx, r.ID)
		switch {
		case errors.Is(err, pgx.ErrNoRows):
			r.Example = false
			if r.CreatedAt.IsZero() {
				r.CreatedAt = time.Now().UTC().Truncate(time.Microsecond)
			}
		case err != nil:
			return err
		default:
			r.CreatedAt, r.DeletedAt, r.Example = held.CreatedAt, held.DeletedAt, held.Example && r.SameRules(held)
		}
		return s.addRuleSets(ctx, tx, []journal.RuleSet{r})
	})
	return r, err
}

func (s *Store) lockRuleSet(ctx context.Context, tx pgx.Tx, id journal.ID) (journal.RuleSet, error) {
	if _, err := tx.Exec(ctx, `SELECT FROM rule_set WHERE outfit_id = $1 AND id = $2 FOR UPDATE`, s.outfit, id); err != nil {
		return journal.RuleSet{}, err
	}
	list, err := s.readRuleSets(ctx, tx, "id")
	if err != nil {
		return journal.RuleSet{}, err
	}
	for _, r := range list {
		if r.ID == id {
			return r, nil
		}
	}
	return journal.RuleSet{}, pgx.ErrNoRows
}

// addRuleSets writes sets as they are, in the place of those of the same ids.
func (s *Store) addRuleSets(ctx context.Context, tx pgx.Tx, list []journal.RuleSet) error {
	batch := &pgx.Batch{}
	for _, r := range list {
		batch.Queue(insertInto("rule_set", ruleSetTable)+` ON CONFLICT (outfit_id, id) DO UPDATE SET name = excluded.name, source = excluded.source, as_of = excluded.as_of,
			example = excluded.example, most_flies = excluded.most_flies, least_apart_mm = excluded.least_apart_mm, most_leader_mm = excluded.most_leader_mm,
			most_leader_rods = excluded.most_leader_rods, most_rod_mm = excluded.most_rod_mm, no_rings = excluded.no_rings, no_swivels = excluded.no_swivels,
			least_tag_mm = excluded.least_tag_mm, most_tag_mm = excluded.most_tag_mm, most_bead_mm = excluded.most_bead_mm,
			created_at = excluded.created_at, deleted_at = excluded.deleted_at`, ruleSetRow(r, s.outfit)...)
	}
	return tx.SendBatch(ctx, batch).Close()
}

// DeleteRuleSet takes a rule set out of use; RestoreRuleSet puts it back.
func (s *Store) DeleteRuleSet(ctx context.Context, id journal.ID) error {
	return s.setRulesDeleted(ctx, id, `coalesce(deleted_at, now())`)
}

// RestoreRuleSet puts a deleted rule set back into use.
func (s *Store) RestoreRuleSet(ctx context.Context, id journal.ID) error {
	return s.setRulesDeleted(ctx, id, `NULL`)
}

func (s *Store) setRulesDeleted(ctx context.Context, id journal.ID, to string) error {
	return s.write(ctx, "delete or restore the rule set", func(tx pgx.Tx) error {
		if err := s.startRules(ctx)(tx); err != nil {
			return err
		}
		tag, err := tx.Exec(ctx, `UPDATE rule_set SET deleted_at = `+to+` WHERE outfit_id = $1 AND id = $2`, s.outfit, id)
		if err == nil && tag.RowsAffected() == 0 {
			return fmt.Errorf("rule set %s: %w", id, journal.ErrNotFound)
		}
		return err
	})
}
