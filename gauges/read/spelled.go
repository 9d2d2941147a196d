package read

import (
	"bytes"
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// months are the names of months in English and in French, without accents. People cut them short after three letters or more.
var months = strings.Fields("january february march april may june july august september october november december janvier fevrier mars avril mai juin juillet aout septembre octobre novembre decembre")

var weekdays = strings.Fields("monday tuesday wednesday thursday friday saturday sunday lundi mardi mercredi jeudi vendredi samedi dimanche")

var withoutAccents = strings.NewReplacer("é", "e", "É", "e", "û", "u", "Û", "u")

// begins finds the one name, of those that repeat after so many, that a word begins. It isn't ok where there are two, as for "jui".
func begins(word string, names []string, repeat int) (index int, ok bool) {
	word, index = strings.ToLower(withoutAccents.Replace(word)), -1
	for i, name := range names {
		if len(word) < 3 || !strings.HasPrefix(name, word) && (word != "sept" || name != "september") {
			continue
		}
		if index >= 0 && index != i%repeat {
			return 0, false
		}
		index = i % repeat
	}
	return index, index >= 0
}

// spellings are the orders in which dates have the name of a month; a day of the week may stand before them.
var spellings = []struct {
	date             *regexp.Regexp
	day, month, year int
}{
	{regexp.MustCompile(`^(?:(\pL+)\.?,? +)?(\d{1,2})(?:st|nd|rd|th|er)?[ ./-]*(\pL{3,})\.?,?[ ./-]*(\d{4}|\d{2})([^\d].*)?$`), 2, 3, 4},
	{regexp.MustCompile(`^(?:(\pL+)\.?,? +)?(\pL{3,})\.?[ -]*(\d{1,2})(?:st|nd|rd|th)?,?[ -]+(\d{4})([^\d].*)?$`), 3, 2, 4},
	{regexp.MustCompile(`^()(\d{4})[ ./-]*(\pL{3,})\.?[ ./-]*(\d{1,2})([^\d].*)?$`), 4, 3, 2},
}

// parseSpelled reads dates with the name of a month: 02-May-2012 10:15, May 2, 2012 3:15 PM, 2 mai 2012. Short is one whose year has
// two digits, which stand last then.
func (b *book) parseSpelled(text []byte) (w wall, short, ok bool) {
	if len(text) > 60 || bytes.IndexFunc(text, func(r rune) bool { return r >= 'A' && r <= 'z' }) < 0 {
		return w, false, false
	}
	for _, s := range spellings {
		part := s.date.FindStringSubmatch(latin(text))
		if part == nil {
			continue
		}
		month, ok := begins(part[s.month], months, 12)
		if _, weekday := begins(part[1], weekdays, 7); !ok || part[1] != "" && !weekday {
			continue
		}
		day, _ := strconv.Atoi(part[s.day])
		year, _ := strconv.Atoi(part[s.year])
		if short = len(part[s.year]) == 2; short {
			year = b.century(year)
		}
		w, _, _, ok = parseDate(fmt.Appendf(nil, "%04d-%02d-%02d%s", year, month+1, day, part[5]))
		return w, short, ok
	}
	return w, false, false
}

// parseRun reads times without marks: 20120502, 201205021015, 20120502T101500Z, 20120502 1015, and those that are counted from
// 1970, in seconds or in thousandths of them.
func parseRun(b []byte) (w wall, s style, ok bool) {
	n := 0
	for n < len(b) && b[n] >= '0' && b[n] <= '9' {
		n++
	}
	if len(b) == n && (n == 10 || n == 13) {
		count, err := strconv.ParseInt(string(b[:10]), 10, 64)
		return wall{seconds: count, known: true}, counted, err == nil
	}
	clock, rest := b[min(8, n):n], b[n:]
	if n == 8 && len(rest) >= 5 && (rest[0] == 'T' || rest[0] == ' ') {
		m := 1
		for m < len(rest) && rest[m] >= '0' && rest[m] <= '9' {
			m++
		}
		clock, rest = rest[1:m], rest[m:]
	}
	if n != 8 && n != 12 && n != 14 || len(clock) != 0 && len(clock) != 4 && len(clock) != 6 {
		return w, 0, false
	}
	text := append(make([]byte, 0, 48), b[:4]...)
	text = append(append(append(text, '-'), b[4:6]...), '-')
	text = append(text, b[6:8]...)
	for i := 0; i < len(clock); i += 2 {
		text = append(append(text, " ::"[i/2]), clock[i:i+2]...)
	}
	w, ok = parseWall(append(text, rest...))
	return w, yearFirst, ok && w.seconds >= daysSince1970(firstYear, 1, 1)*86400 // or it is a number of a gauge
}
