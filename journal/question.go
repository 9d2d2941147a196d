package journal

import (
	"slices"
	"strings"
)

// Question asks how often an outcome happens at each level of some factors.
type Question struct {
	Outcome Outcome
	By      []By        // one or two; none asks for the whole
	Where   []Condition // all must hold; several on one factor are alternatives
	Given   []Factor    // must be known too, of every row that counts
	Since   Date        // sessions of earlier days do not count; zero for all
}

// By is a factor to divide by. A continuous one is divided at every value that
// occurs or, with Edges, into bands from each edge up to below the next.
type By struct {
	Factor Factor
	Edges  []float64 // ascending, in the storage unit
}

// Condition keeps the rows whose factor has a value: a word, or for a
// continuous factor anything from Low to High, which may be infinite.
type Condition struct {
	Factor    Factor
	Word      string // compared without regard to case
	Low, High float64
	Below     bool // High itself does not count
}

// Level is a value of a factor: a word, a number in the storage unit, or the
// Band from Number up to below Upper.
type Level struct {
	Word   string
	Number float64
	Upper  float64
	Kind   LevelKind
}

// LevelKind says which fields of a Level count.
type LevelKind int

// The kinds of level.
const (
	WordLevel LevelKind = iota
	NumberLevel
	BandLevel
	BelowLevel // anything below Upper
	AboveLevel // Number and more
)

// Sums are the sufficient statistics of one group over its sessions: with k
// events and t of exposure in a session, K = Σk, T = Σt, KK = Σk², KT = Σkt, TT = Σt²,
// TTT = Σt³.
// Stints and Sessions count those with any exposure; in a question by position
// a stint counts once for each of its positions.
type Sums struct {
	Level            []Level // as in Question.By
	Stints, Sessions int
	K, T             float64
	KK, KT, TT, TTT  float64
	Hours            float64 // fished in these sessions, as far as noted, whatever the exposure is
}

// Told says of the stints that an answer uses what was not told of them.
type Told struct {
	Assumed int `json:"assumed_stints"` // it was never said of what count was kept
	AsFair  int `json:"as_fair_stints"` // fair and foul were not told apart, so that all fish count as fair
	Untold  int `json:"untold_events"`  // events without the detail that the outcome goes by, counted as not being of it
}

// Answer is what the journal holds on a question.
type Answer struct {
	Groups   []Sums         // in no particular order
	Stints   int            // with exposure, each once for each of its positions; one may be in several groups
	Sessions int            // different ones with exposure; one may be in several groups
	LeftOut  map[string]int // how many of what could not be used
	Untimed  int            // stints left out for a tangle whose lost minutes were not noted
	Told
	Unplaced int // events or trials left out because they were on no fly in particular
}

// ByPosition reports whether the question is about positions of rigs, so that a
// stint's time counts once for each.
func (q Question) ByPosition() bool { return slices.ContainsFunc(q.factors(), Factor.ByPosition) }

func (q Question) factors() []Factor {
	var all []Factor
	for _, b := range q.By {
		all = append(all, b.Factor)
	}
	for _, c := range q.Where {
		all = append(all, c.Factor)
	}
	return append(all, q.Given...)
}

// OfSpells reports whether the rows are the spells of a tag's length.
func (q Question) OfSpells() bool {
	return slices.ContainsFunc(q.factors(), func(f Factor) bool { return f.of == OfSpell })
}

// OfTags reports whether only droppers on a tag are in question.
func (q Question) OfTags() bool {
	return slices.ContainsFunc(q.factors(), func(f Factor) bool { return f.on == onTag })
}

// OfDroppers reports whether the point fly is out of the question.
func (q Question) OfDroppers() bool {
	return q.ByPosition() && (q.Outcome.terms.OnTag || slices.ContainsFunc(q.factors(), func(f Factor) bool { return f.on != anywhere }))
}

// Holds reports whether a setting meets the condition.
func (c Condition) Holds(s *Setting) bool {
	if c.Factor.Quantity == Words {
		word := c.Factor.Word(s)
		return word != "" && strings.EqualFold(word, c.Word)
	}
	v := c.Factor.NumberIn(s)
	return v != nil && *v >= c.Low && (*v < c.High || !c.Below && *v == c.High)
}

// LevelOf is the level of a word or number: itself, or its band.
func (b By) LevelOf(word string, number float64) Level {
	switch {
	case b.Factor.Quantity == Words:
		return Level{Word: word, Kind: WordLevel}
	case b.Edges == nil:
		return Level{Number: number, Kind: NumberLevel}
	}
	switch i := b.Band(number); i {
	case 0:
		return Level{Upper: b.Edges[0], Kind: BelowLevel}
	case len(b.Edges):
		return Level{Number: b.Edges[i-1], Kind: AboveLevel}
	default:
		return Level{Number: b.Edges[i-1], Upper: b.Edges[i], Kind: BandLevel}
	}
}

// Band is how many edges a number has reached.
func (b By) Band(number float64) int {
	i, found := slices.BinarySearch(b.Edges, number)
	if found {
		i++
	}
	return i
}
