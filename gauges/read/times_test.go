package read

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"rigtally/journal/gauge"
)

// TestParseWall holds the reader of times to Go's own.
func TestParseWall(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ text, want string }{
		{"2019-02-14T00:00:00.000-05:00", "2019-02-14T05:00:00Z"},
		{"2019-02-14T00:00:00.250Z", "2019-02-14T00:00:00.25Z"},
		{"2024-01-01 03:15:00+00:00", "2024-01-01T03:15:00Z"},
		{"2024-01-01 03:15+0530", "2023-12-31T21:45:00Z"},
		{"2024-01-01T03:15-03", "2024-01-01T06:15:00Z"},
		{"2024-12-31T24:00Z", "2025-01-01T00:00:00Z"},
		{"1850-03-01T00:00Z", "1850-03-01T00:00:00Z"},
		{"2024-07-01 12:00 PDT", "2024-07-01T19:00:00Z"},
		{"2024-07-01 12:00 AKST", "2024-07-01T21:00:00Z"},
		{"2024-07-01 12:00 CHST", "2024-07-01T02:00:00Z"},
	} {
		if w, ok := parseWall([]byte(c.text)); !ok || !w.known || w.utc().Format(time.RFC3339Nano) != c.want {
			t.Errorf("%s: %v %v", c.text, w.utc(), ok)
		}
	}
	for _, text := range []string{"", "2024", "2024-13-01", "2023-02-29", "1900-02-29", "2024-01-01T25:00Z", "2024-01-01T10:60Z", "2024-01-01T24:01Z", "2024-01-01T10", "2024-01-01Tabc", "2024-01-01T10:15 Mars", "2024-01-01T10:15+99:00", "24-01-01 10:15"} {
		if w, ok := parseWall([]byte(text)); ok {
			t.Errorf("%q is taken for %v", text, w)
		}
	}
	for day := time.Date(1850, 1, 1, 0, 0, 0, 0, time.UTC); day.Year() < 2110; day = day.AddDate(0, 0, 1) {
		if w, ok := parseWall([]byte(day.Format(time.DateOnly))); !ok || !w.dayOnly || !w.day().Equal(day) {
			t.Fatalf("%s: %v %v", day, w, ok)
		}
	}
}

// TestOffsets holds the table to the zones that Go knows, in January and July.
func TestOffsets(t *testing.T) {
	t.Parallel()
	for name, pair := range zones {
		for i, place := range pair {
			if place == "" {
				continue
			}
			zone, err := time.LoadLocation(place)
			if err != nil {
				t.Fatal(err)
			}
			_, winter := time.Date(2025, 1, 15, 12, 0, 0, 0, zone).Zone()
			_, summer := time.Date(2025, 7, 15, 12, 0, 0, 0, zone).Zone()
			if winter != 60*offsets[name] || (summer != winter) != (i == 0) {
				t.Errorf("%s %s: %d s in winter and %d s in summer, the table says %d min", name, place, winter, summer, offsets[name])
			}
			if daylight := strings.Replace(name, "ST", "DT", 1); i == 0 && summer != 60*offsets[daylight] {
				t.Errorf("%s: %d s in summer, the table says %d min", daylight, summer, offsets[daylight])
			}
		}
	}
}

// TestRepeatedHour reads local times through a night when clocks go back: the hour stands there twice, and is told by its order.
func TestRepeatedHour(t *testing.T) {
	t.Parallel()
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	opt := Options{Site: gauge.Site{Provider: "mine", Number: "1"}, Zone: zone, Now: now}
	start := time.Date(2025, 11, 2, 4, 0, 0, 0, time.UTC) // midnight, at -04:00
	var rows []string
	for i := range 20 {
		rows = append(rows, start.Add(time.Duration(i)*15*time.Minute).In(zone).Format("2006-01-02 15:04")+fmt.Sprintf(",%d\n", i+1))
	}
	read := func(rows []string) (gauge.Found, error) {
		return Any("F", strings.NewReader("time,flow (m3/s)\n"+strings.Join(rows, "")), opt)
	}
	backwards := make([]string, len(rows))
	for i, r := range rows {
		backwards[len(rows)-1-i] = r
	}
	for _, list := range [][]string{rows, backwards} {
		found, err := read(list)
		if err != nil {
			t.Fatal(err)
		}
		if got := len(found.Series[0].Readings); got != 20 {
			t.Fatalf("%d readings of 20", got)
		}
		for i, r := range found.Series[0].Readings {
			if want := start.Add(time.Duration(i) * 15 * time.Minute); !r.At.Equal(want) || r.Value != float64(i+1) {
				t.Errorf("%v %v, want %v %d", r.At, r.Value, want, i+1)
			}
		}
	}
	// Rows 5 to 8 are the hour's first pass, 9 to 12 its second. With one of them alone nobody knows which it is.
	for _, list := range [][]string{append(append([]string{}, rows[:4]...), rows[8:]...), rows[5:6]} {
		if _, err := read(list); err == nil || !strings.Contains(err.Error(), "showed 2025-11-02T01:") || !strings.Contains(err.Error(), "twice") || !strings.Contains(err.Error(), "F, line ") {
			t.Errorf("half of a repeated hour: %v", err)
		}
	}
	_, err = read([]string{"2025-03-09 01:45,1\n", "2025-03-09 02:15,1\n"})
	if err == nil || !strings.Contains(err.Error(), "F, line 3: the clocks of America/New_York never showed 2025-03-09T02:15") {
		t.Errorf("a skipped hour: %v", err)
	}
}
