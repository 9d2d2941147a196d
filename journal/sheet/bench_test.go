package sheet_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"rigtally/internal/units"
	"rigtally/journal/journaltest"
	"rigtally/journal/sheet"
)

// bigSheet invents a spreadsheet of so many rows, two to a session.
func bigSheet(rows int) string {
	r := rand.New(rand.NewPCG(1, 2))
	var b strings.Builder
	b.WriteString("Date,Angler,Water,Beat,Minutes,Knot,Tag (in),Tippet,Bulk,Hookups,Foul,Landed,Lost,Broke at knot,Snags,Tangles,Twists,Minutes lost,Flow cfs,Water °F,Notes\n")
	knots := []string{"Blood", "figure eight", "Fig 8", "dbl surgeon", "ring"}
	bulks := []string{"slim", "soft hackle", "rubber legs"}
	for n := range rows {
		session := n / 2
		day := time.Date(2000, 1, 1+session%9000, 0, 0, 0, 0, time.UTC)
		hooked := r.IntN(8)
		landed := r.IntN(hooked + 1)
		tangles := r.IntN(4)
		fmt.Fprintf(&b, "%s,Angler %d,Water %d,Beat %d,%d,%s,%g,%dX,%s,%d,%d,%d,%d,0,%d,%d,%d,%d,%d,%d,\n", day.Format("01/02/2006"), session/9000, session%4, session%4,
			30+15*r.IntN(10), knots[r.IntN(5)], 4+0.5*float64(r.IntN(12)), 5+r.IntN(3), bulks[r.IntN(3)], hooked, r.IntN(hooked+1)/4, landed, hooked-landed,
			r.IntN(5), tangles, tangles/2, 3*tangles, 100+10*(session%90), 45+session%20)
	}
	return b.String()
}

// BenchmarkImport reads and writes 100,000 rows, with every rule checked.
func BenchmarkImport(b *testing.B) {
	const rows = 100_000
	text := bigSheet(rows)
	for b.Loop() {
		b.StopTimer()
		store := journaltest.Store(b)
		b.StartTimer()
		began := time.Now()
		table := readSheet(b, text, "big.csv", sheet.Options{Units: units.US})
		read := time.Since(began)
		r, err := table.Import(b.Context(), store, sheet.How{})
		if err != nil {
			b.Fatal(err)
		}
		if r.Stints != rows {
			b.Fatalf("imported %d stints", r.Stints)
		}
		b.ReportMetric(read.Seconds(), "s-reading/op")
		b.ReportMetric(rows/time.Since(began).Seconds(), "rows/s")
	}
}

// BenchmarkRead reads 100,000 rows.
func BenchmarkRead(b *testing.B) {
	text := bigSheet(100_000)
	b.ReportAllocs()
	for b.Loop() {
		s, err := sheet.Read(b.Context(), strings.NewReader(text), "big.csv", sheet.Options{Units: units.US})
		if err != nil || s.Stints != 100_000 {
			b.Fatal(err, s.Stints)
		}
	}
}

// Ensure that a large file goes in whole, and that progress ends at its end.
func TestLargeFile(t *testing.T) {
	t.Parallel()
	const rows = 5000
	store := journaltest.Store(t)
	var done, total int64
	r := journaltest.Import(t, store, bigSheet(rows), sheet.Options{Units: units.US, Progress: func(d, n int64) {
		if d < done {
			t.Errorf("progress goes back from %d to %d", done, d)
		}
		done, total = d, n
	}})
	if r.Stints != rows || done != total || total != rows/2 {
		t.Errorf("%d stints, progress %d of %d", r.Stints, done, total)
	}
}
