package gauge

import (
	"math"
	"testing"
	"time"
)

func at(minutes int) time.Time {
	return time.Date(2026, time.March, 2, 0, 0, 0, 0, time.UTC).Add(time.Duration(minutes) * time.Minute)
}

// A line joins what is 90 minutes apart, and nothing that is a minute further.
func TestRunsAreCutAtGaps(t *testing.T) {
	t.Parallel()
	s := Series{Quantity: Flow, Readings: []Reading{{at(10), 1, 0}, {at(100), 2, 0}, {at(191), 3, 0}, {at(200), math.NaN(), Ice}, {at(210), 9, Suspect}, {at(290), math.NaN(), Missing}, {at(300), 4, 0}}}
	runs, gaps := s.Runs(at(0), at(400))
	if len(runs) != 3 || len(runs[0]) != 2 || len(runs[1]) != 1 || len(runs[2]) != 1 {
		t.Fatalf("runs %v, want those up to minute 100, of minute 191 and of minute 300", runs)
	}
	want := []struct {
		from, to int
		why      string
	}{{100, 191, "no readings"}, {191, 300, "ice"}, {300, 400, "no readings"}}
	if len(gaps) != len(want) {
		t.Fatalf("gaps %v, want %d", gaps, len(want))
	}
	for i, w := range want {
		if g := gaps[i]; !g.From.Equal(at(w.from)) || !g.To.Equal(at(w.to)) || g.Why() != w.why {
			t.Errorf("gap %d is from %v to %v (%s), want minutes %d to %d (%s)", i, g.From, g.To, g.Why(), w.from, w.to, w.why)
		}
	}
	if runs, gaps := (Series{}).Runs(at(0), at(400)); len(runs) != 0 || len(gaps) != 1 {
		t.Errorf("of nothing there are %d runs and %d gaps, want one gap", len(runs), len(gaps))
	}
}

// A peak of one reading among thousands stays, and so do the ends.
func TestThinnedKeepsPeaks(t *testing.T) {
	t.Parallel()
	var list []Reading
	for i := range 5000 {
		list = append(list, Reading{at(i), 10 + float64(i%7), 0})
	}
	list[2345].Value, list[2351].Value = 99, 1
	kept := Thinned(list, 300)
	if n := len(kept); n > 602 {
		t.Errorf("%d readings are left of 5000, want two a part and the ends at most", n)
	}
	var most, least bool
	for i, r := range kept {
		most, least = most || r.Value == 99 && r.At.Equal(at(2345)), least || r.Value == 1
		if i > 0 && !kept[i-1].At.Before(r.At) {
			t.Fatalf("reading %d is not after the one before it", i)
		}
	}
	if !most || !least || !kept[0].At.Equal(at(0)) || !kept[len(kept)-1].At.Equal(at(4999)) {
		t.Error("a peak, a low or an end was lost")
	}
	if few := list[:600]; len(Thinned(few, 300)) != 600 {
		t.Error("what has room is not kept whole")
	}
}

// A day has the agency's mean, else that of its readings, if they cover two thirds of it.
func TestDaily(t *testing.T) {
	t.Parallel()
	first := at(0)
	instants := Series{Quantity: Flow}
	for h := range 24 + 24 + 10 { // the third day has ten hours
		instants.Readings = append(instants.Readings, Reading{at(60 * h), float64(h / 24), 0})
	}
	means := Series{Quantity: Flow, Statistic: DailyMean, Readings: []Reading{{first, 7, 0}}}
	got := Daily([]Series{instants, means}, Flow, first, first.AddDate(0, 0, 2), time.UTC)
	if len(got.Readings) != 2 || got.Readings[0].Value != 7 || got.Readings[1].Value != 1 || !got.Readings[1].At.Equal(first.AddDate(0, 0, 1)) {
		t.Errorf("daily means %+v, want 7 of the agency, 1 of the readings, and none of ten hours", got.Readings)
	}
}
