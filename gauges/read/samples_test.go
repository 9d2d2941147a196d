package read

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"rigtally/journal/gauge"
)

// TestRealAnswers reads answers that the U.S. Geological Survey really gave, where they are at hand. What they hold was
// counted, and converted (1 ft = 0.3048 m exactly), by hand.
func TestRealAnswers(t *testing.T) {
	t.Parallel()
	const folder = "../../../shared/gauge-samples"
	if _, err := os.Stat(folder); err != nil {
		t.Skip("no real answers here")
	}
	usgs := func(number string) gauge.Site { return gauge.Site{Provider: gauge.USGS, Number: number} }
	type want struct {
		site        gauge.Site
		quantity    gauge.Quantity
		statistic   gauge.Statistic
		n, usable   int
		first, last string
		a, b        float64
		flags       gauge.Flags // of the first and last together
		gap         time.Duration
	}
	for _, c := range []struct {
		file  string
		read  func(text []byte) (gauge.Found, error)
		names map[string]string
		want  []want
	}{
		{"usgs-iv-13206000-00060-00065.rdb", nil, map[string]string{"13206000": "BOISE"}, []want{
			{usgs("13206000"), gauge.Flow, "", 16, 16, "2012-05-02T16:00:00Z", "2012-05-02T19:45:00Z", 7830 * 0.028316846592, 8000 * 0.028316846592, gauge.Provisional, 15 * time.Minute},
			{usgs("13206000"), gauge.Stage, "", 16, 16, "2012-05-02T16:00:00Z", "2012-05-02T19:45:00Z", 3.240024, 3.267456, gauge.Provisional, 15 * time.Minute},
		}},
		{"usgs-dv-02177000-00060.rdb", nil, map[string]string{"02177000": "CHATTOOGA"}, []want{
			{usgs("02177000"), gauge.Flow, gauge.DailyMean, 31, 31, "2012-09-01T00:00:00Z", "2012-10-01T00:00:00Z", 191 * 0.028316846592, 365 * 0.028316846592, gauge.Provisional, 24 * time.Hour},
		}},
		{"usgs-iv-01491000-01645000.json", nil, map[string]string{"01491000": "CHOPTANK", "01645000": "SENECA"}, []want{
			{usgs("01491000"), gauge.Flow, "", 5, 5, "2019-02-14T05:00:00Z", "2019-02-14T06:00:00Z", math.NaN(), math.NaN(), 0, 15 * time.Minute},
			{usgs("01491000"), gauge.Stage, "", 5, 5, "2019-02-14T05:00:00Z", "2019-02-14T06:00:00Z", math.NaN(), math.NaN(), 0, 15 * time.Minute},
			{usgs("01645000"), gauge.Flow, "", 5, 5, "2019-02-14T05:00:00Z", "", math.NaN(), math.NaN(), 0, 0},
			{usgs("01645000"), gauge.Stage, "", 5, 5, "2019-02-14T05:00:00Z", "", math.NaN(), math.NaN(), 0, 0},
		}},
		{"usgs-iv-01542500-flags.json", nil, map[string]string{"01542500": "Karthaus"}, []want{
			{usgs("01542500"), gauge.Flow, "", 22, 13, "2019-01-24T05:00:00Z", "2019-01-29T04:45:00Z", 2230 * 0.028316846592, math.NaN(), gauge.Provisional | gauge.Ice, 89*time.Hour + 30*time.Minute},
		}},
		{"usgs-ogc-continuous-06904500.json", inside("continuous"), nil, []want{
			{usgs("06904500"), gauge.Stage, "", 2, 2, "2025-01-01T00:00:00Z", "2025-01-01T00:15:00Z", 0.536448, 0.536448, 0, 15 * time.Minute},
		}},
		{"usgs-ogc-continuous-06904500.json", inside("latest-continuous"), nil, []want{
			{usgs("06904500"), gauge.Stage, "", 1, 1, "2026-08-07T18:45:00Z", "2026-08-07T18:45:00Z", 1.59 * 0.3048, 1.59 * 0.3048, gauge.Provisional, 0},
			{usgs("06904500"), gauge.Flow, "", 1, 1, "2026-08-07T18:45:00Z", "2026-08-07T18:45:00Z", 15.149512926720, 15.149512926720, gauge.Provisional, 0},
		}},
	} {
		text, err := os.ReadFile(filepath.Join(folder, c.file))
		if err != nil {
			t.Fatal(err)
		}
		read := c.read
		if read == nil {
			read = func(text []byte) (gauge.Found, error) {
				return Any(c.file, strings.NewReader(string(text)), Options{Now: now})
			}
		}
		found, err := read(text)
		if err != nil || len(found.Series) != len(c.want) {
			t.Errorf("%s: %d series of %d, %v", c.file, len(found.Series), len(c.want), err)
			continue
		}
		for _, g := range found.Gauges {
			if !strings.Contains(g.Name, c.names[g.Number]) {
				t.Errorf("%s: %s is called %q", c.file, g.Site, g.Name)
			}
		}
		for i, w := range c.want {
			s := found.Series[i]
			first, last := s.Readings[0], s.Readings[len(s.Readings)-1]
			usable, gap := 0, time.Duration(0)
			for j, r := range s.Readings {
				if r.Usable() {
					usable++
				}
				if j > 0 {
					gap = max(gap, r.At.Sub(s.Readings[j-1].At))
				}
			}
			same := func(a, b float64) bool { return math.IsNaN(b) || math.Abs(a-b) < 1e-9*max(1, math.Abs(b)) }
			if s.Site != w.site || s.Quantity != w.quantity || s.Statistic != w.statistic || s.Sensor != "" || len(s.Readings) != w.n || usable != w.usable ||
				first.At.Format(time.RFC3339) != w.first || w.last != "" && last.At.Format(time.RFC3339) != w.last || !same(first.Value, w.a) || !same(last.Value, w.b) ||
				first.Flags|last.Flags != w.flags || w.gap > 0 && gap != w.gap {
				t.Errorf("%s: %s %s %q: %d readings, %d usable, the longest gap %v\n%+v\n%+v\nwant %+v", c.file, s.Site, s.Quantity, s.Sensor, len(s.Readings), usable, gap, first, last, w)
			}
		}
	}
}

// inside reads a collection that stands with others in one file.
func inside(collection string) func(text []byte) (gauge.Found, error) {
	return func(text []byte) (gauge.Found, error) {
		var all map[string]json.RawMessage
		if err := json.Unmarshal(text, &all); err != nil {
			return gauge.Found{}, err
		}
		page, err := OGC(strings.NewReader(string(all[collection])), Options{Now: now})
		return Join(page.Found), err
	}
}

// TestUnits holds the factors to exact values: the foot of 1959 is 0.3048 m, so a cubic foot is 0.028316846592 m³, and 0 °C is 32 °F.
func TestUnits(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		unit string
		v    float64
		want float64
		of   gauge.Quantity
	}{
		{"ft3/s", 1, 0.028316846592, gauge.Flow}, {"ft^3/s", 1, 0.028316846592, gauge.Flow}, {"cfs", 535, 15.14951292672, gauge.Flow}, {"m3/s", 1.5, 1.5, gauge.Flow}, {"m³/s", 1.5, 1.5, gauge.Flow}, {"l/s", 47800, 47.8, gauge.Flow},
		{"ft", 10, 3.048, gauge.Stage}, {"m", 0.754, 0.754, gauge.Stage}, {"cm", 125, 1.25, gauge.Stage}, {"mm", 1251, 1.251, gauge.Stage},
		{"degC", 12.5, 12.5, gauge.Temperature}, {"°C", 12.5, 12.5, gauge.Temperature}, {"deg F", 50, 10, gauge.Temperature}, {"degF", 68, 20, gauge.Temperature}, {"deg C", -0.1, -0.1, gauge.Temperature}, {"oC", 3, 3, gauge.Temperature},
	} {
		u, ok := unitOf(c.unit)
		if got := u.si(c.v); !ok || u.quantity != c.of || math.Abs(got-c.want) > 1e-15*max(1, c.want) {
			t.Errorf("%v %s: %v of %s, want %v of %s", c.v, c.unit, got, u.quantity, c.want, c.of)
		}
	}
}

// TestJoin puts pages together: a sensor that is alone has no name, whichever page it was on.
func TestJoin(t *testing.T) {
	t.Parallel()
	at := func(minute int) gauge.Reading {
		return gauge.Reading{At: time.Date(2026, 1, 1, 0, minute, 0, 0, time.UTC), Value: float64(minute)}
	}
	s := func(q gauge.Quantity, sensor string, minutes ...int) gauge.Found {
		x := gauge.Series{Site: gauge.Site{Provider: "usgs", Number: "1"}, Quantity: q, Sensor: sensor}
		for _, m := range minutes {
			x.Readings = append(x.Readings, at(m))
		}
		return gauge.Found{Series: []gauge.Series{x}, Notes: []string{"same"}}
	}
	empty := gauge.Found{Notes: []string{"The answer" + noReadings}}
	all := Join(s(gauge.Flow, "a", 30, 45), s(gauge.Flow, "a", 0, 15), s(gauge.Stage, "b", 0), s(gauge.Stage, "c", 0), empty)
	if len(all.Series) != 3 || all.Series[0].Sensor != "" || len(all.Series[0].Readings) != 4 || all.Series[0].Readings[0].Value != 0 || all.Series[1].Sensor != "b" || all.Series[2].Sensor != "c" || len(all.Notes) != 1 {
		t.Errorf("%+v", all)
	}
}

// TestNext finds the address of the next page.
func TestNext(t *testing.T) {
	t.Parallel()
	for file, want := range map[string]string{"ogc.json": "https://invented.example/next?cursor=abc", "hubeau.json": "https://invented.example/2?cursor=zz", "ea.json": ""} {
		page, err := Answer(file, open(t, file), Options{Now: now})
		if err != nil || page.Next != want {
			t.Errorf("%s: %q, %v", file, page.Next, err)
		}
	}
	page, err := OGC(open(t, "locations.json"), Options{})
	if err != nil || len(page.Gauges) != 2 || page.Gauges[0].Number != "09999904" {
		t.Errorf("%+v %v", page, err)
	}
}

// TestPlainChoices reads tables that say little by themselves.
func TestPlainChoices(t *testing.T) {
	t.Parallel()
	site := gauge.Site{Provider: "mine", Number: "1"}
	for _, c := range []struct {
		text string
		opt  Options
		want string
	}{
		{"2026-05-01T06:00Z,50\n2026-05-01T07:00Z,68", Options{Quantity: gauge.Temperature, Unit: "degF"}, "10 20"},
		{"time\tvalue\n2026-05-01 06:00 -06:00\t2\n", Options{Quantity: gauge.Stage, Unit: "ft"}, "0.6096"},
		{"date,discharge_cfs\n2026-05-01,100\n2026-05-02,\n2026-05-03,200\n", Options{}, "2.83168 5.66337"},
		{"Date;Flow m3/s;Flow max m3/s\n2026-05-01;1,5;9\n", Options{}, "1.5"},
		{"\ufeffdate/time (UTC),H [mm]\r\n2026-05-01 06:00,1251\r\n", Options{Quantity: gauge.Stage}, "1.251"},
		{"timestamp,gage height\n2026/05/01 9:00,3\n", Options{Unit: "m", Zone: time.UTC}, "3"},
		{"local time,time UTC,flow l/s\n2026-05-01 08:00,2026-05-01 06:00,250\n", Options{}, "0.25"},
	} {
		c.opt.Site, c.opt.Now = site, now
		found, err := Any("F", strings.NewReader(c.text), c.opt)
		if err != nil || len(found.Series) != 1 {
			t.Errorf("%q: %v %+v", c.text, err, found)
			continue
		}
		got := told(found)
		for _, v := range strings.Fields(c.want) {
			if !strings.Contains(got+"\n", "="+v+"\n") && !strings.Contains(got, "="+v+" ") {
				t.Errorf("%q: %s, want %s", c.text, got, c.want)
			}
		}
	}
}

// TestRareShapes reads what services and people seldom write.
func TestRareShapes(t *testing.T) {
	t.Parallel()
	mine := gauge.Site{Provider: "mine", Number: "1"}
	const observation = `<wml2:Collection xmlns:wml2="w" xmlns:om="o" xmlns:xlink="x" xmlns:xsi="s"><wml2:observationMember><om:OM_Observation><om:observedProperty xlink:title="%s"/><om:result><wml2:MeasurementTimeseries>
		<wml2:defaultPointMetadata><wml2:DefaultTVPMeasurementMetadata><wml2:uom code="%s"/><wml2:interpolationType xlink:href="http://x/Continuous"/></wml2:DefaultTVPMeasurementMetadata></wml2:defaultPointMetadata>
		<wml2:point><wml2:MeasurementTVP><wml2:time>2026-05-01T06:00:00</wml2:time><wml2:value>%s</wml2:value></wml2:MeasurementTVP></wml2:point></wml2:MeasurementTimeseries></om:result></om:OM_Observation></wml2:observationMember></wml2:Collection>`
	for _, c := range []struct{ what, text, want string }{
		{"WaterML 2 of another agency, in local time", fmt.Sprintf(observation, "River stage", "cm", "125"), `mine:1 stage "" "": 2026-05-01T05:00Z=1.25`},
		{"WaterML 2 in an older set of characters", `<?xml version="1.0" encoding="ISO-8859-1"?>` + fmt.Sprintf(observation, "Water temperature", "\xb0C", "7.5"), `mine:1 temperature "" "": 2026-05-01T05:00Z=7.5`},
		{"WaterML 2 with the number of loggers for no value", strings.Replace(fmt.Sprintf(observation, "Q", "", "-9999"), `<wml2:uom code=""/>`, `<wml2:uom xlink:href="http://www.opengis.net/def/uom/UCUM/0/m3.s-1"/>`, 1), `mine:1 flow "" "": 2026-05-01T05:00Z=NaN(no value)`},
		{"WaterML 2 with a word for a value", fmt.Sprintf(observation, "Discharge", "m3/s", "Ice"), `mine:1 flow "" "": 2026-05-01T05:00Z=NaN(ice)`},
		{"JSON whose values come first", `{"value":{"timeSeries":[{"values":[{"value":[{"value":"10","qualifiers":"P","dateTime":"2026-05-01T06:00:00.000"}]}],"variable":{"variableCode":[{"value":"00065"}],"unit":{"unitCode":"ft"}},"sourceInfo":{"siteCode":[{"value":"09999901"}]}}]}}`,
			`usgs:09999901 stage "" "": 2026-05-01T05:00Z=3.048(provisional)`},
		{"measures of the Environment Agency", `{"items":[{"@id":"http://x/id/measures/abc-flow-i-900-m3s-qualified","label":"15min Flow (m3/s) time series for Nowhere","station":{"@id":"http://x/id/stations/abc"}}]}`, `gauge ea:abc "Nowhere" Europe/London [flow]`},
		{"several values for one time", `{"items":[{"measure":"abc-level-i-900-m-qualified","dateTime":"2026-05-01T06:00:00Z","value":[1,2]},{"measure":"abc-level-i-900-m-qualified","dateTime":"2026-05-01T06:15:00Z","value":"1.5"}]}`,
			`ea:abc stage "" "": 2026-05-01T06:00Z=NaN(provisional,no value) 2026-05-01T06:15Z=1.5(provisional)`},
		{"quotes in quotes, and a code for each value", "time,\"flow (\"\"cfs\"\")\",flag,stage (m),flag\n2026-05-01T06:00Z,\"1\",e,2,suspect\n", `mine:1 stage "" "": 2026-05-01T06:00Z=2(suspect)`},
		{"tab-delimited without zones", "agency_cd\tsite_no\tdatetime\t1_00065\n5s\t15s\t20d\t14n\nUSGS\t09999901\t2026-05-01 06:00\t10\n", `usgs:09999901 stage "" "": 2026-05-01T05:00Z=3.048`},
		{"an older set of characters", "time,flow (m\xb3/s)\n2026-05-01T06:00Z,2\n", `mine:1 flow "" "": 2026-05-01T06:00Z=2`},
		{"a gauge's own idea of a day", "day,flow (cfs),stage max (ft)\n2026-05-01,100,3\n", `mine:1 flow "" "daily mean": 2026-05-01=2.83168`},
		{"two of one kind", "time,temp top (C),temp bottom (C)\n2026-05-01T06:00Z,9,8\n", `mine:1 temperature "temp bottom (C)" "": 2026-05-01T06:00Z=8`},
		{"of another gauge than was said", rdbHead + rdbRow("2024-01-01 00:00", "MST", "1", "A"), "note The file says itself that it is from usgs:09999901"},
	} {
		found, err := Any("F", strings.NewReader(c.text), Options{Site: mine, Zone: time.FixedZone("an hour ahead", 3600), Now: now})
		if err != nil || !strings.Contains(told(found), c.want) {
			t.Errorf("%s: %v\n%swant %s", c.what, err, told(found), c.want)
		}
	}
}

// Answers of several collections may be kept in one file, each under its collection's name. The readings are invented.
func TestAnswersKeptTogether(t *testing.T) {
	t.Parallel()
	of := func(value, at string) string {
		return `{"type":"FeatureCollection","numberReturned":1,"features":[{"type":"Feature","id":"x","properties":{"time_series_id":"a1","monitoring_location_id":"USGS-09000009","parameter_code":"00060","statistic_id":"00011","time":"` + at + `","value":"` + value + `","unit_of_measure":"ft^3/s","approval_status":"Approved","qualifier":null}}]}`
	}
	found, err := Any("both.json", strings.NewReader(`{"continuous":`+of("100", "2026-05-01T10:00:00+00:00")+`,"latest-continuous":`+of("200", "2026-05-01T12:00:00+00:00")+`}`), Options{})
	if err != nil || len(found.Series) != 1 || len(found.Series[0].Readings) != 2 || math.Abs(found.Series[0].Readings[1].Value-200*0.028316846592) > 1e-9 {
		t.Errorf("%+v, %v", found, err)
	}
}
