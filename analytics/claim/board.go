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

// The standings of a claim.
const (
	Holds         Standing = "holds here"
	OppositeHolds Standing = "the opposite holds here"
	Settled       Standing = "settled by itself" // its own question is, but among all that was asked at once it may be by chance
	LeansFor      Standing = "leans that way"
	LeansOther    Standing = "leans the other way"
	Same          Standing = "same for practice"
	OpenStill     Standing = "can't tell yet"
)

// HoldsBelow is the limit of q over all that is listed, below which what is settled by itself holds.
const HoldsBelow = 0.05

// List places a claim among all that was asked at once: q is its p adjusted over that many questions
// (Benjamini & Hochberg 1995), nil when it could not be tested. It holds, or its opposite does, only where its own
// question is settled and q is small, too.
func (a *Answer) List(q *float64, asked int) {
	a.QListed, a.Asked, a.Standing = q, asked, OpenStill
	if q == nil {
		return
	}
	either := func(own, opposite Standing) Standing {
		if a.SpeaksFor() {
			return own
		}
		return opposite
	}
	switch {
	case a.Verdict == stat.Differs && *q < HoldsBelow:
		a.Standing = either(Holds, OppositeHolds)
	case a.Verdict == stat.Differs:
		a.Standing = Settled
	case a.Verdict == stat.Leans:
		a.Standing = either(LeansFor, LeansOther)
	case a.Verdict == stat.SameForPractice:
		a.Standing = Same
	}
}

// Board says how each claim on the board does.
type Board struct {
	Claims []Answer  // on the board, oldest first
	Rest   []Retired // those retired
	Tested int       // claims that could be tested
}

// Retired is a claim taken off the board.
type Retired struct {
	journal.Claim
	Number int `json:"number"` // as in Answer
}

// Answer says how a claim does.
type Answer struct {
	Claim     journal.Claim     `json:"-"`
	Number    int               `json:"number"` // its place among all claims, the retired ones too, from 1
	Outcome   journal.Outcome   `json:"-"`
	Factor    journal.Factor    `json:"-"`
	Standing  Standing          `json:"standing"`
	Step      float64           `json:"-"`          // of a factor that is a number, in the storage unit: the ratio is that of so much more of it (below 0: less); 0 for words
	Given     []analytics.Given `json:"held_equal"` // what was held equal; of the usual what differs
	Ratio     *float64          `json:"ratio"`
	Low       *float64          `json:"ratio_low"` // of the 95% interval of the ratio
	High      *float64          `json:"ratio_high"`
	SELog     *float64          `json:"se_log"`
	DF        *float64          `json:"df"`
	P         *float64          `json:"p"`        // two-sided
	Q         *float64          `json:"q"`        // p adjusted over the comparisons of the claim's own question
	Verdict   stat.Verdict      `json:"verdict"`  // of that question, wherever it is asked
	QListed   *float64          `json:"q_listed"` // p adjusted over all that was asked at once
	Asked     int               `json:"asked"`    // how many questions that were
	Method    string            `json:"method,omitempty"`
	Level     Side              `json:"-"`          // of a factor of words: what the claim is about
	Versus    Side              `json:"-"`          // and what with; of a number empty
	Total     Side              `json:"-"`          // all that was used
	MoreHours *float64          `json:"more_hours"` // at the present mix until the claim settles, with power 80% at 5%; 0 when it has
	Stated    *Stated           `json:"stated"`     // nil for one that was not written after any of its evidence, as far as known
	LeftOut   map[string]int    `json:"-"`
	Notes     []analytics.Note  `json:"-"`
	Problem   *journal.Invalid  `json:"-"` // why it could not be tested
}

// Stated tells of a claim that was written when there was evidence on it already.
type Stated struct {
	Day    journal.Date `json:"day"`
	Before float64      `json:"hours_before"` // of the hours behind the claim, fished up to that day
	Since  float64      `json:"hours_since"`
	Ratio  *float64     `json:"ratio_since"` // of what came after alone; it has no verdict of its own
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
	NoteOneSide  analytics.NoteKind = "one side"  // nothing was fished on the claim's side (Count 1), on the other (2), or on neither (3)
	NoteOneValue analytics.NoteKind = "one value" // the number has been the same always
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
	case f.Quantity == journal.Percent:
		return 25
	case f.Key == "hook-size":
		return 2
	case f.Quantity == journal.Number:
		return 1
	}
	return 0
}

// SaysMore reports whether it is a ratio above 1 that speaks for the claim.
func (a Answer) SaysMore() bool { return (a.Claim.Direction == journal.More) == (a.Step >= 0) }

// SpeaksFor reports whether the ratio lies on the claim's side of 1, as far as there is one.
func (a Answer) SpeaksFor() bool { return a.Ratio != nil && (*a.Ratio > 1) == a.SaysMore() }

// judge adjusts the claims' p over the board and puts them into words.
func (b *Board) judge() error {
	var p []*float64
	for _, c := range b.Claims {
		p = append(p, c.P)
		if c.P != nil {
			b.Tested++
		}
	}
	q, err := stat.AdjustKnown(p)
	if err != nil {
		return err
	}
	for i := range b.Claims {
		b.Claims[i].List(q[i], b.Tested)
	}
	return nil
}

// formOfJSON counts what the keys of the board's JSON have meant; since 2 p is two-sided.
const formOfJSON = 2

// MarshalJSON writes the board in full precision, steps in storage units.
func (b Board) MarshalJSON() ([]byte, error) {
	return json.Marshal(map[string]any{"version": formOfJSON, "tested": b.Tested, "claims": answer.Each(b.Claims, Answer.json), "retired": answer.List(b.Rest)})
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
	out.Answer.Given = answer.List(a.Given)
	out.Notes = answer.Each(a.Notes, func(n analytics.Note) string { return string(n.Kind) })
	maps.Copy(out.LeftOut, a.LeftOut)
	if a.Problem != nil {
		out.Problem = a.Problem.Problems
	}
	return out
}
