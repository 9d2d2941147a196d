package pg

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
	"rigtally/journal/gauge"
)

// FillAsk chooses sessions that are to take what gauges say: those of a water, of a list, or of some days, both counted; of
// several of these the ones that all choose, and all sessions where none is said.
type FillAsk struct {
	Water    *journal.ID
	Sessions []journal.ID
	From, To *journal.Date
}

// FillPlan says what filling sessions does.
type FillPlan struct {
	Sessions int // that were looked at: those of waters with a gauge
	Takes    []FillCount
	Changed  int // sessions that take something else than they did
	Without  []FillGap
	Examples []FillExample // a few
	Lacks    []gauge.Span  // of whose readings sessions could take what they lack, or show how the river was: each of some days
}

// FillCount is how many sessions take a quantity, and how many of them have one typed, which stays.
type FillCount struct {
	Quantity        gauge.Quantity
	Sessions, Typed int
}

// FillGap is a reason for which sessions take nothing, in words, and the days of the first and the last of them.
type FillGap struct {
	Why      string
	Sessions int
	From, To journal.Date
}

// FillExample is what a session takes.
type FillExample struct {
	Session journal.ID
	Day     journal.Date
	Fills   []gauge.Fill
}

// mostExamples are shown of a plan.
const mostExamples = 20

// where is the condition that an ask makes, behind $1, which is the outfit.
func (ask FillAsk) where() (string, []any) {
	which, args := `true`, []any{}
	arg := func(v any) string {
		args = append(args, v)
		return fmt.Sprintf("$%d", len(args)+1)
	}
	if ask.Water != nil {
		which += ` AND se.water_id = ` + arg(*ask.Water)
	}
	if ask.Sessions != nil {
		which += ` AND se.id = ANY(` + arg(ask.Sessions) + `)`
	}
	if ask.From != nil {
		which += ` AND se.day >= ` + arg(*ask.From)
	}
	if ask.To != nil {
		which += ` AND se.day <= ` + arg(*ask.To)
	}
	return which, args
}

// planFill finds out what the sessions of a condition take, and what they took.
func (s *Store) planFill(ctx context.Context, tx pgx.Tx, which string, args []any, keep keeping) ([]*taker, error) {
	rows, _ := tx.Query(ctx, selectTakers+which+` ORDER BY se.day, se.started_at, se.id`, append([]any{s.outfit}, args...)...)
	list, err := readTakers(rows)
	if err != nil {
		return nil, err
	}
	for part := range slices.Chunk(list, fillRun) {
		ids := make([]journal.ID, len(part))
		for i, t := range part {
			ids[i] = t.id
		}
		held, err := s.readFills(ctx, tx, ids)
		if err != nil {
			return nil, err
		}
		for _, t := range part {
			t.had = held[t.id]
		}
		if err := s.take(ctx, tx, part, keep); err != nil {
			return nil, err
		}
	}
	return list, nil
}

// tell sums a plan up.
func tell(list []*taker) FillPlan {
	p := FillPlan{Sessions: len(list)}
	gaps := map[string]int{}
	for _, t := range list {
		changed := t.changed()
		if changed {
			p.Changed++
		}
		if len(t.takes) == 0 {
			at, known := gaps[t.why]
			if !known {
				at = len(p.Without)
				gaps[t.why], p.Without = at, append(p.Without, FillGap{Why: t.why, From: t.day})
			}
			p.Lacks = append(p.Lacks, around(t.outing))
			p.Without[at].Sessions++
			p.Without[at].To = t.day
		} else if changed && len(p.Examples) < mostExamples {
			p.Examples = append(p.Examples, FillExample{t.id, t.day, t.takes})
		}
	}
	for _, q := range gauge.Quantities() {
		n := FillCount{Quantity: q}
		for _, t := range list {
			if slices.ContainsFunc(t.takes, func(f gauge.Fill) bool { return f.Quantity == q }) {
				if n.Sessions++; t.typed[q] {
					n.Typed++
				}
			}
		}
		if n.Sessions > 0 {
			p.Takes = append(p.Takes, n)
		}
	}
	p.Lacks = gauge.Join(p.Lacks, 0)
	return p
}

// PlanFill says what Fill would do, and changes nothing.
func (s *Store) PlanFill(ctx context.Context, ask FillAsk) (FillPlan, error) {
	return view(ctx, s, "see what sessions would take of gauges", func(tx pgx.Tx) (FillPlan, error) {
		which, args := ask.where()
		list, err := s.planFill(ctx, tx, which, args, keeping{})
		return tell(list), err
	})
}

// Fill has sessions take what the gauges of their waters say, beside what was typed: of both the typed one counts.
func (s *Store) Fill(ctx context.Context, ask FillAsk) (FillPlan, error) {
	which, args := ask.where()
	return s.fill(ctx, "have sessions take what gauges say", which, args, keeping{})
}

func (s *Store) fill(ctx context.Context, doing, which string, args []any, keep keeping) (p FillPlan, err error) {
	err = s.write(ctx, doing, func(tx pgx.Tx) error {
		list, err := s.planFill(ctx, tx, which, args, keep)
		if err != nil {
			return err
		}
		p = tell(list)
		list = slices.DeleteFunc(list, func(t *taker) bool { return !t.changed() })
		if len(list) == 0 {
			return errUnchanged
		}
		for part := range slices.Chunk(list, fillRun) {
			if err := s.writeFills(ctx, tx, part); err != nil {
				return err
			}
			ids := make([]journal.ID, len(part))
			for i, t := range part {
				ids[i] = t.id
			}
			if err := s.refilled(ctx, tx, ids); err != nil {
				return err
			}
		}
		return nil
	})
	return p, err
}

// refilled has sessions read anew for facts.
func (s *Store) refilled(ctx context.Context, tx pgx.Tx, ids []journal.ID) error {
	_, err := tx.Exec(ctx, `INSERT INTO session_fill (outfit_id, session_id) SELECT $1, unnest($2::uuid[])
		ON CONFLICT (outfit_id, session_id) DO UPDATE SET changed = excluded.changed`, s.outfit, ids)
	return err
}

// ClearFills takes away what sessions took, of waters without a gauge too, and returns how many had anything.
func (s *Store) ClearFills(ctx context.Context, ask FillAsk) (n int, err error) {
	err = s.write(ctx, "take away what sessions took of gauges", func(tx pgx.Tx) error {
		which, args := ask.where()
		ids, err := listOf(ctx, tx, pgx.RowTo[journal.ID], `WITH gone AS (DELETE FROM session_gauge g USING session se WHERE g.outfit_id = $1 AND se.outfit_id = $1 AND se.id = g.session_id AND `+which+` RETURNING g.session_id)
			SELECT DISTINCT session_id FROM gone`, append([]any{s.outfit}, args...)...)
		if err != nil {
			return err
		}
		if n = len(ids); n == 0 {
			return errUnchanged
		}
		return s.refilled(ctx, tx, ids)
	})
	return n, err
}

// Fills are what sessions took, by quantity; those that took nothing are not among them.
func (s *Store) Fills(ctx context.Context, sessions ...journal.ID) (map[journal.ID][]gauge.Fill, error) {
	held, err := s.readFills(ctx, s.once(), sessions)
	fills := make(map[journal.ID][]gauge.Fill, len(held))
	for id, list := range held {
		for _, h := range list {
			fills[id] = append(fills[id], h.Fill)
		}
	}
	return fills, explain("read what sessions took of gauges", err)
}

// FillDue has sessions of a time, in every outfit, take what a site says: those logged since a water was linked to it, and
// those that took something of it before. It returns how many changed. What fails in one outfit leaves the others', and the error
// says in which it was.
func (s *Store) FillDue(ctx context.Context, site gauge.Site, from, to time.Time) (int, error) {
	outfits, err := listOf(ctx, s.atGauges(), pgx.RowTo[journal.ID], `SELECT DISTINCT outfit_id FROM gauge_use WHERE provider = $1 AND number = $2`, site.Provider, site.Number)
	if err != nil {
		return 0, explain("find the outfits with the gauge "+site.String(), err)
	}
	// The day of a session is that of its water's calendar, and it may look a day back.
	args := []any{site.Provider, site.Number, from.UTC().AddDate(0, 0, -1), to.UTC().AddDate(0, 0, 2)}
	const which = `se.day BETWEEN $4 AND $5 AND EXISTS (SELECT FROM gauge_use u WHERE u.outfit_id = se.outfit_id AND u.water_id = se.water_id AND u.provider = $2 AND u.number = $3
		AND (se.logged_at >= u.since OR EXISTS (SELECT FROM session_gauge g WHERE g.outfit_id = se.outfit_id AND g.session_id = se.id AND g.provider = $2 AND g.number = $3)))`
	sessions := 0
	var failed []error // of one outfit: the others’ sessions are filled all the same
	for _, outfit := range outfits {
		n, err := s.In(outfit, journal.Keeper()).fillDue(ctx, site, which, args)
		if sessions += n; err != nil {
			failed = append(failed, fmt.Errorf("in the outfit %s: %w", outfit, err))
		}
		if ctx.Err() != nil {
			break
		}
	}
	return sessions, errors.Join(failed...)
}

// fillDue is FillDue in one outfit. What sessions took of gauges that their water has no more stays: nobody has asked.
func (s *Store) fillDue(ctx context.Context, site gauge.Site, which string, args []any) (int, error) {
	var due bool // so that a journal that has none is not locked
	err := s.once().QueryRow(ctx, `SELECT EXISTS (SELECT FROM session se WHERE se.outfit_id = $1 AND `+which+`)`, append([]any{s.outfit}, args...)...).Scan(&due)
	if err != nil || !due {
		return 0, explain("look for sessions of the gauge "+site.String(), err)
	}
	p, err := s.fill(ctx, "have sessions take what the gauge "+site.String()+" says", which, args, keeping{Unlinked: true})
	if err != nil { // and nothing was written of what was planned
		return 0, err
	}
	return p.Changed, nil
}
