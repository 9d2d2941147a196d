package prose_test

import (
	"testing"

	"rigtally/prose"
)

func TestRatesAsPeopleCountThem(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		outcome string
		rate    float64
		want    string
	}{
		{"tangles", 0.434, "one tangle in 2 h 20 min"},
		{"tangles", 1.0 / 9.2, "one tangle in 9 h 10 min"},
		{"tangles", 0.0123, "one tangle in 81 h"},
		{"tangles", 1.87, "one tangle in 32 min"},
		{"tangles", 0, "no tangle"},
		{"hookups", 9.04, "9 hookups an hour"},
		{"landed", 0.5, "one fish landed in 2 h"},
		{"loss", 0.314, "31 lost fish in 100 fair hookups"},
		{"junction-break", 0.0417, "one junction break in 24 loads"},
		{"foul-hook", 0.0996, "one foul hookup in 10 hookups"},
		{"turns", 0.25, "one turn in 4 checks"},
		{"turns", 1.5, "15 turns in 10 checks"},
		{"downtime", 4.32, "4.3 min lost an hour"},
		{"downtime", 0.999, "1 min lost an hour"},
	} {
		if got := prose.Often(outcome(t, tt.outcome), tt.rate); got != tt.want {
			t.Errorf("%s at %g: %q, want %q", tt.outcome, tt.rate, got, tt.want)
		}
	}
}
