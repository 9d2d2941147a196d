package pg

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"rigtally/journal"
)

// Undo takes a step back, in one transaction; the zero id is the newest step of this person that stands. Sessions that
// were written since stay, and what was left is told with the reason. A step that was taken back already, or is older
// than journal.UndoDays, is Invalid; and so is one of which nothing can be taken back.
func (s *Store) Undo(ctx context.Context, id journal.ID) (journal.Undone, error) {
	var u undoing
	err := s.write(ctx, "take the step back", func(tx pgx.Tx) error {
		u = undoing{Store: s, tx: tx}
		var err error
		if u.Step, u.deed, err = s.stepToUndo(ctx, tx, id); err != nil {
			return err
		}
		switch u.deed.kind {
		case journal.StepRename, journal.StepMerge:
			err = u.names(ctx)
		default:
			err = u.sessions(ctx)
		}
		if err != nil {
			return err
		}
		if len(u.Left) > 0 && u.Sessions == 0 && len(u.Gone) == 0 && !u.other && u.deed.kind != journal.StepMerge && u.deed.kind != journal.StepRename {
			return journal.Invalidf("nothing of it can be taken back: %s", strings.Join(u.Left, "; "))
		}
		at := time.Now().UTC().Truncate(time.Microsecond)
		u.Step.UndoneAt = &at
		if _, err := tx.Exec(ctx, `UPDATE step SET undone_at = $3, content = $4 WHERE outfit_id = $1 AND id = $2`, s.outfit, u.Step.ID, at, u.deed.deedContent); err != nil {
			return err
		}
		_, err = s.matchTrials(ctx, tx)
		return err
	})
	return u.Undone, err
}

// undoing is a step on its way back.
type undoing struct {
	*Store
	journal.Undone
	tx    pgx.Tx
	deed  *deed
	other bool // than sessions went back
}

func (u *undoing) left(format string, args ...any) {
	u.Left = append(u.Left, fmt.Sprintf(format, args...))
}

// sessions puts back what was there before a step that wrote sessions, and takes out what only they used.
func (u *undoing) sessions(ctx context.Context) error {
	all, err := u.touchedBy(ctx, u.tx, u.deed.id)
	if err != nil {
		return err
	}
	ids := make([]journal.ID, len(all))
	for i, t := range all {
		ids[i] = t.ID
	}
	live, err := u.versions(ctx, `SELECT id, version FROM session WHERE outfit_id = $1 AND id = ANY($2)`, ids)
	if err != nil {
		return err
	}
	gone, err := u.versions(ctx, `SELECT session_id, coalesce((content ->> 'version')::integer, 0) FROM deleted_session WHERE outfit_id = $1 AND session_id = ANY($2) AND `+kept, ids)
	if err != nil {
		return err
	}
	var out []touched
	var back, changed []journal.ID
	var before []journal.Session
	var follow followed
	for _, t := range all {
		version, isLive := live[t.ID]
		deleted, isDeleted := gone[t.ID]
		switch {
		case u.deed.kind == journal.StepDelete && isDeleted && deleted == t.Version:
			back = append(back, t.ID)
		case u.deed.kind == journal.StepDelete && isLive:
			// It was brought back already.
		case u.deed.kind == journal.StepDelete:
			u.left("a session that it deleted is gone for good, or was deleted once more")
		case isLive && version != t.Version:
			changed = append(changed, t.ID)
		case isLive && t.Before == nil:
			out = append(out, t)
		case isLive:
			follow.add(t.ID, t.Before.Version, t.Version+1)
			t.Before.Normalize()
			t.Before.Version = t.Version + 1
			if t.GoneAt != nil {
				out = append(out, t)
			} else {
				before = append(before, *t.Before)
			}
		case t.Before != nil:
			u.left("a session that it changed was deleted since; restore it first")
		}
	}
	if err := u.sayChanged(ctx, changed); err != nil {
		return err
	}
	if err := u.takeOutThose(ctx, out); err != nil {
		return err
	}
	if err := u.bringBack(ctx, back); err != nil {
		return err
	}
	if err := u.rewrite(ctx, before); err != nil {
		return err
	}
	if len(follow.ids) > 0 {
		if _, err := u.tx.Exec(ctx, `SELECT steps_follow($1, $2, $3)`, follow.ids, follow.was, follow.present); err != nil {
			return err
		}
	}
	if !u.who.IsClient() { // who has no aliases
		if _, err := u.tx.Exec(ctx, `DELETE FROM alias WHERE outfit_id = $1 AND step_id = $2`, u.outfit, u.deed.id); err != nil {
			return err
		}
	}
	u.Sessions = len(out) + len(back) + len(before)
	if err := u.rows(ctx); err != nil {
		return err
	}
	return u.takeOutUnused(ctx)
}

// followed are the versions that sessions had before a step, and that they have as it went back.
type followed struct {
	ids          []journal.ID
	was, present []int
}

func (f *followed) add(id journal.ID, was, present int) {
	f.ids, f.was, f.present = append(f.ids, id), append(f.was, was), append(f.present, present)
}

// versions reads which version of sessions there is.
func (u *undoing) versions(ctx context.Context, sql string, ids []journal.ID) (map[journal.ID]int, error) {
	versions := map[journal.ID]int{}
	var id journal.ID
	var version int
	err := each(ctx, u.tx, []any{&id, &version}, func() { versions[id] = version }, sql, u.outfit, ids)
	return versions, err
}

// sayChanged says of sessions by whom they were changed last.
func (u *undoing) sayChanged(ctx context.Context, ids []journal.ID) error {
	if len(ids) == 0 {
		return nil
	}
	var day journal.Date
	var role *journal.Role
	return each(ctx, u.tx, []any{&day, &role}, func() {
		by := ""
		if role != nil {
			by = " by the " + string(*role)
		}
		u.left("the session of %s was changed since%s", day, by)
	}, `SELECT se.day, (SELECT c.role FROM session_change c WHERE c.outfit_id = se.outfit_id AND c.session_id = se.id ORDER BY c.at DESC LIMIT 1)
		FROM session se WHERE se.outfit_id = $1 AND se.id = ANY($2) ORDER BY se.day, se.id`, u.outfit, ids)
}

// takeOutThose moves sessions to the deleted, or has those deleted again that they had replaced.
func (u *undoing) takeOutThose(ctx context.Context, list []touched) error {
	now := time.Now().UTC().Truncate(time.Microsecond)
	for part := range slices.Chunk(list, bulkRun) {
		ids, before := make([]journal.ID, len(part)), map[journal.ID]touched{}
		for i, t := range part {
			ids[i], before[t.ID] = t.ID, t
		}
		sessions, err := u.readSessions(ctx, u.tx, ids)
		if err != nil {
			return err
		}
		if _, err := u.tx.Exec(ctx, `DELETE FROM session WHERE outfit_id = $1 AND id = ANY($2)`, u.outfit, ids); err != nil {
			return err
		}
		deleted := make([]journal.DeletedSession, len(sessions))
		for i, session := range sessions {
			deleted[i] = journal.DeletedSession{Session: session, DeletedAt: now}
			if was := before[session.ID]; was.GoneAt != nil {
				deleted[i] = journal.DeletedSession{Session: *was.Before, DeletedAt: *was.GoneAt}
			}
		}
		if err := u.copyDeleted(ctx, u.tx, deleted); err != nil {
			return err
		}
		if err := u.noteAll(ctx, u.tx, journal.DeedUndone, sessions, nil); err != nil {
			return err
		}
	}
	return nil
}

// bringBack restores sessions that were deleted.
func (u *undoing) bringBack(ctx context.Context, ids []journal.ID) error {
	for _, id := range ids {
		held, deleted, err := u.heldSession(ctx, u.tx, id)
		if err != nil || !deleted {
			return errors.Join(err, fmt.Errorf("deleted session %s: %w", id, journal.ErrNotFound))
		}
		if err := u.putIn(ctx, u.tx, *held, journal.DeedUndone); err != nil {
			return err
		}
	}
	return nil
}

// rewrite puts sessions in the place of their versions before.
func (u *undoing) rewrite(ctx context.Context, sessions []journal.Session) error {
	if len(sessions) == 0 {
		return nil
	}
	sessions, err := u.present(ctx, u.tx, sessions)
	if err != nil {
		return err
	}
	if err := u.replace(ctx, u.tx, sessions, nil); err != nil {
		return err
	}
	return u.noteAll(ctx, u.tx, journal.DeedUndone, sessions, nil)
}

// replace takes sessions out, and puts them in anew as they are here. Of waters, into says which are one by now, or were.
func (s *Store) replace(ctx context.Context, tx pgx.Tx, sessions []journal.Session, into map[journal.ID]journal.ID) error {
	ids := make([]journal.ID, len(sessions))
	for i := range sessions {
		ids[i] = sessions[i].ID
	}
	took, err := s.readFills(ctx, tx, ids)
	if err != nil {
		return err
	}
	if _, err := tx.Exec(ctx, `DELETE FROM session WHERE outfit_id = $1 AND id = ANY($2)`, s.outfit, ids); err != nil {
		return err
	}
	if err := s.copySessions(ctx, tx, journal.Addition{Sessions: sessions}, nil); err != nil {
		return err
	}
	return s.fillAll(ctx, tx, sessions, took, into)
}

// usedBy say what keeps a row of a table: anything here. Members, invitations and shares keep anglers by their keys.
var usedBy = []struct{ table, title, by string }{
	{"rig", "name", `SELECT FROM stint WHERE outfit_id = $1 AND rig_id = x.id UNION ALL SELECT FROM trial WHERE outfit_id = $1 AND x.id IN (a_rig_id, b_rig_id)`},
	{"beat", "name", `SELECT FROM session WHERE outfit_id = $1 AND beat_id = x.id`},
	{"water", "name", `SELECT FROM session WHERE outfit_id = $1 AND water_id = x.id UNION ALL SELECT FROM beat WHERE outfit_id = $1 AND water_id = x.id`},
	{"angler", "name", `SELECT FROM session WHERE outfit_id = $1 AND x.id IN (angler_id, guide_id) UNION ALL SELECT FROM bench_pull WHERE outfit_id = $1 AND angler_id = x.id
		UNION ALL SELECT FROM rig WHERE outfit_id = $1 AND of_angler = x.id UNION ALL SELECT FROM water WHERE outfit_id = $1 AND of_angler = x.id
		UNION ALL SELECT FROM beat WHERE outfit_id = $1 AND of_angler = x.id UNION ALL SELECT FROM trial WHERE outfit_id = $1 AND of_angler = x.id`},
}

// takeOutUnused takes out what the step had added and nothing in the journal uses any more. It stays with the step, for
// sessions that are brought back one by one.
func (u *undoing) takeOutUnused(ctx context.Context) error {
	for _, use := range usedBy {
		made := u.deed.Made[use.table]
		if len(made) == 0 || u.who.IsClient() && use.table == "angler" {
			continue
		}
		gone, err := u.takeOutRows(ctx, use.table, use.by, made)
		if isForeignKey(err) { // one of them is somebody who signs in
			for _, id := range made {
				one, err := u.takeOutRows(ctx, use.table, use.by, []journal.ID{id})
				if err != nil && !isForeignKey(err) {
					return err
				}
				gone = append(gone, one...)
			}
		} else if err != nil {
			return err
		}
		for _, g := range gone {
			if u.deed.Gone = append(u.deed.Gone, g); g.Table == use.table {
				u.Gone = append(u.Gone, "the "+use.table+" "+g.Title)
			}
		}
	}
	return nil
}

// takeOutRows takes rows out that nothing uses, all or, where a key refuses one, none.
func (u *undoing) takeOutRows(ctx context.Context, table, by string, ids []journal.ID) (gone []goneRow, err error) {
	err = pgx.BeginFunc(ctx, u.tx, func(tx pgx.Tx) error {
		gone, err = takeRows(ctx, tx, table, u.outfit, ids, ` AND NOT EXISTS (`+by+`)`)
		return err
	})
	if err != nil {
		gone = nil
	}
	return gone, err
}

// takeRows takes rows out of a table, those of rigs with their flies, and returns them.
func takeRows(ctx context.Context, tx pgx.Tx, table string, outfit journal.ID, ids []journal.ID, and string) ([]goneRow, error) {
	if len(ids) == 0 {
		return nil, nil
	}
	var flies []goneRow
	if table == "rig" {
		var err error
		if flies, err = listOf(ctx, tx, pgx.RowToStructByPos[goneRow], `SELECT 'rig_position', '', to_jsonb(x) FROM rig_position x WHERE outfit_id = $1 AND rig_id = ANY($2)`, outfit, ids); err != nil {
			return nil, err
		}
	}
	gone, err := listOf(ctx, tx, pgx.RowToStructByPos[goneRow], `DELETE FROM `+table+` x WHERE outfit_id = $1 AND id = ANY($2)`+and+` RETURNING '`+table+`', name, to_jsonb(x)`, outfit, ids)
	if err != nil {
		return nil, err
	}
	is := map[journal.ID]bool{}
	for _, g := range gone {
		is[g.id()] = true
	}
	return append(gone, slices.DeleteFunc(flies, func(f goneRow) bool { return !is[f.id()] })...), nil
}

func isForeignKey(err error) bool {
	var pg *pgconn.PgError
	return errors.As(err, &pg) && pg.Code == "23503"
}

// present returns sessions that come back with the ids of what they name now: of what was merged into something else
// that one, and what was taken out with an undone step is put back for them.
func (s *Store) present(ctx context.Context, tx pgx.Tx, sessions []journal.Session) ([]journal.Session, error) {
	named := map[journal.ID]bool{}
	for _, session := range sessions {
		for id := range session.Names() {
			named[id] = true
		}
	}
	ids := slices.Collect(maps.Keys(named))
	held, err := s.mergedInto(ctx, tx, ids)
	if err != nil {
		return nil, err
	}
	missing, err := listOf(ctx, tx, pgx.RowTo[journal.ID], `SELECT id FROM unnest($2::uuid[]) AS named (id) WHERE NOT EXISTS (SELECT FROM angler a WHERE a.outfit_id = $1 AND a.id = named.id)
		AND NOT EXISTS (SELECT FROM water w WHERE w.outfit_id = $1 AND w.id = named.id) AND NOT EXISTS (SELECT FROM beat b WHERE b.outfit_id = $1 AND b.id = named.id)
		AND NOT EXISTS (SELECT FROM rig r WHERE r.outfit_id = $1 AND r.id = named.id)`, s.outfit, ids)
	if err != nil {
		return nil, err
	}
	missing = slices.DeleteFunc(missing, func(id journal.ID) bool { _, ok := held[id]; return ok })
	if err := s.putBackThose(ctx, tx, missing, held); err != nil {
		return nil, err
	}
	out := make([]journal.Session, len(sessions))
	for i, session := range sessions {
		out[i] = session.Refer(held)
	}
	return out, nil
}

// putBackThose puts back what was taken out with undone steps. Where something else has its name by now, it is that one.
func (s *Store) putBackThose(ctx context.Context, tx pgx.Tx, missing []journal.ID, held map[journal.ID]journal.ID) error {
	if len(missing) == 0 {
		return nil
	}
	gone, err := listOf(ctx, tx, pgx.RowToStructByPos[goneRow], `SELECT g ->> 'table', g ->> 'title', g -> 'row' FROM step st CROSS JOIN LATERAL jsonb_array_elements(st.content -> 'gone') g
		WHERE st.outfit_id = $1 AND st.undone_at IS NOT NULL AND coalesce(g -> 'row' ->> 'id', g -> 'row' ->> 'rig_id')::uuid = ANY($2)
		ORDER BY array_position($3::text[], g ->> 'table'), st.at`, s.outfit, missing, outward)
	if err != nil {
		return err
	}
	for _, g := range gone {
		if _, taken := held[g.id()]; taken {
			continue
		}
		on := g.water()
		if now, taken := held[on]; taken {
			on = now
			g.Row = []byte(strings.Replace(string(g.Row), g.water().String(), on.String(), 1))
		}
		back, err := putBack(ctx, tx, g)
		if err != nil {
			return err
		}
		if back || g.Table == "rig_position" {
			continue
		}
		var b query
		which := "outfit_id = " + b.arg(s.outfit) + " AND lower(name) = lower(" + b.arg(g.Title) + ") AND id <> " + b.arg(g.id())
		if g.Table == "beat" {
			which += " AND water_id = " + b.arg(on)
		}
		var other journal.ID
		err = tx.QueryRow(ctx, `SELECT id FROM `+pgx.Identifier{g.Table}.Sanitize()+` WHERE `+which+` LIMIT 1`, b.args...).Scan(&other)
		if err == nil {
			held[g.id()] = other
		} else if !errors.Is(err, pgx.ErrNoRows) {
			return err
		}
	}
	return nil
}

// mergedInto says of ids what they were merged into.
func (s *Store) mergedInto(ctx context.Context, tx pgx.Tx, ids []journal.ID) (map[journal.ID]journal.ID, error) {
	held := map[journal.ID]journal.ID{}
	var former, now journal.ID
	err := each(ctx, tx, []any{&former, &now}, func() { held[former] = now }, `SELECT former, present FROM merged_into($1)`, ids)
	return held, err
}
