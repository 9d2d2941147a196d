package pg

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"rigtally/journal"
)

// named is a thing that was found in the journal.
type named struct {
	journal.Thing
	owner *journal.ID // the client who made it
}

// naming is a rename or merge under way.
type naming struct {
	*Store
	tx      pgx.Tx
	deed    deed
	told    journal.Changed
	touched [][]any // rows of the sessions that it wrote
}

// correct runs f, which renames or merges, and keeps the step. Clients may do neither.
func (s *Store) correct(ctx context.Context, doing string, kind journal.StepKind, f func(*naming) error) (journal.Changed, error) {
	if s.who.IsClient() {
		return journal.Changed{}, fmt.Errorf("%s: %w", doing, journal.ErrNotFound)
	}
	var n *naming
	err := s.write(ctx, doing, func(tx pgx.Tx) (err error) {
		n, err = s.correcting(ctx, tx, kind, f)
		return err
	})
	if err != nil {
		return journal.Changed{}, err
	}
	return n.told, nil
}

func (s *Store) correcting(ctx context.Context, tx pgx.Tx, kind journal.StepKind, f func(*naming) error) (*naming, error) {
	n := &naming{Store: s, tx: tx, deed: deed{id: journal.NewID(), kind: kind}}
	if err := correctsNames(ctx, tx); err != nil {
		return n, err
	}
	if err := f(n); err != nil {
		return n, err
	}
	n.told.Step, n.deed.told = n.deed.id, n.told.Told
	if err := s.keepStep(ctx, tx, &n.deed); err != nil {
		return n, err
	}
	return n, copyRows(ctx, tx, "step_session", []string{"outfit_id", "step_id", "session_id", "version", "before"}, n.touched)
}

// correctsNames lets the transaction change what fished rigs and their knots are called, and the arms of trials with that.
func correctsNames(ctx context.Context, tx pgx.Tx) error {
	_, err := tx.Exec(ctx, `SELECT set_config('rigtally.corrects', 'names', true)`)
	return err
}

// thing finds what is meant, by its id or its name.
func (s *Store) thing(ctx context.Context, tx pgx.Tx, t journal.Thing) (named, error) {
	n := named{Thing: t}
	n.Name = strings.TrimSpace(t.Name)
	owner, water, order := "of_angler", "NULL::uuid", "of_angler IS NOT NULL"
	switch t.Kind {
	case journal.ThingAngler:
		owner, order = "NULL::uuid", "id"
	case journal.ThingRig:
		order += ", revision DESC"
	case journal.ThingBeat:
		water = "water_id"
	case journal.ThingWater:
	case journal.ThingKnot:
		return n, nil
	default:
		return n, journal.Invalidf("%q can't be renamed or merged; choose one of: angler, water, beat, rig, knot", t.Kind)
	}
	var on *journal.ID
	err := tx.QueryRow(ctx, fmt.Sprintf(`SELECT id, name, %s, %s FROM %s WHERE outfit_id = $1 AND CASE WHEN $2::uuid IS NULL THEN lower(name) = lower($3) AND ($4::uuid IS NULL OR %[2]s = $4) ELSE id = $2 END ORDER BY %[4]s LIMIT 1`,
		owner, water, t.Kind, order), s.outfit, orNull(t.ID), n.Name, orNull(t.Water)).Scan(&n.ID, &n.Name, &n.owner, &on)
	if errors.Is(err, pgx.ErrNoRows) {
		return n, fmt.Errorf("%s %q: %w", t.Kind, cmp.Or(n.Name, t.ID.String()), journal.ErrNotFound)
	}
	if on != nil {
		n.Water = *on
	}
	return n, err
}

func orNull(id journal.ID) *journal.ID {
	if id.IsZero() {
		return nil
	}
	return &id
}

// Rename gives a thing another name, to a rig in all its revisions; its former name stays as an alias. A name that
// something else has is Invalid: the two are to be merged instead. A claim on it says the new name.
func (s *Store) Rename(ctx context.Context, t journal.Thing, name string) (journal.Changed, error) {
	name = strings.TrimSpace(name)
	if t.Kind == journal.ThingKnot {
		return s.correct(ctx, "rename the knot", journal.StepRename, func(n *naming) error { return n.knot(ctx, t.Name, name, true) })
	}
	return s.correct(ctx, "rename the "+string(t.Kind), journal.StepRename, func(n *naming) error {
		from, err := s.thing(ctx, n.tx, t)
		if err != nil {
			return err
		}
		return n.rename(ctx, from, name)
	})
}

// renameHeld is a rename on the way of a change: of a thing that is in the journal, if its name is another.
func (s *Store) renameHeld(ctx context.Context, tx pgx.Tx, t journal.Thing, name string) error {
	if s.who.IsClient() {
		return nil
	}
	held, err := s.thing(ctx, tx, t)
	if errors.Is(err, journal.ErrNotFound) || err == nil && held.Name == name {
		return nil
	}
	if err != nil {
		return err
	}
	_, err = s.correcting(ctx, tx, journal.StepRename, func(n *naming) error { return n.rename(ctx, held, name) })
	return err
}

func (n *naming) rename(ctx context.Context, from named, name string) error {
	if n.told.Told = fmt.Sprintf("The %s is called %s already", from.Kind, name); name == from.Name {
		return errUnchanged
	}
	if err := from.Kind.CheckName(name); err != nil {
		return err
	}
	taken, err := n.taken(ctx, from, name)
	switch {
	case err != nil:
		return err
	case taken:
		return journal.Invalidf("another %s is called %s already; merge them instead", from.Kind, name)
	}
	words, err := n.factorWords(ctx, from, name)
	if err != nil {
		return err
	}
	set := "name = $4"
	if from.Kind == journal.ThingRig {
		set += ", changed = revision_under_way(), version = version + 1"
	}
	ids, err := listOf(ctx, n.tx, pgx.RowTo[journal.ID], `SELECT id FROM `+string(from.Kind)+` WHERE outfit_id = $1 AND `+sameNamed(from.Kind), n.outfit, from.ID, from.Name)
	if err != nil {
		return err
	}
	if err := n.move(ctx, move{Table: string(from.Kind), Column: "name", Key: "id", IDs: ids, From: from.Name, To: name}, set); err != nil {
		return err
	}
	if err := n.reword(ctx, words); err != nil {
		return err
	}
	n.deed.about = &from.ID
	if n.told.Sessions, err = n.countSessions(ctx, from.Kind, ids); err != nil {
		return err
	}
	if from.Kind == journal.ThingRig {
		n.told.Rigs = len(ids)
	}
	n.told.Told = fmt.Sprintf("Renamed the %s %s to %s, in %s", from.Kind, from.Name, name, counted(n.told.Sessions, "session"))
	if strings.EqualFold(from.Name, name) {
		return nil
	}
	return n.alias(ctx, journal.Alias{Kind: from.Kind, Name: from.Name, Water: orNull(from.Water), Of: &from.ID})
}

// sameNamed chooses what is renamed together: the revisions of a rig.
func sameNamed(kind journal.ThingKind) string {
	if kind == journal.ThingRig {
		return `lower(name) = lower($3) AND of_angler IS NOT DISTINCT FROM (SELECT of_angler FROM rig WHERE outfit_id = $1 AND id = $2)`
	}
	return "id = $2 AND name = $3"
}

// taken reports whether something else of the kind has a name.
func (n *naming) taken(ctx context.Context, from named, name string) (taken bool, err error) {
	var b query
	which := "outfit_id = " + b.arg(n.outfit) + " AND lower(name) = lower(" + b.arg(name) + ")"
	if from.Kind == journal.ThingRig {
		which += " AND lower(name) <> lower(" + b.arg(from.Name) + ")"
	} else {
		which += " AND id <> " + b.arg(from.ID)
	}
	if from.Kind == journal.ThingBeat {
		which += " AND water_id = " + b.arg(from.Water)
	}
	if from.Kind != journal.ThingAngler {
		which += " AND of_angler IS NOT DISTINCT FROM " + b.arg(from.owner)
	}
	err = n.tx.QueryRow(ctx, `SELECT EXISTS (SELECT FROM `+string(from.Kind)+` WHERE `+which+`)`, b.args...).Scan(&taken)
	return taken, err
}

// countSessions counts those that name any of some things.
func (n *naming) countSessions(ctx context.Context, kind journal.ThingKind, ids []journal.ID) (count int, err error) {
	which := map[journal.ThingKind]string{journal.ThingAngler: "angler_id = ANY($2) OR guide_id = ANY($2)", journal.ThingWater: "water_id = ANY($2)", journal.ThingBeat: "beat_id = ANY($2)",
		journal.ThingRig: "id IN (SELECT session_id FROM stint WHERE outfit_id = $1 AND rig_id = ANY($2))"}[kind]
	err = n.tx.QueryRow(ctx, `SELECT count(*) FROM session WHERE outfit_id = $1 AND (`+which+`)`, n.outfit, ids).Scan(&count)
	return count, err
}

func counted(count int, noun string) string {
	if count == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", count, noun)
}

// alias keeps another name.
func (n *naming) alias(ctx context.Context, a journal.Alias) error {
	a.ID = journal.NewID()
	_, err := n.tx.Exec(ctx, `INSERT INTO alias (outfit_id, id, kind, name, water_id, of, knot, was, step_id) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)`,
		n.outfit, a.ID, a.Kind, a.Name, a.Water, a.Of, a.Knot, a.Was, n.deed.id)
	return err
}

// addAliases adds those of a backup, which the step, if there is one, takes back.
func (s *Store) addAliases(ctx context.Context, tx pgx.Tx, list []journal.Alias, step *deed) error {
	var by *journal.ID
	if step.told != "" {
		by = &step.id
	}
	batch := &pgx.Batch{}
	for i := range list {
		batch.Queue(insertInto(aliasTable.name, append(aliasTable.names(), "step_id"))+` ON CONFLICT (outfit_id, id) DO NOTHING`, append(aliasTable.row(&list[i], s.outfit), by)...)
	}
	return tx.SendBatch(ctx, batch).Close()
}

var aliasTable = tableOf[journal.Alias]("alias", "outfit_id")

// readAliases lists those of what is in the journal, by id. Clients have none.
func (s *Store) readAliases(ctx context.Context, from querier) ([]journal.Alias, error) {
	if s.who.IsClient() {
		return nil, nil
	}
	return aliasTable.of(ctx, from, s.outfit, `(t.kind = 'knot' OR EXISTS (SELECT FROM angler x WHERE x.outfit_id = $1 AND x.id = t.of) OR EXISTS (SELECT FROM water x WHERE x.outfit_id = $1 AND x.id = t.of)
		OR EXISTS (SELECT FROM beat x WHERE x.outfit_id = $1 AND x.id = t.of) OR EXISTS (SELECT FROM rig x WHERE x.outfit_id = $1 AND x.id = t.of)) ORDER BY id`)
}

// move is a change of a column in some rows, from one value to another.
type move struct {
	Table  string       `json:"table"`
	Column string       `json:"column"`
	Key    string       `json:"key"` // the column of the ids
	IDs    []journal.ID `json:"ids"`
	From   string       `json:"from"` // a text, or an id
	To     string       `json:"to"`
	ToID   bool         `json:"to_id,omitempty"`
}

// move changes rows and keeps what it changed. set may say more than the column; the new value is $4.
func (n *naming) move(ctx context.Context, m move, set string) error {
	if len(m.IDs) == 0 {
		return nil
	}
	n.deed.Moves = append(n.deed.Moves, m)
	return m.run(ctx, n.tx, n.outfit, set)
}

// run changes the rows that have the value from, whatever its case.
func (m move) run(ctx context.Context, tx pgx.Tx, outfit journal.ID, set string) error {
	of := "outfit_id"
	if m.Table == "outfit" {
		of = "id"
	}
	column := pgx.Identifier{m.Column}.Sanitize()
	var to any = m.To
	if m.ToID {
		id, err := journal.ParseID(m.To)
		if err != nil {
			return err
		}
		to = id
	}
	_, err := tx.Exec(ctx, "UPDATE "+pgx.Identifier{m.Table}.Sanitize()+" SET "+cmp.Or(set, column+" = $4")+" WHERE "+of+" = $1 AND "+pgx.Identifier{m.Key}.Sanitize()+" = ANY($2) AND lower("+column+"::text) = lower($3::text)",
		outfit, m.IDs, m.From, to)
	return err
}

// point moves an id in all rows of a table that have it.
func (n *naming) point(ctx context.Context, table, column, key string, from, into journal.ID) error {
	of := "outfit_id"
	if table == "outfit" {
		of = "id"
	}
	ids, err := listOf(ctx, n.tx, pgx.RowTo[journal.ID], `SELECT `+key+` FROM `+table+` WHERE `+of+` = $1 AND `+column+` = $2`, n.outfit, from)
	if err != nil {
		return err
	}
	return n.move(ctx, move{Table: table, Column: column, Key: key, IDs: ids, From: from.String(), To: into.String(), ToID: true}, "")
}

// levelWord is what a level of a factor is called, and will be.
type levelWord struct{ factor, from, to string }

// claimWords are the levels of a claim before they were changed, and its version afterwards.
type claimWords struct {
	ID      journal.ID `json:"id"`
	Level   []string   `json:"level"`
	Versus  []string   `json:"versus"`
	Version int        `json:"version"`
}

// reword puts other words into the claims that say them, and refuses where a claim or trial compares the two.
func (n *naming) reword(ctx context.Context, words []levelWord) error {
	list, err := claims.read(ctx, n.Store, n.tx, "true ORDER BY id")
	if err != nil {
		return err
	}
	for _, c := range list {
		level, versus := slices.Clone(c.Level), slices.Clone(c.Versus)
		for _, w := range words {
			if w.factor == c.Factor {
				level, versus = reworded(level, w), reworded(versus, w)
			}
		}
		if slices.Equal(level, c.Level) && slices.Equal(versus, c.Versus) {
			continue
		}
		if slices.ContainsFunc(level, func(l string) bool { return slices.Contains(versus, l) }) {
			return journal.Invalidf("the claim %q compares the two; retire it or change it first", c.Words)
		}
		n.deed.Words = append(n.deed.Words, claimWords{c.ID, c.Level, c.Versus, c.Version + 1})
		if _, err := n.tx.Exec(ctx, `UPDATE claim SET level = $3, versus = $4, version = version + 1 WHERE outfit_id = $1 AND id = $2`, n.outfit, c.ID, orNone(level), orNone(versus)); err != nil {
			return err
		}
	}
	return nil
}

func reworded(list []string, w levelWord) (out []string) {
	for _, level := range list {
		if strings.EqualFold(level, w.from) {
			level = w.to
		}
		if !slices.Contains(out, level) {
			out = append(out, level)
		}
	}
	return out
}

// factorWords are the levels of factors that say a thing's name.
func (n *naming) factorWords(ctx context.Context, from named, name string) (words []levelWord, err error) {
	switch from.Kind {
	case journal.ThingAngler:
		return []levelWord{{"angler", from.Name, name}}, nil
	case journal.ThingBeat:
		var water string
		err = n.tx.QueryRow(ctx, `SELECT name FROM water WHERE outfit_id = $1 AND id = $2`, n.outfit, from.Water).Scan(&water)
		return []levelWord{{"beat", water + ", " + from.Name, water + ", " + name}}, err
	case journal.ThingWater:
		words = []levelWord{{"water", from.Name, name}}
		beats, err := listOf(ctx, n.tx, pgx.RowTo[string], `SELECT name FROM beat WHERE outfit_id = $1 AND water_id = $2`, n.outfit, from.ID)
		for _, b := range beats {
			words = append(words, levelWord{"beat", from.Name + ", " + b, name + ", " + b})
		}
		return words, err
	}
	revisions, err := listOf(ctx, n.tx, pgx.RowTo[int], `SELECT revision FROM rig WHERE outfit_id = $1 AND `+sameNamed(from.Kind), n.outfit, from.ID, from.Name)
	for _, r := range revisions {
		words = append(words, levelWord{"rig", journal.Rig{Name: from.Name, Revision: r}.Title(), journal.Rig{Name: name, Revision: r}.Title()})
	}
	return words, err
}

// moveBack takes a move back.
func (u *undoing) moveBack(ctx context.Context, m move) error {
	m.From, m.To = m.To, m.From
	set := ""
	if m.Table == "rig" && m.Column == "name" {
		set = "name = $4, changed = revision_under_way(), version = version + 1"
	}
	err := pgx.BeginFunc(ctx, u.tx, func(tx pgx.Tx) error { return m.run(ctx, tx, u.outfit, set) })
	var pg *pgconn.PgError
	if errors.As(err, &pg) && pg.Code == "23505" {
		return journal.Invalidf("another %s is called %s by now; rename that one first", m.Table, m.To)
	}
	return err
}

// wordsBack has claims say again what they said, if nobody has changed them since.
func (u *undoing) wordsBack(ctx context.Context) error {
	for _, w := range u.deed.Words {
		tag, err := u.tx.Exec(ctx, `UPDATE claim SET level = $3, versus = $4, version = version + 1 WHERE outfit_id = $1 AND id = $2 AND version = $5`, u.outfit, w.ID, orNone(w.Level), orNone(w.Versus), w.Version)
		if err != nil {
			return err
		}
		if tag.RowsAffected() == 0 {
			u.left("a claim that names it was changed since")
		}
	}
	return nil
}

func orNone(list []string) []string {
	if list == nil {
		return []string{}
	}
	return list
}
