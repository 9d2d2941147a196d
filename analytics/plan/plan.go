// Package plan works out how long to tie a tag, and how far tag and tippet go.
package plan

import (
	"context"
	"fmt"
	"math"

	"rigtally/analytics"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/facts"
)

// Keeper holds what a plan rests on; *pg.Store is one.
type Keeper interface {
	analytics.Asker
	TagSessions(ctx context.Context, where []journal.Condition) ([]facts.TagSession, error)
}

// Answer says how long to tie a tag so that the fewest fishing minutes are lost.
//
// A tag starts at a length, each fly change takes a bit off it, changes come so many an
// hour, and when another would leave too little it is tied anew. Tangles and breaks
// come at rates that hang on its length. All of it is for one tag, per hour fished
// with it; see wear.Part for the mathematics. What changing a fly takes is not
// counted: it takes as long whatever the length.
type Answer struct {
	Where      []journal.Condition
	Given      []analytics.Given
	Inputs     []Input // in the order of Keys
	Tangles    Rate
	Breaks     Rate
	Anew       bool                // a break gives a fresh tag of full length; else it is mended as it was
	Points     []Point             // ascending; none when nothing is known of tangles, and Notes say why
	Best       int                 // the point that loses least, −1 without one
	Bet        *analytics.CurveBet // that the best loses less than the length fished most; nil where it can't be told
	From, To   float64             // lengths about the best that lose at most Close more
	Tippet     Tippet
	Moves      []Move // what would change the answer, most first
	Sure       bool   // the chances and bands of the points are known
	Notes      []Note
	CurveNotes []analytics.Note // of the curve of tangles, where it is the journal's
}

// Close is the loss, in minutes per hour, within which two lengths are as good.
const Close = 1.0

// Point is what a tag of a length loses, in minutes per hour fished.
type Point struct {
	LengthMM float64  `json:"length_mm"`
	Changes  int      `json:"changes"` // it allows before it is tied anew
	Tangles  float64  `json:"tangles"`
	Breaks   float64  `json:"breaks"`
	Renewal  float64  `json:"reties"`
	Loss     float64  `json:"loss"` // of all three
	Low      *float64 `json:"low"`  // of the 95% band over what is not known of the rates
	High     *float64 `json:"high"`
	Best     *float64 `json:"best"`   // probability to lose least
	Near     *float64 `json:"near"`   // to lose at most Close more than that
	Worse    *float64 `json:"-"`      // probability to lose more than the best, under the prior of best bets; nil for the best, and where it can't be told
	Beyond   bool     `json:"beyond"` // some of its lengths have not been fished: it is never the best
}

// The keys of a plan's inputs.
const (
	Waste         = "waste"          // mm of tag lost at a change
	Changes       = "changes"        // per hour
	Least         = "least"          // mm, the shortest tag that still fishes
	TangleMinutes = "tangle-minutes" // that a tangle costs
	RetieMinutes  = "retie-minutes"  // that tying a used-up tag anew costs
	BreakMinutes  = "break-minutes"  // that a break at the junction or in the tag costs
	TippetLength  = "tippet"         // mm of tippet to begin with
	RetieCost     = "retie-cost"     // mm of tippet that a re-tie costs

	// Of the rates, in Move only.
	TangleLevel = "tangle-level" // times the tangles at every length
	TangleRise  = "tangle-rise"  // times the tangles for each 100 mm more
	BreakLevel  = "break-level"  // times the breaks at every length
	BreakAnew   = "break-anew"   // what a break does
)

// Input is a number that a plan rests on.
type Input struct {
	Key string `json:"key"`
	Assumed
	Low  *float64 `json:"low"` // of the 95% interval, where the journal gives one
	High *float64 `json:"high"`
}

// Input returns an input by its key.
func (a Answer) Input(key string) Input {
	for _, in := range a.Inputs {
		if in.Key == key {
			return in
		}
	}
	return Input{Key: key}
}

// Rate is a rate per hour over the length of a tag, and where it comes from.
type Rate struct {
	From      Origin                 `json:"from"`
	Constant  *float64               `json:"constant"` // it is the same at every length
	Table     []RateAt               `json:"table"`    // as typed in, ascending
	Curve     *analytics.CurveAnswer `json:"curve"`    // the journal's, from which it is
	Events    float64                `json:"events"`   // behind a constant of the journal
	Hours     float64                `json:"hours"`
	LoadsHour float64                `json:"loads_per_hour"` // by which the curve of breaks per load is multiplied
	Shown     []RateBand             `json:"rates"`          // the rate at the points' lengths
	Low, High float64                `json:"-"`              // the lengths for which it is known; 0 and +Inf for a constant
}

// RateAt is a rate per hour at a length.
type RateAt struct {
	LengthMM float64 `json:"length_mm"`
	Rate     float64 `json:"rate"`
}

// RateBand is a rate at a length, with its 95% band where there is one.
type RateBand struct {
	RateAt
	Low  *float64 `json:"low"`
	High *float64 `json:"high"`
}

// Tippet says how far a tippet goes with the best length.
type Tippet struct {
	Reties  int     `json:"reties_per_tippet"`  // that leave enough of it
	Changes int     `json:"changes_per_tippet"` // of the fly until then
	Hours   float64 `json:"tippet_hours"`       // expected until then, used-up tags alone
	LeftMM  float64 `json:"tippet_left_mm"`
}

// NoteKind names something that the reader of a plan must know.
type NoteKind string

// The notes of a plan.
const (
	NoteNoCurve        NoteKind = "no curve"         // the journal can't draw tangles over length; a guess is needed
	NoteGuess          NoteKind = "guess"            // the tangles are typed in, so there is no band
	NoteBeyond         NoteKind = "beyond"           // Count points need lengths never fished, outside Value to Other
	NoteAllBeyond      NoteKind = "all beyond"       // all points do
	NoteRaised         NoteKind = "raised"           // the least length was raised to Value, the shortest fished
	NoteConstantBreaks NoteKind = "constant breaks"  // Count breaks are too few for a curve: one rate for all lengths
	NoteNoBreaks       NoteKind = "no breaks"        // no break in Value hours
	NoteAtEnd          NoteKind = "at the end"       // the best is the longest that has been fished
	NoteAtStart        NoteKind = "at the start"     // the best is the shortest possible
	NoteUnsettled      NoteKind = "length unsettled" // it can't be told yet whether length matters to tangles (p is Value)
)

// Note is something that the reader of a plan must know.
type Note struct {
	Kind  NoteKind `json:"kind"`
	Count int      `json:"count"`
	Value float64  `json:"value"`
	Other float64  `json:"other"`
}

func (a *Answer) note(kind NoteKind, count int, value, other float64) {
	a.Notes = append(a.Notes, Note{kind, count, value, other})
}

// Weigh works out which length of tag to tie.
func Weigh(ctx context.Context, journalOf Keeper, r Request) (Answer, error) {
	q, err := r.resolve()
	if err != nil {
		return Answer{}, err
	}
	a := Answer{Where: q.where, Anew: r.Anew, Best: -1}
	sessions, err := journalOf.TagSessions(ctx, q.where)
	if err != nil {
		return a, err
	}
	if err := a.inputs(q, sessions); err != nil {
		return a, err
	}
	tangles, err := a.tangleRate(ctx, journalOf, r, q)
	if err != nil || tangles == nil {
		return a, err
	}
	breaks, err := a.breakRate(ctx, journalOf, r, q, sessions)
	if err != nil {
		return a, err
	}
	if err = a.weigh(r, q, tangles, breaks); err != nil && !journal.IsInvalid(err) {
		err = fmt.Errorf("plan the length of a tag: %w", err)
	}
	return a, err
}

// weigh fills the points, the best of them and what rests on it.
func (a *Answer) weigh(r Request, q question, tangles, breaks *hourly) error {
	low, high := max(tangles.low, breaks.low), min(tangles.high, breaks.high)
	a.raiseLeast(q, low)
	longest := high
	if q.longest > 0 {
		longest = q.longest
	}
	m := a.model(tangles, breaks)
	if math.IsInf(longest, 1) {
		longest = m.least + 10*m.waste
	}
	if longest < m.least {
		return journal.Invalidf("the longest tag to look at, %s, is shorter than the shortest that fishes, %s; change one of them", units.FormatLength(longest, r.Units), units.FormatLength(m.least, r.Units))
	}
	length, err := journal.FactorByKey("tag-length")
	if err != nil {
		return err
	}
	if err := a.lose(m, analytics.CurveSteps(length, r.Units, m.least, longest), low, high); err != nil {
		return err
	}
	if err := a.spread(m); err != nil {
		return err
	}
	a.choose()
	if a.Best < 0 {
		return nil
	}
	if err := a.bet(m); err != nil {
		return err
	}
	if err := a.tippet(m); err != nil {
		return err
	}
	return a.move(m)
}

// raiseLeast keeps a least length of common practice from asking about tags that were
// never fished.
func (a *Answer) raiseLeast(q question, low float64) {
	for i := range a.Inputs {
		if in := &a.Inputs[i]; in.Key == Least && in.From == FromPractice && low > in.Value {
			in.Value = low
			a.note(NoteRaised, 0, low, 0)
		}
	}
}
