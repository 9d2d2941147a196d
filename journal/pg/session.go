package pg

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

// SaveSession is LogSession with a session whose people, water and rigs are in
// the journal, and of which nothing is doubted.
func (s *Store) SaveSession(ctx context.Context, session journal.Session) (journal.Session, error) {
	return s.LogSession(ctx, journal.Draft{Session: session, Confirmed: true})
}

// saveSession puts a valid session in the place of the version that its writer
// has seen, or next to the others.
func (s *Store) saveSession(ctx context.Context, tx pgx.Tx, session *journal.Session, rigs map[journal.ID]journal.Rig, confirmed bool, step *deed) error {
	held, deleted, err := s.heldSession(ctx, tx, session.ID)
	switch {
	case err != nil:
		return err
	case held == nil && session.Version > 0:
		return fmt.Errorf("session %s: %w", session.ID, journal.ErrNotFound)
	case held == nil:
		held = &journal.Session{LoggedAt: session.LoggedAt}
	case deleted:
		return &journal.Conflict{What: "session", Seen: session.Version, Held: held.Version, Deleted: true, Stored: *held}
	case session.Version <= held.Version && session.SaysWhat(*held):
		session.Version, session.LoggedAt = held.Version, held.LoggedAt
		return errUnchanged // sent twice
	case session.Version != held.Version:
		return &journal.Conflict{What: "session", Seen: session.Version, Held: held.Version, Stored: *held}
	}
	if doubts := session.NewDoubts(*held, rigs); len(doubts) > 0 && !confirmed {
		return &journal.Doubtful{Doubts: doubts}
	}
	did, fields, before := journal.DeedLogged, []string(nil), (*journal.Session)(nil)
	var took map[journal.ID][]heldFill
	if held.Version > 0 {
		did, fields, before = journal.DeedChanged, session.Changes(*held), held
		batch := &pgx.Batch{}
		batch.Queue(selectFills, s.outfit, []journal.ID{session.ID}).Query(func(rows pgx.Rows) (err error) { took, err = collectFills(rows); return err })
		batch.Queue(`DELETE FROM session WHERE outfit_id = $1 AND id = $2`, s.outfit, session.ID)
		if err := tx.SendBatch(ctx, batch).Close(); err != nil {
			return err
		}
	}
	session.Version, session.LoggedAt = held.Version+1, held.LoggedAt
	if session.LoggedAt.IsZero() {
		session.LoggedAt = time.Now().UTC().Truncate(time.Microsecond)
	}
	batch := &pgx.Batch{}
	if err := s.insertSession(batch, *session, rigs); err != nil {
		return err
	}
	s.note(batch, did, *session, fields)
	if step.kind = journal.StepLog; before != nil {
		step.kind = journal.StepEdit
	}
	s.queueStep(batch, step, touched{session.ID, session.Version, before, nil})
	return s.sendAndFill(ctx, tx, batch, session.ID, took)
}

// sendAndFill sends a batch that writes a session, which then takes what gauges say, if its water has any.
func (s *Store) sendAndFill(ctx context.Context, tx pgx.Tx, batch *pgx.Batch, id journal.ID, took map[journal.ID][]heldFill) error {
	var takers []*taker
	had := slices.AppendSeq([]journal.ID{}, maps.Keys(took))
	batch.Queue(selectWritten, s.outfit, []journal.ID{id}, had).Query(func(rows pgx.Rows) (err error) { takers, err = readTakers(rows); return err })
	if err := tx.SendBatch(ctx, batch).Close(); err != nil {
		return err
	}
	return s.fillWritten(ctx, tx, takers, took, nil)
}

// kept are the deleted sessions that can still be brought back.
const kept = `deleted_at >= now() - make_interval(days => 30)`

// heldSession returns what the journal holds under an id, nil for nothing, and
// whether that was deleted.
func (s *Store) heldSession(ctx context.Context, tx pgx.Tx, id journal.ID) (held *journal.Session, deleted bool, err error) {
	var live bool
	err = tx.QueryRow(ctx, `SELECT EXISTS (SELECT FROM session WHERE outfit_id = $1 AND id = $2),
		(SELECT content FROM deleted_session WHERE outfit_id = $1 AND session_id = $2 AND `+kept+`)`, s.outfit, id).Scan(&live, &held)
	switch {
	case err != nil:
		return nil, false, err
	case live:
		sessions, err := s.readSessions(ctx, tx, []journal.ID{id})
		if err != nil || len(sessions) == 0 {
			return nil, false, err
		}
		return &sessions[0], false, nil
	case held != nil:
		held.Normalize()
	}
	return held, held != nil, nil
}

// purge drops for good what was deleted too long ago to be brought back.
func (s *Store) purge(ctx context.Context, tx pgx.Tx) error {
	_, err := tx.Exec(ctx, `DELETE FROM deleted_session WHERE outfit_id = $1 AND NOT `+kept, s.outfit)
	if err == nil && s.who.Role == journal.RoleOwner {
		err = s.clear(ctx, tx)
	}
	return err
}

func (s *Store) insertSession(batch *pgx.Batch, session journal.Session, rigs map[journal.ID]journal.Rig) error {
	t := tables{outfit: s.outfit}
	if err := t.add(session, rigs); err != nil {
		return err
	}
	t.queue(batch)
	return nil
}

// SessionByID returns a session with its stints, or ErrNotFound.
func (s *Store) SessionByID(ctx context.Context, id journal.ID) (journal.Session, error) {
	return view(ctx, s, "read the session", func(tx pgx.Tx) (journal.Session, error) { return s.readSession(ctx, tx, id) })
}

func (s *Store) readSession(ctx context.Context, tx pgx.Tx, id journal.ID) (journal.Session, error) {
	sessions, err := s.readSessions(ctx, tx, []journal.ID{id})
	if err == nil && len(sessions) == 0 {
		err = fmt.Errorf("session %s: %w", id, journal.ErrNotFound)
	}
	if err != nil {
		return journal.Session{}, err
	}
	return sessions[0], nil
}

// DeleteSession takes a session out of the journal, if it is still the version
// that was seen; 0 is any. RestoreSession brings it back for UndoDays.
func (s *Store) DeleteSession(ctx context.Context, id journal.ID, seen int) error {
	return s.write(ctx, "delete the session", func(tx pgx.Tx) error {
		if err := s.purge(ctx, tx); err != nil {
			return err
		}
		held, deleted, err := s.heldSession(ctx, tx, id)
		switch {
		case err != nil:
			return err
		case held == nil:
			return fmt.Errorf("session %s: %w", id, journal.ErrNotFound)
		case deleted && (seen == 0 || seen == held.Version):
			return errUnchanged // sent twice
		}
		if err := journal.Stale("session", seen, held.Version, deleted, *held); err != nil {
			return err
		}
		batch := &pgx.Batch{}
		s.takeOut(batch, *held)
		s.queueStep(batch, &deed{kind: journal.StepDelete}, touched{held.ID, held.Version, nil, nil})
		return tx.SendBatch(ctx, batch).Close()
	})
}

// takeOut moves a session to the deleted.
func (s *Store) takeOut(batch *pgx.Batch, session journal.Session) {
	// Kept aside, since what it took goes with it, and a session is never both live and deleted.
	batch.Queue(`SELECT set_config('rigtally.took', (SELECT coalesce(jsonb_agg(to_jsonb(g)), '[]')::text FROM session_gauge g WHERE outfit_id = $1 AND session_id = $2), true)`, s.outfit, session.ID)
	batch.Queue(`DELETE FROM session WHERE outfit_id = $1 AND id = $2`, s.outfit, session.ID)
	batch.Queue(`INSERT INTO deleted_session (outfit_id, session_id, day, deleted_at, angler_id, content, took) VALUES ($1, $2, $3, now(), $4, $5, current_setting('rigtally.took')::jsonb)`,
		s.outfit, session.ID, session.Day, session.AnglerID, session)
	s.note(batch, journal.DeedDeleted, session, nil)
}

// RestoreSession brings a deleted session back as it was, if it is still the
// version that was seen; 0 is any.
func (s *Store) RestoreSession(ctx context.Context, id journal.ID, seen int) error {
	return s.write(ctx, "restore the session", func(tx pgx.Tx) error {
		held, deleted, err := s.heldSession(ctx, tx, id)
		if err != nil {
			return err
		}
		if !deleted {
			return fmt.Errorf("deleted session %s: %w", id, journal.ErrNotFound)
		}
		if err := journal.Stale("session", seen, held.Version, deleted, *held); err != nil {
			return err
		}
		if err := s.putIn(ctx, tx, *held, journal.DeedRestored); err != nil {
			return err
		}
		if err := s.keepStep(ctx, tx, &deed{kind: journal.StepRestore}, touched{held.ID, held.Version, nil, nil}); err != nil {
			return err
		}
		_, err = s.matchTrials(ctx, tx)
		return err
	})
}

// putIn moves a deleted session back into the journal.
func (s *Store) putIn(ctx context.Context, tx pgx.Tx, session journal.Session, did journal.Deed) error {
	now, err := s.present(ctx, tx, []journal.Session{session})
	if err != nil {
		return err
	}
	rigs, err := s.readRigs(ctx, tx, now[0].RigIDs())
	if err != nil {
		return err
	}
	rows, _ := tx.Query(ctx, `SELECT `+fillColumns+`, $3::uuid FROM deleted_session d, jsonb_populate_recordset(NULL::session_gauge, d.took) AS g
		WHERE d.outfit_id = $1 AND d.session_id = $2`, s.outfit, session.ID, now[0].WaterID)
	took, err := collectFills(rows)
	if err != nil {
		return err
	}
	batch := &pgx.Batch{}
	batch.Queue(`DELETE FROM deleted_session WHERE outfit_id = $1 AND session_id = $2`, s.outfit, session.ID)
	if err := s.insertSession(batch, now[0], rigs); err != nil {
		return err
	}
	s.note(batch, did, now[0], nil)
	return s.sendAndFill(ctx, tx, batch, session.ID, took)
}

// DeletedSessions lists what can still be brought back, the last deleted first.
// What was deleted more than UndoDays ago is gone for good.
func (s *Store) DeletedSessions(ctx context.Context) ([]journal.DeletedSession, error) {
	list, err := s.readDeleted(ctx, s.once(), "deleted_at DESC, session_id")
	return list, explain("list the deleted sessions", err)
}

// How sessions and rigs are kept.
var (
	anglerTable      = tableOf[journal.Angler]("angler", "outfit_id")
	waterTable       = tableOf("water", "outfit_id", column[journal.Water]{field: "gauges", name: "gauges", at: func(w *journal.Water) any { return (*links)(&w.Gauges) }})
	beatTable        = tableOf[journal.Beat]("beat", "outfit_id, water_id")
	rigTable         = tableOf[journal.Rig]("rig", "outfit_id")
	rigPositionTable = tableOf[journal.RigPosition]("rig_position", "outfit_id, rig_id")
	sessionTable     = tableOf[journal.Session]("session", "outfit_id, fingerprint",
		column[journal.Session]{field: "start", name: "started_at", at: func(s *journal.Session) any { return &s.Start }},
		column[journal.Session]{field: "end", name: "ended_at", at: func(s *journal.Session) any { return &s.End }})
	stintTable = tableOf[journal.Stint]("stint", "outfit_id, session_id, ordinal",
		column[journal.Stint]{field: "minutes", name: "seconds", at: func(st *journal.Stint) any { return &seconds{st} }},
		column[journal.Stint]{field: "recorded", name: "recorded", at: func(st *journal.Stint) any { return (*recordedBits)(&st.Recorded) }}).with(tallyColumns)
	stintPositionTable = tableOf[journal.StintPosition]("stint_position", "outfit_id, stint_id, session_id, rig_id, seconds, tag_changed").with(tallyColumns)
	tagSpellTable      = tableOf[struct{}]("tag_spell", "outfit_id, stint_id, position, ordinal, tag_mm, share, session_id, rig_id, seconds").with(tallyColumns)
	eventTable         = tableOf[journal.Event]("event", "outfit_id, stint_id, ordinal").emptyAsNull()
)

// tallyColumns are the tallies' names in the tables.
var tallyColumns = countNames(journal.AllCounts())

// tables gathers the rows of sessions, table by table, in an order in which
// every row's references exist before it.
type tables struct {
	outfit                                              journal.ID
	sessions, stints, stintPositions, tagSpells, events [][]any
}

func (t *tables) each(f func(table string, columns []string, rows [][]any) error) error {
	for _, b := range []struct {
		table   string
		columns []string
		rows    [][]any
	}{
		{"session", sessionTable.names(), t.sessions},
		{"stint", stintTable.names(), t.stints},
		{"stint_position", stintPositionTable.names(), t.stintPositions},
		{"tag_spell", tagSpellTable.names(), t.tagSpells},
		{"event", eventTable.names(), t.events},
	} {
		if len(b.rows) == 0 {
			continue
		}
		if err := f(b.table, b.columns, b.rows); err != nil {
			return err
		}
	}
	return nil
}

// queue puts every row into a batch of single inserts.
func (t *tables) queue(batch *pgx.Batch) {
	_ = t.each(func(table string, columns []string, rows [][]any) error {
		insert := insertInto(table, columns)
		for _, row := range rows {
			batch.Queue(insert, row...)
		}
		return nil
	})
}

// add appends a session, which must be valid, with its counts.
func (t *tables) add(s journal.Session, rigs map[journal.ID]journal.Rig) error {
	fingerprint, err := s.Fingerprint()
	if err != nil {
		return err
	}
	t.sessions = append(t.sessions, sessionTable.row(&s, t.outfit, fingerprint))
	for i, st := range s.Stints {
		if err := t.addStint(s, i+1, st, rigs[st.RigID]); err != nil {
			return fmt.Errorf("count stint %d: %w", i+1, err)
		}
	}
	return nil
}

func (t *tables) addStint(s journal.Session, ordinal int, st journal.Stint, rig journal.Rig) error {
	tally, err := journal.TallyStint(rig, st)
	if err != nil {
		return err
	}
	t.stints = append(t.stints, appendCounts(stintTable.row(&st, t.outfit, s.ID, ordinal), tally.Stint, false))
	noted := map[int]journal.StintPosition{}
	for _, p := range st.Positions {
		noted[p.Position] = p
	}
	changed := map[int]bool{}
	for _, sp := range tally.Spells {
		changed[sp.Position] = true
		t.tagSpells = append(t.tagSpells, appendCounts([]any{t.outfit, st.ID, sp.Position, sp.Ordinal, sp.TagMM, sp.Share, s.ID, rig.ID, sp.Seconds(st)}, sp.Counts, true))
	}
	for _, p := range rig.Positions {
		n := noted[p.Position]
		n.Position = p.Position
		t.stintPositions = append(t.stintPositions, appendCounts(stintPositionTable.row(&n, t.outfit, st.ID, s.ID, rig.ID, st.Seconds(), changed[p.Position]), tally.Positions[p.Position], false))
	}
	for i := range st.Events {
		t.events = append(t.events, eventTable.row(&st.Events[i], t.outfit, st.ID, i+1))
	}
	return nil
}

// appendCounts puts the tallies at a row's end: whole ones or, in a spell, shares, of
// which none is null.
func appendCounts(row []any, counts journal.Counts, shares bool) []any {
	for _, n := range counts {
		switch {
		case !shares:
			row = append(row, int16(n))
		case n == 0:
			row = append(row, nil)
		default:
			row = append(row, n)
		}
	}
	return row
}
