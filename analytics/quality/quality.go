// Package quality says whether counts are right and how well a journal is kept: what was counted, what was rounded, which bad days are missing.
package quality

import (
	"context"
	"encoding/json"

	"rigtally/analytics/answer"
	"rigtally/analytics/change"
	"rigtally/journal"
)

// Inspected is a journal that can be checked; *pg.Store is one.
type Inspected interface {
	Recount(ctx context.Context, repair bool, progress func(done, total int64)) (journal.Recount, error)
	Quality(ctx context.Context) (journal.Quality, error)
	change.Historian
}

// Report says whether a journal's counts are right and how well it is kept.
type Report struct {
	journal.Quality // Impossible is what cannot be, of stints and of whole sessions
	Recount         journal.Recount
	Heaping         []Heaping
	Quiet           Quiet
	Counted         Counted
	Changed         []change.Finding // what was changed because of what had happened
}

// Defects reports whether counts are kept that are not, or may not be, those of
// the events. Everything else in a report is a remark.
func (r Report) Defects() bool {
	return r.Recount.Uncounted > 0 || r.Recount.Wrong > 0 && !r.Recount.Repaired
}

// Check counts a journal's events again, with repair writes wrong counts anew,
// and looks at how well the journal is kept. Progress, which may be nil, is told
// of stints counted.
func Check(ctx context.Context, j Inspected, repair bool, progress func(done, total int64)) (Report, error) {
	recount, err := j.Recount(ctx, repair, progress)
	if err != nil {
		return Report{}, err
	}
	q, err := j.Quality(ctx)
	if err != nil {
		return Report{}, err
	}
	r := Report{Quality: q, Recount: recount, Counted: counted(q.Days)}
	r.Impossible.Count += recount.Impossible.Count
	r.Impossible.First = append(recount.Impossible.First, q.Impossible.First...)
	r.Impossible.First = r.Impossible.First[:min(len(r.Impossible.First), journal.MostListed)]
	if r.Heaping, err = heaped(q); err != nil {
		return Report{}, err
	}
	if r.Quiet, err = quiet(q); err != nil {
		return Report{}, err
	}
	r.Changed, err = change.All(ctx, j)
	return r, err
}

// MarshalJSON writes the report for other programs. Lists hold the first
// journal.MostListed of what their counts say.
func (r Report) MarshalJSON() ([]byte, error) {
	sessions := func(l journal.SessionList) object { return object{"count": l.Count, "first": answer.List(l.First)} }
	c := r.Recount
	return json.Marshal(object{
		"sessions": r.Sessions,
		"stints":   r.Stints,
		"defects":  r.Defects(),
		"counts": object{"stints": c.Stints, "wrong": c.Wrong, "uncounted": c.Uncounted, "repaired": c.Repaired,
			"differences": c.Differences, "first": answer.List(c.First)},
		"impossible":          journal.ImpossibleList{Count: r.Impossible.Count, First: answer.List(r.Impossible.First)},
		"heaping":             answer.List(r.Heaping),
		"logged_late":         object{"sessions": sessions(r.Late), "together": r.Imported},
		"without_minutes":     object{"stints": r.UntimedStints, "sessions": sessions(r.Untimed)},
		"without_tag_length":  answer.List(r.Untagged),
		"without_a_bad_event": r.Quiet,
		"what_was_counted":    r.Counted,
		"changed":             answer.List(r.Changed),
	})
}
