package gauge

import (
	"slices"
	"time"
)

// Span is from one moment up to another; the zero one is no time at all.
type Span struct{ From, To time.Time }

// With is from the earlier beginning of two to the later end.
func (s Span) With(o Span) Span {
	switch {
	case s == Span{}:
		return o
	case o == Span{}:
		return s
	}
	if o.From.Before(s.From) {
		s.From = o.From
	}
	if o.To.After(s.To) {
		s.To = o.To
	}
	return s
}

// Join puts spans in order, and makes one of those that meet, or are no further apart than a gap.
func Join(list []Span, gap time.Duration) (joined []Span) {
	list = slices.Clone(list)
	slices.SortFunc(list, func(a, b Span) int { return a.From.Compare(b.From) })
	for _, s := range list {
		if n := len(joined); n > 0 && s.From.Sub(joined[n-1].To) <= gap {
			joined[n-1] = joined[n-1].With(s)
			continue
		}
		joined = append(joined, s)
	}
	return joined
}
