package read

import (
	"bytes"
	"errors"
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"rigtally/journal"
	"rigtally/journal/gauge"
)

// FuzzAny holds whatever is taken to what the rest of the program relies on.
func FuzzAny(f *testing.F) {
	list, err := filepath.Glob("testdata/*.*")
	if err != nil {
		f.Fatal(err)
	}
	for _, path := range list {
		text, err := os.ReadFile(path)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
	}
	for _, c := range tables {
		f.Add([]byte(c.text))
	}
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		found, err := Any("F", bytes.NewReader(text), Options{Now: now, Zone: zone, Site: gauge.Site{Provider: "mine", Number: "1"}, Quantity: gauge.Flow, Unit: "cfs", MaxReadings: 1000})
		var invalid *journal.Invalid
		if err != nil {
			if !errors.As(err, &invalid) {
				t.Fatalf("not a message for a person: %v", err)
			}
			return
		}
		seen := map[seriesKey]bool{}
		for _, s := range found.Series {
			if seen[keyOf(s)] || len(s.Readings) == 0 || s.Provider == "" || !numbered(s.Number) {
				t.Fatalf("series %+v", s)
			}
			seen[keyOf(s)] = true
			limits := limitsOf(s.Quantity)
			for i, r := range s.Readings {
				switch {
				case i > 0 && !s.Readings[i-1].At.Before(r.At), r.At.Year() < firstYear, r.At.After(now.AddDate(0, 0, 2)),
					math.IsNaN(r.Value) && r.Flags&noValue == 0, math.IsInf(r.Value, 0), r.Value < limits.least, r.Value > limits.most,
					s.Statistic == gauge.DailyMean && !r.At.Equal(r.At.Truncate(24*time.Hour)):
					t.Fatalf("reading %d: %+v", i, r)
				}
			}
		}
		if len(found.Series)+len(found.Gauges) == 0 && len(found.Notes) == 0 {
			t.Fatal("nothing was found, and nothing says so")
		}
	})
}
