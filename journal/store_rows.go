package journal

import (
	"context"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"
)

// Ask returns the sufficient statistics of a question's groups.
func (s *Store) Ask(ctx context.Context, q Question) (Answer, error) {
	r, err := s.Rows(ctx, q)
	if err != nil {
		return Answer{}, err
	}
	return r.Answer, nil
}

// Rows returns the rows that a question is about, one by one, with the value of
// every factor. A row on which a factor was not noted is left out, and LeftOut
// says so.
//
// What a rig or a session has of the factors is read once for each of those, so
// that the rows themselves stay narrow. They are read in one pass and in no
// order, and added up here: grouping by session in SQL takes longer.
func (s *Store) Rows(ctx context.Context, q Question) (*Rows, error) {
	if len(q.By) > 2 {
		return nil, &Invalid{Problems: []string{"a question can be divided by two factors at most; leave one out"}}
	}
	r := newRowReader(q)
	err := s.read(ctx, "ask for "+q.Outcome.Key, func(tx pgx.Tx) error {
		if err := s.codeRigs(ctx, tx, r); err != nil {
			return err
		}
		if err := s.codeSessions(ctx, tx, r); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, readPlainly); err != nil {
			return err
		}
		b := &query{}
		rows, err := queryBinary(ctx, tx, r.sql(b, s.outfit), b.args)
		if err != nil {
			return err
		}
		if err := r.read(rows); err != nil {
			return err
		}
		if !q.byPosition() {
			return nil
		}
		return s.unplaced(ctx, tx, q, r.sums, &r.out.Answer)
	})
	if err != nil {
		return nil, err
	}
	return r.result(), nil
}

// readPlainly keeps the server from compiling a query that only reads, and has large
// tables read from their start, so that the same question adds up in the same order.
const readPlainly = `SELECT set_config('jit', 'off', true), set_config('synchronize_seqscans', 'off', true)`

// place says what a factor is noted of.
type place int

const (
	ofRow place = iota
	ofRig
	ofSession
)

func (f Factor) place() place {
	switch {
	case f.Key == tagLength || slices.Contains(f.tables, "st"):
		return ofRow
	case slices.Contains(f.tables, "se"):
		return ofSession
	}
	return ofRig
}

// codeRigs reads what rigs, or their positions, have of the factors.
func (s *Store) codeRigs(ctx context.Context, tx pgx.Tx, r *rowReader) error {
	if !r.rigs.needed {
		return nil
	}
	b := &query{}
	selects, from, where := []string{"r.id"}, "rig r", "r.outfit_id = "+b.arg(s.outfit)
	if r.positions {
		selects = append(selects, "rp.position")
		from += " JOIN rig_position rp ON rp.outfit_id = r.outfit_id AND rp.rig_id = r.id"
	}
	if r.q.ofTags() {
		where += " AND rp.hang = 'tag'"
	}
	for _, i := range r.rigs.factors {
		selects = append(selects, r.factors[i].sql)
	}
	if r.tags >= 0 {
		selects = append(selects, "rp.tag_length_mm")
	}
	rows, err := queryBinary(ctx, tx, "SELECT "+strings.Join(selects, ", ")+"\n\tFROM "+from+"\n\tWHERE "+where, b.args)
	if err != nil {
		return err
	}
	return r.readRigs(rows)
}

// codeSessions reads what sessions have of the factors.
func (s *Store) codeSessions(ctx context.Context, tx pgx.Tx, r *rowReader) error {
	if !r.sessions.needed {
		return nil
	}
	b := &query{}
	selects := []string{"se.id"}
	var needed []Factor
	for _, i := range r.sessions.factors {
		selects = append(selects, r.factors[i].sql)
		needed = append(needed, r.factors[i])
	}
	rows, err := queryBinary(ctx, tx, "SELECT "+strings.Join(selects, ", ")+"\n\tFROM session se"+joins("se", needed)+"\n\tWHERE se.outfit_id = "+b.arg(s.outfit), b.args)
	if err != nil {
		return err
	}
	return r.readSessions(rows)
}

// sql selects the rows. Rigs and sessions are joined only where a condition is
// on what they have.
func (r *rowReader) sql(b *query, outfit ID) string {
	selects := []string{"c.session_id", r.q.Outcome.events}
	if r.hoursApart {
		selects = append(selects, r.q.Outcome.exposure)
	}
	for _, u := range r.q.Outcome.usable {
		if u != withMinutes {
			selects = append(selects, "("+u.condition+") IS TRUE")
		}
	}
	selects = append(selects, "c.seconds")
	if r.rigs.needed {
		selects = append(selects, "c.rig_id")
		if r.positions {
			selects = append(selects, "c.position")
		}
	}
	if r.spells {
		selects = append(selects, "c.stint_id")
	}
	var needed []Factor
	for _, c := range r.q.Where {
		needed = append(needed, c.Factor)
	}
	for _, i := range r.own {
		if i == r.tags {
			selects = append(selects, "c.tag_mm")
			continue
		}
		selects = append(selects, r.factors[i].sql)
		needed = append(needed, r.factors[i])
	}
	return "SELECT " + strings.Join(selects, ", ") + "\n\tFROM " + r.q.from(b, outfit, needed)
}

// queryBinary runs a query whose rows arrive in their binary form.
func queryBinary(ctx context.Context, tx pgx.Tx, sql string, args []any) (pgx.Rows, error) {
	switch tx.Conn().Config().DefaultQueryExecMode {
	case pgx.QueryExecModeSimpleProtocol, pgx.QueryExecModeExec: // which bring text
		args = append([]any{pgx.QueryExecModeDescribeExec}, args...)
	}
	return tx.Query(ctx, sql, args...)
}
