package read

import (
	"math"
	"strings"

	"rigtally/journal/gauge"
)

// hubeauItem is an element of a list of Hub'Eau: an observation as it came in, one worked out later, or a station.
type hubeauItem struct {
	Station       text     `json:"code_station"`
	Place         text     `json:"code_site"`
	What          text     `json:"grandeur_hydro"`
	Time          text     `json:"date_obs"`
	Value         *float64 `json:"resultat_obs"`
	Method        text     `json:"libelle_methode_obs"`
	Quality       text     `json:"libelle_qualification_obs"`
	QualityCode   text     `json:"code_qualification_obs"`
	Status        text     `json:"libelle_statut"`
	StatusCode    text     `json:"code_statut"`
	Worked        text     `json:"grandeur_hydro_elab"`
	Day           text     `json:"date_obs_elab"`
	WorkedValue   *float64 `json:"resultat_obs_elab"`
	WorkedMethod  text     `json:"libelle_methode"`
	WorkedQuality text     `json:"libelle_qualification"` // of a temperature too
	WarmDay       text     `json:"date_mesure_temp"`
	WarmHour      text     `json:"heure_mesure_temp"`
	Warmth        *float64 `json:"resultat"`
	WarmUnit      text     `json:"symbole_unite"`

	Name       text     `json:"libelle_station"`
	Longitude  *float64 `json:"longitude_station"`
	Latitude   *float64 `json:"latitude_station"`
	Department text     `json:"code_departement"`
}

func (a *answer) hubeauItem() error {
	var i hubeauItem
	if err := a.dec.Decode(&i); err != nil {
		return err
	}
	row := hubeauRow{station: string(i.Station), place: string(i.Place), value: math.NaN(), status: string(i.Status), statusCode: string(i.StatusCode), qualityCode: string(i.QualityCode)}
	number := func(v *float64) float64 {
		if v == nil {
			return math.NaN()
		}
		return *v
	}
	switch {
	case i.Day != "":
		row.what, row.time, row.value, row.method, row.quality = string(i.Worked), string(i.Day), number(i.WorkedValue), string(i.WorkedMethod), string(i.WorkedQuality)
	case i.Time != "":
		row.what, row.time, row.value, row.method, row.quality = string(i.What), string(i.Time), number(i.Value), string(i.Method), string(i.Quality)
	case i.WarmDay != "":
		return a.hubeauTemperature(hubeauRow{station: string(i.Station), time: string(i.WarmDay + "T" + i.WarmHour), value: number(i.Warmth), quality: string(i.WorkedQuality)}, string(i.WarmUnit), a.place)
	case i.Name != "" && i.Station != "":
		g := gauge.Gauge{Site: gauge.Site{Provider: gauge.Hubeau, Number: string(i.Station)}, Name: string(i.Name), Latitude: i.Latitude, Longitude: i.Longitude}
		if !strings.HasPrefix(string(i.Department), "97") { // of which each keeps a time of its own
			g.Zone = "Europe/Paris"
		}
		a.gauge(g)
		return nil
	default:
		return shape{"an element there is neither an observation nor a station"}
	}
	return a.hubeauReading(row, a.place)
}

type hubeauRow struct {
	station, place, what, time string
	value                      float64
	method, quality, status    string
	qualityCode, statusCode    string
}

// hubeauReading takes an observation of Hub'Eau, from JSON or from CSV: heights in mm, flows in l/s.
func (b *book) hubeauReading(r hubeauRow, place func() string) error {
	var q gauge.Quantity
	var u unit
	statistic := gauge.Instant
	switch r.what {
	case "Q":
		q, u = gauge.Flow, unitNames["l/s"]
	case "H":
		q, u = gauge.Stage, unitNames["mm"]
	case "QmnJ", "QmJ":
		q, u, statistic = gauge.Flow, unitNames["l/s"], gauge.DailyMean
	case "":
		return b.wrongf(place(), "the observation does not say what it is of (grandeur_hydro)")
	default:
		b.leave(r.what)
		return nil
	}
	number := r.station
	if number == "" {
		number = r.place
	}
	provider := gauge.Hubeau
	if number == "" {
		provider = ""
	}
	site, err := b.site(provider, number)
	if err != nil {
		return err
	}
	w, ok := parseWall([]byte(r.time))
	if !ok {
		return b.wrongf(place(), "%q is no time as 2026-05-06T12:00:00Z", clip(r.time))
	}
	at := w.day()
	if statistic == gauge.Instant {
		if at = w.utc(); w.dayOnly {
			return b.wrongf(place(), "%s has no time of day", clip(r.time))
		}
	}
	return b.add(b.of(site, q, "", statistic), at, u.si(r.value), r.flags(), place)
}

// hubeauTemperature takes one of the temperatures that Hub'Eau has from other gauges than those of flow, by a clock that it does
// not name.
func (b *book) hubeauTemperature(r hubeauRow, unit string, place func() string) error {
	site, err := b.site(gauge.Hubeau, r.station)
	if err != nil {
		return err
	}
	w, ok := parseWall([]byte(r.time))
	if !ok || w.dayOnly {
		return b.wrongf(place(), "%q is no time as 2026-05-06T12:00:00", clip(r.time))
	}
	at := w.utc()
	if !w.known {
		if at, err = b.local(w, place()); err != nil {
			return err
		}
	}
	if unit == "" {
		unit = "°C"
	}
	u, err := b.unitFor(gauge.Temperature, unit, place())
	if err != nil {
		return err
	}
	f, known := meaning(r.quality)
	if !known || strings.HasPrefix(strings.ToLower(r.quality), "non") {
		f = gauge.Provisional
	}
	return b.add(b.of(site, gauge.Temperature, "", gauge.Instant), at, u.si(r.value), f, place)
}

// flags go by the words, or by the codes of Sandre's lists 510 and 515 where an answer has those alone.
func (r hubeauRow) flags() gauge.Flags {
	f := gauge.Provisional
	status := strings.ToLower(r.status)
	switch {
	case strings.Contains(status, "valid") && !strings.Contains(status, "pré") && !strings.Contains(status, "pre") && !strings.Contains(status, "non"), status == "" && r.statusCode == "16":
		f = 0
	}
	method := strings.ToLower(r.method)
	switch {
	case strings.Contains(method, "interpol"):
		f |= gauge.Interpolated
	case strings.Contains(method, "reconstitu"), strings.Contains(method, "estim"), strings.Contains(method, "forc"):
		f |= gauge.Estimated
	}
	if strings.Contains(strings.ToLower(r.quality), "douteu") || r.quality == "" && r.qualityCode == "12" {
		f |= gauge.Suspect
	}
	return f
}
