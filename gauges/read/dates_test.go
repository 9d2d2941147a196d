package read

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"rigtally/journal/gauge"
)

// TestDates reads dates with the year last by what each column tells of itself, or by what is chosen where it tells nothing.
func TestDates(t *testing.T) {
	t.Parallel()
	day, month := new(true), new(false)
	for _, c := range []struct {
		rows     string
		dayFirst *bool
		first    string // of the readings
		note     string // of how it was read, "" for none
		refused  bool
	}{
		{"10/1/1999|10/13/1999", nil, "1999-10-01T00:00", "Dates such as 10/1/1999 are read with the month first, by line 3.", false},
		{"1/10/1999|13/10/1999", month, "1999-10-01T00:00", "Dates such as 1/10/1999 are read with the day first, by line 3.", false},
		{"1.10.1999|2.10.1999", nil, "1999-10-01T00:00", "Dates such as 1.10.1999 are read with the day first.", false},
		{"01/10/1999 10:15|01/10/1999 10:30", nil, "", "", true},
		{"01/10/1999 10:15|01/10/1999 10:30", day, "1999-10-01T10:15", "Dates such as 01/10/1999 10:15 are read with the day first.", false},
		{"01/10/1999 10:15|01/10/1999 10:30", month, "1999-01-10T10:15", "Dates such as 01/10/1999 10:15 are read with the month first.", false},
		{"01/10/1999 23:45|01/11/1999 00:00", nil, "1999-01-10T23:45", "Dates such as 01/10/1999 23:45 are read with the month first, since its rows follow one another so.", false},
		{"02/10/1999 00:00|01/10/1999 23:45", nil, "1999-10-01T23:45", "Dates such as 02/10/1999 00:00 are read with the day first, since its rows follow one another so.", false},
		{"1/1/1999|2/1/1999|3/1/1999", nil, "", "", true}, // days of January, or the first of three months
		{"10/13/1999 3:45 PM|10/13/1999 4:00:30 pm", nil, "1999-10-13T15:45", "Dates such as 10/13/1999 3:45 PM are read with the month first, by line 2.", false},
		{"10/13/1999 12:00 AM|10/13/1999 12:30 PM", nil, "1999-10-13T00:00", "Dates such as 10/13/1999 12:00 AM are read with the month first, by line 2.", false},
		{"10-13-1999 12:30PM -06:00|10-13-1999 12:45PM -06:00", nil, "1999-10-13T18:30", "Dates such as 10-13-1999 12:30PM -06:00 are read with the month first, by line 2.", false},
		{"01/02/25 10:15|01/02/25 10:30", nil, "", "", true},
		{"01/02/25 10:15|01/02/25 10:30", day, "2025-02-01T10:15", "Dates such as 01/02/25 10:15 are read with the day first.|Years with two digits, as in 01/02/25 10:15, are taken for 2025.", false},
		{"01/02/25 10:15|01/02/25 10:30", month, "2025-01-02T10:15", "Dates such as 01/02/25 10:15 are read with the month first.|Years with two digits, as in 01/02/25 10:15, are taken for 2025.", false},
		{"13/05/24 10:15|13/05/24 10:30", nil, "", "", true}, // of 2024, or of 2013
		{"1.2.99|2.2.99", nil, "1999-02-01T00:00", "Dates such as 1.2.99 are read with the day first.|Years with two digits, as in 1.2.99, are taken for 1999.", false},
		{"1999/5/2 9:15|1999/5/2 10:15", nil, "1999-05-02T09:15", "", false},
		{"1999-05-02 9:15 PM|1999-05-02 10:15 PM", nil, "1999-05-02T21:15", "", false},
	} {
		found, err := Any("F", strings.NewReader("date\tQ (m3/s)\n"+strings.ReplaceAll(c.rows, "|", "\t2\n")+"\t2\n"), Options{Site: gauge.Site{Provider: "mine", Number: "1"}, Now: now, Zone: time.UTC, DayFirst: c.dayFirst})
		if c.refused {
			if err == nil || !Unsaid(err) {
				t.Errorf("%s: %v", c.rows, err)
			}
			continue
		}
		if err != nil {
			t.Errorf("%s: %v", c.rows, err)
			continue
		}
		s := found.Series[0]
		if at := s.Readings[0].At.Format("2006-01-02T15:04"); at != c.first || strings.Join(found.Notes, "|") != c.note || (s.Statistic == gauge.DailyMean) == strings.Contains(c.rows, ":") {
			t.Errorf("%s: from %s, %s %q", c.rows, at, s.Statistic, found.Notes)
		}
	}
}

// TestDatesOfGo holds each day of a century, written in both orders, to Go's own reader.
func TestDatesOfGo(t *testing.T) {
	t.Parallel()
	for day := time.Date(1904, 1, 1, 13, 5, 9, 0, time.UTC); day.Year() < 2005; day = day.AddDate(0, 0, 1) {
		for i, layout := range []string{"1/2/2006 3:04:05 PM", "02.01.2006 15:04:05"} {
			w, _, dot, ok := parseDate([]byte(day.Format(layout)))
			at, is := unpacked(w.seconds, i == 1)
			if !ok || !is || at != day.Unix() || dot != (i == 1) {
				t.Fatalf("%s: %d %v %v", day.Format(layout), at, ok, is)
			}
		}
	}
}

// TestNames tells columns by the names that people give them: here an invented table in a shape that is seen, without a unit.
func TestNames(t *testing.T) {
	t.Parallel()
	opt := Options{Site: gauge.Site{Provider: "mine", Number: "1"}, Now: now, Zone: time.UTC}
	const days = "date\tQdaily\n10/1/1999\t3.029902561\n10/2/1999\t3.1\n10/13/1999\t3.2\n"
	if _, err := Any("F", strings.NewReader(days), opt); err == nil || !Unsaid(err) || !strings.Contains(err.Error(), "F, line 1, column Qdaily: no unit is given for flow") {
		t.Errorf("without a unit: %v", err)
	}
	with := opt
	with.Unit = "m3/s"
	found, err := Any("F", strings.NewReader(days), with)
	want := "mine:1 flow \"\" \"daily mean\": 1999-10-01=3.0299 1999-10-02=3.1 1999-10-13=3.2\nnote Dates such as 10/1/1999 are read with the month first, by line 4.\n"
	if err != nil || told(found) != want {
		t.Errorf("%v\n%s\nwant\n%s", err, told(found), want)
	}
	for name, q := range map[string]gauge.Quantity{"Q": gauge.Flow, "discharge": gauge.Flow, "Qdaily": gauge.Flow, "stage": gauge.Stage, "WT": gauge.Temperature, "water temp (F)": gauge.Temperature, "Water Temp": gauge.Temperature} {
		with.Unit = map[gauge.Quantity]string{gauge.Flow: "cfs", gauge.Stage: "ft", gauge.Temperature: "degF"}[q]
		found, err := Any("F", strings.NewReader(fmt.Sprintf("Date,%s\n1999-10-01,50\n", name)), with)
		if err != nil || len(found.Series) != 1 || found.Series[0].Quantity != q {
			t.Errorf("%s: %v %v", name, found.Series, err)
		} else if v := found.Series[0].Readings[0].Value; q == gauge.Temperature && (v < 9.9999 || v > 10.0001) {
			t.Errorf("%s: %g °C of 50 °F", name, v)
		}
	}
}
