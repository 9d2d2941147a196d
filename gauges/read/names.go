package read

import (
	"regexp"
	"slices"
	"strings"
	"unicode"

	"rigtally/journal/gauge"
)

// role is what the name of a column says that it holds.
type role struct {
	day, hour, flag bool
	date            bool // by that word, and not as Monday
	zone            bool // of each row
	key             bool // of what each row is: its gauge, its parameter
	value           bool // of something
	offset          *int // minutes, of all times below
	quantity        gauge.Quantity
	unit            string
	other           bool // of a day, or of something else: the highest, the air
}

func roleOf(name string) (r role) {
	lower := strings.ToLower(name)
	words := strings.FieldsFunc(lower, func(c rune) bool { return !unicode.IsLetter(c) && !unicode.IsDigit(c) })
	is := func(list string) bool {
		return slices.ContainsFunc(words, func(w string) bool { return slices.Contains(strings.Fields(list), w) })
	}
	ends := func(end string) bool {
		return slices.ContainsFunc(words, func(w string) bool { return strings.HasSuffix(w, end) })
	}
	r.date = is("date timestamp") || ends("datetime") || ends("datetimeutc")
	r.zone = is("tz timezone tzcd") || is("time") && is("zone") || is("utc gmt") && is("offset")
	r.day = r.date || is("day")
	r.hour = is("time timestamp hour heure") || ends("datetime") || ends("datetimeutc")
	r.flag = is("quality flag flags qualifier qualifiers code codes cd remark remarks status approval grade")
	r.key = is("site station gauge gage location agency parameter param variable") || is("sensor") && is("number type id name")
	r.value = is("value values reading readings result resultat résultat valeur measurement obs observation") || ends("value")
	r.other = is("max maximum min minimum high low air rain rainfall precipitation stage2 velocity depth conductance turbidity oxygen ph change median forecast predicted simulated modeled modelled historical normal percentile anomaly snow p10 p25 p50 p75 p90")
	switch {
	case r.key && is("agency") || r.zone:
		r.flag = false // agency_cd, tz_cd
	case r.date:
		// date_mesure_temp is when, not how warm
	case is("flow discharge streamflow flows débit debit q qdaily qday qmean qinst"):
		r.quantity = gauge.Flow
	case is("temperature temp watertemp wtemp wt température"):
		r.quantity = gauge.Temperature
	case is("stage height level hauteur gageheight ht gh"):
		r.quantity = gauge.Stage
	}
	if r.day || r.hour {
		r.offset = offsetNamed(name)
	}
	r.unit = unitNamed(name, len(words), r.quantity)
	if u, ok := unitOf(r.unit); ok && u.quantity == gauge.Flow && !r.key && !r.date {
		r.quantity = gauge.Flow // of the three nothing else is measured so
	}
	// gauge reading (ft) has readings, and so has each of site 1 and site 2.
	r.key = r.key && r.unit == "" && !r.value && !allDigits(words[len(words)-1])
	// X_00060_00003 is how programs write what the U.S. Geological Survey calls 00060_00003.
	for i, w := range words {
		if p, ok := parameters[w]; ok && r.quantity == "" && !r.day {
			r.quantity, r.unit = p.quantity, p.unit
			if i+1 < len(words) {
				_, taken := statistics[words[i+1]]
				r.other = r.other || len(words[i+1]) == 5 && allDigits(words[i+1]) && !taken
			}
		}
	}
	return r
}

// unitNamed finds the unit in a name: it stands in brackets, or behind a comma, or as the last word, as in flow (cfs),
// discharge, ft3/s, stage_m, temp degC, Q.m3s.
func unitNamed(name string, words int, q gauge.Quantity) (unit string) {
	for _, part := range strings.FieldsFunc(name, func(c rune) bool { return strings.ContainsRune("()[]{},;\"", c) }) {
		if _, ok := unitOf(part); ok {
			unit = strings.TrimSpace(part)
		}
	}
	fields := strings.Fields(name)
	for i := range fields {
		if _, ok := unitOf(strings.Join(fields[i:], "")); ok && i > 0 && unit == "" {
			unit = strings.Join(fields[i:], " ") // flow cubic feet per second
		}
	}
	for _, marks := range []string{"()[]{}_ ,:;", "()[]{}_ ,:;."} {
		if unit != "" {
			break
		}
		for _, part := range strings.FieldsFunc(name, func(c rune) bool { return strings.ContainsRune(marks, c) })[min(1, words):] {
			if u, ok := unitOf(part); ok && (q == "" || u.quantity == q) {
				unit = part
			}
		}
	}
	return unit
}

// named are offsets as loggers write them into the name of a column: GMT-06:00, UTC+1.
var named = regexp.MustCompile(`(?i)\b(?:UTC|GMT)\s*([+-])(\d{1,2})(?::?(\d{2}))?\b`)

// others are abbreviations that stand in names of columns and not in files of the U.S. Geological Survey.
var others = map[string]int{"UT": 0, "TU": 0, "BST": 60, "CET": 60, "CEST": 120, "MEZ": 60, "MESZ": 120}

// offsetNamed is the offset from UTC, in minutes, that the name of a column says, and nil where it says none, or several as
// MST/MDT, which is a zone's.
func offsetNamed(name string) *int {
	if m := named.FindStringSubmatch(name); m != nil {
		hours := m[2]
		if len(hours) == 1 {
			hours = "0" + hours
		}
		if minutes, ok := offsetOf([]byte(m[1] + hours + m[3])); ok {
			return &minutes
		}
		return nil
	}
	var found *int
	for _, word := range strings.FieldsFunc(name, func(c rune) bool { return !unicode.IsLetter(c) }) {
		minutes, ok := offsets[word]
		if lower := strings.ToLower(word); !ok && (strings.HasSuffix(lower, "utc") || lower == "gmt") {
			ok = true // datetimeUTC
		}
		if !ok {
			minutes, ok = others[word]
		}
		switch {
		case !ok || word == "Z":
		case found != nil && *found != minutes:
			return nil
		default:
			found = &minutes
		}
	}
	return found
}

// roleless reports whether a name has no letter and no digit, as # of a number of the row.
func roleless(name string) bool {
	return strings.IndexFunc(name, func(c rune) bool { return unicode.IsLetter(c) || unicode.IsDigit(c) }) < 0
}
