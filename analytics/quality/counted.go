package quality

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"slices"

	"rigtally/analytics/answer"
	"rigtally/journal"
)

// Counted says of what anglers kept count, and where that is doubtful.
type Counted struct {
	Months []CountedMonth // by angler and time
	Runs   []UncountedRun // by angler, kind and time
}

// CountedMonth is of what an angler kept count in a month.
type CountedMonth struct {
	Angler      string
	Year, Month int
	Stints      int
	Hours       float64 // of stints with minutes noted
	// Assumed are the stints of which nothing was said: all kinds are taken to have been counted.
	Assumed      int
	AssumedHours float64
	Kept         []int // by kind: stints of which it was said that count was kept
}

// Share is the part of the stints of which count of a kind was kept, or is assumed to have been.
func (m CountedMonth) Share(k journal.Kind) float64 {
	return float64(m.Assumed+m.Kept[k]) / float64(m.Stints)
}

// CountKeeper is a journal that says what was counted; *pg.Store is one.
type CountKeeper interface {
	CountedDays(ctx context.Context) ([]journal.CountedDay, error)
}

// WhatWasCounted looks at what was counted in a whole journal.
func WhatWasCounted(ctx context.Context, j CountKeeper) (Counted, error) {
	days, err := j.CountedDays(ctx)
	return counted(days), err
}

func counted(days []journal.CountedDay) Counted {
	days = slices.Clone(days)
	slices.SortStableFunc(days, func(a, b journal.CountedDay) int {
		return cmp.Or(cmp.Compare(a.Angler, b.Angler), cmp.Compare(a.Day.String(), b.Day.String()))
	})
	var c Counted
	for _, d := range days {
		last := len(c.Months) - 1
		if last < 0 || c.Months[last].Angler != d.Angler || c.Months[last].Year != d.Day.Year || c.Months[last].Month != int(d.Day.Month) {
			c.Months = append(c.Months, CountedMonth{Angler: d.Angler, Year: d.Day.Year, Month: int(d.Day.Month), Kept: make([]int, len(journal.Kinds()))})
			last++
		}
		c.Months[last].add(d)
	}
	c.Runs = uncounted(days)
	return c
}

func (m *CountedMonth) add(d journal.CountedDay) {
	m.Stints += d.Stints
	m.Hours += d.Hours
	if d.Recorded.Assumed() {
		m.Assumed += d.Stints
		m.AssumedHours += d.Hours
		return
	}
	for _, k := range d.Recorded.Kinds() {
		m.Kept[k] += d.Stints
	}
}

// object is one as JSON has it.
type object = map[string]any

// MarshalJSON writes all of it.
func (c Counted) MarshalJSON() ([]byte, error) {
	return json.Marshal(object{"months": answer.Each(c.Months, CountedMonth.json), "runs": answer.Each(c.Runs, UncountedRun.json)})
}

// json says of each kind in how many stints count was kept, as was said of them, and their share of
// all, the assumed ones taken in.
func (m CountedMonth) json() object {
	recorded := object{}
	for _, k := range journal.Kinds() {
		recorded[k.String()] = object{"said_stints": m.Kept[k], "share": m.Share(k)}
	}
	return object{"angler": m.Angler, "month": fmt.Sprintf("%04d-%02d", m.Year, m.Month), "stints": m.Stints, "hours": m.Hours,
		"assumed_stints": m.Assumed, "assumed_hours": m.AssumedHours, "recorded": recorded}
}

func (r UncountedRun) json() object {
	return object{"angler": r.Angler, "kind": r.Kind.String(), "first": r.First, "last": r.Last, "stints": r.Stints, "hours": r.Hours, "expected": r.Expected, "p": r.P}
}
