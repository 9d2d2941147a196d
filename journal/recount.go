package journal

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Recount is what came of counting every stint's events again and holding the
// counts kept with stints, positions and spells against them.
type Recount struct {
	Stints      int          // counted
	Wrong       int          // of them, with a count kept that is not what the events add up to
	Uncounted   int          // of them, whose events contradict each other or the rig; see Impossible
	Differences int          // between what is kept and what was counted
	Repaired    bool         // the counts that were wrong have been written anew
	First       []Difference // the first MostListed of the differences
	Impossible  ImpossibleList
}

// MostListed is how much of anything wrong is listed one by one.
const MostListed = 100

// Difference is one value kept that is not what the stint's events add up to.
// Without Position it is kept with the whole stint, with Position alone with that
// fly, and with Spell as well with a length that the tag had for a while.
type Difference struct {
	Session  ID     `json:"session"`
	Day      Date   `json:"day"`
	Stint    int    `json:"stint"` // its number in the session, from 1
	Position *int   `json:"position"`
	Spell    *int   `json:"spell"`  // from 0 in order of time
	Column   string `json:"column"` // "row" when the whole row is missing or too much
	// Kept and Counted are nil where there is no value, and both are for columns
	// that name another row.
	Kept    *float64 `json:"kept"`
	Counted *float64 `json:"counted"`
}

// Impossible is something in a session that cannot be, in a sentence.
type Impossible struct {
	Session ID     `json:"session"`
	Day     Date   `json:"day"`
	Problem string `json:"problem"`
}

// ImpossibleList holds what cannot be: how much, and the first MostListed of it.
type ImpossibleList struct {
	Count int          `json:"count"`
	First []Impossible `json:"first"`
}

func (l *ImpossibleList) add(session ID, day Date, problem string) {
	if l.Count++; l.Count <= MostListed {
		l.First = append(l.First, Impossible{session, day, problem})
	}
}

// keptStint is a stint as stored, with the counts kept for it.
type keptStint struct {
	Stint
	session ID
	day     Date
	number  int
	rows    map[rowKey]countRow
}

// rowKey tells the rows of counts of one stint apart; none where it does not apply.
type rowKey struct{ position, spell int }

const none = -1

// countRow is a row of counts with what it repeats of its stint. Values are in
// the order of the columns of its kind; one that is not there is NaN.
type countRow struct {
	session, rig ID
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
func (st keptStint) counted(rig Rig) (map[rowKey]countRow, error) {
	tally, err := TallyStint(rig, st.Stint)
	if err != nil {
		return nil, err
	}
	row := func(counts Counts, first ...float64) countRow {
		return countRow{st.session, st.RigID, append(first, counts[:]...)}
	}
	rows := map[rowKey]countRow{{none, none}: row(tally.Stint)}
	changed := map[int]float64{}
	for _, sp := range tally.Spells {
		changed[sp.Position] = 1
		rows[rowKey{sp.Position, sp.Ordinal}] = row(sp.Counts, orNaN(sp.seconds(st.Stint)), sp.TagMM, sp.Share)
	}
	seconds := math.NaN()
	if s := st.seconds(); s != nil {
		seconds = float64(*s)
	}
	for position, counts := range tally.Positions {
		if _, ok := rig.At(position); !ok {
			return nil, fmt.Errorf("something happened on %s, which the rig does not have", PositionTitle(position))
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
func (st keptStint) differences(counted map[rowKey]countRow) []Difference {
	var list []Difference
	for _, key := range sortedKeys(st.rows, counted) {
		d := Difference{Session: st.session, Day: st.day, Stint: st.number}
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
func (st keptStint) problems(rigs map[ID]Rig) []string {
	return st.Problems(st.number, rigs)
}
