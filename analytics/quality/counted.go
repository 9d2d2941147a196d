package quality

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"slices"

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

type countedMonthJSON struct {
	Angler       string                    `json:"angler"`
	Month        string                    `json:"month"` // 2026-05
	Stints       int                       `json:"stints"`
	Hours        float64                   `json:"hours"`
	Assumed      int                       `json:"assumed_stints"` // nothing was said of them
	AssumedHours float64                   `json:"assumed_hours"`
	Recorded     map[string]countedKindRow `json:"recorded"` // by kind
}

type countedKindRow struct {
	Said  int     `json:"said_stints"` // count was kept, as was said of them
	Share float64 `json:"share"`       // of all stints, the assumed ones taken in
}

type uncountedRunJSON struct {
	Angler   string       `json:"angler"`
	Kind     string       `json:"kind"`
	First    journal.Date `json:"first"`
	Last     journal.Date `json:"last"`
	Stints   int          `json:"stints"`
	Hours    float64      `json:"hours"`
	Expected float64      `json:"expected"`
	P        float64      `json:"p"`
}

// MarshalJSON writes all of it.
func (c Counted) MarshalJSON() ([]byte, error) {
	months, runs := []countedMonthJSON{}, []uncountedRunJSON{}
	for _, m := range c.Months {
		row := countedMonthJSON{m.Angler, fmt.Sprintf("%04d-%02d", m.Year, m.Month), m.Stints, m.Hours, m.Assumed, m.AssumedHours, map[string]countedKindRow{}}
		for _, k := range journal.Kinds() {
			row.Recorded[k.String()] = countedKindRow{m.Kept[k], m.Share(k)}
		}
		months = append(months, row)
	}
	for _, r := range c.Runs {
		runs = append(runs, uncountedRunJSON{r.Angler, r.Kind.String(), r.First, r.Last, r.Stints, r.Hours, r.Expected, r.P})
	}
	return json.Marshal(map[string]any{"months": months, "runs": runs})
}
