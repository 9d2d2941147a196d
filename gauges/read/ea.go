package read

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"

	"rigtally/journal/gauge"
)

// eaItem is an element of a list of the Environment Agency: a reading, a measure or a station, of its hydrology or its flood
// monitoring service.
type eaItem struct {
	ID      string   `json:"@id"`
	Measure resource // of a reading
	Time    text     `json:"dateTime"`
	Date    text
	Value   eaValue
	Quality text
	Whole   text `json:"completeness"`

	Label     texts // of a station; some have several names
	Notation  text
	Latitude  degrees `json:"lat"`
	Longitude degrees `json:"long"`
	Measures  resources
	River     text `json:"riverName"`

	Parameter text // of a measure
	Station   resource
}

// eaValue is a number. The live service gives several for one time now and then, of which none is taken.
type eaValue struct {
	v     float64
	given bool
}

// UnmarshalJSON reads a number, also as a text; a list or null is none.
func (e *eaValue) UnmarshalJSON(b []byte) error {
	var t text
	if err := t.UnmarshalJSON(b); err != nil || t == "" {
		return err
	}
	e.v, e.given = number([]byte(t))
	if !e.given {
		return shape{fmt.Sprintf("%q is not a number", clip(string(t)))}
	}
	return nil
}

// eaItems reads a list, or the one item that stands in its place where somebody asked about one.
func (a *answer) eaItems() error {
	t, err := a.dec.Token()
	switch {
	case err != nil:
		return err
	case t == json.Delim('['):
		return a.elements(func() error {
			var i eaItem
			if err := a.dec.Decode(&i); err != nil {
				return err
			}
			return a.eaItem(i)
		})
	case t == nil:
		return nil // null
	case t != json.Delim('{'):
		return shape{fmt.Sprintf("a list was expected there, not %v", t)}
	}
	fields := map[string]json.RawMessage{}
	for a.dec.More() {
		key, err := a.dec.Token()
		if err != nil {
			return err
		}
		var value json.RawMessage
		if err := a.dec.Decode(&value); err != nil {
			return err
		}
		fields[key.(string)] = value
	}
	if _, err := a.dec.Token(); err != nil {
		return err
	}
	whole, err := json.Marshal(fields)
	if err != nil {
		return err
	}
	var i eaItem
	if err := json.Unmarshal(whole, &i); err != nil {
		return err
	}
	return a.eaItem(i)
}

func (a *answer) eaItem(i eaItem) error {
	switch {
	case i.Measure.ID != "" || i.Time != "" || i.Date != "" && i.Value.given:
		if !i.Value.given {
			i.Value.v = math.NaN()
		}
		return a.eaReading(i.Measure.ID, string(i.Time), string(i.Date), i.Value.v, string(i.Quality), string(i.Whole), a.place)
	case i.Station.ID != "" || i.Parameter != "" && len(i.Measures) == 0:
		// A measure by itself, which says what its station measures.
		m, ok := eaMeasureOf(i.ID)
		if !ok {
			return nil
		}
		number := tail(i.Station.ID)
		if number == "" {
			number = m.station
		}
		label := i.Station.Label
		if label == "" && len(i.Label) > 0 {
			label = i.Label[0]
			if _, of, ok := strings.Cut(label, " time series for "); ok {
				label = of
			}
		}
		site := gauge.Site{Provider: gauge.EA, Number: number}
		a.gauge(gauge.Gauge{Site: site, Name: label, Zone: "Europe/London"})
		if g := a.known[site]; g != nil && m.taken {
			g.Measures = with(g.Measures, m.quantity)
		}
		return nil
	case len(i.Label) > 0:
		number := string(i.Notation)
		if number == "" {
			number = tail(i.ID)
		}
		if number == "" {
			return shape{"a station there has no number"}
		}
		name := i.Label[0]
		if river := string(i.River); river != "" && !strings.Contains(strings.ToLower(name), strings.ToLower(river)) {
			name = river + " at " + name
		}
		g := gauge.Gauge{Site: gauge.Site{Provider: gauge.EA, Number: number}, Name: name, Zone: "Europe/London", Latitude: i.Latitude.v, Longitude: i.Longitude.v}
		for _, of := range i.Measures {
			if m, ok := eaMeasureOf(of.ID); ok && m.taken {
				g.Measures = with(g.Measures, m.quantity)
			}
		}
		a.gauge(g)
		return nil
	}
	return shape{"an item there is neither a reading nor a station"}
}

func tail(address string) string { return address[strings.LastIndexByte(address, '/')+1:] }

// eaMeasure is what the name of a measure says: station-parameter-qualifier-statistic-interval-unit.
type eaMeasure struct {
	station   string
	quantity  gauge.Quantity
	sensor    string
	statistic gauge.Statistic
	unit      unit
	what      string // in words, for what is left out
	taken     bool
}

var eaParameters = map[string]gauge.Quantity{"flow": gauge.Flow, "level": gauge.Stage, "temp": gauge.Temperature, "temperature": gauge.Temperature}

// eaMeasureOf reads the name of a measure, alone or at the end of its address. Not ok is one whose parameter isn't known.
func eaMeasureOf(address string) (m eaMeasure, ok bool) {
	parts := strings.Split(tail(address), "-")
	at := -1
	for i := 1; i < len(parts) && at < 0; i++ {
		if _, known := eaParameters[parts[i]]; known {
			at = i
		}
	}
	if at < 0 || strings.Join(parts[:at], "") == "" {
		interval := len(parts) - 1
		for interval > 2 && !isInterval(parts[interval]) {
			interval--
		}
		m.what = strings.Join(parts[max(0, interval-2):], "-")
		return m, false
	}
	m.station, m.quantity = strings.Join(parts[:at], "-"), eaParameters[parts[at]]
	m.what = fmt.Sprintf("%s of %s", strings.Join(parts[at:], "-"), m.station)
	rest := parts[at+1:]
	interval := slices.IndexFunc(rest, isInterval)
	if interval < 1 || interval+1 >= len(rest) {
		return m, true
	}
	u, known := unitOf(rest[interval+1])
	m.unit = u
	for _, part := range rest[:interval-1] {
		if part != "" && part != "stage" && part != "water" {
			m.sensor = strings.Trim(m.sensor+"-"+part, "-")
		}
	}
	daily := rest[interval] == "86400" || strings.HasPrefix(rest[interval], "1_day") || rest[interval] == "daily"
	mean, instant := false, false
	switch strings.ToLower(rest[interval-1]) {
	case "m", "mean":
		mean = true
	case "i", "instantaneous":
		instant = true
	}
	if daily {
		m.statistic = gauge.DailyMean
	}
	// A level by the tide or below ground isn't a river's, and one above the sea is no unit of stage.
	sensor := strings.ToLower(m.sensor)
	elsewhere := strings.Contains(sensor, "tid") || strings.Contains(sensor, "groundwater")
	m.taken = known && u.quantity == m.quantity && !elsewhere && (mean || instant && !daily)
	return m, true
}

// isInterval tells 900, 86400, 15_min, 1_h and subdaily from what stands around them.
func isInterval(part string) bool {
	n, of, _ := strings.Cut(part, "_")
	return allDigits(n) && (of == "" || slices.Contains([]string{"min", "h", "hour", "day", "s"}, of)) || part == "subdaily" || part == "daily"
}

// eaReading takes a reading of the Environment Agency, from JSON or from CSV. Its times are UTC, with or without a Z.
func (b *book) eaReading(measure, at, date string, v float64, quality, whole string, place func() string) error {
	if measure == "" {
		return b.wrongf(place(), "the reading does not say of which measure it is")
	}
	m, ok := b.ea[measure]
	if !ok {
		m, _ = eaMeasureOf(measure)
		b.ea[measure] = m
	}
	if !m.taken {
		b.leave(m.what)
		return nil
	}
	var f gauge.Flags
	switch strings.ToLower(quality) {
	case "good":
	case "estimated":
		f = gauge.Estimated
	case "suspect":
		f = gauge.Suspect
	case "missing":
		f, v = gauge.Missing, math.NaN()
	default: // unchecked, and of the live service, which says nothing
		f = gauge.Provisional
	}
	if strings.EqualFold(whole, "Incomplete") {
		f |= gauge.Estimated // a mean of a part of its time
	}
	stands := at
	if m.statistic == gauge.DailyMean && date != "" || stands == "" {
		stands = date // a day of the archive begins at nine
	}
	w, ok := parseWall([]byte(stands))
	if !ok {
		return b.wrongf(place(), "%q is no time as 2021-01-01T00:15:00", clip(stands))
	}
	t := w.utc()
	if m.statistic == gauge.DailyMean {
		t = w.day()
	} else if w.dayOnly {
		return b.wrongf(place(), "%s has no time of day", clip(stands))
	}
	site := gauge.Site{Provider: gauge.EA, Number: m.station}
	return b.add(b.of(site, m.quantity, m.sensor, m.statistic), t, m.unit.si(v), f, place)
}
