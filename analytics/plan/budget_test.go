package plan_test

import (
	"math"
	"slices"
	"testing"

	"rigtally/analytics/plan"
	"rigtally/internal/units"
	"rigtally/journal"
)

// Worked by hand: (length − least)/waste, whole part.
func TestTagBudgetByHand(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		length, waste, least float64
		changes              int
		after                []float64
		next                 float64
	}{
		{165, 15, 100, 4, []float64{150, 135, 120, 105}, 90}, // 65/15 = 4.33
		{160, 15, 100, 4, []float64{145, 130, 115, 100}, 85}, // 60/15 = 4 exactly: the last is the least
		{150, 12.5, 100, 4, []float64{137.5, 125, 112.5, 100}, 87.5},
		{165.1, 12.7, 101.6, 5, []float64{152.4, 139.7, 127, 114.3, 101.6}, 88.9}, // 6½ in, ½ in each, down to 4 in
		{100, 15, 100, 0, nil, 85},
		{80, 15, 100, 0, nil, 65},
		{10, 30, 5, 0, nil, -20},
		{0.3, 1, 0.1, 0, nil, -0.7},
	} {
		b, err := plan.NewTagBudget(tt.length, tt.waste, tt.least)
		if err != nil || b.Changes != tt.changes || !slices.Equal(b.AfterMM, tt.after) || math.Abs(b.NextMM-tt.next) > 1e-9 {
			t.Errorf("%g mm at %g down to %g: %+v, %v; want %d changes, %v, then %g", tt.length, tt.waste, tt.least, b, err, tt.changes, tt.after, tt.next)
		}
	}
}

// The trade's rule: a tag of 150–180 mm gives four or five fly changes down to
// about 100 mm (common practice, no source). At its own waste of 15 mm the middle
// and the upper end do; the lower end gives 50/15 = 3.3, one fewer.
func TestTagBudgetByTheRuleOfThumb(t *testing.T) {
	t.Parallel()
	for length, want := range map[float64]int{165: 4, 180: 5, 150: 3} {
		b, err := plan.NewTagBudget(length, plan.PracticeWasteMM, plan.PracticeLeastTagMM)
		if err != nil || b.Changes != want {
			t.Errorf("%g mm gives %d changes, %v; want %d", length, b.Changes, err, want)
		}
	}
}

// The trade's rule: two or three re-ties from a tippet of 1.8–2.4 m (common
// practice, no source): 800/400 = 2 and 1400/400 = 3.5.
func TestTippetBudgetByTheRuleOfThumb(t *testing.T) {
	t.Parallel()
	for length, want := range map[float64]int{1800: 2, 2100: 2, 2400: 3, 900: 0} {
		b, err := plan.NewTippetBudget(length, plan.PracticeRetieMM, plan.PracticeLeastTippetMM)
		if err != nil || b.Reties != want || b.LeftMM != length-float64(want)*400 {
			t.Errorf("%g mm: %+v, %v; want %d re-ties", length, b, err, want)
		}
	}
}

func TestBudgetsRefuseWhatCannotBe(t *testing.T) {
	t.Parallel()
	bad := [][3]float64{{0, 15, 100}, {165, 0, 100}, {165, 0.5, 100}, {165, 15, 0}, {math.NaN(), 15, 100}, {165, math.NaN(), 100}, {165, 15, math.NaN()}, {math.Inf(1), 15, 100}, {165, 15, math.Inf(1)}, {165, -1, 100}}
	for _, v := range bad {
		if b, err := plan.NewTagBudget(v[0], v[1], v[2]); !journal.IsInvalid(err) {
			t.Errorf("a tag of %v: %+v, %v", v, b, err)
		}
		if b, err := plan.NewTippetBudget(v[0], v[1], v[2]); !journal.IsInvalid(err) {
			t.Errorf("a tippet of %v: %+v, %v", v, b, err)
		}
	}
}

// The median of cuts written out: 6, 6, 6, 10, 10, 12, 12, 20, 25, 30 has 10 and
// 12 in the middle.
func TestWasteIsTheMedianOfTheCuts(t *testing.T) {
	t.Parallel()
	cuts := []journal.Written{{Value: 6, Times: 3}, {Value: 10, Times: 2}, {Value: 12, Times: 2}, {Value: 20, Times: 1}, {Value: 25, Times: 1}, {Value: 30, Times: 1}}
	if got := plan.TagWaste(cuts, units.US); got != (plan.Assumed{Value: 11, From: plan.FromJournal, N: 10}) {
		t.Errorf("got %+v", got)
	}
	if got := plan.TagWaste(append(cuts, journal.Written{Value: 31, Times: 1}), units.US); got.Value != 12 || got.N != 11 {
		t.Errorf("with an eleventh: %+v", got)
	}
	if got := plan.TagWaste(cuts[:3], units.Metric); got.Value != plan.PracticeWasteMM || got.From != plan.FromPractice {
		t.Errorf("of seven cuts: %+v", got)
	}
	if got := plan.TagWaste(nil, units.US); got.Value != 12.7 {
		t.Errorf("in round inches: %+v, want half an inch", got)
	}
}

// What is usual is a rig that the journal takes, in round numbers of each system.
func TestUsualRigs(t *testing.T) {
	t.Parallel()
	for _, m := range journal.Methods() {
		for _, sys := range []units.System{units.US, units.Metric} {
			rig := plan.UsualRig(m, 2, sys)
			rig.Name = "x"
			if err := rig.Validate(); err != nil || len(rig.Positions) != 3 || rig.RodLengthMM == nil || rig.LeaderLengthMM == nil || rig.Positions[2].TagLengthMM == nil {
				t.Errorf("%s, %s: %+v, %v", m, sys, rig, err)
			}
			if rig.Positions[1].Fly != "" || rig.Positions[1].Facing != "" || rig.Positions[1].Bulk != "" {
				t.Errorf("%s: what is a matter of taste is filled in", m)
			}
		}
	}
	if rig := plan.UsualRig("", 1, units.US); rig.RodLengthMM != nil || rig.Positions[1].TagLengthMM != nil || rig.Positions[1].Hang != journal.HangTag {
		t.Errorf("no method: %+v", rig)
	}
}
