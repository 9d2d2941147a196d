package agency

import (
	"context"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"

	"rigtally/journal/gauge"
)

const hubeauAddress = "https://hubeau.eaufrance.fr/api/v2/hydrometrie"

// hubeau is Hub'Eau, which publishes what the gauges of France measure: stage and flow, readings of the last month and daily
// means of all years.
type hubeau struct{ service }

func (hubeau) Provider() string { return gauge.Hubeau }

func (hubeau) Title() string { return "Hub'Eau" }

func (hubeau) Credit() string {
	return "Readings: Hub'Eau, from the hydrometric network of France (PHyC), under the Licence Ouverte."
}

// hubeauNumber is that of a station. The number of a site, two digits shorter, would give each reading twice.
var hubeauNumber = regexp.MustCompile(`^[0-9A-Z]{8}[0-9]{2}$`)

const (
	hubeauLike = "A123456701"
	hubeauPast = 31 * 24 * time.Hour // how far back it has readings
	hubeauPage = "20000"             // the most that it gives at once
)

// hubeauFirst is when its daily means begin; without a first day it may not give the earliest.
var hubeauFirst = time.Date(1900, 1, 1, 0, 0, 0, 0, time.UTC)

func (s hubeau) Latest(ctx context.Context, site gauge.Site, r *gauge.Request) (gauge.Found, error) {
	n, err := number(site, hubeauNumber, hubeauLike)
	if err != nil {
		return gauge.Found{}, err
	}
	return s.readings(ctx, s.at([]string{"observations_tr"}, "code_entite", n, "date_debut_obs", day(s.now().Add(-Lately)),
		"sort", "asc", "size", hubeauPage), site, r)
}

func (s hubeau) Past(ctx context.Context, site gauge.Site, from, to time.Time) (gauge.Found, error) {
	n, err := number(site, hubeauNumber, hubeauLike)
	if err != nil {
		return gauge.Found{}, err
	}
	if first := s.now().Add(-hubeauPast); from.Before(first) {
		if !to.After(first) {
			return gauge.Found{Notes: []string{"Hub'Eau has readings of the last month alone; of the time before it has daily means."}}, nil
		}
		from = first
	}
	return s.readings(ctx, s.at([]string{"observations_tr"}, "code_entite", n, "date_debut_obs", moment(from), "date_fin_obs", moment(to),
		"sort", "asc", "size", hubeauPage), site, nil)
}

func (s hubeau) Daily(ctx context.Context, site gauge.Site, from, to time.Time) (gauge.Found, error) {
	n, err := number(site, hubeauNumber, hubeauLike)
	if err != nil {
		return gauge.Found{}, err
	}
	if from.IsZero() {
		from = hubeauFirst
	}
	// An answer may go no deeper than 20,000 days.
	return each(spans(from, to.Add(24*time.Hour), 50*365*24*time.Hour), func(from, to time.Time) (gauge.Found, error) {
		return s.readings(ctx, s.at([]string{"obs_elab"}, "code_entite", n, "grandeur_hydro_elab", "QmnJ",
			"date_debut_obs_elab", day(from), "date_fin_obs_elab", day(to.Add(-time.Second)), "size", hubeauPage), site, nil)
	})
}

// Find looks by name for a river first, then for a station.
func (s hubeau) Find(ctx context.Context, q Query) ([]gauge.Gauge, error) {
	switch {
	case q.Number != "":
		n, err := number(gauge.Site{Provider: "Hub'Eau", Number: strings.ToUpper(q.Number)}, hubeauNumber, hubeauLike)
		if err != nil {
			return nil, err
		}
		return s.stations(ctx, "code_station", n)
	case len(words(q.Name)) > 0:
		name := strings.Join(words(q.Name), " ")
		list, err := s.stations(ctx, "libelle_cours_eau", name, "en_service", "1")
		if err == nil && len(list) == 0 {
			list, err = s.stations(ctx, "libelle_station", name, "en_service", "1")
		}
		return list, err
	case q.Near != nil:
		place := rounded(*q.Near)
		list, err := s.stations(ctx, "bbox", box(place), "en_service", "1")
		nearest(list, place)
		return list, err
	}
	return nil, nothing()
}

func (s hubeau) stations(ctx context.Context, pairs ...string) ([]gauge.Gauge, error) {
	list, err := s.gauges(ctx, s.at([]string{"referentiel", "stations"}, append(pairs, "format", "json", "size", fmt.Sprint(mostFound))...))
	return slices.DeleteFunc(list, func(g gauge.Gauge) bool { return !hubeauNumber.MatchString(g.Number) }), err
}
