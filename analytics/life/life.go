// Package life tells how long tags and their junctions last.
package life

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"rigtally/analytics"
	"rigtally/analytics/answer"
	"rigtally/analytics/stat"
	"rigtally/analytics/stat/survive"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/facts"
)

// Asker holds how long tags lasted; *pg.Store is one.
type Asker interface {
	TieLives(ctx context.Context, by journal.By, where []journal.Condition) (facts.TieLives, error)
}

// The scales on which a life is told.
const (
	Hours = "hours" // fished
	Loads = "loads" // hookups and snags that pulled on the junction
)

// Request asks how long tags and their junctions last, as a person puts it.
type Request struct {
	By    string   // a factor's key; "" for the junction
	In    string   // Hours or Loads; "" for hours
	Where []string // as in Request
	Units units.System
}

// Answer says how long tags last, from tying to the break of the junction or of the tag
// itself. Those last seen whole, at a re-tie, a change of rig or the end of the day, count as
// lasting at least until then.
type Answer struct {
	By        journal.By
	In        string
	Where     []journal.Condition
	Groups    []Group // in the natural order of their levels
	Reference int     // the one fished or loaded most, that the others are held against; −1 without any
	Test      *survive.LogRankTest
	Marks     []float64 // round times, from 0
	Sessions  int       // different ones
	LeftOut   map[string]int
	Notes     []Note
}

// Group is how long the tags of one level last.
type Group struct {
	Level             journal.Level
	Ties, Breaks      int
	Retied, Off       int // last seen whole at a re-tie; at a change of rig or the day's end
	Sessions          int
	Total             float64 // hours or loads, of all ties
	Survival          survive.Curve
	Median, Low, High *float64     // the time by which half broke, with its 95% interval; nil when not reached
	Observed          float64      // breaks
	Expected          float64      // those it would have if all groups lasted alike
	P, Q              *float64     // against the reference, survive.LogRankTest's cautious one; q adjusted for all groups
	Verdict           stat.Verdict // by q; empty for the reference
}

// Mark is what is known of a group at a time.
type Mark struct {
	At        float64
	AtRisk    int
	Known     bool // some tie was followed that long
	Share     float64
	Low, High *float64 // 95%; nil before the first break and when nothing is left
}

// Mark tells a group at a time.
func (g Group) Mark(t float64) Mark {
	step, known := g.Survival.At(t)
	m := Mark{At: t, AtRisk: g.Survival.AtRisk(t), Known: known, Share: step.Share}
	if t == 0 {
		m.AtRisk = g.Survival.N
	}
	if step.HasIntervals {
		low, high := step.Low, step.High
		m.Low, m.High = &low, &high
	}
	return m
}

// NoteKind names something that the reader of lives must know.
type NoteKind string

// The notes of lives.
const (
	NoteNothing   NoteKind = "nothing"  // the journal holds no tie of the kind
	NoteSpread    NoteKind = "spread"   // Count ties end at moments that were not noted
	NoteFewBreaks NoteKind = "few"      // Count groups have fewer than 5 breaks
	NoteByChance  NoteKind = "sessions" // the two tests disagree: sessions differ by more than chance
	NotePlainOnly NoteKind = "plain"    // too few sessions for the test by session
)

// Note is something that the reader of lives must know.
type Note struct {
	Kind  NoteKind
	Count int
}

func (a *Answer) note(kind NoteKind, count int) {
	a.Notes = append(a.Notes, Note{kind, count})
}

func (r Request) resolve() (a Answer, err error) {
	a = Answer{In: r.In, Reference: -1}
	if a.In == "" {
		a.In = Hours
	}
	if a.In != Hours && a.In != Loads {
		return a, journal.Invalidf("lives can be told in hours or in loads, not in %q", r.In)
	}
	key := strings.TrimSpace(r.By)
	if key == "" {
		key = "junction"
	}
	q, err := analytics.Request{Outcome: "junction-break", By: []string{key}, Where: r.Where, Units: r.Units}.Question()
	if err != nil {
		return a, err
	}
	a.Where, a.By = q.Where, q.By[0]
	if a.By.Factor.Key == "tag-length" {
		return a, journal.Invalidf("a tag gets shorter through its life, so lives can't be divided by its length; narrow with where, or ask for junction-break by tag-length")
	}
	return a, nil
}

// Follow follows tags from their tying to their end.
func Follow(ctx context.Context, journalOf Asker, r Request) (Answer, error) {
	a, err := r.resolve()
	if err != nil {
		return a, err
	}
	lives, err := journalOf.TieLives(ctx, a.By, a.Where)
	if err != nil {
		return a, err
	}
	a.LeftOut = lives.LeftOut
	byLevel, err := a.group(lives)
	if err != nil {
		return a, fmt.Errorf("follow how long tags last: %w", err)
	}
	if len(a.Groups) == 0 {
		a.note(NoteNothing, 0)
		return a, nil
	}
	if lives.Spread > 0 {
		a.note(NoteSpread, lives.Spread)
	}
	a.mark()
	if err := a.compare(byLevel); err != nil {
		return a, fmt.Errorf("compare how long tags last: %w", err)
	}
	return a, nil
}

// group divides the lives by level, and estimates each group's.
func (a *Answer) group(lives facts.TieLives) (byLevel [][]survive.Life, err error) {
	sessions := map[journal.ID]int{}
	of := map[journal.Level]int{}
	var met []map[journal.ID]bool
	for _, l := range lives.Lives {
		time, broke := l.Hours, l.Seen
		if a.In == Loads {
			time, broke = l.Loads, l.Broke
		}
		if time <= 0 {
			continue
		}
		k, ok := sessions[l.Session]
		if !ok {
			k = len(sessions)
			sessions[l.Session] = k
		}
		g, ok := of[l.Level]
		if !ok {
			g = len(a.Groups)
			of[l.Level] = g
			a.Groups, byLevel, met = append(a.Groups, Group{Level: l.Level}), append(byLevel, nil), append(met, map[journal.ID]bool{})
		}
		byLevel[g] = append(byLevel[g], survive.Life{Time: time, Ended: broke, Cluster: k})
		met[g][l.Session] = true
		group := &a.Groups[g]
		group.Total += time
		switch {
		case broke:
			group.Breaks++
		case l.Retied:
			group.Retied++
		default:
			group.Off++
		}
	}
	a.Sessions = len(sessions)
	for g := range a.Groups {
		group := &a.Groups[g]
		group.Ties, group.Sessions = len(byLevel[g]), len(met[g])
		if group.Survival, err = survive.KaplanMeier(byLevel[g], analytics.Confidence, true); err != nil {
			return nil, err
		}
		group.Median, group.Low, group.High = group.Survival.TimeTo(0.5)
	}
	return a.order(byLevel), nil
}

// order puts groups and their lives in the natural order of their levels.
func (a *Answer) order(byLevel [][]survive.Life) [][]survive.Life {
	places := make([]int, len(a.Groups))
	for i := range places {
		places[i] = i
	}
	slices.SortStableFunc(places, func(x, y int) int {
		return analytics.CompareLevels(a.By.Factor, a.Groups[x].Level, a.Groups[y].Level)
	})
	groups, lives := make([]Group, len(places)), make([][]survive.Life, len(places))
	for to, from := range places {
		groups[to], lives[to] = a.Groups[from], byLevel[from]
	}
	a.Groups = groups
	return lives
}

// mark chooses round times up to the longest at which five ties of some group were still followed.
func (a *Answer) mark() {
	const followed = 5
	end := 0.0
	for _, g := range a.Groups {
		end = math.Max(end, g.Survival.TimeAtRisk(followed))
	}
	if end == 0 {
		for _, g := range a.Groups {
			end = math.Max(end, g.Survival.Longest)
		}
	}
	step := analytics.RoundStep(end / 6)
	if step < 0.25 {
		step = 0.25
	}
	for t := 0.0; t <= end*(1+1e-9); t += step {
		a.Marks = append(a.Marks, analytics.Tidy(t))
	}
}

// compare tests all groups at once, and each against the one that was fished most: not the one
// with most ties, which may have so many because they break.
func (a *Answer) compare(byLevel [][]survive.Life) error {
	few := 0
	for i, g := range a.Groups {
		if a.Reference < 0 || g.Total > a.Groups[a.Reference].Total {
			a.Reference = i
		}
		if g.Breaks < 5 {
			few++
		}
	}
	if len(a.Groups) < 2 {
		return nil
	}
	test, err := survive.LogRank(byLevel)
	if errors.Is(err, survive.ErrOneGroup) {
		return nil
	}
	if err != nil {
		return err
	}
	a.Test = &test
	for g := range a.Groups {
		a.Groups[g].Observed, a.Groups[g].Expected = test.Observed[g], test.Expected[g]
	}
	if few > 0 {
		a.note(NoteFewBreaks, few)
	}
	switch {
	case test.ClusterP == nil:
		a.note(NotePlainOnly, 0)
	case test.P < 0.05 && *test.ClusterP >= 0.05:
		a.note(NoteByChance, 0)
	}
	return a.pairs(byLevel)
}

func (a *Answer) pairs(byLevel [][]survive.Life) error {
	p := make([]*float64, len(a.Groups))
	for g := range a.Groups {
		if g == a.Reference {
			continue
		}
		a.Groups[g].Verdict = stat.CannotTell
		test, err := survive.LogRank([][]survive.Life{byLevel[a.Reference], byLevel[g]})
		if errors.Is(err, survive.ErrOneGroup) {
			continue
		}
		if err != nil {
			return err
		}
		if test.ClusterP != nil {
			p[g] = answer.Known(test.Cautious())
		}
	}
	q, err := stat.AdjustKnown(p)
	if err != nil {
		return err
	}
	everything := stat.Interval{High: math.Inf(1)} // lives have no ratio
	for i := range a.Groups {
		if g := &a.Groups[i]; q[i] != nil {
			g.P, g.Q, g.Verdict = p[i], q[i], stat.Judge(*q[i], everything)
		}
	}
	return nil
}
