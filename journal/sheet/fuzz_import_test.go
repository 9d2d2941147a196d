package sheet_test

import (
	"bytes"
	"maps"
	"os"
	"path/filepath"
	"testing"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/journaltest"
	"rigtally/journal/sheet"
)

// addedUp is what happened in stints, added up.
func addedUp(stints []journal.Stint) map[string]float64 {
	sum := map[string]float64{"stints": float64(len(stints))}
	for _, st := range stints {
		if st.Minutes != nil {
			sum["seconds"] += float64(*st.Seconds())
		}
		for key, n := range happened(st.Events) {
			sum[key] += float64(n)
		}
	}
	return sum
}

func heldTotals(t *testing.T, s *sheet.Sheet) map[string]float64 {
	t.Helper()
	held, err := s.Held()
	if err != nil {
		t.Fatal(err)
	}
	var stints []journal.Stint
	for _, h := range held {
		stints = append(stints, h.Stint)
	}
	return addedUp(stints)
}

// FuzzImported brings any bytes that are a sheet into a journal: what it holds then, and the flat CSV that it writes,
// have the counts of the sheet, and no others.
func FuzzImported(f *testing.F) {
	for _, name := range []string{"guide-book-2025.csv", "metric-notebook.csv", "rigs-in-columns.csv", "times-not-minutes.csv"} {
		text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "samples", name))
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text[:min(len(text), 900)], name != "metric-notebook.csv")
	}
	f.Add([]byte("date,angler,water,minutes,hookups,landed,tangles\n2025-04-01,a,b,60,3,1,2\n2025-04-01,a,b,30,0,0,0\n2025-04-02,c,b,45,1,1,-\n"), false)
	f.Fuzz(func(t *testing.T, text []byte, us bool) {
		options := sheet.Options{Angler: "a", Water: "b", Units: units.Metric, Accept: true}
		if us {
			options.Units = units.US
		}
		s, err := sheet.Read(t.Context(), bytes.NewReader(text), "fuzz.csv", options)
		if err != nil || s.BadRows() > 0 || len(s.Stops) > 0 {
			return
		}
		want := heldTotals(t, s)
		store := journaltest.Store(t)
		if _, err := s.Import(t.Context(), store, sheet.How{}); err != nil {
			if n := len(journaltest.Contents(t, store).Sessions); n > 0 {
				t.Errorf("%d sessions are there of an import that failed: %v", n, err)
			}
			return
		}
		var stored []journal.Stint
		for _, session := range journaltest.Contents(t, store).Sessions {
			stored = append(stored, session.Stints...)
		}
		if got := addedUp(stored); !maps.Equal(got, want) {
			t.Errorf("the sheet has %v, and the journal %v", want, got)
		}
		flat, err := sheet.Read(t.Context(), bytes.NewReader([]byte(writeCSV(t, store))), "export.csv", sheet.Options{Units: options.Units, Accept: true})
		if err != nil {
			t.Fatal(err)
		}
		if got := heldTotals(t, flat); len(stored) > 0 && !maps.Equal(got, want) {
			t.Errorf("the sheet has %v, and the flat CSV %v", want, got)
		}
	})
}
