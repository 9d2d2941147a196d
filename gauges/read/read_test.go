package read

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"rigtally/journal/gauge"
)

var now = time.Date(2026, 11, 29, 12, 0, 0, 0, time.UTC)

// told is all that was found, as text: a line for each gauge, series and note.
func told(f gauge.Found) string {
	var b strings.Builder
	for _, g := range f.Gauges {
		fmt.Fprintf(&b, "gauge %s %q %s", g.Site, g.Name, g.Zone)
		if g.Latitude != nil {
			fmt.Fprintf(&b, " %v %v", *g.Latitude, *g.Longitude)
		}
		fmt.Fprintln(&b, "", g.Measures)
	}
	for _, s := range f.Series {
		fmt.Fprintf(&b, "%s %s %q %q:", s.Site, s.Quantity, s.Sensor, s.Statistic)
		for _, r := range s.Readings {
			at := r.At.Format("2006-01-02T15:04Z07:00")
			if s.Statistic == gauge.DailyMean {
				at = r.At.Format(time.DateOnly)
			}
			fmt.Fprintf(&b, " %s=%.6g", at, r.Value)
			if r.Flags != 0 {
				fmt.Fprintf(&b, "(%s)", strings.Join(r.Flags.Words(), ","))
			}
		}
		fmt.Fprintln(&b)
	}
	for _, n := range f.Notes {
		fmt.Fprintln(&b, "note", n)
	}
	return b.String()
}

func open(t *testing.T, name string) *os.File {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = f.Close() })
	return f
}

// golden is what each file of testdata holds, converted and counted by hand: the files are invented in the documented shapes.
var golden = []struct{ file, want string }{
	{"daily.rdb", `usgs:09999901 flow "" "daily mean": 2024-02-28=2.83168 2024-02-29=5.66337(provisional,estimated) 2024-03-01=NaN(provisional,no value)
note The file says itself that it is from usgs:09999901, so its readings are kept as those of that gauge and not of mine:1.
note Left out, since only flow, stage and water temperature are taken: Temperature, water, degrees Celsius (Maximum) (00010), daily maximum.`},
	{"ea-measure.json", `gauge ea:9999TH "Nowhere Lock" Europe/London [flow]`},
	{"ea-one.json", `gauge ea:00000000-0000-4000-8000-00000000000b "River Invented at Nowhere Bridge" Europe/London 52.5 -1.5 [stage]`},
	{"ea-stations.json", `gauge ea:00000000-0000-4000-8000-00000000000a "River Invented at Nowhere Mill" Europe/London 52.1 -1.25 [flow]
gauge ea:9999TH "Nowhere Lock" Europe/London [stage]`},
	{"ea.csv", `ea:00000000-0000-4000-8000-00000000000a stage "" "": 2021-06-01T00:00Z=0.5 2021-06-01T00:15Z=NaN(no value)
ea:00000000-0000-4000-8000-00000000000a flow "" "daily mean": 2021-06-01=4.25
note The file says itself that it is from ea:00000000-0000-4000-8000-00000000000a, so its readings are kept as those of that gauge and not of mine:1.`},
	{"ea.json", `ea:00000000-0000-4000-8000-00000000000a flow "" "": 2021-06-01T00:00Z=1.5 2021-06-01T00:15Z=1.6(estimated) 2021-06-01T00:30Z=1.7(suspect) 2021-06-01T00:45Z=1.8(provisional) 2021-06-01T01:00Z=NaN(no value)
ea:00000000-0000-4000-8000-00000000000a flow "" "daily mean": 2021-06-01=2.5 2021-06-02=2.6(estimated)
ea:00000000-0000-4000-8000-00000000000a stage "" "": 2021-06-01T00:00Z=0.754
ea:00000000-0000-4000-8000-00000000000a temperature "" "": 2021-06-01T00:00Z=12.5(provisional)
ea:9999TH stage "" "": 2021-06-01T00:00Z=0.31(provisional)
ea:9999TH flow "" "": 2021-06-01T00:00Z=3.25(provisional)
note The file says itself that it is from ea:00000000-0000-4000-8000-00000000000a, so its readings are kept as those of that gauge and not of mine:1.
note Left out, since only flow, stage and water temperature are taken: flow-max-86400-m3s-qualified of 00000000-0000-4000-8000-00000000000a; rainfall-t-900-mm-qualified; level-tidal_level-i-15_min-mAOD of 9999TH.`},
	{"hubeau-days.json", `hubeau:Z999999901 flow "" "daily mean": 1950-01-01=12.5 1950-01-02=13(provisional,filled in by the gauge's agency)
note The file says itself that it is from hubeau:Z999999901, so its readings are kept as those of that gauge and not of mine:1.
note Left out, since only flow, stage and water temperature are taken: QmM.`},
	{"hubeau-stations.json", `gauge hubeau:Z999999901 "L'Inventée à Nulle-Part" Europe/Paris 48.5 2.5 []
gauge hubeau:9700000001 "L'Inventée outre-mer"  16.2 -61.5 []`},
	{"hubeau-temperature.csv", `hubeau:05999999 temperature "" "": 2020-07-01T10:00Z=18.5 2020-07-01T11:00Z=28.5(suspect) 2020-07-01T12:00Z=19.5(provisional)
note The file says itself that it is from hubeau:05999999, so its readings are kept as those of that gauge and not of mine:1.`},
	{"hubeau.csv", `hubeau:Z999999901 flow "" "": 2026-05-06T12:00Z=1.5(provisional)
hubeau:Z999999901 stage "" "": 2026-05-06T12:00Z=0.35(provisional)
note The file says itself that it is from hubeau:Z999999901, so its readings are kept as those of that gauge and not of mine:1.`},
	{"hubeau.json", `hubeau:Z999999901 stage "" "": 2026-05-06T11:55Z=-1.232(provisional,suspect) 2026-05-06T12:00Z=1.251(provisional)
hubeau:Z999999901 flow "" "": 2026-05-06T12:00Z=47.8(provisional) 2026-05-06T12:05Z=NaN(provisional,no value) 2026-05-06T12:10Z=48(estimated)
note The file says itself that it is from hubeau:Z999999901, so its readings are kept as those of that gauge and not of mine:1.
note This is the first part of a longer answer; the rest was not in the file.`},
	{"instant.rdb", `gauge usgs:09999901 "INVENTED CREEK ABOVE NOWHERE, ZZ"  [flow temperature]
gauge usgs:09999902 "INVENTED CREEK BELOW NOWHERE, ZZ"  [stage]
usgs:09999901 flow "" "": 2024-11-03T05:00Z=2.83168 2024-11-03T05:45Z=2.86(estimated) 2024-11-03T06:00Z=2.88832 2024-11-03T06:45Z=NaN(provisional,ice)
usgs:09999901 temperature "121788" "": 2024-11-03T05:00Z=9.5 2024-11-03T05:45Z=9.4 2024-11-03T06:00Z=9.3(provisional) 2024-11-03T06:45Z=9.2(provisional) 2024-11-03T07:00Z=0.1(provisional,beyond what the gauge can measure)
usgs:09999901 temperature "121789" "": 2024-11-03T05:00Z=9.1 2024-11-03T06:00Z=9(provisional) 2024-11-03T06:45Z=NaN(provisional,gauge out of order) 2024-11-03T07:00Z=NaN(provisional,gauge out of order)
usgs:09999902 stage "" "": 2024-03-10T08:45Z=3.048(provisional) 2024-03-10T09:00Z=NaN(ice) 2024-03-10T09:15Z=0.762(filled in by the gauge's agency)
note The file says itself that it is from usgs:09999901, so its readings are kept as those of that gauge and not of mine:1.
note Left out, since only flow, stage and water temperature are taken: Nitrate plus nitrite, water, in situ, milligrams per liter as nitrogen (99133).
note usgs:09999901 measures temperature with 2 sensors: 121788 (Temperature, water, degrees Celsius, [Top]), 121789 (Temperature, water, degrees Celsius, [Bottom]).`},
	{"locations.json", `gauge usgs:09999904 "INVENTED CREEK AT NOWHERE, ZZ" America/Denver 40.12 -105.43 []
gauge usgs:ZZ001-09999905 "INVENTED BROOK, ZZ" America/Phoenix []`},
	{"nothing.rdb", `note nothing.rdb holds no readings: there were none of flow, stage or water temperature for what was asked.`},
	{"ogc.csv", `usgs:09999904 flow "" "": 2024-01-01T03:00Z=28.3168 2024-01-01T03:15Z=56.6337(provisional,estimated,ice)
note The file says itself that it is from usgs:09999904, so its readings are kept as those of that gauge and not of mine:1.`},
	{"ogc.json", `usgs:09999904 flow "" "": 2025-01-01T00:00Z=1.41584 2025-01-01T00:15Z=1.69901(provisional,estimated,ice) 2025-01-01T00:30Z=NaN(provisional,gauge out of order)
usgs:09999904 flow "" "daily mean": 2025-01-01=1.98218
usgs:09999904 stage "" "": 2025-01-01T00:00Z=0.536448
note The file says itself that it is from usgs:09999904, so its readings are kept as those of that gauge and not of mine:1.
note Left out, since only flow, stage and water temperature are taken: flow (00060), daily maximum; parameter 00400.
note This is the first part of a longer answer; the rest was not in the file.`},
	{"plain-semicolon.csv", `mine:1 flow "" "": 2026-05-01T04:00Z=3.5 2026-05-01T04:15Z=3.4
mine:1 temperature "" "": 2026-05-01T04:00Z=8.25 2026-05-01T04:15Z=8.5
note Dates such as 01.05.2026 6:00 are read with the day first.`},
	{"plain.csv", `mine:1 flow "" "": 2026-05-01T07:00Z=NaN(ice) 2026-05-01T12:00Z=2.83168 2026-05-01T12:15Z=0.141584(estimated,beyond what the gauge can measure)
mine:1 stage "" "": 2026-05-01T07:00Z=0.73152 2026-05-01T12:00Z=0.762
mine:1 temperature "" "": 2026-05-01T07:00Z=NaN(no value) 2026-05-01T12:00Z=10
note Left out, since only flow, stage and water temperature are taken: Air temp (degF); notes.`},
	{"waterml.json", `gauge usgs:09999903 "Invented Creek & Ditch, ZZ" America/Denver 40.1234 -105.4321 [flow temperature]
usgs:09999903 flow "" "": 2019-01-28T21:00Z=0.283168(provisional) 2019-01-28T21:15Z=NaN(provisional,ice) 2019-01-28T21:30Z=0.566337(provisional,estimated) 2019-01-28T21:45Z=NaN(provisional,no value)
usgs:09999903 temperature "1" "": 2019-01-28T21:00Z=4.5(provisional)
usgs:09999903 temperature "2" "": 2019-01-28T21:00Z=4.7 2019-01-28T21:15Z=4.8
note The file says itself that it is from usgs:09999903, so its readings are kept as those of that gauge and not of mine:1.
note Left out, since only flow, stage and water temperature are taken: Precipitation, total, in (00045).
note Not explained in the file, so the values beside them are taken as they are: Zzz.
note usgs:09999903 measures temperature with 2 sensors: 1 ([Left bank]), 2 ([Right bank]).`},
	{"waterml1.xml", `gauge usgs:09999901 "Invented Creek & Ditch, ZZ" America/New_York 40.1234 -75.4321 [flow temperature]
usgs:09999901 flow "" "": 2018-11-04T05:45Z=0.283168 2018-11-04T06:45Z=0.566337(provisional,estimated) 2018-11-04T07:00Z=NaN(provisional,ice)
usgs:09999901 temperature "8" "daily mean": 2018-11-04=9.5
usgs:09999901 temperature "9" "daily mean": 2018-11-04=9.7
note The file says itself that it is from usgs:09999901, so its readings are kept as those of that gauge and not of mine:1.
note Left out, since only flow, stage and water temperature are taken: Precipitation, total, in (00045).
note usgs:09999901 measures temperature with 2 sensors: 8 ([Left]), 9 ([Right]).`},
	{"waterml2-days.xml", `gauge usgs:09999908 "INVENTED RIVER BELOW NOWHERE, ZZ"  [flow]
usgs:09999908 flow "" "daily mean": 2012-01-01=2.83168 2012-01-02=NaN(ice) 2012-01-03=NaN(no value) 2012-01-04=5.66337
usgs:09999908 flow "" "": 2012-01-01T18:00Z=3.11485 2012-01-01T18:15Z=3.39802
note The file says itself that it is from usgs:09999908, so its readings are kept as those of that gauge and not of mine:1.
note Left out, since only flow, stage and water temperature are taken: Discharge, cubic feet per second (maximum); Precipitation.`},
	{"waterml2.xml", `gauge usgs:09999906 "INVENTED RIVER AT NOWHERE, ZZ"  43.5 -87.5 [flow temperature]
gauge usgs:09999907 "INVENTED RIVER AT NOWHERE, ZZ"  43.5 -87.5 [stage]
usgs:09999906 flow "" "": 2012-09-01T17:00Z=2.83168(provisional) 2012-09-01T17:15Z=3.11485 2012-09-01T17:30Z=NaN(provisional,gauge out of order) 2012-09-01T17:45Z=3.39802(provisional,beyond what the gauge can measure)
usgs:09999906 temperature "" "daily mean": 2012-09-01=10(provisional) 2012-09-02=20(provisional)
usgs:09999907 stage "" "daily mean": 2012-09-01=0.3048(provisional) 2012-09-02=0.6096(provisional)
note The file says itself that it is from usgs:09999906, so its readings are kept as those of that gauge and not of mine:1.
note Left out, since only flow, stage and water temperature are taken: Precipitation.`},
}

func TestAny(t *testing.T) {
	t.Parallel()
	for _, c := range golden {
		found, err := Any(c.file, open(t, c.file), Options{Now: now, Site: gauge.Site{Provider: "mine", Number: "1"}, Zone: time.FixedZone("two hours ahead", 7200)})
		if got := strings.TrimSpace(told(found)); err != nil || got != c.want {
			t.Errorf("%s: %v\n%s\nwant\n%s", c.file, err, got, c.want)
		}
	}
}
