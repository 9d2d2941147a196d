package grid

import (
	"strings"
	"unicode"

	"github.com/xuri/nfp"
)

// format is what a number format makes of a number, as far as it says what the number is.
type format struct {
	date, time, seconds bool // shows a day, a time of day, seconds
	elapsed             bool // a spell of time: hours go on past 24
	percent             bool
	unit                string // written after the number: " cm"
}

// general is the format of cells that have none.
var general = format{}

// show writes a number as its format says what it is.
func (f *format) show(v float64) string {
	switch {
	case f.date || f.time || f.elapsed:
		return f.serial(v)
	case f.percent:
		return number(v*100) + "%"
	}
	return number(v) + f.unit
}

func (f *format) plain() bool { return *f == general }

// builtIn are the formats that files know by number alone (ECMA-376 part 1, 18.8.30), those for dates in
// Chinese, Japanese, Korean and Thai among them.
func builtIn(id int) format {
	switch {
	case id == 9 || id == 10 || id == 67 || id == 68:
		return format{percent: true}
	case id >= 14 && id <= 17, id >= 27 && id <= 31, id == 36, id >= 50 && id <= 54, id == 57, id == 58, id >= 71 && id <= 74:
		return format{date: true}
	case id == 18 || id == 20 || id == 32 || id == 34 || id == 55 || id == 75:
		return format{time: true}
	case id == 19 || id == 21 || id == 33 || id == 35 || id == 56 || id == 76:
		return format{time: true, seconds: true}
	case id == 22 || id == 77:
		return format{date: true, time: true}
	case id >= 45 && id <= 47, id >= 78 && id <= 80:
		return format{elapsed: true, seconds: true}
	}
	return general
}

// maxFormat bounds a format's code; programs take 255 letters.
const maxFormat = 500

// coded reads the code of a format, such as "[h]:mm" or `0.0" cm"`, by its part for positive numbers.
func coded(code string) (f format) {
	if code == "" || len(code) > maxFormat {
		return general
	}
	defer func() { // the parser has not been made for what isn't a format
		if recover() != nil {
			f = general
		}
	}()
	parser := nfp.NumberFormatParser()
	sections := parser.Parse(code)
	if len(sections) == 0 {
		return general
	}
	var after string // the letter of the hours, minutes or days before
	var months, clocked, digits bool
	for i, t := range sections[0].Items {
		switch t.TType {
		case nfp.TokenTypeDateTimes:
			if digits && after == "" {
				return general // "0.0 cm" without quotes
			}
			switch letter := strings.ToLower(t.TValue[:1]); letter {
			case "y", "d", "e", "g", "b":
				f.date = true
				after = letter
			case "h", "a":
				f.time = true
				after = letter
			case "s":
				f.time, f.seconds, clocked = true, true, true
				after = letter
			case "m":
				if len(t.TValue) <= 2 && (after == "h" || after == "[" || beforeSeconds(sections[0].Items[i+1:])) {
					clocked = true
				} else {
					months = true
				}
				after = letter
			}
		case nfp.TokenTypeElapsedDateTimes:
			f.elapsed = true
			f.seconds = f.seconds || strings.Contains(strings.ToLower(t.TValue), "s")
			after = "["
		case nfp.TokenTypePercent:
			f.percent = true
		case nfp.TokenTypeZeroPlaceHolder, nfp.TokenTypeHashPlaceHolder, nfp.TokenTypeDigitalPlaceHolder, nfp.TokenTypeGeneral:
			digits = true
			f.unit = ""
		case nfp.TokenTypeLiteral:
			if digits {
				f.unit += t.TValue
			}
		case nfp.TokenTypeThousandsSeparator, nfp.TokenTypeExponential, nfp.TokenTypeFraction, nfp.TokenTypeDecimalPoint:
			f.unit = ""
		}
	}
	f.date = f.date || months
	switch {
	case f.elapsed:
		return format{elapsed: true, seconds: f.seconds}
	case clocked && !f.date && after == "s" && !hours(sections[0].Items):
		return format{elapsed: true, seconds: true} // mm:ss is a spell, of minutes and seconds
	case f.date || f.time || clocked:
		return format{date: f.date, time: f.time || clocked, seconds: f.seconds}
	case f.percent:
		return format{percent: true}
	}
	return format{unit: unit(f.unit)}
}

// beforeSeconds reports whether the next letters of a format are seconds, so that "m" before them are minutes.
func beforeSeconds(items []nfp.Token) bool {
	for _, t := range items {
		switch t.TType {
		case nfp.TokenTypeDateTimes, nfp.TokenTypeElapsedDateTimes:
			return strings.Contains(strings.ToLower(t.TValue), "s")
		}
	}
	return false
}

func hours(items []nfp.Token) bool {
	for _, t := range items {
		if t.TType == nfp.TokenTypeDateTimes && strings.EqualFold(t.TValue[:1], "h") {
			return true
		}
	}
	return false
}

// unit keeps what a format writes after a number where it says what the number is of: letters, degrees, feet and inches.
func unit(s string) string {
	for _, r := range s {
		if unicode.IsLetter(r) || strings.ContainsRune(`°'"′″`, r) {
			return strings.TrimRight(s, " ")
		}
	}
	return ""
}
