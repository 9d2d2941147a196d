package agency

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"time"

	"rigtally/gauges/fetch"
	"rigtally/gauges/read"
	"rigtally/journal"
	"rigtally/journal/gauge"
)

// service is what all sources have in common.
type service struct {
	client *fetch.Client
	now    func() time.Time
	base   *url.URL
	title  string
	key    fetch.Key
}

// at is an address of the service: parts of a path, and pairs of a name and a value. No part of what people typed gets into
// the path but by the check of a number, and all is escaped.
func (s service) at(path []string, pairs ...string) *url.URL {
	to := s.base.JoinPath(path...)
	query := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		query.Set(pairs[i], pairs[i+1])
	}
	to.RawQuery = query.Encode()
	return to
}

// ask gets one answer. By the request, which may be nil, the service is told which answer is known.
func (s service) ask(ctx context.Context, at *url.URL, r *gauge.Request) (fetch.Answer, error) {
	ask := fetch.Ask{Service: s.title, URL: at, Key: s.key}
	if r != nil {
		ask.ETag, ask.LastModified = r.ETag, r.LastModified
	}
	answer, err := s.client.Get(ctx, ask)
	if err != nil {
		return answer, err
	}
	if end := bytes.TrimRight(answer.Body, " \t\r\n"); !answer.Same && !bytes.HasSuffix(end, []byte("}")) && !bytes.HasSuffix(end, []byte("]")) {
		return answer, &fetch.Error{Service: s.title, Kind: fetch.Cut} // as a connection without a length can't tell
	}
	if r != nil {
		r.ETag, r.LastModified = answer.ETag, answer.LastModified
	}
	return answer, nil
}

// mostPages is how many an answer may have.
const mostPages = 100

// readings gets an answer of readings with all its pages. By the request, which may be nil, nothing is got that is known already.
func (s service) readings(ctx context.Context, at *url.URL, site gauge.Site, r *gauge.Request) (gauge.Found, error) {
	var pages []gauge.Found
	seen := map[string]bool{}
	for {
		answer, err := s.ask(ctx, at, r)
		if err != nil || answer.Same {
			return gauge.Found{}, err
		}
		page, err := read.Answer("The answer", bytes.NewReader(answer.Body), read.Options{Now: s.now()})
		if err != nil {
			return gauge.Found{}, s.unreadable(err)
		}
		if pages = append(pages, page.Found); page.Next == "" {
			return only(together(pages), site), nil
		}
		if r != nil { // the first page alone doesn't tell whether a later one has changed
			r.ETag, r.LastModified, r = "", "", nil
		}
		seen[at.String()] = true
		if at, err = s.next(at, page.Next); err != nil {
			return gauge.Found{}, err
		}
		if seen[at.String()] || len(pages) == mostPages {
			return gauge.Found{}, s.unreadable(errors.New("its pages have no end"))
		}
	}
}

// gauges are those that one answer describes.
func (s service) gauges(ctx context.Context, at *url.URL) ([]gauge.Gauge, error) {
	answer, err := s.ask(ctx, at, nil)
	if err != nil {
		return nil, err
	}
	page, err := read.Answer("The answer", bytes.NewReader(answer.Body), read.Options{Now: s.now()})
	if err != nil {
		return nil, s.unreadable(err)
	}
	return page.Gauges, nil
}

// next is where an answer goes on, which is never another host.
func (s service) next(from *url.URL, to string) (*url.URL, error) {
	next, err := from.Parse(to)
	if err != nil || next.Host != s.base.Host {
		return nil, s.unreadable(errors.New("it goes on at an address that isn't the service's own"))
	}
	next.Scheme, next.User, next.Fragment = s.base.Scheme, nil, ""
	return next, nil
}

func (s service) unreadable(err error) error {
	return &fetch.Error{Service: s.title, Kind: fetch.Unreadable, Cause: err}
}

// together puts answers together. A sensor keeps the name that the service gives it also where it is the only one of an answer:
// another answer may have two, and what is kept of it must be the same series.
func together(list []gauge.Found) gauge.Found {
	var all gauge.Found
	for _, found := range list {
		for _, s := range found.Series {
			i := slices.IndexFunc(all.Series, func(o gauge.Series) bool {
				return o.Site == s.Site && o.Quantity == s.Quantity && o.Sensor == s.Sensor && o.Statistic == s.Statistic
			})
			if i < 0 {
				all.Series = append(all.Series, s)
				continue
			}
			all.Series[i].Readings = append(all.Series[i].Readings, s.Readings...)
		}
		all.Gauges = append(all.Gauges, found.Gauges...)
		for _, note := range found.Notes {
			if !slices.Contains(all.Notes, note) {
				all.Notes = append(all.Notes, note)
			}
		}
	}
	for i := range all.Series {
		all.Series[i].Sort()
	}
	return all
}

// only is what was found of one site.
func only(found gauge.Found, site gauge.Site) gauge.Found {
	all := len(found.Series)
	found.Series = slices.DeleteFunc(found.Series, func(s gauge.Series) bool { return s.Site != site })
	found.Gauges = slices.DeleteFunc(found.Gauges, func(g gauge.Gauge) bool { return g.Site != site })
	if all > 0 && len(found.Series) == 0 {
		found.Notes = append(found.Notes, "The answer was about other gauges, so nothing of it was taken.")
	}
	return found
}

// instants leaves daily values out, which some services mix in.
func instants(found gauge.Found) gauge.Found {
	found.Series = slices.DeleteFunc(found.Series, func(s gauge.Series) bool { return s.Statistic != gauge.Instant })
	return found
}

// within leaves out what is before a time or after another.
func within(found gauge.Found, from, to time.Time) gauge.Found {
	for i := range found.Series {
		found.Series[i].Readings = found.Series[i].Between(from, to)
	}
	return found
}

// number is the number of a site as the service takes it, in an address.
func number(site gauge.Site, form *regexp.Regexp, like string) (string, error) {
	if !form.MatchString(site.Number) {
		return "", journal.Invalidf("%q is not the number of a gauge of %s; such numbers look like %s", site.Number, site.Provider, like)
	}
	return site.Number, nil
}

// spans cuts a time into spans of at most a length, in order.
func spans(from, to time.Time, length time.Duration) [][2]time.Time {
	var list [][2]time.Time
	for at := from; at.Before(to); at = at.Add(length) {
		end := at.Add(length)
		if end.After(to) {
			end = to
		}
		list = append(list, [2]time.Time{at, end})
	}
	return list
}

// each asks about one span after another and puts the answers together.
func each(list [][2]time.Time, ask func(from, to time.Time) (gauge.Found, error)) (gauge.Found, error) {
	var all []gauge.Found
	for _, span := range list {
		found, err := ask(span[0], span[1])
		if err != nil {
			return gauge.Found{}, err
		}
		all = append(all, found)
	}
	return together(all), nil
}

// words are those of a name that is looked for, without marks that could mean something to a service.
func words(name string) []string {
	return strings.FieldsFunc(name, func(r rune) bool {
		return !(r == '-' || r == '.' || r >= '0' && r <= '9' || r >= 'A' && r <= 'Z' || r >= 'a' && r <= 'z' || r > 0x7f)
	})
}

// box is what lies around a place: west, south, east, north in degrees.
func box(p Place) string {
	return fmt.Sprintf("%.1f,%.1f,%.1f,%.1f", p.Longitude-Around, p.Latitude-Around, p.Longitude+Around, p.Latitude+Around)
}

// rounded is a place no more exactly than services are told.
func rounded(p Place) Place { return *Near(p.Latitude, p.Longitude) }

// nothing says that a query names nothing to look for.
func nothing() error {
	return journal.Invalidf("Write the number of a gauge, words of its name, or a place.")
}

// nearest puts gauges in order of how far they are from a place.
func nearest(list []gauge.Gauge, p Place) {
	far := func(g gauge.Gauge) float64 {
		if g.Latitude == nil || g.Longitude == nil {
			return 1e9
		}
		north, east := *g.Latitude-p.Latitude, (*g.Longitude-p.Longitude)/2 // a degree east is about half as far at 60° N, near enough
		return north*north + east*east
	}
	slices.SortStableFunc(list, func(a, b gauge.Gauge) int {
		switch d := far(a) - far(b); {
		case d < 0:
			return -1
		case d > 0:
			return 1
		}
		return 0
	})
}

func day(t time.Time) string { return t.UTC().Format(time.DateOnly) }
