package sheet_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/journaltest"
	"rigtally/journal/pg"
	"rigtally/journal/sheet"
)

func sample(t testing.TB, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("..", "..", "testdata", "samples", name))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func readSheet(t testing.TB, text, name string, opt sheet.Options) *sheet.Sheet {
	t.Helper()
	s, err := sheet.Read(t.Context(), strings.NewReader(text), name, opt)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// totals adds up events by the names of the guide book's columns.
func totals(c journal.Contents) (stints int, sum map[string]int) {
	sum = map[string]int{}
	for _, s := range c.Sessions {
		stints += len(s.Stints)
		for _, st := range s.Stints {
			for _, e := range st.Events {
				switch e.Kind {
				case journal.EventHookup:
					sum["Hooked"] += e.Count
				case journal.EventSnag:
					sum["Snags"] += e.Count
				case journal.EventTangle:
					sum["Tangles"] += e.Count
				}
				if e.Hooking == journal.Foul {
					sum["Foul"] += e.Count
				}
				switch e.Ending {
				case journal.Landed:
					sum["To hand"] += e.Count
				case journal.Lost:
					sum["Lost"] += e.Count
				}
				if e.BreakPlace == journal.BrokeJunction {
					sum["Broke at knot"] += e.Count
				}
			}
		}
	}
	return stints, sum
}

// The guide book imports whole. What it must come to is added up here from the
// file, read by encoding/csv, and stands in its own last row, which is wrong
// about the tangles alone: its rows hold 159, and the row of totals says 174.
func TestGuideBook(t *testing.T) {
	t.Parallel()
	text := string(sample(t, "guide-book-2025.csv"))
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	header, total := rows[0], rows[len(rows)-1]
	data, want := 0, map[string]int{}
	for _, row := range rows[1 : len(rows)-1] {
		if row[1] != "" {
			data++
		}
		for i, h := range header {
			n, _ := strconv.Atoi(row[i]) // blanks and dashes are nothing
			want[h] += n
		}
	}

	store := journaltest.Store(t)
	table := readSheet(t, text, "guide-book-2025.csv", sheet.Options{Units: units.US})
	var reasons []string
	for _, s := range table.Skipped {
		reasons = append(reasons, s.Why)
	}
	if want := []string{"blank", "blank", `a total ("TOTAL")`}; !slices.Equal(reasons, want) {
		t.Errorf("skipped %q, want %q", reasons, want)
	}
	r, err := table.Import(t.Context(), store, sheet.How{})
	if err != nil {
		t.Fatal(err)
	}
	c := journaltest.Contents(t, store)
	stints, sum := totals(c)
	if stints != data || r.Stints != data {
		t.Errorf("%d stints in the journal, %d reported, want %d", stints, r.Stints, data)
	}
	for i, h := range header {
		stated, err := strconv.Atoi(total[i])
		if err != nil {
			continue // no sum stands in this column
		}
		if sum[h] != want[h] {
			t.Errorf("%s: %d, want %d", h, sum[h], want[h])
		}
		warned := slices.ContainsFunc(table.Warnings, func(w string) bool {
			return strings.Contains(w, fmt.Sprintf("says %d for %s, but the rows above it add up to %d", stated, h, want[h]))
		})
		if warned != (stated != want[h]) {
			t.Errorf("%s: stated %d, rows %d, warnings %q", h, stated, want[h], table.Warnings)
		}
	}
	// 1 in = 25.4 mm, 1 cfs = 0.028316846592 m³/s (NIST SP 811, App. B.8).
	first := c.Sessions[1]
	if got := *first.FlowM3S; first.Day.String() != "2025-04-07" || got != 140*0.028316846592 {
		t.Errorf("flow of %s is %v", first.Day, got)
	}
	rig, err := store.RigByID(t.Context(), first.Stints[0].RigID)
	if err != nil {
		t.Fatal(err)
	}
	if got := rig.Positions[0]; *got.TagLengthMM != 165.1 || got.Junction != "figure-eight" || got.Bulk != "slim" || got.Position != 1 {
		t.Errorf(`6 1/2" on a figure eight became %+v`, got)
	}

	again := journaltest.Import(t, store, text, sheet.Options{Units: units.US})
	if again.Added != 0 || again.AlreadyThere != r.Added || len(again.Differ)+len(again.NewAnglers)+len(again.NewRigs)+len(again.NewWaters) != 0 {
		t.Errorf("a second import did %+v", again)
	}
}

// expected is what an import of a sample must hold, by the samples' own word.
type expected struct {
	Stints, Minutes, Hookups, Lost int
	Tangles                        any // a number, or that they were not recorded
	NotRecorded                    int `json:"tangles_not_recorded_stints"`
	TangleMinutes                  int `json:"tangle_minutes"`
	Sheets                         int
	ByJunction                     map[string]expected `json:"by_junction"`
}

// holding adds up what a journal holds, by junction too.
func holding(c journal.Contents) (all expected, by map[string]expected) {
	by = map[string]expected{}
	rigs := map[journal.ID]journal.Rig{}
	for _, r := range c.Rigs {
		rigs[r.ID] = r
	}
	tangles := map[string]int{}
	for _, s := range c.Sessions {
		for _, st := range s.Stints {
			knot := string(rigs[st.RigID].Positions[0].Junction)
			e := by[knot]
			all.Stints, e.Stints = all.Stints+1, e.Stints+1
			all.Minutes, e.Minutes = all.Minutes+int(*st.Minutes), e.Minutes+int(*st.Minutes)
			if st.Recorded.Has(journal.KindTangles) {
				all.TangleMinutes += int(*st.Minutes)
			} else {
				all.NotRecorded++
			}
			for _, event := range st.Events {
				switch {
				case event.Kind == journal.EventTangle:
					tangles[""], tangles[knot] = tangles[""]+event.Count, tangles[knot]+event.Count
				case event.Kind == journal.EventHookup:
					all.Hookups += event.Count
					if event.Ending == journal.Lost {
						all.Lost += event.Count
					}
				}
			}
			by[knot] = e
		}
	}
	all.Tangles = tangles[""]
	for knot, e := range by {
		e.Tangles = tangles[knot]
		by[knot] = e
	}
	return all, by
}

// Every sample holds what its file of expectations says, and importing it again adds nothing.
func TestSamplesHoldWhatIsExpected(t *testing.T) {
	t.Parallel()
	var want map[string]expected
	if err := json.Unmarshal(sample(t, "expected.json"), &want); err != nil {
		t.Fatal(err)
	}
	if len(want) != 5 {
		t.Errorf("%d samples are expected", len(want))
	}
	for name, want := range want {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			store := journaltest.Store(t)
			s := readSheet(t, string(sample(t, name)), name, sheet.Options{})
			r, err := s.Import(t.Context(), store, sheet.How{})
			if err != nil {
				t.Fatal(err)
			}
			got, by := holding(journaltest.Contents(t, store))
			if got.Stints != want.Stints || r.Stints != want.Stints || got.Minutes != want.Minutes {
				t.Errorf("%d stints of %d min, want %d of %d", got.Stints, got.Minutes, want.Stints, want.Minutes)
			}
			if n, ok := want.Tangles.(float64); ok && got.Tangles != int(n) || !ok && (got.NotRecorded != got.Stints || got.Tangles != 0) {
				t.Errorf("%v tangles, want %v", got.Tangles, want.Tangles)
			}
			if want.NotRecorded > 0 && (got.NotRecorded != want.NotRecorded || got.TangleMinutes != want.TangleMinutes) {
				t.Errorf("not recorded in %d stints, %d minutes, want %d and %d", got.NotRecorded, got.TangleMinutes, want.NotRecorded, want.TangleMinutes)
			}
			if want.Hookups > 0 && got.Hookups != want.Hookups || want.Lost > 0 && got.Lost != want.Lost || len(s.Sheets) != want.Sheets {
				t.Errorf("%d hooked, %d lost, in %d sheets, want %+v", got.Hookups, got.Lost, len(s.Sheets), want)
			}
			for knot, want := range want.ByJunction {
				if got := by[knot]; got.Stints != want.Stints || got.Minutes != want.Minutes || float64(got.Tangles.(int)) != want.Tangles {
					t.Errorf("%s: %+v, want %+v", knot, got, want)
				}
			}
			if again, err := readSheet(t, string(sample(t, name)), name, sheet.Options{}).Import(t.Context(), store, sheet.How{}); err != nil || again.AlreadyThere != r.Added || again.Added != 0 {
				t.Errorf("again: %+v, %v", again, err)
			}
		})
	}
}

// Exactly the three rows that the samples' README calls bad are refused.
func TestMetricNotebook(t *testing.T) {
	t.Parallel()
	text := string(sample(t, "metric-notebook.csv"))
	store := journaltest.Store(t)
	table := readSheet(t, text, "metric-notebook.csv", sheet.Options{Units: units.Metric})
	var got []string
	for _, b := range table.Bad {
		got = append(got, strings.Join([]string{strconv.Itoa(b.Row), b.Column, b.Value}, " | "))
	}
	want := []string{"14 | minutes | -30", "27 | landed | 3", "42 | Datum (TT.MM.JJJJ) | 31.02.2025"}
	if !slices.Equal(got, want) {
		t.Fatalf("bad cells %q, want %q", got, want)
	}
	for _, b := range table.Bad {
		if b.Problem == "" || b.Remedy == "" {
			t.Errorf("row %d has no problem or no remedy: %+v", b.Row, b)
		}
	}
	var refused *sheet.Refused
	if _, err := table.Import(t.Context(), store, sheet.How{}); !errors.As(err, &refused) || refused.BadRows != 3 {
		t.Fatalf("importing gave %v", err)
	}
	if c := journaltest.Contents(t, store); len(c.Sessions)+len(c.Anglers)+len(c.Waters)+len(c.Rigs) != 0 {
		t.Error("something was written all the same")
	}

	r, err := table.Import(t.Context(), store, sheet.How{AllowBad: true})
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Count(strings.TrimSpace(text), "\n")
	if r.Rows != lines-3 || r.Rejected != 3 || r.Stints != lines-3 {
		t.Errorf("without the bad rows: %+v, want %d rows", r, lines-3)
	}

	// The rejects, corrected, join the sessions that they belong to, once.
	var rejects bytes.Buffer
	if err := table.WriteRejects(&rejects); err != nil {
		t.Fatal(err)
	}
	corrected := strings.NewReplacer(";-30;", ";30;", "slim;0;0;3;0;", "slim;3;0;3;0;", "31.02.2025", "13.06.2025").Replace(rejects.String())
	r = journaltest.Import(t, store, corrected, sheet.Options{Units: units.Metric})
	if r.Stints != 3 || r.Extended != 1 || r.Added != 2 {
		t.Errorf("the corrected rejects did %+v", r)
	}
	if stints, _ := totals(journaltest.Contents(t, store)); stints != lines {
		t.Errorf("%d stints at the end, want %d", stints, lines)
	}
	for what, text := range map[string]string{"rejects": corrected, "notebook": text} {
		r, err := readSheet(t, text, what, sheet.Options{Units: units.Metric}).Import(t.Context(), store, sheet.How{AllowBad: true})
		if err != nil {
			t.Fatal(err)
		}
		if r.Added+r.Extended+len(r.Differ) != 0 {
			t.Errorf("importing the %s again did %+v", what, r)
		}
	}
}

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, pg.Migrate)) }
