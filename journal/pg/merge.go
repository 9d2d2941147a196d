package pg

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"rigtally/internal/units"
	"rigtally/journal"
)

// Merge makes two things one: all that names from names into from then on, and from is gone. Its name stays as an alias.
// What can't be one is Invalid, with the reason: two rigs that are tied differently, anglers of two accounts, a session
// that one guided for the other, a trial or claim that compares the two.
//
// Sessions keep their versions, since nobody has written them: who is editing one goes on, and what phones send with the
// former ids is taken for what those are now.
func (s *Store) Merge(ctx context.Context, from, into journal.Thing) (journal.Changed, error) {
	if from.Kind != into.Kind {
		return journal.Changed{}, journal.Invalidf("a %s can't be merged with a %s; choose two of a kind", from.Kind, into.Kind)
	}
	if from.Kind == journal.ThingKnot {
		return s.correct(ctx, "merge the knots", journal.StepMerge, func(n *naming) error { return n.knot(ctx, from.Name, into.Name, false) })
	}
	return s.correct(ctx, "merge the "+string(from.Kind)+"s", journal.StepMerge, func(n *naming) error {
		from, err := s.thing(ctx, n.tx, from)
		if err != nil {
			return err
		}
		into, err := s.thing(ctx, n.tx, into)
		switch {
		case err != nil:
			return err
		case from.ID == into.ID:
			return journal.Invalidf("that is the same %s, %s; choose another one to merge it with", from.Kind, from.Name)
		}
		m := &merging{naming: n, from: from, into: into, of: map[journal.ID]journal.ID{from.ID: into.ID}}
		return m.explain(m.all(ctx))
	})
}

// merging is a merge under way.
type merging struct {
	*naming
	from, into named
	of         map[journal.ID]journal.ID // what is merged into what: beats with their water
	aliases    []journal.Alias
	words      []levelWord
}

// explain says what a key of the tables has refused.
func (m *merging) explain(err error) error {
	var pg *pgconn.PgError
	switch {
	case errors.As(err, &pg) && pg.Code == "23503":
		return journal.Invalidf("%s signs in, or is invited to; an owner merges them", m.from.Name)
	case errors.As(err, &pg) && pg.Code == "23505":
		return journal.Invalidf("%s and %s each have something of their own with the same name (a water, a beat, a rig or a trial); merge or rename that first", m.from.Name, m.into.Name)
	}
	return err
}

// all makes the two one.
func (m *merging) all(ctx context.Context) error {
	prepare, which := m.anglers, "angler_id = ANY($2) OR guide_id = ANY($2)"
	switch m.from.Kind {
	case journal.ThingWater:
		prepare, which = m.waters, "water_id = ANY($2) OR beat_id = ANY($2)"
	case journal.ThingBeat:
		prepare, which = m.beats, "beat_id = ANY($2)"
	case journal.ThingRig:
		prepare, which = m.rigs, "id IN (SELECT session_id FROM stint WHERE outfit_id = $1 AND rig_id = ANY($2))"
	}
	if err := prepare(ctx); err != nil {
		return err
	}
	ids, err := listOf(ctx, m.tx, pgx.RowTo[journal.ID], `SELECT id FROM session WHERE outfit_id = $1 AND (`+which+`)`, m.outfit, m.gone(nil))
	if err != nil {
		return err
	}
	for part := range slices.Chunk(ids, bulkRun) {
		if err := m.sessions(ctx, part); err != nil {
			return err
		}
	}
	m.told.Sessions = len(ids)
	if err := m.reword(ctx, m.words); err != nil {
		return err
	}
	if err := m.takeOut(ctx); err != nil {
		return err
	}
	m.deed.Into, m.deed.about = m.of, &m.into.ID
	m.told.Told = fmt.Sprintf("Merged the %s %s into %s: %s moved", m.from.Kind, m.from.Name, m.into.Name, counted(m.told.Sessions, "session"))
	if m.told.Pulls > 0 {
		m.told.Told += " and " + counted(m.told.Pulls, "bench pull")
	}
	return nil
}

// gone are the ids of what is merged, those of one kind or all.
func (m *merging) gone(but *journal.ID) (ids []journal.ID) {
	for id := range m.of {
		if but == nil || id != *but {
			ids = append(ids, id)
		}
	}
	return ids
}

// sessions has sessions name what the merged is now, and keeps what they named.
func (m *merging) sessions(ctx context.Context, ids []journal.ID) error {
	before, err := m.readSessions(ctx, m.tx, ids)
	if err != nil {
		return err
	}
	after := make([]journal.Session, len(before))
	rows := make([][]any, len(before))
	for i, session := range before {
		after[i] = session.Refer(m.of)
		rows[i] = []any{m.outfit, m.deed.id, session.ID, session.Version, session}
	}
	if err := m.replace(ctx, m.tx, after, m.of); err != nil {
		return err
	}
	field := string(m.from.Kind)
	if m.from.Kind == journal.ThingRig {
		field = "stints"
	}
	if err := m.noteAll(ctx, m.tx, journal.DeedMerged, after, []string{field}); err != nil {
		return err
	}
	m.touched = append(m.touched, rows...)
	return nil
}

// takeOut takes out what was merged and keeps its names.
func (m *merging) takeOut(ctx context.Context) error {
	if m.from.Kind == journal.ThingWater {
		gone, err := takeRows(ctx, m.tx, "beat", m.outfit, m.gone(&m.from.ID), "")
		if err != nil {
			return err
		}
		m.deed.Gone = gone
	}
	gone, err := takeRows(ctx, m.tx, string(m.from.Kind), m.outfit, []journal.ID{m.from.ID}, "")
	if err != nil {
		return err
	}
	m.deed.Gone = append(m.deed.Gone, gone...)
	for from, into := range m.of {
		if err := m.point(ctx, "alias", "of", "id", from, into); err != nil {
			return err
		}
	}
	if m.from.Kind == journal.ThingWater {
		if err := m.point(ctx, "alias", "water_id", "id", m.from.ID, m.into.ID); err != nil {
			return err
		}
	}
	m.aliases = append(m.aliases, journal.Alias{Kind: m.from.Kind, Name: m.from.Name, Water: orNull(m.from.Water), Of: &m.into.ID, Was: &m.from.ID})
	for _, a := range m.aliases {
		if err := m.alias(ctx, a); err != nil {
			return err
		}
	}
	return nil
}

// anglers moves what else is an angler's.
func (m *merging) anglers(ctx context.Context) error {
	from, into := m.from.ID, m.into.ID
	m.words = []levelWord{{"angler", m.from.Name, m.into.Name}}
	var day *journal.Date
	if err := m.tx.QueryRow(ctx, `SELECT min(day) FROM session WHERE outfit_id = $1 AND ((angler_id = $2 AND guide_id = $3) OR (angler_id = $3 AND guide_id = $2))`, m.outfit, from, into).Scan(&day); err != nil {
		return err
	}
	if day != nil {
		return journal.Invalidf("one of %s and %s guided the other on %s, so they are two; correct that session first if it is wrong", m.from.Name, m.into.Name, day)
	}
	pulls, err := listOf(ctx, m.tx, pgx.RowTo[journal.ID], `SELECT id FROM bench_pull WHERE outfit_id = $1 AND angler_id = $2`, m.outfit, from)
	if err != nil {
		return err
	}
	m.told.Pulls = len(pulls)
	columns := [][3]string{{"bench_pull", "angler_id", "id"}, {"share", "angler_id", "id"}, {"water", "of_angler", "id"}, {"beat", "of_angler", "id"}, {"rig", "of_angler", "id"}, {"trial", "of_angler", "id"}}
	if m.who.Role == journal.RoleOwner {
		are, err := m.members(ctx, m.tx, "angler_id IN ($2, $3)", from, into)
		if err != nil {
			return err
		}
		if len(are) > 1 {
			return journal.Invalidf("%s and %s both sign in, with an account each; remove one of them under People first, and keep the sessions", m.from.Name, m.into.Name)
		}
		columns = append(columns, [][3]string{{"member", "angler_id", "person_id"}, {"invitation", "angler_id", "id"}}...)
	}
	for _, c := range columns {
		if err := m.point(ctx, c[0], c[1], c[2], from, into); err != nil {
			return err
		}
	}
	return nil
}

// waters puts the beats of one water to those of the other.
func (m *merging) waters(ctx context.Context) error {
	waters, err := m.readWaters(ctx, m.tx, "lower(name), id")
	if err != nil {
		return err
	}
	of := map[journal.ID]journal.Water{}
	for _, w := range waters {
		of[w.ID] = w
	}
	from, into := of[m.from.ID], of[m.into.ID]
	if from.TimeZone != into.TimeZone {
		return journal.Invalidf("%s is in the time zone %s and %s in %s, so they are two waters; correct the time zone of one first if it is wrong", from.Name, from.TimeZone, into.Name, into.TimeZone)
	}
	m.words = []levelWord{{"water", from.Name, into.Name}}
	for _, b := range from.Beats {
		at := slices.IndexFunc(into.Beats, func(o journal.Beat) bool { return strings.EqualFold(o.Name, b.Name) })
		if at < 0 {
			at = len(into.Beats)
			into.Beats = append(into.Beats, journal.Beat{ID: journal.NewID(), Name: b.Name})
			m.deed.made("beat", into.Beats[at].ID)
			if _, err := m.tx.Exec(ctx, `INSERT INTO beat (outfit_id, id, water_id, name, of_angler) SELECT outfit_id, $3, $4, name, of_angler FROM beat WHERE outfit_id = $1 AND id = $2`,
				m.outfit, b.ID, into.Beats[at].ID, into.ID); err != nil {
				return err
			}
		}
		m.of[b.ID] = into.Beats[at].ID
		m.words = append(m.words, levelWord{"beat", from.Name + ", " + b.Name, into.Name + ", " + into.Beats[at].Name})
		m.aliases = append(m.aliases, journal.Alias{Kind: journal.ThingBeat, Name: b.Name, Water: &into.ID, Of: &into.Beats[at].ID, Was: &b.ID})
	}
	if len(into.Gauges) > 0 || len(from.Gauges) == 0 {
		return nil
	}
	var gauges string // as the database writes them, by which a move knows what it changed
	if err := m.tx.QueryRow(ctx, `SELECT gauges::text FROM water WHERE outfit_id = $1 AND id = $2`, m.outfit, from.ID).Scan(&gauges); err != nil {
		return err
	}
	return m.move(ctx, move{Table: "water", Column: "gauges", Key: "id", IDs: []journal.ID{into.ID}, From: "[]", To: gauges}, "")
}

func (m *merging) beats(ctx context.Context) error {
	if m.from.Water != m.into.Water {
		return journal.Invalidf("the beats %s and %s are on two waters; merge those, and beats of one name become one", m.from.Name, m.into.Name)
	}
	words, err := m.factorWords(ctx, m.from, m.into.Name)
	m.words = words
	return err
}

// rigs checks that two rigs may be one, and puts trials to the other. Their stints, counted anew with it, follow.
func (m *merging) rigs(ctx context.Context) error {
	rigs, err := m.readRigs(ctx, m.tx, []journal.ID{m.from.ID, m.into.ID})
	if err != nil {
		return err
	}
	from, into := rigs[m.from.ID], rigs[m.into.ID]
	var system units.System
	if err := m.tx.QueryRow(ctx, `SELECT units FROM outfit WHERE id = $1`, m.outfit).Scan(&system); err != nil {
		return err
	}
	if err := from.CheckMerge(into, system); err != nil {
		return err
	}
	trials, err := m.readTrials(ctx, m.tx, "factor = 'rig' AND (a_rig_id = $2 OR b_rig_id = $2)", from.ID)
	if err != nil {
		return err
	}
	for _, t := range trials {
		if *t.Arms[0].RigID == into.ID || *t.Arms[1].RigID == into.ID {
			return journal.Invalidf("the trial %s compares the two; what it compares never changes", t.Name)
		}
	}
	m.words = []levelWord{{"rig", from.Title(), into.Title()}}
	for _, c := range [][3]string{{"trial", "a_rig_id", "id"}, {"trial", "b_rig_id", "id"}, {"outfit", "usual_rig_id", "id"}} {
		if err := m.point(ctx, c[0], c[1], c[2], from.ID, into.ID); err != nil {
			return err
		}
	}
	m.told.Rigs = 1
	return nil
}

// outward are the tables of things, each before what rests on it.
var outward = []string{"angler", "water", "beat", "rig", "rig_position"}

// names takes a rename or merge back: what was taken out comes back, and what named it names it again, but for what has
// been given something else since.
func (u *undoing) names(ctx context.Context) error {
	if err := correctsNames(ctx, u.tx); err != nil {
		return err
	}
	if err := u.standing(ctx); err != nil {
		return err
	}
	slices.SortStableFunc(u.deed.Gone, func(a, b goneRow) int { return slices.Index(outward, a.Table) - slices.Index(outward, b.Table) })
	for _, g := range u.deed.Gone {
		if back, err := putBack(ctx, u.tx, g); err != nil {
			return err
		} else if !back {
			return journal.Invalidf("another %s is called %s by now; rename that one first", g.Table, g.Title)
		}
	}
	if err := u.sessionsBack(ctx); err != nil {
		return err
	}
	for _, m := range slices.Backward(u.deed.Moves) {
		if err := u.moveBack(ctx, m); err != nil {
			return err
		}
	}
	if err := u.knotsBack(ctx); err != nil {
		return err
	}
	if err := u.wordsBack(ctx); err != nil {
		return err
	}
	if _, err := u.tx.Exec(ctx, `DELETE FROM alias WHERE outfit_id = $1 AND step_id = $2`, u.outfit, u.deed.id); err != nil {
		return err
	}
	u.deed.Gone = nil // it is there again
	return u.takeOutUnused(ctx)
}

// standing refuses to take back what other steps rest on.
func (u *undoing) standing(ctx context.Context) error {
	if u.deed.about == nil {
		return nil
	}
	var there bool
	if err := u.tx.QueryRow(ctx, `SELECT EXISTS (SELECT FROM angler WHERE outfit_id = $1 AND id = $2) OR EXISTS (SELECT FROM water WHERE outfit_id = $1 AND id = $2)
		OR EXISTS (SELECT FROM beat WHERE outfit_id = $1 AND id = $2) OR EXISTS (SELECT FROM rig WHERE outfit_id = $1 AND id = $2)`, u.outfit, *u.deed.about).Scan(&there); err != nil {
		return err
	}
	if !there {
		return journal.Invalidf("it was merged into something else since; take that back first")
	}
	return nil
}

// sessionsBack has sessions name again what was merged, where they name what it was merged into.
func (u *undoing) sessionsBack(ctx context.Context) error {
	all, err := u.touchedBy(ctx, u.tx, u.deed.id)
	if err != nil {
		return err
	}
	for part := range slices.Chunk(all, bulkRun) {
		before, ids := map[journal.ID]journal.Session{}, make([]journal.ID, len(part))
		for i, t := range part {
			ids[i], before[t.ID] = t.ID, *t.Before
		}
		live, err := u.readSessions(ctx, u.tx, ids)
		if err != nil {
			return err
		}
		var back []journal.Session
		for _, session := range live {
			if was, ok := session.Unmerge(before[session.ID], u.deed.Into); ok {
				back = append(back, was)
			} else {
				u.left("the session of %s names something else since", session.Day)
			}
		}
		if err := u.replace(ctx, u.tx, back, u.deed.Into); err != nil {
			return err
		}
		if err := u.noteAll(ctx, u.tx, journal.DeedUndone, back, nil); err != nil {
			return err
		}
		u.Sessions += len(back)
		if err := u.deletedBack(ctx, ids, before); err != nil {
			return err
		}
	}
	return nil
}

// deletedBack is sessionsBack for those that were deleted since.
func (u *undoing) deletedBack(ctx context.Context, ids []journal.ID, before map[journal.ID]journal.Session) error {
	deleted, err := listOf(ctx, u.tx, pgx.RowTo[journal.Session], `SELECT content FROM deleted_session WHERE outfit_id = $1 AND session_id = ANY($2)`, u.outfit, ids)
	if err != nil {
		return err
	}
	for _, session := range deleted {
		was, ok := session.Unmerge(before[session.ID], u.deed.Into)
		if !ok {
			continue
		}
		if _, err := u.tx.Exec(ctx, `UPDATE deleted_session SET content = $3, angler_id = $4 WHERE outfit_id = $1 AND session_id = $2`, u.outfit, was.ID, was, was.AnglerID); err != nil {
			return err
		}
	}
	return nil
}
