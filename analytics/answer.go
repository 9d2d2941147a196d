package analytics

import (
	"math"

	"rigtally/analytics/change"
	"rigtally/analytics/stat"
	"rigtally/journal"
)

// RateAnswer says how often an outcome happens at each level of the factors asked by.
type RateAnswer struct {
	Outcome   journal.Outcome
	By        []journal.By
	Where     []journal.Condition
	Given     []Given        // what the comparisons are corrected for; of the usual ones those that differ
	Model     Model          // by which
	Prior     float64        // standard deviation of log ratios before anything was fished, for the bet
	Bet       *Bet           // nil where nothing can be compared like for like
	Groups    []Group        // in the natural order of their levels
	Total     Group          // counts of all groups together; it has no level, rate or interval
	Reference int            // index of the group that the others are compared with, -1 without one
	LeftOut   map[string]int // how many of what the answer could not use
	Told      journal.Told   // what was not told of what it used
	Notes     []Note
	Changed   *change.Finding // a factor asked by was changed because of what happened; nil where that is not seen, or not looked for

	weighed believed
}

// Matters ranks a group where a list has room for few: the one that the others are compared with and the best bet
// first, then by exposure.
func (a RateAnswer) Matters(group int) float64 {
	if group == a.Reference || a.Bet != nil && group == a.Bet.Option {
		return math.Inf(1)
	}
	return a.Groups[group].Exposure
}

// Group is what happened at one level.
type Group struct {
	Level       []journal.Level `json:"-"` // as in RateAnswer.By
	Stints      int             `json:"stints"`
	Sessions    int             `json:"sessions"`
	Hours       float64         `json:"-"`
	Exposure    float64         `json:"exposure"`   // in the outcome's unit of exposure
	Events      float64         `json:"events"`     // whole, unless a tag's length changed at a moment not noted
	Dispersion  float64         `json:"dispersion"` // variance over that of a Poisson or binomial count, 1 or more
	Rate        float64         `json:"rate"`
	Low, High   float64         `json:"-"` // of the 95% interval
	HasInterval bool            `json:"-"` // false when there is too little for one
	Versus      *Comparison     `json:"-"` // with the reference, as fished; nil for the reference itself
	Corrected   *Corrected      `json:"-"` // the same, like for like; nil for the reference, or when it can't be had
}

// Comparison is a group held against the reference group: how they stood as fished, and what the
// like-for-like comparison beside it (Corrected) concludes.
type Comparison struct {
	Ratio     *float64     `json:"ratio"`      // as fished; nil when neither group, or not the reference, has an event
	Low       *float64     `json:"ratio_low"`  // of the 95% interval
	High      *float64     `json:"ratio_high"` // nil when it has no upper end
	P         *float64     `json:"p"`          // two-sided
	Q         *float64     `json:"q"`          // the like-for-like p, adjusted for all comparisons of the question (Benjamini & Hochberg)
	Verdict   stat.Verdict `json:"verdict"`    // by q; empty where like for like can't be had
	MoreHours *float64     `json:"more_hours"` // at the present mix until the like-for-like comparison settles, with power 80% at 5%; 0 when it has
}

// NoteKind names something that the reader of an answer must know.
type NoteKind string

// The notes. Count and Value in a Note are as said here.
const (
	NoteNothing       NoteKind = "nothing"         // the journal holds nothing on this question
	NoteNoEvents      NoteKind = "no events"       // it never happened
	NoteOneLevel      NoteKind = "one level"       // there is nothing to compare
	NoteTooFew        NoteKind = "too few"         // too few sessions to know how they differ
	NoteFewSessions   NoteKind = "few sessions"    // Count groups have fewer than 6 sessions
	NoteSpread        NoteKind = "spread"          // sessions differ by more than chance: Value times the variance at most
	NoteComparisons   NoteKind = "comparisons"     // Count comparisons were made at once
	NoteByPosition    NoteKind = "by position"     // a stint's time counts once for each fly
	NoteSharedEvents  NoteKind = "shared events"   // events of unknown moment were shared between lengths of a tag
	NoteUntimedOnly   NoteKind = "untimed"         // stints with a tangle of unknown minutes are left out, so the truth is higher
	NoteAsFair        NoteKind = "as fair"         // in Count stints fair and foul were not told apart, so that all fish count as fair
	NoteUntold        NoteKind = "untold"          // Count events were counted without the detail that the outcome goes by
	NoteUnplacedEvent NoteKind = "unplaced events" // Count were on no fly in particular, so the truth is higher
)

// The notes of corrected comparisons and curves.
const (
	NoteTooFewToCorrect NoteKind = "too few to correct" // Count sessions are too few for a correction
	NoteFewToCorrect    NoteKind = "few to correct"     // Count sessions are few, and the variance is the bias-reduced one
	NoteOneSession      NoteKind = "one session"        // Group, or the reference, was fished in one session only, so its ratio has no interval
	NoteExplained       NoteKind = "explained"          // Group can't be told from the givens, so it has no corrected ratio: only Words of Factor fished it
	NoteNoneToCorrect   NoteKind = "none to correct"    // Group, or the reference, has none, so it has no corrected ratio
	NotePenalised       NoteKind = "penalised"          // some level has no event, and the estimates are held finite by Jeffreys' prior
	NoteGivenSame       NoteKind = "given same"         // Factor is the same everywhere, so that it corrects nothing
	NoteGivenRepeats    NoteKind = "given repeats"      // Count of Factor's columns repeat what the givens before it say
	NoteUnsettled       NoteKind = "unsettled"          // the regression found no answer
	NoteStraight        NoteKind = "straight"           // Count values are too few for a curve: it is a straight line
	NoteReversal        NoteKind = "reversal"           // Group's ratio as fished lies on the other side of 1, for Factor most of all
	NoteWent            NoteKind = "went"               // most of Group's difference as fished, Value of it, went with Factor, or with the session when it is none
)

// Note is something that the reader of an answer must know.
type Note struct {
	Kind   NoteKind
	Count  int
	Value  float64
	Group  int            // the place of the group it is about, −1 for all
	Factor journal.Factor // the given it is about
	Words  []string       // levels of it
}
