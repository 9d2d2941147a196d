package command

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"rigtally/cmd/rigtally/terminal"
	"rigtally/journal"
	"rigtally/journal/pg"
)

// Last is the word for the newest of a kind, wherever an id is taken.
const Last = "last"

// IsBeginning reports whether a text may be the beginning of an id rather than a name.
func IsBeginning(text string) bool {
	letters := strings.Trim(strings.ToLower(strings.TrimSpace(text)), "0123456789abcdef-")
	return letters == "" && len(text) >= 4 || strings.EqualFold(text, Last)
}

// Which finds one of a kind by the beginning of its id, or the newest by the word for it.
func (j Journal) Which(ctx context.Context, kind pg.ListKind, text string) (id journal.ID, err error) {
	if text = strings.TrimSpace(text); !strings.EqualFold(text, Last) {
		id, err = j.FindID(ctx, kind, text)
		return id, terminal.OfQuestion(err)
	}
	var list []journal.ID
	switch kind {
	case pg.ListSessions:
		lines, _, failed := j.SessionLines(ctx, journal.SessionFilter{Limit: 1})
		list, err = Keys(lines, func(l journal.SessionLine) journal.ID { return l.ID }), failed
	case pg.ListDeleted:
		deleted, failed := j.DeletedSessions(ctx)
		list, err = Keys(deleted, func(d journal.DeletedSession) journal.ID { return d.ID }), failed
	case pg.ListPulls:
		pulls, failed := j.BenchPulls(ctx)
		slices.Reverse(pulls)
		list, err = Keys(pulls, func(p journal.BenchPull) journal.ID { return p.ID }), failed
	case pg.ListTrials:
		trials, failed := j.Trials(ctx)
		slices.SortStableFunc(trials, func(a, b journal.Trial) int { return b.PlannedAt.Compare(a.PlannedAt) })
		list, err = Keys(trials, func(t journal.Trial) journal.ID { return t.ID }), failed
	case pg.ListSteps:
		steps, failed := j.Steps(ctx, 1)
		list, err = Keys(steps, func(s journal.Step) journal.ID { return s.ID }), failed
	default:
		return id, terminal.Misusef("which %s is the last is not known; write its name or its id", kind)
	}
	if err == nil && len(list) == 0 {
		err = fmt.Errorf("find the last %s: %w", kind, journal.ErrNotFound)
	}
	if err != nil {
		return id, err
	}
	return list[0], nil
}
