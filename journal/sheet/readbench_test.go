package sheet_test

import (
	"strings"
	"testing"

	"rigtally/internal/units"
	"rigtally/journal/sheet"
)

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
