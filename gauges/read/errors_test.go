package read

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"rigtally/journal"
	"rigtally/journal/gauge"
)

const rdbHead = "agency_cd\tsite_no\tdatetime\ttz_cd\t1_00060\t1_00060_cd\n5s\t15s\t20d\t6s\t14n\t10s\n"

// place is an observation of a place without a number, in WaterML 2.
const place = `<m><om:OM_Observation><om:observedProperty xlink:title="Discharge"/><om:featureOfInterest xlink:title="Mill"/><om:result><c:MeasurementTimeseries><c:point><c:MeasurementTVP><c:time>2024-05-02T10:00:00Z</c:time><c:value uom="m3/s">1</c:value></c:MeasurementTVP></c:point></c:MeasurementTimeseries></om:result></om:OM_Observation></m>`

// inlinePlace is the same with the place within.
func inlinePlace(name string) string {
	return strings.Replace(place, `<om:featureOfInterest xlink:title="Mill"/>`, `<om:featureOfInterest><c:MonitoringPoint gml:id="p"><gml:name>`+name+`</gml:name></c:MonitoringPoint></om:featureOfInterest>`, 1)
}

func rdbRow(at, zone, v, code string) string {
	return "USGS\t09999901\t" + at + "\t" + zone + "\t" + v + "\t" + code + "\n"
}

// TestRefused holds what people are told about files that can't be taken.
func TestRefused(t *testing.T) {
	t.Parallel()
	mine := Options{Now: now, Site: gauge.Site{Provider: "mine", Number: "1"}}
	utc := mine
	utc.Zone = time.UTC
	for _, c := range []struct {
		text string
		opt  Options
		want string
	}{
		{"<!DOCTYPE html><html><head><title>Moved</title>", mine, "F is a web page, not readings"},
		{"\n <html lang=en>", mine, "F is a web page"},
		{"PK\x03\x04rest", mine, "F is a workbook or a zip archive that is cut off or damaged; fetch or save it again"},
		{"\xd0\xcf\x11\xe0\xa1", mine, "F is a workbook of an older kind"},
		{"\x1f\x8b\x08", mine, "F: it ends in the middle, so it was cut off; nothing of it is taken"},
		{`{\rtf1\ansi Date,Flow}`, mine, "F is a document of a word processor"},
		{"%PDF-1.7", mine, "F is a PDF"},
		{"abc\x00\x01\x02", mine, "F is not a text"},
		{`{"error":{"code":"OVER_RATE_LIMIT","message":"You have exceeded your rate limit."}}`, mine, "F holds no readings but what the service answered instead: “You have exceeded your rate limit.”"},
		{`{"code":"NotFound","description":"collection not found"}`, mine, "“collection not found”"},
		{`{"title":"Bad Request","status":400,"detail":"invented: limit too high"}`, mine, "“invented: limit too high”"},
		{`{"a":1}`, mine, "F is JSON of a kind that is not known"},
		{`[1]`, mine, "an object was expected there"},
		{`{"features":{"a":1}}`, mine, "F, byte 13: a list was expected there"},
		{`{"features":[{"type":"Feature","properties":{"time":"2025-01-01T00:00:00Z","va`, mine, "it ends in the middle, so it was cut off; nothing of it is taken"},
		{`{"features":[]} {"features":[]}`, mine, "something stands after its end"},
		{`{"features":[{"properties":{"time":"yesterday","parameter_code":"00060","value":"1","unit_of_measure":"ft3/s"}}]}`, mine, `"yesterday" is no time as`},
		{`{"features":[{"properties":{"time":"2025-01-01T00:00:00Z","parameter_code":"00060","value":"1","unit_of_measure":"gal/min"}}]}`, mine, `"gal/min" is no unit that is known; those of flow are cfs, m3/s or l/s`},
		{`{"features":[{"properties":{"time":"2025-01-01T00:00:00Z","parameter_code":"00060","value":"1","unit_of_measure":"ft"}}]}`, mine, `"ft" is not a unit of flow`},
		{`{"features":[{"properties":{"time":"2025-01-01T00:00:00Z","parameter_code":"00060","value":"1","unit_of_measure":"cfs"}}]}`, Options{}, "F does not say which gauge it is from; name it, as in usgs:01234567"},
		{`{"value":{"queryInfo":{}}}`, mine, "no timeSeries is there"},
		{`{"items":[{"measure":"x-flow-i-900-m3s-qualified","dateTime":"2021-06-01T00:00:00Z","value":"high"}]}`, mine, `"high" is not a number`},
		{`{"items":[{"measure":"x-flow-i-900-m3s-qualified","dateTime":"2021-06-01T00:00:00Z","value":1,"riverName":{"a":[1]},"lat":"north"}]}`, mine, "lat holds a string, which is not how gauge services write it"},
		{`<?xml version="1.0"?><wml2:Collection xmlns:wml2="x"><wml2:point>`, mine, "it ends in the middle"},
		{`<ns1:timeSeriesResponse xmlns:ns1="x"><ns1:timeSeries><ns1:values><ns1:value dateTime="2024-05-02T10:00:00Z">1</ns1:value></ns1:values></ns1:timeSeries></ns1:timeSeriesResponse>`, mine, "F has a time series without a code of its site or variable"},
		{`<c:Collection xmlns:c="c" xmlns:om="o" xmlns:xlink="x">` + place + strings.Replace(place, "Mill", "Lock", 1) + `</c:Collection>`, mine, `the readings there are of "Lock", and those before of "Mill"; cut the file into one for each`},
		{`<c:Collection xmlns:c="c" xmlns:om="o" xmlns:xlink="x" xmlns:gml="g">` + inlinePlace("Mill") + inlinePlace("Lock") + `</c:Collection>`, mine, `the readings there are of "Lock", and those before of "Mill"`},
		{`<?xml version="1.0"?><kml/>`, mine, "F is XML of a kind that is not known"},
		{`<a><b></a>`, mine, "closes nothing there"},
		{"<?xml version=\"1.0\" encoding=\"koi8-r\"?><a/>", mine, "characters of koi8-r"},
		{strings.Repeat("<a>", 200), mine, "too deep"},
		{rdbHead + rdbRow("2024-01-01 00:00", "MST", "100", "A") + "USGS\t09999901\t2024-01-01 00:15\tMST\t10", mine, "F, line 4: it ends in the middle after 1 readings, so it was cut off; nothing of it is taken"},
		{rdbHead + "USGS\t09999901\t2024-01-01 00:15\tMST\n", mine, "F, line 3: it has 4 columns, and the row of names 6"},
		{rdbHead + "<html><body>502</body></html>\n", mine, "F, line 3: a web page begins there"},
		{"agency_cd\tsite_no\tdatetime\ttz_cd\t1_00060\t1_00060_cd\n", mine, "it ends in the middle"},
		{"# Data for the following 1 site(s) are contained in this file\n#    USGS 09999901 INVENTED CREEK\n", mine, "it ends in the middle"},
		{"agency_cd\tsite_no\tstation_nm\n5s\t15s\t50s\n", mine, "this one is of sites, and not of readings. Fetch its instantaneous or daily values"},
		{rdbHead + "USGS\t\t2024-01-01 00:15\tMST\t1\tA\n", mine, "F, line 3: it names no site"},
		{`<?xml version="7.0"?><a/>`, mine, "it can't be understood there"},
		{rdbHead + rdbRow("2024-01-01 00:00", "XYZ", "1", "A"), mine, `F, line 3: "XYZ" is no time zone that is known`},
		{rdbHead + rdbRow("2024-02-30 00:00", "MST", "1", "A"), mine, `"2024-02-30 00:00" is no time as`},
		{rdbHead + rdbRow("2024-02-03 00:00", "", "1", "A"), mine, "name the time zone that the file keeps"},
		{rdbHead + rdbRow("2024-01-01 00:00", "MST", "plenty", "A"), mine, `F, line 3, column 1_00060: "plenty" is neither a number nor a code that is known; empty the cell`},
		{rdbHead + rdbRow("1849-12-31 23:59", "UTC", "1", "A"), mine, "F, line 3: 1849-12-31 23:59 can't be when a gauge was read"},
		{rdbHead + rdbRow("2026-12-01 12:01", "UTC", "1", "A"), mine, "2026-12-01 12:01 can't be when a gauge was read"},
		{rdbHead + rdbRow("2024-01-01 00:00", "MST", "99999999", "A"), mine, "F, line 3: 2.83168e+06 m³/s is beyond what a river can have, and so are 1 of 1 values; is the unit right?"},
		{rdbHead + strings.Repeat("x", longestLine+1), mine, "F, line 3: it is longer than 65,536 bytes"},
		{rdbHead + rdbRow("2024-01-01 00:00", "MST", "1", "A") + rdbRow("2024-01-01 00:15", "MST", "1", "A"), Options{Now: now, MaxReadings: 1}, "F holds more than 1 readings; cut it into parts, by years"},
		{rdbHead + rdbRow("2024-01-01 00:00", "MST", "1", "A"), Options{Now: now, MaxBytes: 60}, "F is larger than 60 bytes"},
		{`{"features":[{"properties":{"time":"2025-01-01T00:00:00Z"}}]}`, Options{Now: now, MaxBytes: 20}, "F is larger than 20 bytes"},
		{"time,flow (cfs)\n2026-05-01 06:00,1\n", mine, "F, line 2: 2026-05-01T06:00 has no offset from UTC; name the time zone"},
		{"time,flow (cfs)\n05/01/2026 06:00,1\n", utc, `F, line 2: nothing there says whether "05/01/2026 06:00" has the month or the day first; say which, or write the dates as 2012-05-02`},
		{"time,flow (cfs)\n13/14/2026 06:00,1\n", utc, `"13/14/2026 06:00" is no time as 2012-05-02 10:15 (year, month, day)`},
		{"time,flow (cfs)\n05/01/26 06:00,1\n", utc, `F, line 2: nothing there says whether "05/01/26 06:00" has the month or the day first; say which`},
		{"time,flow (cfs)\n05/01/2026 13:00 PM,1\n", utc, `"05/01/2026 13:00 PM" is no time as`},
		{"time,flow (cfs)\n05/13/2026 06:00,1\n13/05/2026 06:00,1\n", utc, `F, line 3: "13/05/2026 06:00" is no date like those before it: the day is first in line 3, and the month in line 2`},
		{"time,flow (cfs)\n05/13/2026 06:00,1\n2026-05-13 06:15,1\n", utc, `F, line 3, column time: "2026-05-13 06:15" is written in another way than "05/13/2026 06:00"`},
		{"time,flow\n2026-05-01 06:00,1\n", utc, "F, line 1, column flow: no unit is given for flow; name it, as cfs, m3/s or l/s"},
		{"time,reading\n2026-05-01 06:00,1\n", utc, "nothing there says whether the values are flow, stage or temperature"},
		{"time,rain (mm)\n2026-05-01 06:00,1\n", utc, "there is no column of flow, stage or water temperature"},
		{"flow (cfs),stage (ft)\n1,2\n", utc, "no column there is named as a time"},
		{"time,flow (cfs)\n2026-05-01 06:00,lots\n", utc, `F, line 2, column flow (cfs): "lots" is not a number`},
		{"time,flow (cfs)\n2026-05-01 06:00,\"1,50,5\"\n", utc, `F, line 2, column flow (cfs): "1,50,5" is not a number`},
		{"time;flow (cfs)\n2026-05-01 06:00;1,5\n2026-05-01 07:00;1.5\n", utc, "F, line 3, column flow (cfs): decimals are written with a comma (line 2) and with a point (line 3)"},
		{"time,flow (cfs)\n2026-05-01 06:00,1\n2026-05-01,1\n", utc, "some rows have a time of day and some don't"},
		{"time,flow (cfs),note\n2026-05-01 06:00,1,\"never closed\n", utc, "a quotation mark is not closed there"},
		{"time,flow (cfs),note\n2026-05-01 06:00,1", utc, "it ends in the middle"},
		{"time,flow (cfs)\n2026-05-01 06:00,1\n", Options{Now: now, Zone: time.UTC}, "F does not say which gauge it is from; name it"},
		{"2026-05-01T06:00Z,1\n", mine, "nothing there says whether the values are flow"},
		{"measure,dateTime,date,value,completeness,quality,qcode\na-flow-i-900-m3s-qualified,2021-06-01T00:00:00,2021-06-01,x,,Good,\n", mine, `"x" is not a number`},
		{"Bad Request", mine, "F, line 1: there is one column, and a table needs two"},
	} {
		_, err := Any("F", strings.NewReader(c.text), c.opt)
		var invalid *journal.Invalid
		unsaid := regexp.MustCompile("name (it|the time zone)|nothing there says").MatchString(c.want)
		if !errors.As(err, &invalid) || !strings.Contains(err.Error(), c.want) || Unsaid(err) != unsaid {
			t.Errorf("%.60q: %v\nwant %s", c.text, err, c.want)
		}
	}
}

// TestCut cuts every fixture at many places: no part of one is taken for all of it, but where a table ends with a row.
func TestCut(t *testing.T) {
	t.Parallel()
	for _, c := range golden {
		whole, err := os.ReadFile(filepath.Join("testdata", c.file))
		if err != nil {
			t.Fatal(err)
		}
		table := strings.HasSuffix(c.file, ".rdb") || strings.HasSuffix(c.file, ".csv")
		for n := 1; n < len(strings.TrimSpace(string(whole))); n += 1 + len(whole)/200 {
			found, err := Any(c.file, strings.NewReader(string(whole[:n])), Options{Now: now, Zone: time.UTC, Site: gauge.Site{Provider: "mine", Number: "1"}})
			if err == nil && len(found.Series)+len(found.Gauges) > 0 && !table {
				t.Errorf("%s: its first %d bytes of %d are taken for the whole", c.file, n, len(whole))
			}
		}
	}
}

// TestUnreadable tells a reader that failed from a file that is wrong: that may be tried again.
func TestUnreadable(t *testing.T) {
	t.Parallel()
	broken := errors.New("the line went dead")
	for _, text := range []string{"", rdbHead, `{"features":[`, `<wml2:Collection xmlns:wml2="x">`} {
		_, err := Any("F", io.MultiReader(strings.NewReader(text), iotest.ErrReader(broken)), Options{})
		var invalid *journal.Invalid
		if !errors.Is(err, broken) || errors.As(err, &invalid) {
			t.Errorf("%q: %v", text, err)
		}
	}
	_, err := Any("F", io.MultiReader(strings.NewReader(`{"features":[`), iotest.ErrReader(io.ErrUnexpectedEOF)), Options{})
	if err == nil || !strings.Contains(err.Error(), "cut off") {
		t.Errorf("an answer that broke off: %v", err)
	}
}

// TestNothing takes files that hold nothing for what they are.
func TestNothing(t *testing.T) {
	t.Parallel()
	for _, text := range []string{"", "\n\n", "# only comments\n#\n", `{"value":{"timeSeries":[]}}`, `{"type":"FeatureCollection","features":[],"numberReturned":0}`, `{"meta":{},"items":[]}`,
		`{"count":0,"data":[]}`, rdbHead, "time,flow (cfs)\n", `<wml2:Collection xmlns:wml2="x"/>`, "measure,dateTime,date,value,completeness,quality,qcode\n"} {
		found, err := Any("F", strings.NewReader(text), Options{Site: gauge.Site{Provider: "mine", Number: "1"}})
		if err != nil || len(found.Series) > 0 || len(found.Notes) != 1 || !strings.Contains(found.Notes[0], "holds no readings") {
			t.Errorf("%q: %v %q", text, err, found.Notes)
		}
	}
}

// TestBeyond keeps a spike without its value, and flows below zero as suspect.
func TestBeyond(t *testing.T) {
	t.Parallel()
	text := "time,flow (m3/s),stage (m),temperature (degC)\n"
	for i := range 20 {
		flow, stage, degrees := "-3", "1", "9"
		switch i {
		case 5:
			stage = "100.1"
		case 6:
			degrees = "-5.1"
		case 7:
			flow = "400001"
		}
		text += fmt.Sprintf("2026-05-01T00:%02dZ,%s,%s,%s\n", i, flow, stage, degrees)
	}
	found, err := Any("F", strings.NewReader(text), Options{Site: gauge.Site{Provider: "mine", Number: "1"}, Now: now})
	if err != nil {
		t.Fatal(err)
	}
	for i, s := range found.Series {
		for j, r := range s.Readings {
			if spike := j == map[gauge.Quantity]int{gauge.Stage: 5, gauge.Temperature: 6, gauge.Flow: 7}[s.Quantity]; spike && (r.Usable() || r.Value == r.Value || r.Flags&gauge.Suspect == 0) || !spike && (r.Value != r.Value || r.Usable() == (s.Quantity == gauge.Flow)) {
				t.Errorf("series %d, reading %d: %+v", i, j, r)
			}
		}
	}
	if notes := strings.Join(found.Notes, "\n"); !strings.Contains(notes, "100.1 m (line 7)") || !strings.Contains(notes, "since the tide makes them") || strings.Count(notes, "no river has") != 3 {
		t.Errorf("notes: %s", notes)
	}
	if limitsOf(gauge.Flow) != (limits{-400_000, 400_000}) || limitsOf(gauge.Stage) != (limits{-50, 100}) || limitsOf(gauge.Temperature) != (limits{-5, 45}) {
		t.Error("limits have changed")
	}
}
