package agency

import (
	"context"
	"encoding/json"
	"errors"
	"net/url"
	"regexp"
	"sync"
	"time"

	"rigtally/gauges/fetch"
	"rigtally/journal/gauge"
)

// The Environment Agency's archive is up to two days late. Its flood monitoring has the same stations live, by another name,
// which the archive tells: readings of the last day and a half come from there, and those of the archive take their place once
// they are in it.
const (
	eaLately = 36 * time.Hour
	eaKnown  = 24 * time.Hour // how long a station's other name is taken for known
)

var eaReference = regexp.MustCompile(`^[0-9A-Za-z][0-9A-Za-z_-]{0,63}$`)

// liveNames are the names that stations have in flood monitoring, "" for those that are not there.
type liveNames struct {
	mu sync.Mutex
	of map[string]liveName
}

type liveName struct {
	name  string
	until time.Time
}

func (l *liveNames) get(id string, now time.Time) (name string, ok bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	n := l.of[id]
	return n.name, n.until.After(now)
}

func (l *liveNames) set(id, name string, until time.Time) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.of[id] = liveName{name, until}
}

// live are the readings of flood monitoring. Not ok: it has none of the station.
func (s ea) live(ctx context.Context, site gauge.Site, r *gauge.Request) (found gauge.Found, ok bool, err error) {
	name, known := s.names.get(site.Number, s.now())
	if !known {
		if name, err = s.liveName(ctx, site.Number); err != nil {
			return found, false, err
		}
		s.names.set(site.Number, name, s.now().Add(eaKnown))
	}
	if name == "" {
		return found, false, nil
	}
	tag := r.ETag
	at := s.beside("flood-monitoring", []string{"id", "stations", name, "readings"}, "since", moment(s.now().Add(-eaLately).Truncate(24*time.Hour)), "_limit", "10000")
	found, err = s.readings(ctx, at, gauge.Site{Provider: gauge.EA, Number: name}, r)
	switch {
	case isUnknown(err), err == nil && len(found.Series) == 0 && (tag == "" || tag != r.ETag):
		r.ETag, r.LastModified = "", ""
		s.names.set(site.Number, "", s.now().Add(eaKnown))
		return gauge.Found{}, false, nil
	case err != nil:
		return found, false, err
	}
	for i := range found.Series {
		found.Series[i].Site = site
	}
	return instants(found), true, nil
}

func isUnknown(err error) bool {
	var failed *fetch.Error
	return errors.As(err, &failed) && failed.Kind == fetch.Unknown
}

// liveName asks the archive for a station's name in flood monitoring.
func (s ea) liveName(ctx context.Context, id string) (string, error) {
	answer, err := s.ask(ctx, s.at([]string{"id", "stations", id + ".json"}), nil)
	if isUnknown(err) {
		return "", nil
	}
	if err != nil {
		return "", err
	}
	type station struct {
		Reference loose `json:"stationReference"`
	}
	var body struct{ Items json.RawMessage }
	var list []station
	var one station
	switch {
	case json.Unmarshal(answer.Body, &body) != nil:
	case json.Unmarshal(body.Items, &list) == nil && len(list) == 1:
		one = list[0]
	default:
		_ = json.Unmarshal(body.Items, &one) // as an object in place of a list; else it has no name
	}
	if !eaReference.MatchString(string(one.Reference)) {
		return "", nil
	}
	return string(one.Reference), nil
}

// beside is an address of a service that stands beside this one at its host.
func (s ea) beside(service string, path []string, pairs ...string) *url.URL {
	other := s.service
	other.base = s.base.JoinPath("..", service)
	return other.at(path, pairs...)
}

// loose is a text, or the first of several.
type loose string

// UnmarshalJSON takes what is neither for none.
func (l *loose) UnmarshalJSON(data []byte) error {
	var list []string
	var one string
	switch {
	case json.Unmarshal(data, &one) == nil:
		*l = loose(one)
	case json.Unmarshal(data, &list) == nil && len(list) > 0:
		*l = loose(list[0])
	}
	return nil
}
