package sheet_test

import (
	"encoding/csv"
	"strings"
	"testing"
	"time"

	"rigtally/journal/gauge"
	"rigtally/journal/journaltest"
	"rigtally/journal/pg"
	"rigtally/journal/sheet"
)

// gaugedBook is a journal of three invented sessions, of which the first takes something of two gauges, the second of one, and the
// third nothing.
func gaugedBook(t *testing.T) *pg.Store {
	t.Helper()
	store := journaltest.Store(t)
	journaltest.Import(t, store, "date,start,end,angler,water,time_zone,junction,tangles\n2025-05-03,10:00,12:00,Maud,Tessel,UTC,blood,1\n2025-06-01,10:00,12:00,Maud,Tessel,UTC,uni,2\n2025-07-01,10:00,12:00,Maud,Tessel,UTC,uni,0\n", sheet.Options{})
	waters, err := store.Waters(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	odd, usual := gauge.NewSite("=x", "1"), gauge.NewSite(gauge.USGS, "00000017")
	waters[0].Gauges = []gauge.Link{{Site: odd}, {Site: usual}}
	at := func(day, hour int) time.Time { return time.Date(2025, 5, day, hour, 0, 0, 0, time.UTC) } // day 32 is 1 June
	flow := gauge.Series{Site: odd, Quantity: gauge.Flow, Readings: []gauge.Reading{{At: at(2, 11), Value: 10.4}, {At: at(3, 5), Value: 8}, {At: at(3, 11), Value: 10, Flags: gauge.Provisional}}}
	days := gauge.Series{Site: odd, Quantity: gauge.Flow, Statistic: gauge.DailyMean}
	for n := range 12 {
		days.Readings = append(days.Readings, gauge.Reading{At: time.Date(2010+n, 5, 3, 0, 0, 0, 0, time.UTC), Value: float64(n + 1)})
	}
	stage := gauge.Series{Site: usual, Quantity: gauge.Stage, Readings: []gauge.Reading{{At: at(3, 11), Value: 1.25}, {At: at(32, 5), Value: 1.5}, {At: at(32, 11), Value: 1.25}}}
	warmth := gauge.Series{Site: usual, Quantity: gauge.Temperature}
	for hour := range 24 {
		warmth.Readings = append(warmth.Readings, gauge.Reading{At: at(3, hour), Value: 8 + float64(hour)/4})
	}
	if err := store.SaveWater(t.Context(), waters[0]); err != nil {
		t.Fatal(err)
	}
	if _, err := store.KeepReadings(t.Context(), gauge.Found{Series: []gauge.Series{flow, days, stage, warmth}}); err != nil {
		t.Fatal(err)
	}
	if plan, err := store.Fill(t.Context(), pg.FillAsk{}); err != nil || plan.Changed != 2 {
		t.Fatal(plan, err)
	}
	return store
}

// Ensure that the flat CSV tells what sessions took of gauges, and that a sheet which says so is read and passes over it, for it is
// nothing that somebody noted.
func TestCSVTellsWhatSessionsTook(t *testing.T) {
	t.Parallel()
	store := gaugedBook(t)
	once := writeCSV(t, store)
	rows, err := csv.NewReader(strings.NewReader(once)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	// 10 m³/s is the tenth of twelve years' means: 10/13. It was 8 six hours before, and 10.4 a day before. On 1 June the stage fell
	// by 25 cm, and nothing is known of the flow.
	want := map[string][2]string{"gauge_flow_m3s": {"10"}, "gauge_flow_percentile": {"76.92"}, "gauge_trend_6h": {"rising", "falling"}, "gauge_trend_24h": {"steady"}, "gauge_stage_m": {"1.25", "1.25"},
		"gauge_water_temp_c": {"10.75"}, "gauge_water_temp_peak_c": {"13.75"}, "gauge_provisional": {"yes", "no"}, "gauge_site": {"'=x:1; usgs:00000017", "usgs:00000017"}, "flow_m3s": {}, "stage_m": {}, "water_temp_c": {}}
	days := map[string]int{"2025-05-03": 0, "2025-06-01": 1}
	told := 0
	for i, header := range rows[0] {
		cells, there := want[header]
		if !there && strings.HasPrefix(header, "gauge") {
			t.Errorf("nothing is wanted of %s", header)
		}
		if !there {
			continue
		}
		told++
		for _, row := range rows[1:] {
			cell := ""
			if day, gauged := days[row[0]]; gauged {
				cell = cells[day]
			}
			if row[i] != cell {
				t.Errorf("%s on %s is %q, want %q", header, row[0], row[i], cell)
			}
			if strings.HasPrefix(header, "gauge") {
				row[i] = ""
			}
		}
	}
	if told != len(want) {
		t.Errorf("%d columns of %d in %v", told, len(want), rows[0])
	}
	var without strings.Builder
	if err := csv.NewWriter(&without).WriteAll(rows); err != nil {
		t.Fatal(err)
	}

	table := readSheet(t, once, "export.csv", sheet.Options{})
	var report strings.Builder
	if err := table.Report(&report, 0); err != nil || len(table.Bad) > 0 || strings.Count(report.String(), ", which is passed over") != 9 {
		t.Errorf("%v, %v: the report says\n%s", err, table.Bad, report.String())
	}
	there := journaltest.Store(t)
	if _, err := table.Import(t.Context(), there, sheet.How{}); err != nil {
		t.Fatal(err)
	}
	if twice := writeCSV(t, there); twice != without.String() {
		t.Error(journaltest.FirstDifference(without.String(), twice))
	}
	if c := journaltest.Contents(t, there); len(c.Taken) > 0 {
		t.Errorf("there they took %+v", c.Taken)
	}
	if r := journaltest.Import(t, store, once, sheet.Options{}); r.Added+r.Extended+len(r.Differ) != 0 || len(journaltest.Contents(t, store).Taken) != 2 {
		t.Errorf("importing the export again did %+v", r)
	}
}
