// Package claim holds the claims on the board against the journal.
package claim

import (
	"encoding/json"
	"maps"
	"rigtally/analytics"
	"rigtally/analytics/answer"
	"rigtally/analytics/stat"
	"rigtally/internal/units"
	"rigtally/journal"
)

// Standing says in words how a claim does in a journal.
type Standing string

// The standings of a claim, from the best to the worst.
const (
	Holds      Standing = "holds here"
	LeansFor   Standing = "leans that way"
	OpenStill  Standing = "can't tell yet"
	LeansOther Standing = "leans the other way"
	HoldsNot   Standing = "does not hold here"
)

// The limits of the standings, as those of the verdicts.
const (
	HoldsBelow = 0.05
	leansBelow = 0.20
)

// stand turns the adjusted one-sided p-values of a claim into words. For is that
// of the claim's own direction, against that of the opposite one; each is
// adjusted over the board (Benjamini & Hochberg 1995). They add up to 1 or more,
// so at most one of them is small.
func stand(qFor, qAgainst float64) Standing {
	switch {
	case qFor < HoldsBelow:
		return Holds
	case qAgainst < HoldsBelow:
		return HoldsNot
	case qFor < leansBelow:
		return LeansFor
	case qAgainst < leansBelow:
		return LeansOther
	}
	return OpenStill
}

// Board says how each claim on the board does.
type Board struct {
	Claims []Answer  // on the board, oldest first
	Rest   []Retired // those retired
	Tested int       // claims that could be tested, over which q is adjusted
}

// Retired is a claim taken off the board.
type Retired struct {
	journal.Claim
	Number int `json:"number"` // as in Answer
}

// Answer says how a claim does.
type Answer struct {
	Claim    journal.Claim   `json:"-"`
	Number   int             `json:"number"` // its place among all claims, the retired ones too, from 1
	Outcome  journal.Outcome `json:"-"`
	Factor   journal.Factor  `json:"-"`
	Standing Standing        `json:"standing"`
	Step     float64         `json:"-"` // of a factor that is a number, in the storage unit: the ratio is that of so much more of it (below 0: less); 0 for words
	Ratio    *float64        `json:"ratio"`
	Low      *float64        `json:"ratio_low"` // of the 95% interval of the ratio
	High     *float64        `json:"ratio_high"`
	SELog    *float64        `json:"se_log"`
	DF       *float64        `json:"df"`
	PFor     *float64        `json:"p"`         // one-sided: a small one speaks for the claim
	QFor     *float64        `json:"q"`         // adjusted over the board
	PAgainst *float64        `json:"p_against"` // one-sided: a small one speaks for the opposite
	QAgainst *float64        `json:"q_against"`
	Method   string          `json:"method,omitempty"`
	Level    Side            `json:"-"` // of a factor of words: what the claim is about
	Versus   Side            `json:"-"` // and what with; of a number empty
	Total    Side            `json:"-"` // all that was used
	// HoursNeeded are hours in all, fished as till now, that would show an effect as
	// large as the one seen so far four times in five (two-sided, at 5%).
	HoursNeeded *float64         `json:"hours_needed"`
	LeftOut     map[string]int   `json:"-"`
	Notes       []analytics.Note `json:"-"`
	Problem     *journal.Invalid `json:"-"` // why it could not be tested
}

// Side is what was fished and what happened on one side of a claim.
type Side struct {
	Stints   int     `json:"stints"`
	Sessions int     `json:"sessions"`
	Hours    float64 `json:"hours"`
	Exposure float64 `json:"exposure"`
	Events   float64 `json:"events"`
}

// The notes of claims, beside those of rates.
const (
	NoteOneSide   analytics.NoteKind = "one side"   // nothing was fished on the claim's side (Count 1), on the other (2), or on neither (3)
	NoteOneValue  analytics.NoteKind = "one value"  // the number has been the same always
	NoteSmallOdds analytics.NoteKind = "small odds" // whatever the difference, its 90% interval lies within 0.80 to 1.25
)

// StepOf is the natural step of a factor that is a number, in its storage unit:
// the ratio of a claim is given for that much more of it. For tippet it is one
// size finer, which is less; for hooks, two sizes smaller.
func StepOf(f journal.Factor, sys units.System) float64 {
	us := sys == units.US
	switch {
	case f.Quantity == journal.Length && us:
		return 25.4
	case f.Quantity == journal.Length:
		return 25
	case f.Quantity == journal.Diameter:
		return -0.0254 // a thousandth of an inch, by the rule of eleven
	case f.Quantity == journal.Flow && us:
		return 2.8316846592 // 100 cubic feet per second
	case f.Quantity == journal.Flow:
		return 1
	case f.Quantity == journal.Temperature && us:
		return 25.0 / 9 // 5 °F
	case f.Quantity == journal.Temperature:
		return 2
	case f.Key == "hook-size":
		return 2
	case f.Quantity == journal.Number:
		return 1
	}
	return 0
}

// SaysMore reports whether it is a ratio above 1 that speaks for the claim.
func (a Answer) SaysMore() bool { return (a.Claim.Direction == journal.More) == (a.Step >= 0) }

// judge adjusts the claims' p-values over the board and puts them into words.
func (b *Board) judge() error {
	var pFor, pAgainst []*float64
	for _, c := range b.Claims {
		pFor, pAgainst = append(pFor, c.PFor), append(pAgainst, c.PAgainst)
	}
	qFor, err := stat.AdjustKnown(pFor)
	if err != nil {
		return err
	}
	qAgainst, err := stat.AdjustKnown(pAgainst)
	if err != nil {
		return err
	}
	for i := range b.Claims {
		c := &b.Claims[i]
		c.QFor, c.QAgainst, c.Standing = qFor[i], qAgainst[i], OpenStill
		if c.QFor != nil {
			b.Tested++
			c.Standing = stand(*c.QFor, *c.QAgainst)
		}
	}
	return nil
}

// MarshalJSON writes the board in full precision, steps in storage units.
func (b Board) MarshalJSON() ([]byte, error) {
	return json.Marshal(map[string]any{"tested": b.Tested, "claims": answer.Each(b.Claims, Answer.json), "retired": answer.List(b.Rest)})
}

func (a Answer) json() any {
	out := struct {
		journal.Claim
		Answer
		Unit string   `json:"unit"`
		Step *float64 `json:"step"`
		Side
		Notes   []string       `json:"notes"`
		LeftOut map[string]int `json:"left_out"`
		Problem []string       `json:"problem,omitempty"`
	}{Claim: a.Claim, Answer: a, Unit: a.Outcome.Unit(), Step: answer.If(a.Step != 0, a.Step), Side: a.Total, LeftOut: map[string]int{}}
	out.Notes = answer.Each(a.Notes, func(n analytics.Note) string { return string(n.Kind) })
	maps.Copy(out.LeftOut, a.LeftOut)
	if a.Problem != nil {
		out.Problem = a.Problem.Problems
	}
	return out
}
