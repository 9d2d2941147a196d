package pg

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

// Sessions are validated, counted and copied in runs of this many, so that the
// next run is prepared while the database takes in the last.
const bulkRun = 1000

// Add adds everything in one transaction by COPY, after checking every rule. An
// angler, water or beat whose name the journal holds by now is that one. A new
// session whose id waits among the deleted takes that one's place. What was fished in
// trials is attached, except to those that come with it. Progress, which may be nil, is told of
// sessions. A clash of other ids or names is Invalid; a replaced session that was
// changed meanwhile is an ErrConflict.
func (s *Store) Add(ctx context.Context, a journal.Addition, progress func(done, total int64)) error {
	if err := a.Prepare(); err != nil {
		return err
	}
	err := s.write(ctx, "add to the journal", func(tx pgx.Tx) error {
		if err := s.checkAsOf(ctx, tx, a.AsOf); err != nil {
			return err
		}
		step := &deed{id: a.Step, kind: journal.StepImport, told: a.Told}
		if step.id.IsZero() {
			step.id = journal.NewID()
		}
		held, err := s.addPeople(ctx, tx, a, step)
		if err != nil {
			return err
		}
		a := a.Refer(held)
		var before []touched
		for _, add := range []func() error{
			func() error { return s.copyRigs(ctx, tx, a.Rigs, held, step) },
			func() error { return s.addAliases(ctx, tx, a.Aliases, step) },
			func() error { return s.addUsual(ctx, tx, a.Usual) },
			func() error { return claims.put(ctx, s, tx, a.Claims) },
			func() error { return s.putPulls(ctx, tx, a.Pulls, step) },
			func() error { return s.addTrials(ctx, tx, a.Trials) },
			func() error { return ruleSets.put(ctx, s, tx, a.RuleSets) },
			func() (err error) { before, err = s.makeRoom(ctx, tx, a); return err },
			func() error { return s.copySessions(ctx, tx, a, progress) },
			func() error { return s.fillAll(ctx, tx, a.Sessions, nil, nil) },
			func() error { return s.addTaken(ctx, tx, a) },
			func() error { return s.noteImported(ctx, tx) },
			func() error { return s.keepImport(ctx, tx, step, before) },
		} {
			if err := add(); err != nil {
				return err
			}
		}
		if err := s.addDeleted(ctx, tx, a); err != nil || len(a.Trials) > 0 || len(a.Sessions) == 0 {
			return err
		}
		_, err = s.matchTrials(ctx, tx)
		return err
	})
	if err != nil {
		return err
	}
	return s.analyze(ctx, len(a.Sessions))
}

// checkAsOf refuses what was made for another revision than the one that the transaction found.
func (s *Store) checkAsOf(ctx context.Context, tx pgx.Tx, asOf int64) error {
	if asOf == 0 {
		return nil
	}
	var underWay int64
	err := tx.QueryRow(ctx, `SELECT revision FROM outfit WHERE id = $1`, s.outfit).Scan(&underWay)
	if err == nil && underWay != asOf+1 {
		err = fmt.Errorf("%w: it was written since", journal.ErrConflict)
	}
	return err
}

// addUsual makes a rig the usual one, unless another has become that later.
func (s *Store) addUsual(ctx context.Context, tx pgx.Tx, u *journal.UsualRig) error {
	if u == nil {
		return nil
	}
	_, err := tx.Exec(ctx, `UPDATE outfit SET usual_rig_id = $2, usual_rig_at = $3 WHERE id = $1 AND coalesce(usual_rig_at, '-infinity') < $3`, s.outfit, u.RigID, u.Since)
	return err
}

// analyze tells the planner what the tables hold now, if so many sessions more are a notable part of all. A
// private server may not run for long enough to find out by itself, and plans for empty tables can
// make a question hundreds of times slower.
func (s *Store) analyze(ctx context.Context, added int) error {
	err := s.in.begin(ctx, s.pool, toWrite, func(tx pgx.Tx) error {
		_, err := tx.Exec(ctx, `SELECT gather_statistics($1)`, added)
		return err
	})
	return explain("gather the tables' statistics", err)
}

// addPeople adds anglers, waters and beats, but takes those whose names the
// journal holds. It returns the ids of these by the ids that they came with.
func (s *Store) addPeople(ctx context.Context, tx pgx.Tx, a journal.Addition, step *deed) (held map[journal.ID]journal.ID, err error) {
	if o := a.Outfit; o != nil {
		if err := s.updateOutfit(ctx, tx, *o); err != nil {
			return nil, err
		}
	}
	if held, err = s.mergedInto(ctx, tx, a.AllNames()); err != nil {
		return nil, err
	}
	batch := &pgx.Batch{}
	take := func(table string, own journal.ID, insert, find string, args ...any) {
		if _, merged := held[own]; merged {
			return
		}
		batch.Queue(`WITH made AS (`+insert+` DO NOTHING RETURNING id) SELECT id, true FROM made UNION ALL (`+find+`) LIMIT 1`, args...).QueryRow(func(row pgx.Row) error {
			var id journal.ID
			var made bool
			err := row.Scan(&id, &made)
			if made {
				step.made(table, id)
			} else if id != own {
				held[own] = id
			}
			return err
		})
	}
	for _, g := range a.Anglers {
		take("angler", g.ID, anglerTable.insert()+` ON CONFLICT (outfit_id, lower(name))`, `SELECT id, false FROM angler WHERE outfit_id = $1 AND lower(name) = lower($3)`, anglerTable.row(&g, s.outfit)...)
	}
	for _, w := range a.Waters {
		take("water", w.ID, waterTable.insert()+` ON CONFLICT (outfit_id, coalesce(of_angler, outfit_id), lower(name))`, `SELECT id, false FROM water WHERE outfit_id = $1 AND lower(name) = lower($3)`, waterTable.row(&w, s.outfit)...)
	}
	if err := tx.SendBatch(ctx, batch).Close(); err != nil {
		return nil, err
	}
	batch = &pgx.Batch{}
	for water, beats := range a.AllBeats() {
		if other, ok := held[water]; ok {
			water = other
		}
		for _, b := range beats {
			take("beat", b.ID, beatTable.insert()+` ON CONFLICT (outfit_id, water_id, coalesce(of_angler, outfit_id), lower(name))`, `SELECT id, false FROM beat WHERE outfit_id = $1 AND water_id = $2 AND lower(name) = lower($4)`,
				beatTable.row(&b, s.outfit, water)...)
		}
	}
	return held, tx.SendBatch(ctx, batch).Close()
}

// copyRigs adds rigs, but for those that were merged into others.
func (s *Store) copyRigs(ctx context.Context, tx pgx.Tx, rigs []journal.Rig, held map[journal.ID]journal.ID, step *deed) error {
	var heads, positions [][]any
	for _, rig := range rigs {
		if _, merged := held[rig.ID]; merged {
			continue
		}
		if err := s.nameKnots(ctx, tx, &rig); err != nil {
			return err
		}
		step.made("rig", rig.ID)
		heads = append(heads, rigTable.row(&rig, s.outfit))
		for i := range rig.Positions {
			positions = append(positions, rigPositionTable.row(&rig.Positions[i], s.outfit, rig.ID))
		}
	}
	if err := copyRows(ctx, tx, "rig", rigTable.names(), heads); err != nil {
		return err
	}
	return copyRows(ctx, tx, "rig_position", rigPositionTable.names(), positions)
}

// makeRoom takes out what the new sessions replace. One in the place of a deleted
// one is the next version of it: whoever has seen that has not seen this.
// Of what is replaced it returns what that was, if it is to be kept.
func (s *Store) makeRoom(ctx context.Context, tx pgx.Tx, a journal.Addition) (before []touched, err error) {
	index := make(map[journal.ID]int, len(a.Sessions))
	for i, session := range a.Sessions {
		index[session.ID] = i
	}
	var d journal.DeletedSession
	if err := each(ctx, tx, []any{&d.ID, &d.DeletedAt, &d.Session}, func() {
		at := &a.Sessions[index[d.ID]]
		at.Version = max(at.Version, d.Version+1)
		before = append(before, touched{ID: d.ID, Before: new(d.Session), GoneAt: new(d.DeletedAt)})
		d.Session = journal.Session{}
	}, `DELETE FROM deleted_session WHERE outfit_id = $1 AND session_id = ANY($2) RETURNING session_id, deleted_at, content`, s.outfit, slices.Collect(maps.Keys(index))); err != nil {
		return nil, err
	}
	if a.Told != "" && len(a.Replaced) > 0 {
		replaced, err := s.readSessions(ctx, tx, slices.Collect(maps.Keys(a.Replaced)))
		if err != nil {
			return nil, err
		}
		for i := range replaced {
			before = append(before, touched{ID: replaced[i].ID, Before: &replaced[i]})
		}
	}
	for id, version := range a.Replaced {
		tag, err := tx.Exec(ctx, `DELETE FROM session WHERE outfit_id = $1 AND id = $2 AND version = $3`, s.outfit, id, version)
		if err != nil {
			return nil, err
		}
		if tag.RowsAffected() == 0 {
			return nil, fmt.Errorf("%w: a session was changed during the import; import again", journal.ErrConflict)
		}
	}
	return before, nil
}

// run is a part of the sessions, ready to be copied.
type run struct {
	tables   tables
	sessions int
	err      error
}

func (s *Store) copySessions(ctx context.Context, tx pgx.Tx, a journal.Addition, progress func(done, total int64)) error {
	rigs, err := s.rigsOf(ctx, tx, a)
	if err != nil {
		return err
	}
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	runs := make(chan run, 1)
	go s.prepareRuns(ctx, a, rigs, runs)
	var done int64
	for r := range runs {
		if r.err != nil {
			return r.err
		}
		err := r.tables.each(func(table string, columns []string, rows [][]any) error {
			return copyRows(ctx, tx, table, columns, rows)
		})
		if err != nil {
			return err
		}
		done += int64(r.sessions)
		if progress != nil {
			progress(done, int64(len(a.Sessions)))
		}
	}
	return ctx.Err()
}

// rigsOf returns the rigs that the sessions were fished with, new and known.
func (s *Store) rigsOf(ctx context.Context, tx pgx.Tx, a journal.Addition) (map[journal.ID]journal.Rig, error) {
	fresh := make(map[journal.ID]journal.Rig, len(a.Rigs))
	for _, rig := range a.Rigs {
		fresh[rig.ID] = rig
	}
	known := map[journal.ID]bool{}
	for _, session := range a.Sessions {
		for _, id := range session.RigIDs() {
			if _, ok := fresh[id]; !ok {
				known[id] = true
			}
		}
	}
	rigs, err := s.readRigs(ctx, tx, slices.AppendSeq([]journal.ID{}, maps.Keys(known)))
	if err != nil {
		return nil, err
	}
	maps.Copy(rigs, fresh)
	return rigs, nil
}

// prepareRuns validates and counts sessions and closes runs at the end, after
// the first error or when nobody wants them any more.
func (s *Store) prepareRuns(ctx context.Context, a journal.Addition, rigs map[journal.ID]journal.Rig, runs chan<- run) {
	defer close(runs)
	for part := range slices.Chunk(a.Sessions, bulkRun) {
		r := run{tables: tables{outfit: s.outfit}, sessions: len(part)}
		for _, session := range part {
			session = a.Eventful(session)
			session.Normalize()
			if r.err = session.Validate(rigs); r.err == nil {
				r.err = r.tables.add(session, rigs)
			}
			if r.err != nil {
				r.err = journal.InSession(session, r.err)
				break
			}
		}
		select {
		case runs <- r:
		case <-ctx.Done():
			return
		}
		if r.err != nil {
			return
		}
	}
}

// addDeleted adds what was deleted, but for what is in the journal as well: a backup
// of an older program may hold both, and then the session is live.
func (s *Store) addDeleted(ctx context.Context, tx pgx.Tx, a journal.Addition) error {
	live := make(map[journal.ID]bool, len(a.Sessions))
	for _, session := range a.Sessions {
		live[session.ID] = true
	}
	return s.copyDeleted(ctx, tx, slices.DeleteFunc(slices.Clone(a.Deleted), func(d journal.DeletedSession) bool { return live[d.ID] }))
}

func (s *Store) copyDeleted(ctx context.Context, tx pgx.Tx, list []journal.DeletedSession) error {
	rows := make([][]any, len(list))
	for i, d := range list {
		rows[i] = []any{s.outfit, d.ID, d.Day, d.DeletedAt, d.AnglerID, d.Session}
	}
	return copyRows(ctx, tx, "deleted_session", []string{"outfit_id", "session_id", "day", "deleted_at", "angler_id", "content"}, rows)
}

// copyRows copies into a table of the transaction's own, and from there on: where policies hold, PostgreSQL takes no COPY.
func copyRows(ctx context.Context, tx pgx.Tx, table string, columns []string, rows [][]any) error {
	return copyInto(ctx, tx, table, columns, rows, "")
}

// copyInto is copyRows, which says what is done about rows that are there.
func copyInto(ctx context.Context, tx pgx.Tx, table string, columns []string, rows [][]any, there string) error {
	if len(rows) == 0 {
		return nil
	}
	on, list := "arriving_"+table, strings.Join(columns, ", ")
	if _, err := tx.Exec(ctx, "CREATE TEMPORARY TABLE IF NOT EXISTS "+on+" ON COMMIT DROP AS SELECT "+list+" FROM "+table+" WITH NO DATA"); err != nil {
		return err
	}
	if _, err := tx.CopyFrom(ctx, pgx.Identifier{on}, columns, pgx.CopyFromRows(rows)); err != nil {
		return err
	}
	if _, err := tx.Exec(ctx, "INSERT INTO "+table+" ("+list+") SELECT "+list+" FROM "+on+there); err != nil {
		return err
	}
	_, err := tx.Exec(ctx, "TRUNCATE "+on)
	return err
}
