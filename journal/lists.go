package journal

// SessionLine is a session in short, as in a list.
type SessionLine struct {
	ID      ID
	Day     Date
	Angler  string
	Water   string
	Beat    string // "" when not noted
	Stints  int
	Untimed int     // stints whose minutes were not noted
	Minutes float64 // of the other stints

	Hookups, Landed, Tangles Total
}

// SessionFilter chooses sessions for a list; its zero value is all of them.
type SessionFilter struct {
	Angler, Water, Rig *ID
	Season             int // year; 0 means every year
	Limit              int // at most so many; 0 means 50
	Offset             int // leaves out so many of the latest
}

// Totals are what some days add up to.
type Totals struct {
	Sessions                              int
	Minutes                               float64
	Hookups, Landed, Tangles, MinutesLost Total
}
