// Package inquiry describes each question that may be asked of a journal once: what may be said
// in it, how it is answered, and the answer's words and tables. Pages, files, the interface for
// programs and commands are made from that.
package inquiry

import (
	"context"
	"io"
	"net/url"

	"rigtally/internal/table"
	"rigtally/internal/units"
)

// Inquiry is a kind of question: a request R that is answered by an A.
type Inquiry[R, A any] struct {
	Key     string // names it for programs and as a command
	Title   string // a few words
	Says    string // what the answer is, in a sentence
	Params  []Param
	Request func(Query, units.System) R
	Ask     func(context.Context, Source, R) (A, error)
	Name    func(A) []string                          // what a file of the answer is called
	Table   func(A, units.System) table.Table         // its numbers, for programs a row in full precision
	Text    func(A, units.System, int) string // for a terminal of that many characters
}
