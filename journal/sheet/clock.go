package sheet

import (
	"regexp"
	"strconv"
	"strings"
)

var (
	clockRE   = regexp.MustCompile(`^(\d{1,2})[:h.](\d\d)(?::(\d\d)(?:\.\d+)?)? ?(am|pm)?$`)
	hourRE    = regexp.MustCompile(`^(\d{1,2}) ?(am|pm|h)$`)
	militRE   = regexp.MustCompile(`^([01]\d|2[0-3])([0-5]\d)$`)
	dayPartRE = regexp.MustCompile(`^0?[.,]\d+$`)
)

// parseClock reads a time of day into seconds after midnight: 06:30, 6:30 am,
// 0630, 18h30, 7 pm, and the part of a day that spreadsheet programs store.
func parseClock(s string) (int, bool) {
	s = strings.ReplaceAll(strings.ToLower(strings.TrimSpace(s)), "a.m.", "am")
	s = strings.ReplaceAll(s, "p.m.", "pm")
	if dayPartRE.MatchString(s) && len(s) > 4 {
		part, err := strconv.ParseFloat(strings.Replace(s, ",", ".", 1), 64)
		seconds := int(part*86400 + 0.5)
		return seconds - seconds%60, err == nil && seconds < 86400
	}
	var hour, minute, second int
	half := ""
	if m := clockRE.FindStringSubmatch(s); m != nil {
		hour, minute, second, half = atoi(m[1]), atoi(m[2]), atoi(m[3]), m[4]
	} else if m := hourRE.FindStringSubmatch(s); m != nil {
		hour, half = atoi(m[1]), strings.TrimSuffix(m[2], "h")
	} else if m := militRE.FindStringSubmatch(s); m != nil {
		hour, minute = atoi(m[1]), atoi(m[2])
	} else {
		return 0, false
	}
	if half != "" {
		if hour < 1 || hour > 12 {
			return 0, false
		}
		hour %= 12
		if half == "pm" {
			hour += 12
		}
	}
	if hour > 23 || minute > 59 || second > 59 {
		return 0, false
	}
	return hour*3600 + minute*60 + second, true
}

// setClock reads a time of day.
func setClock(at func(r *row) **int) func(*column, *row, string) error {
	return func(c *column, r *row, cell string) error {
		v, err := cached(c, cell, func() (*int, error) {
			_, clock := splitClock(cell)
			if clock == "" {
				clock = cell
			}
			seconds, ok := parseClock(clock)
			if !ok {
				return nil, &problem{what: "is not a time of day", remedy: "write it as 06:30 or 6:30 pm"}
			}
			return &seconds, nil
		})
		*at(r) = v
		return err
	}
}
