package pg

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

// recountRun is how many stints are read and counted at a time.
const recountRun = 2000

// Recount counts every stint's events again and holds the counts kept with
// stints, positions and spells against them. With repair it also writes those
// that are wrong anew, all in one transaction during which nobody else writes;
// what happened is never changed. Progress, which may be nil, is told of stints.
func (s *Store) Recount(ctx context.Context, repair bool, progress func(done, total int64)) (journal.Recount, error) {
	r := recounter{store: s, repair: repair}
	run := func(tx pgx.Tx) error {
		r.Recount = journal.Recount{}
		return r.all(ctx, tx, progress)
	}
	if !repair {
		err := s.read(ctx, "count the events again", run)
		return r.Recount, err
	}
	err := s.write(ctx, "count the events again", func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, `LOCK TABLE session, stint, stint_position, tag_spell, event IN SHARE ROW EXCLUSIVE MODE`); err != nil {
			return err
		}
		return run(tx)
	})
	r.Repaired = err == nil && r.Wrong > 0
	return r.Recount, err
}

// recounter counts stints again in order of their ids.
type recounter struct {
	journal.Recount
	store  *Store
	rigs   map[journal.ID]journal.Rig
	repair bool
}

func (r *recounter) all(ctx context.Context, tx pgx.Tx, progress func(done, total int64)) (err error) {
	var total int64
	if err := tx.QueryRow(ctx, `SELECT count(*) FROM stint WHERE outfit_id = $1`, r.store.outfit).Scan(&total); err != nil {
		return err
	}
	if r.rigs, err = r.store.readRigs(ctx, tx, nil); err != nil {
		return err
	}
	for after := (journal.ID{}); ; {
		stints, err := r.read(ctx, tx, after)
		if err != nil || len(stints) == 0 {
			return err
		}
		after = stints[len(stints)-1].ID
		if err := r.count(ctx, tx, stints); err != nil {
			return err
		}
		if progress != nil {
			progress(int64(r.Stints), total)
		}
	}
}

// count compares some stints and, with repair, corrects their counts.
func (r *recounter) count(ctx context.Context, tx pgx.Tx, stints []*keptStint) error {
	batch := &pgx.Batch{}
	for _, st := range stints {
		r.Stints++
		for _, problem := range st.Problems(st.number, r.rigs) {
			r.Impossible.Add(st.session, st.day, problem)
		}
		counted, err := st.counted(r.rigs[st.RigID])
		if err != nil {
			r.Uncounted++ // and why stands among the problems
			continue
		}
		differences := st.differences(counted)
		if len(differences) == 0 {
			continue
		}
		r.Wrong++
		r.Differences += len(differences)
		r.First = append(r.First, differences[:min(len(differences), journal.MostListed-len(r.First))]...)
		if r.repair {
			if err := r.correct(batch, st); err != nil {
				return err
			}
		}
	}
	return tx.SendBatch(ctx, batch).Close()
}

// read returns the next stints after an id, with their events and counts.
func (r *recounter) read(ctx context.Context, tx pgx.Tx, after journal.ID) ([]*keptStint, error) {
	var list []*keptStint
	byID := map[journal.ID]*keptStint{}
	var st keptStint
	var seconds *int
	var counts []float64
	err := each(ctx, tx, []any{&st.ID, &st.session, &st.day, &st.number, &st.RigID, &seconds, &counts}, func() {
		st.Minutes = journal.MinutesOf(seconds)
		next := st
		next.rows = map[rowKey]countRow{{none, none}: {st.session, st.RigID, counts}}
		counts = nil
		list = append(list, &next)
		byID[next.ID] = &next
	}, `SELECT st.id, st.session_id, se.day, st.ordinal, st.rig_id, st.seconds, `+countArray("st")+`
		FROM stint st JOIN session se ON se.outfit_id = st.outfit_id AND se.id = st.session_id
		WHERE st.outfit_id = $1 AND st.id > $2 ORDER BY st.id LIMIT $3`, r.store.outfit, after, recountRun)
	if err != nil || len(list) == 0 {
		return nil, err
	}
	last := list[len(list)-1].ID
	if err := r.readPositions(ctx, tx, after, last, byID); err != nil {
		return nil, err
	}
	if err := r.readSpells(ctx, tx, after, last, byID); err != nil {
		return nil, err
	}
	events, err := collectEvents(ctx, tx, `FROM event e WHERE e.outfit_id = $1 AND e.stint_id > $2 AND e.stint_id <= $3`, r.store.outfit, after, last)
	for _, st := range list {
		st.Events = events[st.ID]
	}
	return list, err
}

func (r *recounter) readPositions(ctx context.Context, tx pgx.Tx, after, last journal.ID, byID map[journal.ID]*keptStint) error {
	var stint journal.ID
	var p journal.StintPosition
	var row countRow
	var values []*float64
	return each(ctx, tx, []any{&stint, &p.Position, &row.session, &row.rig, &p.TagStartMM, &p.TagEndMM, &p.Fly, &values}, func() {
		st := byID[stint]
		row.values = orNaNs(values)
		st.rows[rowKey{p.Position, none}] = row
		if p != (journal.StintPosition{Position: p.Position}) {
			st.Positions = append(st.Positions, p)
		}
	}, `SELECT p.stint_id, p.position, p.session_id, p.rig_id, p.tag_start_mm, p.tag_end_mm, p.fly,
			ARRAY[p.seconds::float8, p.tag_changed::integer::float8] || `+countArray("p")+`
		FROM stint_position p WHERE p.outfit_id = $1 AND p.stint_id > $2 AND p.stint_id <= $3 ORDER BY p.stint_id, p.position`, r.store.outfit, after, last)
}

func (r *recounter) readSpells(ctx context.Context, tx pgx.Tx, after, last journal.ID, byID map[journal.ID]*keptStint) error {
	var stint journal.ID
	var key rowKey
	var row countRow
	var values []*float64
	return each(ctx, tx, []any{&stint, &key.position, &key.spell, &row.session, &row.rig, &values}, func() {
		row.values = orNaNs(values)
		byID[stint].rows[key] = row
	}, `SELECT t.stint_id, t.position, t.ordinal, t.session_id, t.rig_id, ARRAY[t.seconds, t.tag_mm, t.share] || `+countArray("t")+`
		FROM tag_spell t WHERE t.outfit_id = $1 AND t.stint_id > $2 AND t.stint_id <= $3`, r.store.outfit, after, last)
}

// countArray is SQL for the tallies of a table as one array; spells keep none as null.
func countArray(alias string) string {
	return "ARRAY[coalesce(" + alias + "." + strings.Join(tallyColumns, ", 0), coalesce("+alias+".") + ", 0)]::float8[]"
}

func orNaNs(values []*float64) []float64 {
	out := make([]float64, len(values))
	for i, v := range values {
		out[i] = orNaN(v)
	}
	return out
}

// correct queues what makes a stint's counts those of its events. Positions on
// which something happened stay, whatever else is wrong with them.
func (r *recounter) correct(batch *pgx.Batch, st *keptStint) error {
	t := tables{outfit: r.store.outfit}
	rig := r.rigs[st.RigID]
	if err := t.addStint(journal.Session{ID: st.session}, st.number, st.Stint, rig); err != nil {
		return err
	}
	batch.Queue(`UPDATE stint SET (`+strings.Join(tallyColumns, ", ")+`) = ROW(`+places(3, len(tallyColumns))+`) WHERE outfit_id = $1 AND id = $2`,
		append([]any{t.outfit, st.ID}, t.stints[0][len(t.stints[0])-len(tallyColumns):]...)...)
	batch.Queue(`DELETE FROM tag_spell WHERE outfit_id = $1 AND stint_id = $2`, t.outfit, st.ID)
	var on []int
	for _, p := range rig.Positions {
		on = append(on, p.Position)
	}
	batch.Queue(`DELETE FROM stint_position p WHERE outfit_id = $1 AND stint_id = $2 AND position <> ALL($3)
		AND NOT EXISTS (SELECT FROM event e WHERE (e.outfit_id, e.stint_id, e.position) = (p.outfit_id, p.stint_id, p.position))`, t.outfit, st.ID, on)
	for _, row := range t.stintPositions {
		batch.Queue(stintPositionTable.upsert("outfit_id, stint_id, position"), row...)
	}
	for _, row := range t.tagSpells {
		batch.Queue(tagSpellTable.insert(), row...)
	}
	return nil
}

// keptStint is a stint as stored, with the counts kept for it.
type keptStint struct {
	journal.Stint
	session journal.ID
	day     journal.Date
	number  int
	rows    map[rowKey]countRow
}

// rowKey tells the rows of counts of one stint apart; none where it does not apply.
type rowKey struct{ position, spell int }

const none = -1

// countRow is a row of counts with what it repeats of its stint. Values are in
// the order of the columns of its kind; one that is not there is NaN.
type countRow struct {
	session, rig journal.ID
	values       []float64
}

// Columns of the values of a countRow.
var (
	stintValues    = tallyColumns
	positionValues = append([]string{"seconds", "tag_changed"}, tallyColumns...)
	spellValues    = append([]string{"seconds", "tag_mm", "share"}, tallyColumns...)
)

func (k rowKey) columns() []string {
	switch {
	case k.position == none:
		return stintValues
	case k.spell == none:
		return positionValues
	}
	return spellValues
}

// counted returns the rows that the stint's events add up to.
func (st keptStint) counted(rig journal.Rig) (map[rowKey]countRow, error) {
	tally, err := journal.TallyStint(rig, st.Stint)
	if err != nil {
		return nil, err
	}
	row := func(counts journal.Counts, first ...float64) countRow {
		return countRow{st.session, st.RigID, append(first, counts[:]...)}
	}
	rows := map[rowKey]countRow{{none, none}: row(tally.Stint)}
	changed := map[int]float64{}
	for _, sp := range tally.Spells {
		changed[sp.Position] = 1
		rows[rowKey{sp.Position, sp.Ordinal}] = row(sp.Counts, orNaN(sp.Seconds(st.Stint)), sp.TagMM, sp.Share)
	}
	seconds := math.NaN()
	if s := st.Seconds(); s != nil {
		seconds = float64(*s)
	}
	for position, counts := range tally.Positions {
		if _, ok := rig.At(position); !ok {
			return nil, fmt.Errorf("something happened on %s, which the rig does not have", journal.PositionTitle(position))
		}
		rows[rowKey{position, none}] = row(counts, seconds, changed[position])
	}
	return rows, nil
}

func orNaN(v *float64) float64 {
	if v == nil {
		return math.NaN()
	}
	return *v
}

// differences compares the rows kept with those counted.
func (st keptStint) differences(counted map[rowKey]countRow) []journal.Difference {
	var list []journal.Difference
	for _, key := range sortedKeys(st.rows, counted) {
		d := journal.Difference{Session: st.session, Day: st.day, Stint: st.number}
		if key.position != none {
			d.Position = &key.position
		}
		if key.spell != none {
			d.Spell = &key.spell
		}
		add := func(column string, kept, counted *float64) {
			d.Column, d.Kept, d.Counted = column, kept, counted
			list = append(list, d)
		}
		kept, isKept := st.rows[key]
		want, isCounted := counted[key]
		switch {
		case !isKept:
			add("row", nil, new(1.0))
			continue
		case !isCounted:
			add("row", new(1.0), nil)
			continue
		}
		if kept.session != want.session {
			add("session", nil, nil)
		}
		if kept.rig != want.rig {
			add("rig", nil, nil)
		}
		for i, column := range key.columns() {
			if !sameValue(kept.values[i], want.values[i]) {
				add(column, notNaN(kept.values[i]), notNaN(want.values[i]))
			}
		}
	}
	return list
}

func notNaN(v float64) *float64 {
	if math.IsNaN(v) {
		return nil
	}
	return &v
}

// sameValue allows for the rounding of shares of events.
func sameValue(a, b float64) bool {
	const rounding = 1e-9
	if math.IsNaN(a) || math.IsNaN(b) {
		return math.IsNaN(a) && math.IsNaN(b)
	}
	return math.Abs(a-b) <= rounding*math.Max(1, math.Abs(a))
}

func sortedKeys(a, b map[rowKey]countRow) []rowKey {
	all := maps.Clone(a)
	maps.Copy(all, b)
	keys := slices.Collect(maps.Keys(all))
	slices.SortFunc(keys, func(x, y rowKey) int {
		return cmp.Or(cmp.Compare(x.position, y.position), cmp.Compare(x.spell, y.spell))
	})
	return keys
}
