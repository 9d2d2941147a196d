package analytics_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"testing"
	"time"

	"rigtally/journal"
	"rigtally/journal/pg"
)

// answerCase is a case of testdata/reference/corrected.json or curves.json,
// whose expected values answers.R there computes with R.
type answerCase struct {
	ID              string
	Outcome, By     string
	Versus          string
	Given           []string
	Levels          map[string][]string
	Knots, Boundary []float64
	Data            inventedRows
	Expected        struct {
		Ratio, Low, High, P, DF []float64
		Rate                    []float64
		SELog                   []float64 `json:"se_log"`
		MattersP                float64   `json:"matters_p"`
		BendsP                  float64   `json:"bends_p"`
	}
}

// inventedRows are stints with one dropper each, column by column.
type inventedRows struct {
	Session     []int
	Angler      []string
	Flow        []float64
	Junction    []string
	TagMM       []float64 `json:"tag_mm"`
	Bulk        []string
	Minutes     []int
	Tangles     []int
	MinutesLost []int `json:"minutes_lost"`
	Hookups     []int
	Snags       []int
	Breaks      []int
}

func answerCases(t *testing.T, file string) (cases []answerCase, tolerance float64) {
	t.Helper()
	raw := reference(t, file)
	content := struct {
		Tolerance float64
		Cases     []answerCase
	}{}
	if err := json.Unmarshal(raw, &content); err != nil {
		t.Fatalf("%s: %v", file, err)
	}
	if len(content.Cases) == 0 || content.Tolerance <= 0 {
		t.Fatalf("%s: %d cases, tolerance %g", file, len(content.Cases), content.Tolerance)
	}
	return content.Cases, content.Tolerance
}

// agree fails unless two values agree to a relative tolerance.
func agree(t *testing.T, what string, got *float64, want, tol float64) {
	t.Helper()
	if got == nil {
		t.Errorf("%s: none, want %.10g", what, want)
	} else if !(math.Abs(*got-want) <= tol*math.Abs(want)) {
		t.Errorf("%s: %.12g, want %.12g", what, *got, want)
	}
}

// store puts the rows into a journal, in the given order.
func (d inventedRows) store(t testing.TB, s *pg.Store, order []int) {
	t.Helper()
	ctx := context.Background()
	water, _, err := s.WaterNamed(ctx, "Alder Brook", "")
	if err != nil {
		t.Fatal(err)
	}
	add := journal.Addition{}
	rigs, sessions := map[string]journal.ID{}, map[int]int{}
	for _, i := range order {
		name := fmt.Sprint(d.Junction[i], d.TagMM[i], d.Bulk[i])
		if _, ok := rigs[name]; !ok {
			rig := journal.Rig{ID: id(t), Name: name, Revision: 1, CreatedAt: time.Now(), Positions: []journal.RigPosition{
				{Position: 1, Hang: journal.HangTag, Junction: journal.Junction(d.Junction[i]), TagLengthMM: &d.TagMM[i], Bulk: journal.Bulk(d.Bulk[i])}}}
			rigs[name] = rig.ID
			add.Rigs = append(add.Rigs, rig)
		}
		if _, ok := sessions[d.Session[i]]; !ok {
			angler, err := s.AnglerNamed(ctx, d.Angler[i])
			if err != nil {
				t.Fatal(err)
			}
			sessions[d.Session[i]] = len(add.Sessions)
			add.Sessions = append(add.Sessions, journal.Session{ID: id(t), AnglerID: angler.ID, WaterID: water.ID, Day: journal.Date{Year: 2026, Month: 5, Day: 1},
				TimeZone: "UTC", Version: 1, LoggedAt: time.Now(), FlowM3S: &d.Flow[i]})
		}
		session := &add.Sessions[sessions[d.Session[i]]]
		session.Stints = append(session.Stints, journal.Stint{ID: id(t), RigID: rigs[name], Minutes: new(float64(d.Minutes[i])), Events: d.events(i)})
	}
	if err := s.Add(ctx, add, nil); err != nil {
		t.Fatal(err)
	}
}

// events are what happened in a row; breaks are among its hookups.
func (d inventedRows) events(i int) []journal.Event {
	var list []journal.Event
	add := func(n int, e journal.Event) {
		if n > 0 {
			e.Count, e.Position = n, new(1)
			list = append(list, e)
		}
	}
	if n := d.Tangles[i]; n > 0 {
		add(n-1, journal.Event{Kind: journal.EventTangle, MinutesLost: new(0)})
		add(1, journal.Event{Kind: journal.EventTangle, MinutesLost: new(d.MinutesLost[i])})
	}
	add(d.Breaks[i], journal.Event{Kind: journal.EventHookup, Hooking: journal.Fair, Ending: journal.BrokeOff, BreakPlace: journal.BrokeJunction})
	add(d.Hookups[i]-d.Breaks[i], journal.Event{Kind: journal.EventHookup, Hooking: journal.Fair, Ending: journal.Landed})
	add(d.Snags[i], journal.Event{Kind: journal.EventSnag, Ending: journal.Freed})
	return list
}

// inOrder is 0 to the number of rows.
func (d inventedRows) inOrder() []int {
	order := make([]int, len(d.Session))
	for i := range order {
		order[i] = i
	}
	return order
}

// add appends an outing of an hour with each of the junctions, and tangles in each.
func (d *inventedRows) add(angler string, tangles int, junctions ...string) {
	session := 1
	if n := len(d.Session); n > 0 {
		session = d.Session[n-1] + 1
	}
	for _, j := range junctions {
		d.Session, d.Angler, d.Flow = append(d.Session, session), append(d.Angler, angler), append(d.Flow, 4)
		d.Junction, d.TagMM, d.Bulk = append(d.Junction, j), append(d.TagMM, 100+10*float64(session%8)), append(d.Bulk, "slim")
		d.Minutes, d.Tangles, d.MinutesLost = append(d.Minutes, 60), append(d.Tangles, tangles), append(d.MinutesLost, tangles)
		d.Hookups, d.Snags, d.Breaks = append(d.Hookups, 0), append(d.Snags, 0), append(d.Breaks, 0)
		tangles++
	}
}

// split divides every row that can be into two of half its minutes.
func (d inventedRows) split() inventedRows {
	var out inventedRows
	add := func(i, minutes, tangles, lost, hookups, snags, breaks int) {
		out.Session, out.Angler, out.Flow = append(out.Session, d.Session[i]), append(out.Angler, d.Angler[i]), append(out.Flow, d.Flow[i])
		out.Junction, out.TagMM, out.Bulk = append(out.Junction, d.Junction[i]), append(out.TagMM, d.TagMM[i]), append(out.Bulk, d.Bulk[i])
		out.Minutes, out.Tangles, out.MinutesLost = append(out.Minutes, minutes), append(out.Tangles, tangles), append(out.MinutesLost, lost)
		out.Hookups, out.Snags, out.Breaks = append(out.Hookups, hookups), append(out.Snags, snags), append(out.Breaks, breaks)
	}
	for i := range d.Session {
		half := d.Minutes[i] / 2
		add(i, half, d.Tangles[i], d.MinutesLost[i], d.Hookups[i], 0, d.Breaks[i])
		add(i, d.Minutes[i]-half, 0, 0, 0, d.Snags[i], 0)
	}
	return out
}
