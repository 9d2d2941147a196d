package grid

import "testing"

// TestPublishedSerials holds dates and times against the values that ECMA-376 part 1 prints in 18.17.4.1 (dates),
// 18.17.4.2 (times) and 18.17.4.3 (both), for the 1900 backward compatibility system, which programs use where a
// workbook says nothing, and for the 1904 system.
func TestPublishedSerials(t *testing.T) {
	date, moment, clock := format{date: true}, format{date: true, time: true, seconds: true}, format{time: true, seconds: true}
	for _, c := range []struct {
		f      format
		since  float64 // 1904: what a serial is moved by
		serial float64
		want   string
	}{
		{date, 0, 1, "1900-01-01"},
		{date, 0, 3687, "1910-02-03"},
		{date, 0, 38749, "2006-02-01"},
		{date, 0, 2958465, "9999-12-31"},
		{date, shift1904, 0, "1904-01-01"},
		{date, shift1904, 2225, "1910-02-03"},
		{date, shift1904, 37287, "2006-02-01"},
		{date, shift1904, 2957003, "9999-12-31"},
		{clock, 0, 0, "00:00"},
		{clock, 0, 0.0000115, "00:00:01"},
		{clock, 0, 0.4207639, "10:05:54"},
		{clock, 0, 0.5, "12:00"},
		{clock, 0, 0.9999884, "23:59:59"},
		{moment, 0, 3687.4207639, "1910-02-03 10:05:54"},
		{moment, 0, 1.5, "1900-01-01 12:00"},
		{moment, 0, 2958465.9999884, "9999-12-31 23:59:59"},
		{moment, shift1904, 2225.4207639, "1910-02-03 10:05:54"},
		{moment, shift1904, 0.5, "1904-01-01 12:00"},
		{moment, shift1904, 2957003.9999884, "9999-12-31 23:59:59"},
		// Its first edition, part 4, 3.17.4.1: 59 is 28 February 1900, 61 is 1 March, and 60 a day that never was.
		{date, 0, 59, "1900-02-28"},
		{date, 0, 61, "1900-03-01"},
		{date, 0, 60, "60"},
		{date, 0, 0, "0"},
		{date, 0, 2958466, "2958466"},
		{date, 0, -1, "-1"},
	} {
		if got := c.f.serial(c.serial + c.since); got != c.want {
			t.Errorf("%v since %v is %s; want %s", c.serial, c.since, got, c.want)
		}
	}
}

func TestTimesAndSpells(t *testing.T) {
	for _, c := range []struct {
		code string
		v    float64
		want string
	}{
		{"h:mm", 0.270833333333333, "06:30"},
		{"h:mm", 0.270833333333333 + 30.0/86400, "06:30"}, // seconds are not shown
		{"h:mm:ss", 0.270833333333333 + 30.0/86400, "06:30:30"},
		{"h:mm AM/PM", 0.75, "18:00"},
		{"hh:mm", 0.999999999, "24:00"}, // the end of a day
		{"h:mm", 45777.2708333333, "06:30"},
		{"h:mm", 1.0625, "25:30"},
		{"[h]:mm", 0.0625, "1:30"},
		{"[h]:mm", 1.0625, "25:30"},
		{"[hh]:mm:ss", 0.0625 + 5.0/86400, "1:30:05"},
		{"[mm]", 0.0625, "1:30"},
		{"[m]:ss", 0.0625, "1:30"},
		{"mm:ss", 0.03125, "0:45"},
		{"[h]:mm", -0.0625, "-1:30"},
		{"[h]:mm", 0, "0:00"},
		{"d.m.yyyy", 45777.5, "2025-04-30"},
		{"DD.MM.YYYY hh:mm", 45777.2708333333, "2025-04-30 06:30"},
		{"yyyy-mm-dd hh:mm", 0.2708333333333, "06:30"},
		{"mmm yy", 45777, "2025-04-30"},
		{"dddd", 45777, "2025-04-30"},
		{`[$-407]d. mmm yyyy;@`, 45777, "2025-04-30"},
		{`h" h "mm`, 0.25, "06:00"},
		{"0.00", 1.5, "1.5"},
		{"0.00%", 0.4223, "42.23%"},
		{"0%", 0.07, "7%"},
		{`0.0" cm"`, 12.5, "12.5 cm"},
		{`0\ "mm"`, 150, "150 mm"},
		{`#,##0.00 "kg"`, 1234.5, "1234.5 kg"},
		{`0.0" cm";[Red]-0.0" cm"`, 12.125, "12.1250 cm"},
		{`"No. "0`, 7, "7"},
		{"#,##0.00 [$€-407]", 1234.5, "1234.5"},
		{"0.00E+00", 1200, "1200"},
		{"# ?/?", 6.5, "6.5"},
		{"@", 3, "3"},
		{"0.0 cm", 12.5, "12.5"}, // a format that is none
		{"", 2.5, "2.5"},
	} {
		f := coded(c.code)
		if got := f.show(c.v); got != c.want {
			t.Errorf("%v as %q is %q; want %q", c.v, c.code, got, c.want)
		}
	}
}

func TestNumbers(t *testing.T) {
	for v, want := range map[float64]string{
		0: "0", 7: "7", -3: "-3", 0.1 + 0.2: "0.3", 6.5: "6.5", 1.25: "1.25", 1.125: "1.1250", 1234.5: "1234.5", 12345678: "12345678",
		-0.375: "-0.3750", 1e21: "1000000000000000000000", 0.00001: "0.00001", 2.0 / 3: "0.666666666666667", 99.99999999999999: "100",
	} {
		if got := number(v); got != want {
			t.Errorf("%v is written %s; want %s", v, got, want)
		}
	}
}
