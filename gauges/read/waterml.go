package read

import (
	"bytes"
	"encoding/json"
	"fmt"
	"html"
	"math"
	"strings"
	"time"

	"rigtally/journal/gauge"
)

// waterml reads what stands under "value" in WaterML written as JSON, the older answer of the U.S. Geological Survey.
func (a *answer) waterml() error {
	found := false
	err := a.object(func(key string) error {
		if key != "timeSeries" {
			return a.skip()
		}
		found = true
		return a.list(a.timeSeries)
	})
	if err == nil && !found {
		return shape{"no timeSeries is there, as in answers of the U.S. Geological Survey"}
	}
	return err
}

type sourceInfo struct {
	SiteName     string
	SiteCode     []struct{ Value text }
	TimeZoneInfo struct {
		DefaultTimeZone             struct{ ZoneAbbreviation string }
		SiteUsesDaylightSavingsTime bool
	}
	GeoLocation struct {
		GeogLocation struct{ Latitude, Longitude *float64 }
	}
}

type variable struct {
	VariableCode []struct{ Value text }
	VariableName string
	Unit         struct{ UnitCode text }
	NoDataValue  *float64
	Options      struct {
		Option []struct {
			Name       string
			OptionCode text
		}
	}
}

// timeSeries reads one, piece by piece where what it is of comes before its values.
func (a *answer) timeSeries() error {
	var source *sourceInfo
	var what *variable
	var late []json.RawMessage
	values := func() error { return a.values(*source, *what) }
	err := a.object(func(key string) error {
		switch key {
		case "sourceInfo":
			source = &sourceInfo{}
			return a.dec.Decode(source)
		case "variable":
			what = &variable{}
			return a.dec.Decode(what)
		case "values":
			if source != nil && what != nil {
				return a.list(values)
			}
			var raw json.RawMessage
			err := a.dec.Decode(&raw)
			late = append(late, raw)
			return err
		}
		return a.skip()
	})
	if err != nil {
		return err
	}
	if len(late) > 0 && (source == nil || what == nil) {
		return shape{"values stand there without a site or a variable"}
	}
	for _, raw := range late {
		inner := &answer{book: a.book, dec: json.NewDecoder(bytes.NewReader(raw))}
		if err := inner.list(func() error { return inner.values(*source, *what) }); err != nil {
			return err
		}
	}
	return nil
}

// point is a value whose codes are not explained yet: they are after all of them.
type point struct {
	at    wall
	value text
	codes string
}

// values reads those of one sensor.
func (a *answer) values(source sourceInfo, what variable) error {
	var points []point
	sensor, sensorName := "", ""
	codes := newCodes()
	err := a.object(func(key string) error {
		switch key {
		case "value":
			return a.list(func() error {
				var v struct {
					Value      text
					Qualifiers texts
					DateTime   string
				}
				if err := a.dec.Decode(&v); err != nil {
					return err
				}
				w, ok := parseWall([]byte(v.DateTime))
				if !ok {
					return shape{fmt.Sprintf("%q is no time as 2019-02-14T00:15:00.000-05:00", clip(v.DateTime))}
				}
				if len(points) > a.most {
					return a.wrongf("", "holds more than %s readings; cut it into parts, by years", thousands(a.most))
				}
				points = append(points, point{w, v.Value, strings.Join(v.Qualifiers, " ")})
				return nil
			})
		case "qualifier":
			return a.list(func() error {
				var q struct{ QualifierCode, QualifierDescription string }
				err := a.dec.Decode(&q)
				codes.explain(q.QualifierCode, q.QualifierDescription)
				return err
			})
		case "method":
			return a.list(func() error {
				var m struct {
					MethodID          text
					MethodDescription string
				}
				err := a.dec.Decode(&m)
				sensor, sensorName = string(m.MethodID), m.MethodDescription
				return err
			})
		}
		return a.skip()
	})
	if err != nil {
		return err
	}
	return a.points(source, what, points, codes, sensor, html.UnescapeString(sensorName))
}

// points takes those of one sensor, from JSON or from XML.
func (b *book) points(source sourceInfo, what variable, points []point, codes *codes, sensor, sensorName string) error {
	if len(source.SiteCode) == 0 || len(what.VariableCode) == 0 {
		return b.wrongf("", "has a time series without a code of its site or variable")
	}
	site := gauge.Site{Provider: gauge.USGS, Number: string(source.SiteCode[0].Value)}
	if site.Number == "" {
		return b.wrongf("", "has a time series with an empty code of its site")
	}
	code := string(what.VariableCode[0].Value)
	name := html.UnescapeString(what.VariableName)
	p, known := parameters[code]
	if !known {
		b.leave(name + " (" + code + ")")
		return nil
	}
	statistic := ""
	for _, o := range what.Options.Option {
		if strings.EqualFold(o.Name, "Statistic") {
			statistic = string(o.OptionCode)
		}
	}
	kind, known := statistics[statistic]
	if !known {
		b.leave(name + ", " + statisticName(statistic))
		return nil
	}
	place := func() string { return site.String() + ", " + name }
	u, err := b.unitFor(p.quantity, string(what.Unit.UnitCode), place())
	if err != nil {
		return err
	}
	zone := source.TimeZoneInfo
	b.gauge(gauge.Gauge{Site: site, Name: html.UnescapeString(source.SiteName), Zone: zoneName(zone.DefaultTimeZone.ZoneAbbreviation, zone.SiteUsesDaylightSavingsTime),
		Latitude: source.GeoLocation.GeogLocation.Latitude, Longitude: source.GeoLocation.GeogLocation.Longitude})
	s := b.of(site, p.quantity, sensor, kind)
	s.sensorName = sensorName
	for _, x := range points {
		at := x.at.day()
		if kind == gauge.Instant {
			if at = x.at.utc(); !x.at.known {
				if at, err = b.local(x.at, place()); err != nil {
					return err
				}
			}
		}
		v, f, err := b.reading(string(x.value), codes.cell(b, []byte(x.codes)), u, what.NoDataValue, codes, place())
		if err != nil {
			return err
		}
		if err := b.add(s, at, v, f, func() string { return place() + ", " + at.Format(time.RFC3339) }); err != nil {
			return err
		}
	}
	return nil
}

// reading makes a value of a text: a number, the number that stands for none, or a word that says why there is none.
func (b *book) reading(cell string, f gauge.Flags, u unit, none *float64, codes *codes, place string) (float64, gauge.Flags, error) {
	cell = strings.TrimSpace(cell)
	if cell == "" || strings.EqualFold(cell, "NaN") || strings.EqualFold(cell, "null") {
		return math.NaN(), f, nil
	}
	v, more, ok := value([]byte(cell))
	switch {
	case ok && (v == usgsNoValue || none != nil && v == *none):
		return math.NaN(), f, nil
	case ok:
		return u.si(v), f | more, nil
	}
	why, ok := codes.instead(cell)
	if !ok {
		return 0, 0, b.wrongf(place, "%q is neither a number nor a code that is known", clip(cell))
	}
	return math.NaN(), f | why, nil
}
