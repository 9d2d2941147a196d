package quality_test

import (
	"context"
	"encoding/json"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"rigtally/analytics/quality"
	"rigtally/journal"
	"rigtally/journal/facts"
)

// kept is a journal of which only its quality is known.
type kept journal.Quality

func (k kept) Recount(context.Context, bool, func(done, total int64)) (journal.Recount, error) {
	return journal.Recount{}, nil
}

func (k kept) Quality(context.Context) (journal.Quality, error) { return journal.Quality(k), nil }

func (k kept) Stretches(context.Context, journal.Outcome, journal.Factor, func([]facts.Stretch)) error {
	return nil
}

func checked(t *testing.T, q journal.Quality) quality.Report {
	t.Helper()
	r, err := quality.Check(context.Background(), kept(q), false, nil)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// written counts values, each rounded to a step.
func written(n int, step float64, draw func() float64) []journal.Written {
	times := map[float64]int{}
	for range n {
		times[math.Round(math.Round(draw()/step)*step*1e6)/1e6]++
	}
	var list []journal.Written
	for v, n := range times {
		list = append(list, journal.Written{Value: v, Times: n})
	}
	return list
}

func TestHeapingIsFoundWhereValuesAreRounded(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(2, 1))
	tag := func() float64 { return 120 + 90*rng.Float64() }
	for _, tt := range []struct {
		name   string
		values []journal.Written
		unit   string
		grid   float64
	}{
		{"to the centimetre", written(80, 10, tag), "mm", 10},
		{"to 5 mm", written(80, 5, tag), "mm", 5},
		{"six in ten to the centimetre", append(written(60, 10, tag), written(40, 1, tag)...), "mm", 10},
		{"to the quarter inch", written(80, 25.4/4, tag), "in", 0.25},
		{"to the inch", written(200, 25.4, tag), "in", 1},
	} {
		h := checked(t, journal.Quality{TagLengths: tt.values}).Heaping
		if len(h) != 1 || !h[0].Heaped || string(h[0].Unit) != tt.unit || h[0].Grid != tt.grid {
			t.Errorf("%s: %+v", tt.name, h)
		}
	}
	minutes := written(90, 15, func() float64 { return 30 + 120*rng.Float64() })
	if h := checked(t, journal.Quality{Minutes: minutes}).Heaping; len(h) != 1 || !h[0].Heaped || h[0].Grid != 15 || h[0].Measure != quality.HeapMinutes {
		t.Errorf("quarter hours: %+v", h)
	}
}

// Values read to a millimetre, an eighth of an inch or a minute must be called
// rounded in no more than the 1% that the limit of p allows, but for chance.
func TestHeapingIsNotFoundInUniformValues(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(2, 2))
	const journals = 500
	alarms := map[string]int{}
	for range journals {
		n := 20 + rng.IntN(200)
		tag := func() float64 { return 100 + 120*rng.Float64() }
		for name, q := range map[string]journal.Quality{
			"millimetres": {TagLengths: written(n, 1, tag)},
			"eighths":     {TagLengths: written(n, 25.4/8, tag)},
			"minutes":     {Minutes: written(n, 1, func() float64 { return 20 + 150*rng.Float64() })},
		} {
			for _, h := range checked(t, q).Heaping {
				if h.Heaped {
					alarms[name]++
				}
			}
		}
	}
	for name, n := range alarms {
		if n > 12 { // more has a chance of 0.2% where each has 1%
			t.Errorf("%s: %d of %d called rounded", name, n, journals)
		}
	}
}

func TestHeapingNeedsDifferentValues(t *testing.T) {
	t.Parallel()
	for name, values := range map[string][]journal.Written{
		"a habit":    {{Value: 150, Times: 300}, {Value: 160, Times: 20}},
		"few values": {{Value: 150, Times: 2}, {Value: 160, Times: 2}, {Value: 170, Times: 2}, {Value: 180, Times: 2}, {Value: 190, Times: 2}},
	} {
		if h := checked(t, journal.Quality{TagLengths: values}).Heaping; len(h) != 1 || h[0].P != nil || h[0].Heaped {
			t.Errorf("%s: %+v", name, h)
		}
	}
}

// seasonOf draws sessions of anglers who differ; omitted is the share of sessions
// of the second angler in which bad events were not written down.
func seasonOf(rng *rand.Rand, omitted float64) journal.Quality {
	var q journal.Quality
	const cv = 0.5
	for _, a := range []struct {
		name     string
		sessions int
		rate     float64
	}{{"Ilse", 60, 0.3}, {"Maud", 60, 1.8}, {"Wim", 25, 0.6}, {"Nell", 8, 0.5}, {"Tove", 5, 1.2}} {
		for range a.sessions {
			hours := 1.5 + 4*rng.Float64()
			luck := distuv.Gamma{Alpha: 1 / (cv * cv), Beta: 1 / (cv * cv), Src: rng}.Rand()
			bad := distuv.Poisson{Lambda: a.rate * luck * hours, Src: rng}.Rand()
			if a.name == "Maud" && rng.Float64() < omitted {
				bad = 0
			}
			q.Outings = append(q.Outings, journal.Outing{Angler: a.name, Hours: hours, Bad: bad})
		}
	}
	q.Sessions = len(q.Outings) + 4
	return q
}

func TestMissingBadDaysAreSuspected(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("simulates for seconds")
	}
	rng := rand.New(rand.NewPCG(2, 3))
	const seasons = 500
	alarms, found := 0, 0
	for range seasons {
		if checked(t, seasonOf(rng, 0)).Quiet.Suspect {
			alarms++
		}
		q := checked(t, seasonOf(rng, 0.25)).Quiet
		if q.Suspect && *q.Anglers[1].Q < 0.05 {
			found++
		}
		if q.LeftOut != 4 || len(q.Anglers) != 3 || q.Anglers[1].Angler != "Maud" || q.Sessions != 145 {
			t.Fatalf("%+v", q)
		}
	}
	t.Logf("suspected %d of %d sound seasons, and %d of those with a quarter of one angler's bad days left out", alarms, seasons, found)
	if float64(alarms)/seasons > 0.06 {
		t.Errorf("%d of %d sound seasons suspected", alarms, seasons)
	}
	if found < seasons*4/10 {
		t.Errorf("only %d of %d found", found, seasons)
	}
	few := checked(t, journal.Quality{Sessions: 2, Outings: []journal.Outing{{Angler: "Ilse", Hours: 3}, {Angler: "Ilse", Hours: 2, Bad: 1}}}).Quiet
	if few.Enough || few.Suspect || few.P != nil || few.Without != 1 {
		t.Errorf("two sessions: %+v", few)
	}
}

func TestTheJSONOfAReport(t *testing.T) {
	t.Parallel()
	for _, q := range []journal.Quality{{}, seasonOf(rand.New(rand.NewPCG(2, 4)), 0)} {
		raw, err := json.Marshal(checked(t, q))
		if err != nil {
			t.Fatal(err)
		}
		for _, key := range []string{`"defects":false`, `"counts":{`, `"impossible":{"count":0,"first":[]}`, `"heaping":[`, `"logged_late":{`, `"without_minutes":{`, `"without_tag_length":[`, `"without_a_bad_event":{`, `"what_was_counted":{"months":[`} {
			if !strings.Contains(string(raw), key) {
				t.Errorf("no %s in %s", key, raw)
			}
		}
	}
}
