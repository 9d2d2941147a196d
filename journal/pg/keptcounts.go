package pg

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"rigtally/journal"
)

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
			add("row", nil, one())
			continue
		case !isCounted:
			add("row", one(), nil)
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

func one() *float64 { v := 1.0; return &v }

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
	var keys []rowKey
	for k := range a {
		keys = append(keys, k)
	}
	for k := range b {
		if _, ok := a[k]; !ok {
			keys = append(keys, k)
		}
	}
	slices.SortFunc(keys, func(x, y rowKey) int {
		return cmp.Or(cmp.Compare(x.position, y.position), cmp.Compare(x.spell, y.spell))
	})
	return keys
}

// problems says what of a stint cannot be.
func (st keptStint) problems(rigs map[journal.ID]journal.Rig) []string {
	return st.Problems(st.number, rigs)
}
