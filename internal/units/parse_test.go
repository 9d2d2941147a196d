package units

import (
	"errors"
	"strings"
	"testing"
)

// Expected values are exact products with the factors of NIST SP 811, App. B.8
// (in = 25.4 mm, ft = 0.3048 m, ft³ = 0.028316846592 m³, °C = (°F − 32)/1.8)
// worked by hand. The texts are the ways an invented guide and an invented
// metric notebook write them.
func TestParse(t *testing.T) {
	t.Parallel()
	tests := []struct {
		q    Quantity
		text string
		bare Unit
		want float64
	}{
		{Length, `6 1/2"`, "", 165.1},
		{Length, `4 1/2"`, "", 114.3},
		{Length, `6-1/2"`, "", 165.1},
		{Length, `6½ in`, "", 165.1},
		{Length, `6 ½”`, "", 165.1},
		{Length, `6 1⁄2″`, "", 165.1},
		{Length, `½"`, "", 12.7},
		{Length, `⅝ in.`, "", 15.875},
		{Length, `6.5in`, "", 165.1},
		{Length, `6,5 in`, "", 165.1},
		{Length, `14''`, "", 355.6},
		{Length, `14’’`, "", 355.6},
		{Length, "7 inches", "", 177.8},
		{Length, "16,5 cm", "", 165},
		{Length, "22,9", Centimetre, 229},
		{Length, "35,6", Centimetre, 356},
		{Length, "17\u00a0CM", "", 170},
		{Length, "１６５ｍｍ", "", 165},
		{Length, "165mm", Inch, 165},
		{Length, "165", Millimetre, 165},
		{Length, "6 1/2", Inch, 165.1},
		{Length, `1'2"`, "", 355.6},
		{Length, `10'6`, "", 3200.4},
		{Length, "1 ft 2 1/2 in", "", 368.3},
		{Length, "2 ft", "", 609.6},
		{Length, "2.1 m", "", 2100},
		{Length, "1 020 mm", "", 1020},
		{Length, "0", Millimetre, 0},
		{Depth, "2.5 ft", "", 0.762},
		{Depth, `2'6"`, "", 0.762},
		{Depth, "80 cm", "", 0.8},
		{Depth, "0,8", Metre, 0.8},
		{Speed, "2 ft/s", "", 0.6096},
		{Speed, "2,5 fps", "", 0.762},
		{Speed, "0,8", MetrePerSecond, 0.8},
		{Flow, "540 cfs", "", 15.29109715968},
		{Flow, "1,020 cfs", "", 28.88318352384},
		{Flow, "540 ft3/s", "", 15.29109715968},
		{Flow, "540 ft³/s", "", 15.29109715968},
		{Flow, "160", CubicFootPerSecond, 4.53069545472},
		{Flow, "12.3 m³/s", "", 12.3},
		{Flow, "12,3 m3/s", "", 12.3},
		{Flow, "20,10", CubicMetrePerSecond, 20.1},
		{Flow, "2 cumecs", "", 2},
		{Flow, "540 l/s", "", 0.54},
		{Temperature, "54F", "", 22 * 5.0 / 9},
		{Temperature, "54 °F", "", 22 * 5.0 / 9},
		{Temperature, "54º", Fahrenheit, 22 * 5.0 / 9},
		{Temperature, "50 deg F", "", 10},
		{Temperature, "68", Fahrenheit, 20},
		{Temperature, "12,5 °C", "", 12.5},
		{Temperature, "12.5C", Fahrenheit, 12.5},
		{Temperature, "9,3", Celsius, 9.3},
		{Temperature, "−2 ℃", "", -2},
		{Percent, "72%", "", 72},
		{Percent, "12,5 %", "", 12.5},
		{Percent, "90 percent", PerCent, 90},
		{Percent, "90", PerCent, 90},
		{Percent, "25% of years", "", 25},
		{Duration, "1h30", "", 90},
		{Duration, "0h45", "", 45},
		{Duration, "2h00", "", 120},
		{Duration, "1h 30m", "", 90},
		{Duration, "1:30", "", 90},
		{Duration, "01:30:00", Hour, 90},
		{Duration, "1:30 h", "", 90},
		{Duration, "90 min", Hour, 90},
		{Duration, "1 h", "", 60},
		{Duration, "0.75 h", "", 45},
		{Duration, "1.25 h", "", 75},
		{Duration, "1,5 h", "", 90},
		{Duration, "1½ h", "", 90},
		{Duration, "1 hr. 30 min.", "", 90},
		{Duration, "150", Minute, 150},
		{Duration, "2.5", Hour, 150},
	}
	for _, tt := range tests {
		got, err := Parser{}.Parse(tt.q, tt.text, tt.bare)
		if err != nil || got != tt.want {
			t.Errorf("%s %q (bare %q) = %v, %v; want %v", tt.q, tt.text, tt.bare, got, err, tt.want)
		}
	}
}

func TestParseDurationRoundsToWholeMinutes(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]int{"1:30:29": 90, "1:30:30": 91, "0.01 h": 1, "0.5 min": 1, "0.4 min": 0, "1/3 h": 20} {
		if got, err := ParseDuration(text, ""); err != nil || got != want {
			t.Errorf("ParseDuration(%q) = %d, %v; want %d", text, got, err, want)
		}
	}
}

func TestParseErrors(t *testing.T) {
	t.Parallel()
	tests := []struct {
		q    Quantity
		text string
		bare Unit
		want string // the whole message up to the remedy
	}{
		{Duration, "-30", Minute, "-30 min is below zero"},
		{Duration, "-1:30", "", "-1:30 is below zero"},
		{Duration, "-1h30", "", "-1h30 is below zero"},
		{Duration, "1h75", "", "“1h75” is not a time"},
		{Duration, "1.5h30", "", "“1.5h30” is not a time"},
		{Duration, "1h½", "", "“1h½” is not a time"},
		{Duration, "90", "", "90 names no unit (min or h)"},
		{Duration, "1:75", "", "“1:75” is not a time"},
		{Duration, "1:30 PM", "", "“1:30 PM” is not a time"},
		{Duration, "200 h", "", "200 h is longer than a week"},
		{Length, "", Inch, "no length is given"},
		{Length, " \ufeff ", Inch, "no length is given"},
		{Length, "long", Inch, "“long” is not a length"},
		{Length, "6.5", "", "6.5 names no unit (mm, cm, in, m or ft)"},
		{Length, "6 furlongs", "", "“6 furlongs” has “furlongs” where a unit should be (mm, cm, in, m or ft)"},
		{Length, "-6 in", "", "-6 in is below zero"},
		{Length, "61/0 in", "", "“61/0 in” is not a length"},
		{Length, "6 3/2 in", "", "“6 3/2 in” is not a length"},
		{Length, "6² in", "", "“6² in” is not a length"},
		{Length, "1e400", Millimetre, "“1e400” has “e400” where a unit should be (mm, cm, in, m or ft)"},
		{Length, "NaN", Millimetre, "“NaN” is not a length"},
		{Length, "+Inf mm", "", "“+Inf mm” is not a length"},
		{Length, "999999999999 in", "", "999999999999 in is longer than 91 m (300 ft)"},
		{Length, `6" 7"`, "", "“6\" 7\"” is not a length"},
		{Length, "1 ft 14 in", "", "“1 ft 14 in” is not a length"},
		{Length, "1,2,3 mm", "", "“1,2,3 mm” is not a length"},
		{Length, "0.0000000000001 mm", "", "0.0000000000001 mm is nearer to zero than can be measured"},
		{Length, strings.Repeat("9", 5000), Inch, "“" + strings.Repeat("9", 40) + "…” is not a length"},
		{Length, "6\x00\xff in", "", "“6�� in” is not a length"},
		{Flow, "-5", CubicFootPerSecond, "-5 cfs is below zero"},
		{Flow, "540", "", "540 names no unit (cfs, m³/s or l/s)"},
		{Flow, "9,000,000,000 cfs", "", "9,000,000,000 cfs is more than any river carries"},
		{Percent, "72", "", "72 names no unit (%)"},
		{Percent, "101%", "", "101% is more than 100%"},
		{Temperature, "54", "", "54 names no unit (°F or °C)"},
		{Temperature, "54°", "", "54° names no unit (°F or °C)"},
		{Temperature, "400 C", "", "400 C is hotter than boiling water"},
		{Temperature, "-459 F", "", "-459 F is colder than water or air can be"},
		{Depth, "deep", Foot, "“deep” is not a depth"},
		{Depth, "3000", Foot, ""},
		{Depth, "4000", Foot, "4000 ft is deeper than 914 m (3000 ft)"},
		{Tippet, "", X, "no tippet size is given"},
		{Tippet, "9X", "", "“9X” is not an X size (05X, 04X … 01X, 0X, 0.5X, 1X … 8X)"},
		{Tippet, "0.127", X, "“0.127” is not an X size (05X, 04X … 01X, 0X, 0.5X, 1X … 8X)"},
		{Tippet, "06X", "", "“06X” is not an X size (05X, 04X … 01X, 0X, 0.5X, 1X … 8X)"},
		{Tippet, "000X", "", "“000X” is not an X size (05X, 04X … 01X, 0X, 0.5X, 1X … 8X)"},
		{Tippet, "6", Millimetre, "6 mm is thicker than any tippet (1 mm)"},
		{Tippet, "0.005 mm", "", "0.005 mm is thinner than any tippet (0.02 mm)"},
		{Tippet, "6", "", "6 names no unit (mm or in)"},
		{Tippet, "6X (0.16 mm)", "", "6X (0.16 mm) gives two different sizes"},
	}
	for _, tt := range tests {
		_, err := Parser{}.Parse(tt.q, tt.text, tt.bare)
		if tt.want == "" {
			if err != nil {
				t.Errorf("%s %q: %v", tt.q, tt.text, err)
			}
			continue
		}
		var e *Error
		if !errors.As(err, &e) {
			t.Errorf("%s %q gives %v, want an *Error", tt.q, tt.text, err)
			continue
		}
		if got := strings.TrimPrefix(e.Value+" "+e.Problem, " "); got != tt.want {
			t.Errorf("%s %q:\n got %s\nwant %s", tt.q, tt.text, got, tt.want)
		}
		if !strings.Contains(e.Remedy, "write") || !strings.HasSuffix(err.Error(), "; "+e.Remedy) {
			t.Errorf("%s %q has no remedy: %v", tt.q, tt.text, err)
		}
	}
}

func TestParseLessThanNothing(t *testing.T) {
	t.Parallel()
	const want = "-30 min is below zero; write how long it was fished, for example 45 min or 1h30"
	if _, err := ParseDuration("-30", Minute); err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
}

func TestParseWrongBareUnit(t *testing.T) {
	t.Parallel()
	if _, err := Parse(Flow, "540", Inch); err == nil {
		t.Error("a flow in inches is accepted")
	}
	if _, err := (Parser{}).Parse("colour", "red", ""); err == nil {
		t.Error("a quantity that does not exist is accepted")
	}
}

func TestParseSystemAndUnit(t *testing.T) {
	t.Parallel()
	if sys, err := ParseSystem(" Metric "); err != nil || sys != Metric {
		t.Errorf("ParseSystem: %v, %v", sys, err)
	}
	if _, err := ParseSystem("imperial"); err == nil || err.Error() != "units must be us or metric, not “imperial”" {
		t.Errorf("ParseSystem: %v", err)
	}
	tests := []struct {
		q    Quantity
		text string
		want Unit
	}{
		{Length, "In", Inch}, {Length, "inches", Inch}, {Length, "cfs", ""}, {Length, "", ""}, {Length, "in in", ""},
		{Flow, "m3s", CubicMetrePerSecond}, {Flow, "m³/s", CubicMetrePerSecond}, {Flow, "cfs", CubicFootPerSecond},
		{Temperature, "°F", Fahrenheit}, {Temperature, "c", Celsius}, {Tippet, "X", X}, {Tippet, "mm", Millimetre},
		{Duration, "minutes", Minute}, {"colour", "red", ""},
	}
	for _, tt := range tests {
		if got, ok := ParseUnit(tt.q, tt.text); got != tt.want || ok != (tt.want != "") {
			t.Errorf("ParseUnit(%s, %q) = %q, %v", tt.q, tt.text, got, ok)
		}
	}
}
