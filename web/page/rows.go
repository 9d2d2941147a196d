package page

import (
	"net/url"
	"strconv"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// Link is a place to go.
type Link struct{ Href, Text string }

// Row is a session, or the like, in a list.
type Row struct{ Href, Title, More string }

// Turned is the address of another page of a list, with its filters.
func Turned(path string, q url.Values, page int) string {
	next := url.Values{"page": {strconv.Itoa(page)}}
	for _, name := range []string{"angler", "water", "season"} {
		if v := q.Get(name); v != "" {
			next.Set(name, v)
		}
	}
	return path + "?" + next.Encode()
}

// SessionRows lists sessions in short.
func SessionRows(lines []journal.SessionLine) []Row {
	rows := make([]Row, len(lines))
	for i, l := range lines {
		where := l.Water
		if l.Beat != "" {
			where += ", " + l.Beat
		}
		more := []string{unbroken(l.Angler), unbroken(sessionTime(l)), unbroken(prose.Caught(l.Hookups, l.Landed)), unbroken(prose.Total(l.Tangles, "tangle", "tangles"))}
		rows[i] = Row{"/sessions/" + l.ID.String(), prose.Day(l.Day) + ", " + where, strings.Join(more, " · ")}
	}
	return rows
}

// sessionTime says how long was fished, as far as it was noted.
func sessionTime(l journal.SessionLine) string {
	switch {
	case l.Untimed == l.Stints:
		return "time not noted"
	case l.Untimed > 0:
		return "at least " + units.FormatDuration(l.Minutes)
	}
	return units.FormatDuration(l.Minutes)
}

// unbroken keeps a few words on one line.
func unbroken(s string) string { return strings.ReplaceAll(s, " ", "\u00a0") }
