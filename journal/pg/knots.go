package pg

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

// OwnKnots lists the knots of own names that rigs and pulls have, by name.
func (s *Store) OwnKnots(ctx context.Context) ([]string, error) {
	list, err := s.ownKnots(ctx, s.once())
	return list, explain("list the knots", err)
}

func (s *Store) ownKnots(ctx context.Context, from querier) ([]string, error) {
	return listOf(ctx, from, pgx.RowTo[string], `SELECT min(junction_name) FROM (SELECT junction_name FROM rig_position WHERE outfit_id = $1 AND junction = 'other'
		UNION ALL SELECT junction_name FROM bench_pull WHERE outfit_id = $1 AND junction = 'other') own GROUP BY lower(junction_name) ORDER BY lower(min(junction_name))`, s.outfit)
}

// knotPlace is where on a rig a knot was called otherwise.
type knotPlace struct {
	Rig      journal.ID `json:"rig"` // or the pull
	Position int        `json:"position"`
	Name     string     `json:"name"`
}

// knotMove is what a knot of an own name was called, and where, and what it is called now.
type knotMove struct {
	Junction journal.Junction `json:"junction"`
	Name     string           `json:"name,omitempty"`
	Rigs     []knotPlace      `json:"rigs,omitempty"`
	Pulls    []knotPlace      `json:"pulls,omitempty"`
}

// knot gives a knot of an own name another, wherever it is tied: a new own name, or one that the journal or the
// vocabulary has. How rigs are tied does not change by that, only what it is called.
func (n *naming) knot(ctx context.Context, from, to string, rename bool) error {
	from, to = strings.TrimSpace(from), strings.TrimSpace(to)
	if err := journal.ThingKnot.CheckName(to); err != nil {
		return err
	}
	own, err := n.ownKnots(ctx, n.tx)
	if err != nil {
		return err
	}
	at := slices.IndexFunc(own, func(o string) bool { return strings.EqualFold(o, from) })
	if at < 0 {
		return fmt.Errorf("the knot %q, of an own name: %w", from, journal.ErrNotFound)
	}
	from = own[at]
	into := slices.IndexFunc(own, func(o string) bool { return strings.EqualFold(o, to) })
	m := knotMove{}
	m.Junction, m.Name = journal.KnotNamed(to)
	known := into >= 0 && into != at || m.Junction != journal.JunctionOther
	switch {
	case into == at && (to == from || !rename):
		return journal.Invalidf("the knot is called %s already; choose another name", from)
	case rename && known:
		return journal.Invalidf("there is a knot called %s already; merge them instead", to)
	case !rename && !known:
		return journal.Invalidf("there is no knot called %s to merge it with; rename it instead", to)
	case !rename && m.Junction == journal.JunctionOther:
		m.Name = own[into]
		to = m.Name
	case m.Junction != journal.JunctionOther:
		to = string(m.Junction)
	}
	if err := n.moveKnot(ctx, from, &m); err != nil {
		return err
	}
	if err := n.moveArms(ctx, from, to); err != nil {
		return err
	}
	if err := n.reword(ctx, []levelWord{{"junction", from, to}}); err != nil {
		return err
	}
	n.deed.Knot = &m
	flat, err := listOf(ctx, n.tx, pgx.RowTo[journal.ID], `SELECT id FROM alias WHERE outfit_id = $1 AND kind = 'knot' AND lower(knot) = lower($2)`, n.outfit, from)
	if err != nil {
		return err
	}
	if err := n.move(ctx, move{Table: "alias", Column: "knot", Key: "id", IDs: flat, From: from, To: to}, ""); err != nil {
		return err
	}
	did := "Merged the knot %s into %s"
	if rename {
		did = "Renamed the knot %s to %s"
	}
	n.told.Told = fmt.Sprintf(did+", on %s", from, to, counted(n.told.Rigs, "rig"))
	if n.told.Pulls > 0 {
		n.told.Told += " and " + counted(n.told.Pulls, "bench pull")
	}
	if into == at {
		return nil
	}
	return n.alias(ctx, journal.Alias{Kind: journal.ThingKnot, Name: from, Knot: to})
}

// moveKnot renames a knot on rigs and pulls, and keeps where.
func (n *naming) moveKnot(ctx context.Context, from string, m *knotMove) (err error) {
	const own = ` WHERE outfit_id = $1 AND junction = 'other' AND lower(junction_name) = lower($2)`
	m.Rigs, err = listOf(ctx, n.tx, pgx.RowToStructByPos[knotPlace], `SELECT rig_id, position::integer, junction_name FROM rig_position`+own, n.outfit, from)
	if err != nil {
		return err
	}
	m.Pulls, err = listOf(ctx, n.tx, pgx.RowToStructByPos[knotPlace], `SELECT id, 0, junction_name FROM bench_pull`+own, n.outfit, from)
	if err != nil {
		return err
	}
	if _, err := n.tx.Exec(ctx, `UPDATE rig_position SET junction = $3, junction_name = $4`+own, n.outfit, from, m.Junction, m.Name); err != nil {
		return err
	}
	if _, err := n.tx.Exec(ctx, `UPDATE bench_pull SET junction = $3, junction_name = $4, version = version + 1`+own, n.outfit, from, m.Junction, m.Name); err != nil {
		return err
	}
	rigs := m.rigs()
	n.told.Rigs, n.told.Pulls = len(rigs), len(m.Pulls)
	if n.told.Sessions, err = n.countSessions(ctx, journal.ThingRig, rigs); err != nil {
		return err
	}
	return n.knotted(ctx, n.tx, rigs)
}

func (m knotMove) rigs() (ids []journal.ID) {
	for _, p := range m.Rigs {
		if !slices.Contains(ids, p.Rig) {
			ids = append(ids, p.Rig)
		}
	}
	return ids
}

// knotted makes rigs whose knots are called otherwise later versions, if that is a way to tie them.
func (s *Store) knotted(ctx context.Context, tx pgx.Tx, ids []journal.ID) error {
	if len(ids) == 0 {
		return nil
	}
	if _, err := tx.Exec(ctx, `UPDATE rig SET changed = revision_under_way(), version = version + 1 WHERE outfit_id = $1 AND id = ANY($2)`, s.outfit, ids); err != nil {
		return err
	}
	rigs, err := s.readRigs(ctx, tx, ids)
	if err != nil {
		return err
	}
	for _, rig := range rigs {
		if err := rig.Validate(); err != nil {
			return journal.Invalidf("the rig %s can't have that knot: %v", rig.Title(), err)
		}
	}
	return nil
}

// moveArms renames a knot in trials that compare it with another.
func (n *naming) moveArms(ctx context.Context, from, to string) error {
	trials, err := n.readTrials(ctx, n.tx, "factor = 'junction'")
	if err != nil {
		return err
	}
	for i, column := range []string{"a_level", "b_level"} {
		var ids []journal.ID
		for _, t := range trials {
			if !strings.EqualFold(t.Arms[i].Level, from) {
				continue
			}
			if strings.EqualFold(t.Arms[1-i].Level, to) {
				return journal.Invalidf("the trial %s compares the two; what it compares never changes", t.Name)
			}
			ids = append(ids, t.ID)
		}
		if err := n.move(ctx, move{Table: "trial", Column: column, Key: "id", IDs: ids, From: from, To: to}, ""); err != nil {
			return err
		}
	}
	return nil
}

// nameKnots gives the knots of a rig the names that they have now.
func (s *Store) nameKnots(ctx context.Context, tx pgx.Tx, rig *journal.Rig) error {
	if s.who.IsClient() || !slices.ContainsFunc(rig.Positions, func(p journal.RigPosition) bool { return p.Junction == journal.JunctionOther }) {
		return nil
	}
	rig.Positions = slices.Clone(rig.Positions)
	for i := range rig.Positions {
		p := &rig.Positions[i]
		if p.Junction != journal.JunctionOther {
			continue
		}
		now, err := listOf(ctx, tx, pgx.RowTo[string], `SELECT knot FROM alias WHERE outfit_id = $1 AND kind = 'knot' AND lower(name) = lower($2) ORDER BY at DESC LIMIT 1`, s.outfit, p.JunctionName)
		if err != nil {
			return err
		}
		if len(now) > 0 {
			p.Junction, p.JunctionName = journal.KnotNamed(now[0])
		}
	}
	return nil
}

// knotsBack calls knots again what they were called, where they are still called so.
func (u *undoing) knotsBack(ctx context.Context) error {
	m := u.deed.Knot
	if m == nil {
		return nil
	}
	batch := &pgx.Batch{}
	for _, p := range m.Rigs {
		batch.Queue(`UPDATE rig_position SET junction = 'other', junction_name = $6 WHERE outfit_id = $1 AND rig_id = $2 AND position = $3 AND junction = $4 AND junction_name = $5`, u.outfit, p.Rig, p.Position, m.Junction, m.Name, p.Name)
	}
	for _, p := range m.Pulls {
		batch.Queue(`UPDATE bench_pull SET junction = 'other', junction_name = $5, version = version + 1 WHERE outfit_id = $1 AND id = $2 AND junction = $3 AND junction_name = $4`, u.outfit, p.Rig, m.Junction, m.Name, p.Name)
	}
	if err := u.tx.SendBatch(ctx, batch).Close(); err != nil {
		return err
	}
	return u.knotted(ctx, u.tx, m.rigs())
}
