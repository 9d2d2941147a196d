package claim

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"slices"
	"time"

	"golang.org/x/sync/errgroup"

	"rigtally/analytics"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/facts"
)

// Keeper holds claims and what happened; *pg.Store is one.
type Keeper interface {
	Claims(ctx context.Context) ([]journal.Claim, error)
	analytics.Asker
}

// Judge holds the claims on the board against the journal, each as the question that it is: two
// levels of a factor among all of its levels, or the line along a number. A claim that can't be
// tested says why and leaves the others their part.
func Judge(ctx context.Context, store Keeper, sys units.System) (Board, error) {
	list, err := store.Claims(ctx)
	if err != nil {
		return Board{}, err
	}
	return JudgeWhere(ctx, store, list, sys, nil)
}

// JudgeWhere tests claims on the part of the journal where some conditions hold.
func JudgeWhere(ctx context.Context, store analytics.Asker, list []journal.Claim, sys units.System, where []journal.Condition) (Board, error) {
	var board Board
	for i, c := range list {
		if c.Retired() {
			board.Rest = append(board.Rest, Retired{c, i + 1})
			continue
		}
		board.Claims = append(board.Claims, Answer{Claim: c, Number: i + 1})
	}
	var tests errgroup.Group
	tests.SetLimit(runtime.GOMAXPROCS(0))
	for i := range board.Claims {
		tests.Go(func() error {
			a := &board.Claims[i]
			err := a.test(ctx, store, sys, where)
			if !errors.As(err, &a.Problem) && err != nil {
				return fmt.Errorf("test the claim %q: %w", a.Claim.Words, err)
			}
			return nil
		})
	}
	if err := tests.Wait(); err != nil {
		return Board{}, err
	}
	return board, board.judge()
}

// test fills the answer. An error that is Invalid tells why it can't be tested.
func (a *Answer) test(ctx context.Context, store analytics.Asker, sys units.System, where []journal.Condition) (err error) {
	if a.Outcome, err = journal.OutcomeByKey(a.Claim.Outcome); err != nil {
		return err
	}
	if a.Factor, err = journal.FactorByKey(a.Claim.Factor); err != nil {
		return err
	}
	a.Step = StepOf(a.Factor, sys)
	q := journal.Question{Outcome: a.Outcome, By: []journal.By{{Factor: a.Factor}}, Where: where}
	how, err := a.comparing()
	if err != nil {
		return err
	}
	for _, g := range how.Givens {
		q.Given = append(q.Given, g.Factor)
	}
	if err := a.ask(ctx, store, q, how); err != nil {
		return err
	}
	if at := a.Claim.StatedAt; at != nil && a.Claim.Source != journal.CommonPractice {
		return a.follow(ctx, store, q, how, at.UTC())
	}
	return nil
}

// ask fills the answer but for when the claim was stated.
func (a *Answer) ask(ctx context.Context, store analytics.Asker, q journal.Question, how analytics.Comparing) error {
	rows, err := store.Rows(ctx, q)
	if err != nil {
		return err
	}
	a.LeftOut = rows.LeftOut
	if a.Step == 0 {
		return a.testSides(rows.Sides(a.Claim.Level, a.Claim.Versus), how)
	}
	return a.testTrend(rows, how)
}

// follow tells what was fished when the claim was stated, and what has come since. The day
// itself counts as before.
func (a *Answer) follow(ctx context.Context, store analytics.Asker, q journal.Question, how analytics.Comparing, at time.Time) error {
	later := Answer{Claim: a.Claim, Outcome: a.Outcome, Factor: a.Factor, Step: a.Step}
	q.Since = journal.DateOf(at.AddDate(0, 0, 1))
	if err := later.ask(ctx, store, q, how); err != nil {
		return err
	}
	if before := a.Total.Hours - later.Total.Hours; before > 0 {
		a.Stated = &Stated{Day: journal.DateOf(at), Before: before, Since: later.Total.Hours, Ratio: later.Ratio}
	}
	return nil
}

func sideOf(groups ...journal.Sums) Side {
	var s Side
	for _, g := range groups {
		s.Stints += g.Stints
		s.Sessions += g.Sessions
		s.Hours += g.Hours
		s.Exposure += g.T
		s.Events += g.K
	}
	s.Events = analytics.Tidy(s.Events)
	return s
}

func (a *Answer) note(kind analytics.NoteKind, count int) {
	a.Notes = append(a.Notes, analytics.Note{Kind: kind, Count: count})
}

// testSides sets two sides of a factor of words against each other.
func (a *Answer) testSides(rows *facts.Rows, how analytics.Comparing) error {
	at := func(side []string) int {
		return slices.IndexFunc(rows.Groups, func(g journal.Sums) bool { return g.Level[0].Word == facts.SideName(side) })
	}
	level, versus := at(a.Claim.Level), at(a.Claim.Versus)
	missing := 0
	if level < 0 {
		missing++
	} else {
		a.Level = sideOf(rows.Groups[level])
	}
	if versus < 0 {
		missing += 2
	} else {
		a.Versus = sideOf(rows.Groups[versus])
	}
	a.Total = Side{a.Level.Stints + a.Versus.Stints, sessionsOf(rows, level, versus), a.Level.Hours + a.Versus.Hours,
		a.Level.Exposure + a.Versus.Exposure, analytics.Tidy(a.Level.Events + a.Versus.Events)}
	switch {
	case len(rows.Groups) == 0:
		a.note(analytics.NoteNothing, 0)
	case missing > 0:
		a.note(NoteOneSide, missing)
	case a.Total.Events == 0:
		a.note(analytics.NoteNoEvents, 0)
	default:
		return a.contrast(rows, level, versus, how)
	}
	return nil
}

// sessionsOf counts the sessions behind some groups.
func sessionsOf(rows *facts.Rows, groups ...int) int {
	seen := make([]bool, rows.Sessions)
	n := 0
	for row, cell := range rows.Cell {
		if s := rows.Session[row]; !seen[s] && slices.Contains(groups, int(rows.Group[cell])) {
			seen[s] = true
			n++
		}
	}
	return n
}

// testTrend tests how the outcome goes as a number grows.
func (a *Answer) testTrend(rows *facts.Rows, how analytics.Comparing) error {
	a.Total = sideOf(rows.Groups...)
	a.Total.Sessions = rows.Sessions
	switch {
	case len(rows.Groups) == 0:
		a.note(analytics.NoteNothing, 0)
	case len(rows.Groups) == 1:
		a.note(NoteOneValue, 0)
	case a.Total.Events == 0:
		a.note(analytics.NoteNoEvents, 0)
	default:
		return a.slope(rows, how)
	}
	return nil
}
