package main

import (
	"math"
	"strings"
	"testing"
)

// A benchmark of wrong answers is worth nothing: what R says is read, and a difference refused.
func TestADifferenceFromRIsRefused(t *testing.T) {
	t.Parallel()
	r, err := readR([]byte("time\tread\t0.5\nrows\trows\t100\ntime\twritten\t2\ntime\twritten\t3\nestimate\twritten\tdouble surgeon's\t0.1\t0.02\nestimate\twritten\tuni\t-0.2\t0.03\n"))
	if err != nil {
		t.Fatal(err)
	}
	if r.rows != 100 || r.read != seconds(0.5) || len(r.times["written"]) != 2 {
		t.Errorf("read %+v", r)
	}
	same := []estimate{{"uni", -0.2, 0.03}, {"double surgeon's", 0.1, math.NaN()}}
	if err := r.compare("written", same); err != nil {
		t.Error(err)
	}
	for problem, ours := range map[string][]estimate{
		"uni, log":            {{"uni", -0.2 + 2e-6, 0.03}, same[1]},
		"uni, standard error": {{"uni", -0.2, 0.03 * (1 + 2e-6)}, same[1]},
		"nail":                {{"nail", -0.2, 0.03}, same[1]},
		"2 estimates":         same[:1],
		"NaN":                 {{"uni", math.NaN(), 0.03}, same[1]},
		"we have 0":           nil,
	} {
		if err := r.compare("written", ours); err == nil || !strings.Contains(err.Error(), problem) {
			t.Errorf("%s: %v", problem, err)
		}
	}
}
