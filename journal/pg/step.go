package pg

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

// deed gathers what a step did while it is done.
type deed struct {
	id    journal.ID
	kind  journal.StepKind
	told  string
	about *journal.ID
	deedContent
}

// deedContent is what a step keeps beside the sessions that it wrote.
type deedContent struct {
	Made  map[string][]journal.ID   `json:"made,omitempty"`  // what it added, by table
	Gone  []goneRow                 `json:"gone,omitempty"`  // what it took out, or what went as it was taken back
	Into  map[journal.ID]journal.ID `json:"into,omitempty"`  // by what was merged, into what
	Moves []move                    `json:"moves,omitempty"` // what else was changed
	Words []claimWords              `json:"words,omitempty"` // claims that say other words
	Knot  *knotMove                 `json:"knot,omitempty"`
	Taken []taking                  `json:"taken,omitempty"` // what was taken off a shelf, or put there
}

// made notes that something is new.
func (d *deed) made(table string, id journal.ID) {
	if d == nil {
		return
	}
	if d.Made == nil {
		d.Made = map[string][]journal.ID{}
	}
	d.Made[table] = append(d.Made[table], id)
}

// touched is a session as a step wrote it, and as it was before; nil: it was not in the journal.
type touched struct {
	ID      journal.ID
	Version int
	Before  *journal.Session
	GoneAt  *time.Time // since when that was deleted; nil: it was not
}

const (
	insertStep        = `INSERT INTO step (outfit_id, id, role, person_id, kind, what, about, content) VALUES ($1, $2, $3, $4, $5, $6, $7, $8) ON CONFLICT (outfit_id, id) DO NOTHING`
	insertStepSession = `WITH step AS (` + insertStep + `) INSERT INTO step_session (outfit_id, step_id, session_id, version, before) VALUES ($1, $2, $9, $10, $11)`
	purgeSteps        = `DELETE FROM step WHERE outfit_id = $1 AND at < now() - make_interval(days => $2)`
)

// queueStep keeps a step, once, with the sessions that it wrote, and now and then drops those that nobody can take back
// any more.
func (s *Store) queueStep(batch *pgx.Batch, d *deed, sessions ...touched) {
	if d.id.IsZero() {
		d.id = journal.NewID()
	}
	step := []any{s.outfit, d.id, s.who.Role, s.who.Person, d.kind, d.told, d.about, d.deedContent}
	if len(sessions) == 0 {
		batch.Queue(insertStep, step...)
	}
	for _, t := range sessions {
		batch.Queue(insertStepSession, append(step[:len(step):len(step)], t.ID, t.Version, t.Before)...)
	}
	if s.kept.toPurge(s.outfit, time.Now()) {
		batch.Queue(purgeSteps, s.outfit, journal.UndoDays)
	}
}

// toPurge reports once a day that an outfit's steps are to be looked through: at each save that would cost as much as
// keeping the step.
func (sh *factsShelf) toPurge(outfit journal.ID, now time.Time) bool {
	sh.mu.Lock()
	defer sh.mu.Unlock()
	if now.Sub(sh.purged[outfit]) < 24*time.Hour {
		return false
	}
	if sh.purged == nil {
		sh.purged = map[journal.ID]time.Time{}
	}
	sh.purged[outfit] = now
	return true
}

// keepStep is queueStep at once.
func (s *Store) keepStep(ctx context.Context, tx pgx.Tx, d *deed, sessions ...touched) error {
	batch := &pgx.Batch{}
	s.queueStep(batch, d, sessions...)
	return tx.SendBatch(ctx, batch).Close()
}

// keepImport keeps the step of an addition: all that the transaction has written, and of what it replaced what that was.
func (s *Store) keepImport(ctx context.Context, tx pgx.Tx, d *deed, before []touched) error {
	if d.told == "" {
		return nil
	}
	if err := s.keepStep(ctx, tx, d); err != nil {
		return err
	}
	rows := make([][]any, len(before))
	for i, b := range before {
		rows[i] = []any{s.outfit, d.id, b.ID, b.Version, b.Before, b.GoneAt}
	}
	if err := copyRows(ctx, tx, "step_session", []string{"outfit_id", "step_id", "session_id", "version", "before", "gone_at"}, rows); err != nil {
		return err
	}
	_, err := tx.Exec(ctx, `INSERT INTO step_session (outfit_id, step_id, session_id, version) SELECT outfit_id, $2, id, version FROM session
		WHERE outfit_id = $1 AND changed = revision_under_way() ON CONFLICT (outfit_id, step_id, session_id) DO UPDATE SET version = excluded.version`, s.outfit, d.id)
	return err
}

// Steps lists the latest steps, those taken back too, the newest first. A client sees the client's own.
func (s *Store) Steps(ctx context.Context, limit int) ([]journal.Step, error) {
	list, err := s.steps(ctx, s.once(), "true ORDER BY st.at DESC, st.id DESC LIMIT $4", limit)
	return list, explain("list the steps", err)
}

// StepByID returns a step, or ErrNotFound.
func (s *Store) StepByID(ctx context.Context, id journal.ID) (journal.Step, error) {
	list, err := s.steps(ctx, s.once(), "st.id = $4", id)
	if err == nil && len(list) == 0 {
		err = pgx.ErrNoRows
	}
	if err != nil {
		return journal.Step{}, explain("read the step", err)
	}
	return list[0], nil
}

// steps reads those that a condition chooses, which may use $4, each with a session of it.
func (s *Store) steps(ctx context.Context, from querier, which string, args ...any) ([]journal.Step, error) {
	member := [2]string{"coalesce(m.name, '')", "LEFT JOIN member m ON m.outfit_id = st.outfit_id AND m.person_id = st.person_id"}
	if s.who.IsClient() {
		member = [2]string{"''", ""} // whose steps are their own
	}
	return listOf(ctx, from, func(row pgx.CollectableRow) (st journal.Step, err error) {
		var day *journal.Date
		var angler, water string
		err = row.Scan(&st.ID, &st.At, &st.Kind, &st.What, &st.Role, &st.By, &st.Mine, &st.UndoneAt, &st.Sessions, &day, &angler, &water)
		st.At = st.At.UTC()
		if st.What == "" {
			st.What = sayStep(st, day, angler, water)
		}
		return st, err
	}, `SELECT st.id, st.at, st.kind, st.what, st.role, `+member[0]+`, st.person_id IS NOT DISTINCT FROM $2 AND st.role = $3, st.undone_at,
			(SELECT count(*) FROM step_session x WHERE x.outfit_id = st.outfit_id AND x.step_id = st.id), one.day, coalesce(a.name, ''), coalesce(w.name, '')
		FROM step st `+member[1]+`
		LEFT JOIN LATERAL (SELECT coalesce(se.day, d.day) AS day, coalesce(se.angler_id, d.angler_id) AS angler_id, coalesce(se.water_id, (d.content ->> 'water_id')::uuid) AS water_id
			FROM step_session x LEFT JOIN session se ON se.outfit_id = x.outfit_id AND se.id = x.session_id
			LEFT JOIN deleted_session d ON d.outfit_id = x.outfit_id AND d.session_id = x.session_id
			WHERE x.outfit_id = st.outfit_id AND x.step_id = st.id AND st.what = '' LIMIT 1) one ON true
		LEFT JOIN angler a ON a.outfit_id = st.outfit_id AND a.id = one.angler_id
		LEFT JOIN water w ON w.outfit_id = st.outfit_id AND w.id = one.water_id
		WHERE st.outfit_id = $1 AND `+which, append([]any{s.outfit, s.who.Person, s.who.Role}, args...)...)
}

// sayStep says what was done to sessions.
func sayStep(st journal.Step, day *journal.Date, angler, water string) string {
	did := map[journal.StepKind]string{journal.StepLog: "Logged", journal.StepEdit: "Changed", journal.StepDelete: "Deleted", journal.StepRestore: "Brought back"}[st.Kind]
	switch {
	case st.Sessions != 1:
		return fmt.Sprintf("%s %d sessions", did, st.Sessions)
	case day == nil:
		return did + " a session"
	case angler == "" || water == "":
		return did + " the session of " + day.String()
	}
	return fmt.Sprintf("%s the session of %s: %s on %s", did, day, angler, water)
}

// kept steps can still be taken back.
func stepIsKept(st journal.Step) bool {
	return time.Since(st.At) < journal.UndoDays*24*time.Hour
}

// stepToUndo finds the step that is to be taken back, and what it keeps.
func (s *Store) stepToUndo(ctx context.Context, tx pgx.Tx, id journal.ID) (journal.Step, *deed, error) {
	which, arg := "st.id = $4", any(id)
	if id.IsZero() {
		which, arg = "st.undone_at IS NULL AND st.person_id IS NOT DISTINCT FROM $2 AND st.role = $3 ORDER BY st.at DESC, st.id DESC LIMIT $4", 1
	}
	list, err := s.steps(ctx, tx, which, arg)
	switch {
	case err != nil:
		return journal.Step{}, nil, err
	case len(list) == 0 && id.IsZero():
		return journal.Step{}, nil, journal.Invalidf("you did nothing in the last %d days that can be taken back", journal.UndoDays)
	case len(list) == 0:
		return journal.Step{}, nil, pgx.ErrNoRows
	}
	st := list[0]
	switch {
	case st.UndoneAt != nil:
		return st, nil, journal.Invalidf("that was taken back already, on %s", st.UndoneAt.Format("2006-01-02"))
	case !stepIsKept(st):
		return st, nil, journal.Invalidf("that was done more than %d days ago, and can't be taken back any more", journal.UndoDays)
	}
	d := &deed{id: st.ID, kind: st.Kind, told: st.What}
	err = tx.QueryRow(ctx, `SELECT about, content FROM step WHERE outfit_id = $1 AND id = $2`, s.outfit, st.ID).Scan(&d.about, &d.deedContent)
	return st, d, err
}

// touchedBy lists the sessions that a step wrote.
func (s *Store) touchedBy(ctx context.Context, tx pgx.Tx, step journal.ID) ([]touched, error) {
	return listOf(ctx, tx, pgx.RowToStructByPos[touched], `SELECT session_id, version, before, gone_at FROM step_session WHERE outfit_id = $1 AND step_id = $2 ORDER BY session_id`, s.outfit, step)
}

// goneRow is a row that was taken out of a table, as it was.
type goneRow struct {
	Table string          `json:"table"`
	Title string          `json:"title"`
	Row   json.RawMessage `json:"row"`
}

// id is that of the row, or of the rig whose fly it is.
func (g goneRow) id() journal.ID {
	if g.Table == "rig_position" {
		return g.field("rig_id")
	}
	return g.field("id")
}

// water is that of a beat.
func (g goneRow) water() journal.ID { return g.field("water_id") }

// field is an id in the row, zero where it has none of that name.
func (g goneRow) field(name string) (id journal.ID) {
	var row map[string]json.RawMessage
	if json.Unmarshal(g.Row, &row) != nil || json.Unmarshal(row[name], &id) != nil {
		return journal.ID{}
	}
	return id
}

// takeAway deletes a row that nothing rests on, and keeps it with the step.
func (s *Store) takeAway(ctx context.Context, tx pgx.Tx, table string, id journal.ID, title string) error {
	gone, err := takeRows(ctx, tx, table, s.outfit, []journal.ID{id}, "")
	if err != nil {
		return err
	}
	return s.keepStep(ctx, tx, &deed{kind: journal.StepDelete, told: fmt.Sprintf("Deleted the %s %s", table, title), deedContent: deedContent{Gone: gone}})
}

// rows puts back what a step took out or away, if it did no more than that.
func (u *undoing) rows(ctx context.Context) error {
	if u.deed.kind == journal.StepDelete && len(u.deed.Gone) > 0 {
		for _, g := range u.deed.Gone {
			back, err := putBack(ctx, u.tx, g)
			if err != nil {
				return err
			}
			if !back {
				return journal.Invalidf("another %s is called %s by now; rename that one first", g.Table, g.Title)
			}
		}
		u.deed.Gone = nil // it is there again
	}
	return u.takenBack(ctx)
}

// putBack writes a row as it was, unless something else has its id or name by now.
func putBack(ctx context.Context, tx pgx.Tx, g goneRow) (bool, error) {
	var row map[string]json.RawMessage
	if err := json.Unmarshal(g.Row, &row); err != nil {
		return false, err
	}
	delete(row, "changed") // which is the revision under way
	names := slices.Sorted(maps.Keys(row))
	list := ""
	for i, name := range names {
		if i > 0 {
			list += ", "
		}
		list += pgx.Identifier{name}.Sanitize()
	}
	table := pgx.Identifier{g.Table}.Sanitize()
	tag, err := tx.Exec(ctx, "INSERT INTO "+table+" ("+list+") SELECT "+list+" FROM jsonb_populate_record(NULL::"+table+", $1) ON CONFLICT DO NOTHING", g.Row)
	return tag.RowsAffected() > 0, err
}
