package read

import (
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"rigtally/journal/gauge"
)

// feature is one of a collection of the U.S. Geological Survey's Water Data service: a reading, or a place.
type feature struct {
	Geometry *struct {
		Coordinates json.RawMessage
	}
	Properties struct {
		Time             text
		Value            text
		Unit             text `json:"unit_of_measure"`
		Parameter        text `json:"parameter_code"`
		Statistic        text `json:"statistic_id"`
		Approval         text `json:"approval_status"`
		Qualifier        texts
		TimeSeries       text `json:"time_series_id"`
		Location         text `json:"monitoring_location_id"`
		LocationNumber   text `json:"monitoring_location_number"`
		LocationName     text `json:"monitoring_location_name"`
		Agency           text `json:"agency_code"`
		ZoneAbbreviation text `json:"time_zone_abbreviation"`
		DaylightSaving   text `json:"uses_daylight_savings"`
	}
	ID text `json:"id"`
}

func (a *answer) feature() error {
	var f feature
	if err := a.dec.Decode(&f); err != nil {
		return err
	}
	p := f.Properties
	if p.Time == "" && p.LocationName != "" {
		return a.location(f)
	}
	if p.Time == "" || p.Parameter == "" {
		return shape{"a feature there is neither a reading nor a monitoring location"}
	}
	return a.ogcReading(ogcRow{string(p.Location), string(p.Parameter), string(p.Statistic), string(p.TimeSeries), string(p.Time), string(p.Value), string(p.Unit), string(p.Approval), listed(strings.Join(p.Qualifier, " "))}, a.place)
}

// location is a gauge, its position as it is published.
func (a *answer) location(f feature) error {
	p := f.Properties
	number := usgsNumber(string(f.ID))
	if number == "" {
		number = string(p.LocationNumber)
		if agency := string(p.Agency); agency != "" && agency != "USGS" {
			number = agency + "-" + number
		}
	}
	if number == "" {
		return shape{"a monitoring location there has no number"}
	}
	g := gauge.Gauge{Site: gauge.Site{Provider: gauge.USGS, Number: number}, Name: string(p.LocationName),
		Zone: zoneName(string(p.ZoneAbbreviation), strings.HasPrefix(strings.ToUpper(string(p.DaylightSaving)), "Y") || p.DaylightSaving == "true")}
	if f.Geometry != nil {
		var at []float64
		if err := json.Unmarshal(f.Geometry.Coordinates, &at); err == nil && len(at) >= 2 {
			g.Longitude, g.Latitude = &at[0], &at[1]
		}
	}
	a.gauge(g)
	return nil
}

// usgsNumber is a site's number without the agency's name, which is kept for the few sites of other agencies.
func usgsNumber(id string) string { return strings.TrimPrefix(id, "USGS-") }

type ogcRow struct{ location, parameter, statistic, series, time, value, unit, approval, qualifier string }

// ogcReading takes a reading of the Water Data service, from JSON or from CSV.
func (b *book) ogcReading(r ogcRow, place func() string) error {
	r.parameter, r.statistic = five(r.parameter), five(r.statistic)
	p, known := parameters[r.parameter]
	if !known {
		b.leave("parameter " + r.parameter)
		return nil
	}
	kind, known := statistics[r.statistic]
	if !known {
		b.leave(fmt.Sprintf("%s (%s), %s", p.quantity, r.parameter, statisticName(r.statistic)))
		return nil
	}
	number := usgsNumber(r.location)
	provider := gauge.USGS
	if number == "" {
		provider = ""
	}
	site, err := b.site(provider, number)
	if err != nil {
		return err
	}
	w, ok := parseWall([]byte(r.time))
	if !ok {
		return b.wrongf(place(), "%q is no time as 2025-01-01T00:15:00+00:00", clip(r.time))
	}
	u, err := b.unitFor(p.quantity, r.unit, place())
	if err != nil {
		return err
	}
	at := w.day()
	if kind == gauge.Instant {
		if at = w.utc(); !w.known {
			if at, err = b.local(w, place()); err != nil {
				return err
			}
		}
	}
	codes := b.usgs
	f := codes.cell(b, []byte(r.qualifier))
	if !strings.EqualFold(r.approval, "Approved") {
		f |= gauge.Provisional
	}
	v, f, err := b.reading(r.value, f, u, nil, codes, place())
	if err != nil {
		return err
	}
	s := b.of(site, p.quantity, r.series, kind)
	return b.add(s, at, v, f, func() string { return place() + ", " + at.Format(time.RFC3339) })
}
