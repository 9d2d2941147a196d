// Package inquiry describes each question that may be asked of a journal once: what may be said
// in it, how it is answered, and the words and tables of the answer. Pages, files, the interface
// for programs and commands are made from that.
package inquiry

import (
	"context"

	"rigtally/analytics"
	"rigtally/analytics/bench"
	"rigtally/analytics/change"
	"rigtally/analytics/claim"
	"rigtally/analytics/life"
	"rigtally/analytics/plan"
	"rigtally/analytics/season"
	"rigtally/internal/table"
	"rigtally/internal/units"
	"rigtally/prose"
)

// Source is a journal that questions are asked of; *pg.Store is one.
type Source interface {
	analytics.Asker
	bench.WaterKeeper
	change.Historian
	claim.Keeper
	life.Asker
	plan.Keeper
	season.Keeper
}

// Asking is who asks: of which journal, and in which units people read the answer.
type Asking struct {
	Source Source
	Units  units.System
	Prior  float64 // of best bets, as in journal.Outfit; 0 for the usual one
	Once   Once    // nil asks anew each time
}

// Once answers a request by asking, or hands out what an equal one of the same key came to.
type Once func(ctx context.Context, key string, request any, ask func(context.Context) (any, error)) (any, error)

// Inquiry is a kind of question: a request R that is answered by an A.
type Inquiry[R, A any] struct {
	Description
	Request func(context.Context, Asking, Query) (R, error)
	Answer  func(context.Context, Source, R) (A, error)
	File    func(A) string                    // what a file of the answer is called, without an ending
	Say     func(A, units.System) prose.Said  // for people
	Numbers func(A, units.System) table.Table // for programs, every value in full precision; nil when a table can't hold them
}

// Description is what a person is told of a question before it is asked.
type Description struct {
	Key     string // names it for programs, in addresses and among commands
	Title   string // what it tells, as a command's short help
	Help    string // what it tells, at length
	Use     string // the command with its arguments
	Example string // commands, a line each
	Params  []Param
	Missing string // what to say when a parameter is missing that must be there; "" when none must
}

// Question is an Inquiry whatever its answer.
type Question interface {
	Describe() Description
	Put(context.Context, Asking, Query) (Answer, error)
}

// Answer is what a question came to, in every form.
type Answer struct {
	Data    any // as JSON
	File    string
	Said    func() prose.Said
	Numbers func() table.Table // nil when a table can't hold them
}

// Describe says what may be asked.
func (d Description) Describe() Description { return d }

// Ask answers a query with what its own pages need.
func (i Inquiry[R, A]) Ask(ctx context.Context, in Asking, q Query) (a A, err error) {
	r, err := i.Request(ctx, in, q)
	if err != nil {
		return a, err
	}
	if in.Once == nil {
		return i.Answer(ctx, in.Source, r)
	}
	found, err := in.Once(ctx, i.Key, r, func(ctx context.Context) (any, error) { return i.Answer(ctx, in.Source, r) })
	if err != nil {
		return a, err
	}
	return found.(A), nil
}

// Put answers a query in every form.
func (i Inquiry[R, A]) Put(ctx context.Context, in Asking, q Query) (Answer, error) {
	a, err := i.Ask(ctx, in, q)
	if err != nil {
		return Answer{}, err
	}
	out := Answer{Data: a, File: i.File(a), Said: func() prose.Said { return i.Say(a, in.Units) }}
	if i.Numbers != nil {
		out.Numbers = func() table.Table { return i.Numbers(a, in.Units) }
	}
	return out, nil
}
