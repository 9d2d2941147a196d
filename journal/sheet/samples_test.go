package sheet_test

import (
	"bytes"
	"encoding/csv"
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
