package journal

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

func (l *ImpossibleList) Add(session ID, day Date, problem string) {
	if l.Count++; l.Count <= MostListed {
		l.First = append(l.First, Impossible{session, day, problem})
	}
}
