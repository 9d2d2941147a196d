package analytics

import (
	"context"
	"fmt"
	"math"

	"rigtally/internal/units"
	"rigtally/journal"
)

// Planner holds what a plan rests on; *pg.Store is one.
type Planner interface {
	Asker
	TagSessions(ctx context.Context, where []journal.Condition) ([]journal.TagSession, error)
}

// PlanAnswer says how long to tie a tag so that the fewest fishing minutes are lost.
//
// A tag starts at a length, each fly change takes a bit off it, changes come so many an
// hour, and when another would leave too little it is tied anew. Tangles and breaks
// come at rates that hang on its length. All of it is for one tag, per hour fished
// with it; see stat.Wear for the mathematics. What changing a fly takes is not
// counted: it takes as long whatever the length.
type PlanAnswer struct {
	Where      []journal.Condition
	Given      []Given
	Inputs     []PlanInput // in the order of PlanKeys
	Tangles    PlanRate
	Breaks     PlanRate
	Anew       bool        // a break gives a fresh tag of full length; else it is mended as it was
	Points     []PlanPoint // ascending; none when nothing is known of tangles, and Notes say why
	Best       int         // the point that loses least, −1 without one
	From, To   float64     // lengths about the best that lose at most PlanClose more
	Tippet     TippetPlan
	Moves      []PlanMove // what would change the answer, most first
	Sure       bool       // the chances and bands of the points are known
	Notes      []PlanNote
	CurveNotes []Note // of the curve of tangles, where it is the journal's
}

// PlanClose is the loss, in minutes per hour, within which two lengths are as good.
const PlanClose = 1.0

// PlanPoint is what a tag of a length loses, in minutes per hour fished.
type PlanPoint struct {
	LengthMM                 float64
	Changes                  int // it allows before it is tied anew
	Tangles, Breaks, Renewal float64
	Loss                     float64  // of all three
	Low, High                *float64 // 95% band over what is not known of the rates
	Best, Near               *float64 // probability to lose least; to lose at most PlanClose more than that
	Beyond                   bool     // some of its lengths have not been fished: it is never the best
}

// The keys of a plan's inputs.
const (
	PlanWaste         = "waste"          // mm of tag lost at a change
	PlanChanges       = "changes"        // per hour
	PlanLeast         = "least"          // mm, the shortest tag that still fishes
	PlanTangleMinutes = "tangle-minutes" // that a tangle costs
	PlanRetieMinutes  = "retie-minutes"  // that tying a used-up tag anew costs
	PlanBreakMinutes  = "break-minutes"  // that a break at the junction or in the tag costs
	PlanTippet        = "tippet"         // mm of tippet to begin with
	PlanRetieCost     = "retie-cost"     // mm of tippet that a re-tie costs

	// Of the rates, in PlanMove only.
	PlanTangleLevel = "tangle-level" // times the tangles at every length
	PlanTangleRise  = "tangle-rise"  // times the tangles for each 100 mm more
	PlanBreakLevel  = "break-level"  // times the breaks at every length
	PlanBreakAnew   = "break-anew"   // what a break does
)

// PlanKeys lists the inputs.
func PlanKeys() []string {
	return []string{PlanWaste, PlanChanges, PlanLeast, PlanTangleMinutes, PlanRetieMinutes, PlanBreakMinutes, PlanTippet, PlanRetieCost}
}

// PlanInput is a number that a plan rests on.
type PlanInput struct {
	Key string
	Assumed
	Low, High *float64 // 95% interval, where the journal gives one
}

// Input returns an input by its key.
func (a PlanAnswer) Input(key string) PlanInput {
	for _, in := range a.Inputs {
		if in.Key == key {
			return in
		}
	}
	return PlanInput{Key: key}
}

// PlanRate is a rate per hour over the length of a tag, and where it comes from.
type PlanRate struct {
	From      Origin
	Curve     *CurveAnswer // the journal's, from which it is
	Events    float64      // behind a constant of the journal
	Hours     float64
	Constant  *float64   // it is the same at every length
	Table     []RateAt   // as typed in, ascending
	Low, High float64    // the lengths for which it is known; 0 and +Inf for a constant
	LoadsHour float64    // loads per hour, by which the curve of breaks per load is multiplied
	Shown     []RateBand // the rate at the points' lengths
}

// RateAt is a rate per hour at a length.
type RateAt struct{ LengthMM, Rate float64 }

// RateBand is a rate at a length, with its 95% band where there is one.
type RateBand struct {
	RateAt
	Low, High *float64
}

// TippetPlan says how far a tippet goes with the best length.
type TippetPlan struct {
	Reties, Changes int     // re-ties that leave enough of it; fly changes until then
	Hours           float64 // expected until then, used-up tags alone
	LeftMM          float64
}

// PlanNoteKind names something that the reader of a plan must know.
type PlanNoteKind string

// The notes of a plan.
const (
	PlanNoCurve        PlanNoteKind = "no curve"         // the journal can't draw tangles over length; a guess is needed
	PlanGuess          PlanNoteKind = "guess"            // the tangles are typed in, so there is no band
	PlanBeyond         PlanNoteKind = "beyond"           // Count points need lengths never fished, outside Value to Other
	PlanAllBeyond      PlanNoteKind = "all beyond"       // all points do
	PlanRaised         PlanNoteKind = "raised"           // the least length was raised to Value, the shortest fished
	PlanConstantBreaks PlanNoteKind = "constant breaks"  // Count breaks are too few for a curve: one rate for all lengths
	PlanNoBreaks       PlanNoteKind = "no breaks"        // no break in Value hours
	PlanAtEnd          PlanNoteKind = "at the end"       // the best is the longest that has been fished
	PlanAtStart        PlanNoteKind = "at the start"     // the best is the shortest possible
	PlanUnsettled      PlanNoteKind = "length unsettled" // it can't be told yet whether length matters to tangles (p is Value)
	PlanNoChanges      PlanNoteKind = "few changes"      // Count changes are too few for the journal's own numbers
)

// PlanNote is something that the reader of a plan must know.
type PlanNote struct {
	Kind         PlanNoteKind
	Count        int
	Value, Other float64
}

func (a *PlanAnswer) note(kind PlanNoteKind, count int, value, other float64) {
	a.Notes = append(a.Notes, PlanNote{kind, count, value, other})
}

// Plan works out which length of tag to tie.
func Plan(ctx context.Context, journalOf Planner, r PlanRequest) (PlanAnswer, error) {
	q, err := r.resolve()
	if err != nil {
		return PlanAnswer{}, err
	}
	a := PlanAnswer{Where: q.where, Given: q.givens, Anew: r.Anew, Best: -1}
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
	if err := a.weigh(r, q, tangles, breaks); err != nil && !journal.IsInvalid(err) {
		return a, fmt.Errorf("plan the length of a tag: %w", err)
	} else if err != nil {
		return a, err
	}
	return a, nil
}

// weigh fills the points, the best of them and what rests on it.
func (a *PlanAnswer) weigh(r PlanRequest, q planQuestion, tangles, breaks *hourly) error {
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
	if err := a.lose(m, steps(length, r.Units, m.least, longest), low, high); err != nil {
		return err
	}
	if err := a.spread(m); err != nil {
		return err
	}
	a.choose()
	if a.Best < 0 {
		return nil
	}
	if err := a.tippet(m); err != nil {
		return err
	}
	return a.move(m)
}

// raiseLeast keeps a least length of common practice from asking about tags that were
// never fished.
func (a *PlanAnswer) raiseLeast(q planQuestion, low float64) {
	for i := range a.Inputs {
		if in := &a.Inputs[i]; in.Key == PlanLeast && in.From == FromPractice && low > in.Value {
			in.Value = low
			a.note(PlanRaised, 0, low, 0)
		}
	}
}
