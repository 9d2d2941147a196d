package page

import (
	"context"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"rigtally/internal/table"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// Plain is a table whose first column names the others.
type Plain struct {
	Label, Caption string // the first for those who can't see it
	Class          string
	Head           []string
	Rows           [][]string
	Phone          []table.PhoneRow
}

func plain(label, caption string, t table.Table, class ...string) Plain {
	p := Plain{Label: label, Caption: caption, Class: strings.Join(class, " "), Phone: t.PhoneRows()}
	p.Head, p.Rows = t.Texts()
	return p
}

// Facts are what was noted, in the order of a page.
type Facts []prose.Fact

// Add adds a fact, unless nothing was noted.
func (f *Facts) Add(name, value string) {
	if value != "" {
		*f = append(*f, prose.Fact{Name: name, Value: value})
	}
}

// Segment is a text as a part of an address.
func Segment(text string) string { return url.PathEscape(text) }

// Link is a place to go.
type Link struct{ Href, Text string }

// Links leads to everything on a list.
func Links[T any](list func(context.Context) ([]T, error), to func(T) Link) func(context.Context) ([]Link, error) {
	return func(ctx context.Context) (links []Link, err error) {
		all, err := list(ctx)
		for _, one := range all {
			links = append(links, to(one))
		}
		return links, err
	}
}

// Row is a session, or the like, in a list.
type Row struct{ Href, Title, More string }

// Turn leads to the other pages of a list.
type Turn struct {
	What           string // is listed, the latest first
	At, Of         int
	Earlier, Later string // addresses of the neighboring pages, "" at the end
}

// NewTurn is a turn of a list at a path, with its filters, that has so many on a page.
func NewTurn(what, path string, q url.Values, at, total, each int) Turn {
	t := Turn{What: what, At: at, Of: Pages(total, each)}
	if at > 1 {
		t.Later = turned(path, q, at-1)
	}
	if at < t.Of {
		t.Earlier = turned(path, q, at+1)
	}
	return t
}

// Pages is how many pages a list fills.
func Pages(total, each int) int { return max(1, (total+each-1)/each) }

// turned is the address of another page of a list, with its filters.
func turned(path string, q url.Values, page int) string {
	next := url.Values{"page": {strconv.Itoa(page)}}
	for _, name := range []string{"angler", "water", "rig", "season", "q"} {
		if v := q.Get(name); v != "" {
			next.Set(name, v)
		}
	}
	return path + "?" + next.Encode()
}

// SessionRows lists sessions in short. A client's own don't say who fished.
func (f Frame) SessionRows(lines []journal.SessionLine) []Row {
	rows := make([]Row, len(lines))
	for i, l := range lines {
		where := l.Water
		if l.Beat != "" {
			where += ", " + l.Beat
		}
		more := []string{Unbroken(SessionTime(l)), Unbroken(prose.Caught(l.Hookups, l.Landed)), Unbroken(prose.Total(l.Tangles, "tangle", "tangles"))}
		if !f.Who.IsClient() {
			more = slices.Insert(more, 0, Unbroken(l.Angler))
		}
		rows[i] = Row{"/sessions/" + l.ID.String(), prose.Day(l.Day) + ", " + where, strings.Join(more, " · ")}
	}
	return rows
}

// SessionTime says how long was fished, as far as it was noted.
func SessionTime(l journal.SessionLine) string {
	switch {
	case l.Untimed == l.Stints:
		return "time not noted"
	case l.Untimed > 0:
		return "at least " + units.FormatDuration(l.Minutes)
	}
	return units.FormatDuration(l.Minutes)
}

// Unbroken keeps a few words on one line.
func Unbroken(s string) string { return strings.ReplaceAll(s, " ", "\u00a0") }
