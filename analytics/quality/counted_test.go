package quality_test

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat/distuv"

	"rigtally/analytics/quality"
	"rigtally/journal"
)

// countedDays draws so many days of an angler, a stint of some hours on every other one, with the
// counts at their rates an hour.
func countedDays(rng *rand.Rand, angler string, from time.Time, days int, recorded journal.Recorded, rates map[journal.Count]float64) []journal.CountedDay {
	var list []journal.CountedDay
	for i := range days {
		d := journal.CountedDay{Angler: angler, Day: journal.DateOf(from.AddDate(0, 0, 2*i)), Recorded: recorded, Stints: 2, Hours: 2 + 2*rng.Float64()}
		luck := distuv.Gamma{Alpha: 4, Beta: 4, Src: rng}.Rand()
		for c, r := range rates {
			d.Counts[c] = distuv.Poisson{Lambda: r * luck * d.Hours, Src: rng}.Rand()
		}
		list = append(list, d)
	}
	return list
}

var mayDay = time.Date(2025, 5, 1, 0, 0, 0, 0, time.UTC)

func runsIn(t *testing.T, days []journal.CountedDay) []quality.UncountedRun {
	t.Helper()
	return checked(t, journal.Quality{Days: days}).Counted.Runs
}

// A month in which an angler counted no tangles is found with its days, whether or not more is known
// of that angler, and not once it is said.
func TestARunWithoutCountIsFound(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(9, 1))
	usual := map[journal.Count]float64{journal.CountTangles: 1.4, journal.CountSnags: 1}
	blind := map[journal.Count]float64{journal.CountSnags: 1}
	ilse := countedDays(rng, "Ilse", mayDay, 40, 0, usual)
	for i := range ilse {
		ilse[i].Counts[journal.CountTangles]++ // no day of hers is without
	}
	for name, maud := range map[string][]journal.CountedDay{
		"nothing else known": countedDays(rng, "Maud", mayDay, 20, 0, blind),
		"counted later": append(countedDays(rng, "Maud", mayDay, 20, 0, blind),
			countedDays(rng, "Maud", mayDay.AddDate(0, 0, 60), 20, journal.AllRecorded(), usual)...),
	} {
		runs := runsIn(t, append(maud, ilse...))
		if len(runs) != 1 {
			t.Fatalf("%s: %+v", name, runs)
		}
		r := runs[0]
		if r.Angler != "Maud" || r.Kind != journal.KindTangles || r.First != journal.DateOf(mayDay) || r.Last != journal.DateOf(mayDay.AddDate(0, 0, 38)) || r.Stints != 40 {
			t.Errorf("%s: %+v", name, r)
		}
		for i := range 20 {
			maud[i].Recorded = journal.AllRecorded().Without(journal.KindTangles)
		}
		if runs := runsIn(t, append(maud, ilse...)); len(runs) != 0 {
			t.Errorf("%s, said: %+v", name, runs)
		}
	}
}

// The chance of none is the predictive one of a gamma-Poisson count: by R 4.2,
// pnbinom(0, size = 3, prob = 3/5.25 / (3/5.25 + 4)), with nothing of the angler's own and the others
// at 63 events in 12 hours, days alike.
func TestTheChanceOfARun(t *testing.T) {
	t.Parallel()
	var days []journal.CountedDay
	for i := range 4 {
		d := journal.CountedDay{Angler: "Ilse", Day: journal.DateOf(mayDay.AddDate(0, 0, i)), Recorded: journal.AllRecorded(), Stints: 1, Hours: 3}
		d.Counts[journal.CountSnags] = []float64{16, 16, 16, 15}[i]
		days = append(days, d)
	}
	for i := range 5 {
		days = append(days, journal.CountedDay{Angler: "Maud", Day: journal.DateOf(mayDay.AddDate(0, 0, i)), Stints: 1, Hours: 4})
	}
	runs := runsIn(t, days)
	// 20 h: (3/5.25 / (3/5.25 + 20))^3, worked by hand: (0.5714286/20.5714286)^3.
	if len(runs) != 1 || math.Abs(runs[0].P/2.143347e-05-1) > 1e-6 || math.Abs(runs[0].Expected-105) > 1e-9 {
		t.Errorf("%+v", runs)
	}
}

// A calm hand is no suspicion, nor is one who was said to have counted; and in sound journals hardly
// any run is listed: each kind and angler has a chance of one in a thousand.
func TestSoundJournalsHaveHardlyAnyRun(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(9, 2))
	const journals = 300
	listed, looks := 0, 0
	for range journals {
		var days []journal.CountedDay
		for name, hand := range map[string]float64{"Ilse": 0.3, "Maud": 1, "Wim": 1.6} {
			days = append(days, countedDays(rng, name, mayDay, 50, 0, map[journal.Count]float64{
				journal.CountTangles: 0.5 * hand, journal.CountSnags: 1.2 * hand, journal.CountHookups: 2 * hand, journal.CountChecks: 0.3 * hand})...)
			looks += 4
		}
		listed += len(runsIn(t, days))
	}
	t.Logf("%d runs listed, %d kinds of anglers looked at", listed, looks)
	if listed > 12 { // 3.6 are to be expected at the level; 12 or more have a chance of 0.03%
		t.Errorf("%d runs listed, %d kinds of anglers looked at", listed, looks)
	}
}

func TestMonthsSayWhatWasCounted(t *testing.T) {
	t.Parallel()
	day := func(m time.Month, d int, r journal.Recorded, stints int) journal.CountedDay {
		return journal.CountedDay{Angler: "Ilse", Day: journal.Date{Year: 2026, Month: m, Day: d}, Recorded: r, Stints: stints, Hours: float64(stints)}
	}
	months := checked(t, journal.Quality{Days: []journal.CountedDay{
		day(5, 1, 0, 2), day(5, 2, journal.AllRecorded().Without(journal.KindSnags), 1), day(5, 3, journal.AllRecorded(), 1), day(6, 1, journal.RecordedOf(), 1),
	}}).Counted.Months
	if len(months) != 2 || months[0].Stints != 4 || months[0].Assumed != 2 || months[0].AssumedHours != 2 || months[0].Hours != 4 ||
		months[0].Kept[journal.KindSnags] != 1 || months[0].Share(journal.KindSnags) != 0.75 || months[0].Share(journal.KindTangles) != 1 || months[1].Share(journal.KindTangles) != 0 {
		t.Errorf("%+v", months)
	}
	raw, err := json.Marshal(quality.Counted{Months: months})
	if err != nil || !strings.Contains(string(raw), `"assumed_stints":2,"hours":4,"month":"2026-05"`) || !strings.Contains(string(raw), `"stints":4}`) || !strings.Contains(string(raw), `"snags":{"said_stints":1,"share":0.75}`) || !strings.Contains(string(raw), `"runs":[]`) {
		t.Errorf("%s, %v", raw, err)
	}
}
