// Package bench compares how much tied lines hold, pulled on the bench, and sets it beside what they did on the water.
package bench

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"rigtally/analytics/answer"
	"rigtally/journal"
)

// Answer compares how much tied lines hold, as pulled on the bench.
//
// The strength of a pull is the force at which the tied line stopped holding:
// where it broke, and where its knot slipped, for either way the fish is off.
// A pull that did not break, or broke at the grip, tells only of at least that
// much: the Weibull line and the rank test know it so, while means and their
// tests take the force as it is, and so understate.
type Answer struct {
	By        []journal.Factor
	Where     []journal.Condition
	Alike     []journal.Factor // in which pulls agree that are compared
	Groups    []Group          // in the natural order of their levels
	Reference int              // index of the group that others are compared with, −1 without one
	Relative  bool             // strengths are shares of the mean of unknotted pulls of the same set-up, not N
	SlipsFail bool             // a slip is a failure to the Weibull line too
	Pulls     int
	LeftOut   map[string]int // how many of what the answer could not use
	Notes     []Note
}

// Group is what the pulls of one level show.
type Group struct {
	Level     []journal.Level // as in Answer.By
	Unknotted bool
	Points    []Point // ascending
	Slipped   int
	AtLeast   int // did not break, or at the grip
	N         int // pulls with a strength in the answer's scale
	// Mean is what the group holds, in the answer's scale: the mean force or, where strengths
	// are shares, the mean over that of unknotted line, which is the ratio of Efficiency.
	// NaN without a pull.
	Mean              float64
	MeanLow, MeanHigh *float64 // its 95% interval (Student; of shares Fieller); nil where there is none
	SD                float64  // of single pulls
	Efficiency        *Efficiency
	Weibull           *Weibull
	Versus            *Comparison // nil for the reference, and where no pull has its like there

	pulls []journal.BenchPull
}

// CV is the coefficient of variation of single pulls.
func (g Group) CV() float64 { return g.SD / g.Mean }

// Point is a pull as it is drawn.
type Point struct {
	Strength float64 // in the answer's scale
	Share    float64 // of the group that fails up to there (Kaplan–Meier); NaN for one that is censored to the Weibull line
	ForceN   float64
	TippetMM float64
	Ending   journal.PullEnding
	BrokeAt  journal.PullBreak
	Censored bool // to the Weibull line
}

// Note is something that the reader of an answer must know.
type Note struct {
	Kind  NoteKind
	Count int
	Group int // the place of the group it is about, −1 for all
}

// NoteKind names a note.
type NoteKind string

// The notes. Count is as said here.
const (
	NoteSlips       NoteKind = "slips"          // Count pulls slipped
	NoteHeld        NoteKind = "at least"       // Count pulls tell only of at least so much
	NoteRelative    NoteKind = "relative"       // groups mix set-ups, so strengths are shares of unknotted ones
	NoteMixed       NoteKind = "mixed"          // groups mix set-ups, and Count pulls have no unknotted ones to compare with
	NoteNoReference NoteKind = "no unknotted"   // Count groups have no unknotted pulls of their set-up
	NoteOneTier     NoteKind = "one tier"       // everything was tied by one person
	NoteFew         NoteKind = "few pulls"      // Count groups have fewer than 5 pulls
	NoteMixesKnots  NoteKind = "mixes knots"    // Count groups mix facings or props, which are not held alike
	NoteUnlike      NoteKind = "unlike"         // Count pulls have no like in the reference and count for no comparison
	NoteDisagree    NoteKind = "tests disagree" // the rank test does not bear out the verdict on Group
	NoteMany        NoteKind = "comparisons"    // Count comparisons were made at once
	NoteUnbounded   NoteKind = "unbounded"      // Group's efficiency has no bounded interval
)

const (
	fewPulls = 5
	// Strengths within a tenth of each other are the same for practice: the
	// margin that pulls are planned for. Common practice, no source.
	strengthLow, strengthHigh = 0.90, 1 / 0.90
)

// Compare compares pulls divided by some factors.
func Compare(ctx context.Context, from Keeper, r Request) (Answer, error) {
	by, err := r.factors()
	if err != nil {
		return Answer{}, err
	}
	filters, err := r.filters()
	if err != nil {
		return Answer{}, err
	}
	pulls, err := from.BenchPulls(ctx)
	if err != nil {
		return Answer{}, err
	}
	names, err := tiers(ctx, from)
	if err != nil {
		return Answer{}, err
	}
	b := newBenchWork(pulls, by, names)
	b.answer.SlipsFail = r.Slips == SlipsFail
	for _, f := range filters {
		b.answer.Where = append(b.answer.Where, f.Condition)
	}
	b.divide(filters)
	b.chooseScale()
	if err := b.describe(); err != nil {
		return Answer{}, fmt.Errorf("sum up the bench pulls: %w", err)
	}
	if err := b.chooseReference(r); err != nil {
		return Answer{}, err
	}
	if err := b.compare(); err != nil {
		return Answer{}, fmt.Errorf("compare the bench pulls: %w", err)
	}
	b.note()
	return b.answer, nil
}

// work is an answer in the making.
type work struct {
	answer Answer
	all    []journal.BenchPull
	by     []factor
	alike  []factor
	tiers  map[journal.ID]string
	plain  map[setup][]float64 // strengths of unknotted pulls by set-up
	unlike map[journal.ID]bool
}

// setup is what a line was, apart from its knot.
type setup struct {
	tippetMM float64
	material journal.Material
	wetness  journal.Wetness
}

func setupOf(p journal.BenchPull) setup { return setup{p.TippetMM, p.Material, p.Wetness} }

func newBenchWork(pulls []journal.BenchPull, by []factor, names map[journal.ID]string) *work {
	b := &work{all: pulls, by: by, alike: heldAlike(by), tiers: names, plain: map[setup][]float64{}, unlike: map[journal.ID]bool{}}
	b.answer = Answer{Reference: -1, LeftOut: map[string]int{}}
	plain := func(f factor) journal.Factor { return f.Factor }
	b.answer.By, b.answer.Alike = answer.Each(by, plain), answer.Each(b.alike, plain)
	for _, p := range pulls {
		if !p.Knotted() {
			b.plain[setupOf(p)] = append(b.plain[setupOf(p)], p.ForceN)
		}
	}
	return b
}

// divide deals the pulls out to groups. Unknotted ones make a group only in a
// question by junction or by what they were pulled in, alone; beside knots they
// are what efficiency is measured against.
func (b *work) divide(filters []filter) {
	index := map[string]int{}
	byJunction := slices.ContainsFunc(b.by, func(f factor) bool { return f.Key == "junction" })
	onlyPlain := slices.ContainsFunc(filters, func(f filter) bool {
		return f.factor.Key == "junction" && strings.EqualFold(f.Word, Unknotted)
	})
	for _, p := range b.all {
		if !passes(p, filters, b.tiers) || !p.Knotted() && !byJunction && !onlyPlain {
			continue
		}
		level, missing := b.levelOf(p)
		if missing != "" {
			b.answer.LeftOut[missing]++
			continue
		}
		key := fmt.Sprint(level)
		at, known := index[key]
		if !known {
			at = len(b.answer.Groups)
			index[key] = at
			b.answer.Groups = append(b.answer.Groups, Group{Level: level, Unknotted: byJunction && !p.Knotted()})
		}
		g := &b.answer.Groups[at]
		g.pulls = append(g.pulls, p)
		b.answer.Pulls++
	}
	slices.SortStableFunc(b.answer.Groups, func(x, y Group) int {
		for i := range b.by {
			if c := b.by[i].compare(x.Level[i], y.Level[i]); c != 0 {
				return c
			}
		}
		return 0
	})
}

// compare puts levels in their natural order.
func (f factor) compare(x, y journal.Level) int {
	return cmp.Or(cmp.Compare(f.rank(x), f.rank(y)), cmp.Compare(x.Number, y.Number), strings.Compare(x.Word, y.Word))
}

func (f factor) rank(l journal.Level) int {
	if l.Word == Unknotted {
		return len(f.vocabulary) + 1
	}
	if i := slices.Index(f.vocabulary, l.Word); i >= 0 {
		return i
	}
	return len(f.vocabulary)
}

// levelOf returns a pull's levels, or what is missing for them.
func (b *work) levelOf(p journal.BenchPull) (level []journal.Level, missing string) {
	for _, f := range b.by {
		l := f.level(p, b.tiers)
		if l.Kind == journal.WordLevel && l.Word == "" {
			if f.ofKnot && !p.Knotted() {
				return nil, "unknotted pulls, which have no " + strings.ToLower(f.Title)
			}
			return nil, f.Missing
		}
		level = append(level, l)
	}
	return level, ""
}

// mixed reports whether pulls differ in what they were pulled in.
func mixed(pulls []journal.BenchPull) bool {
	return slices.ContainsFunc(pulls, func(p journal.BenchPull) bool { return setupOf(p) != setupOf(pulls[0]) })
}

// chooseScale measures strengths as shares of unknotted ones where a group mixes
// tippets, so that its line is not that of a mixture; it needs such pulls.
func (b *work) chooseScale() {
	if !slices.ContainsFunc(b.answer.Groups, func(g Group) bool { return mixed(g.pulls) }) {
		return
	}
	without := 0
	for _, g := range b.answer.Groups {
		for _, p := range g.pulls {
			if len(b.plain[setupOf(p)]) < 2 {
				without++
			}
		}
	}
	if without > b.answer.Pulls/2 {
		b.answer.Notes = append(b.answer.Notes, Note{NoteMixed, without, -1})
		return
	}
	b.answer.Relative = true
	b.answer.Notes = append(b.answer.Notes, Note{NoteRelative, without, -1})
}

// scale is the force that a pull's strength is measured in: the mean of unknotted pulls of its
// set-up, or 1 N; false when there are too few of them.
func (b *work) scale(p journal.BenchPull) (float64, bool) {
	if !b.answer.Relative {
		return 1, true
	}
	plain := b.plain[setupOf(p)]
	if len(plain) < 2 {
		return 0, false
	}
	sum := 0.0
	for _, v := range plain {
		sum += v
	}
	return sum / float64(len(plain)), true
}
