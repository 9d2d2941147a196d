package agency_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"rigtally/journal/gauge"
)

func TestEA(t *testing.T) {
	t.Parallel()
	site := gauge.Site{Provider: gauge.EA, Number: "3c9d1f5e-0b1a-4c55-9f0e-0a1b2c3d4e5f"}
	item := func(measure, at, value, quality string) string {
		return fmt.Sprintf(`{"measure":{"@id":"http://environment.data.gov.uk/hydrology/id/measures/%s-%s"},"date":"%s","dateTime":"%s","value":%s,"quality":"%s"}`,
			site.Number, measure, at[:10], at, value, quality)
	}
	const station = `{"items":[{"@id":"x","notation":"x","label":"Blue Cut","stationReference":"1234TH"}]}`
	const unknown = `{"items":[{"@id":"x","notation":"x","label":"Blue Cut"}]}`
	live := func(measure, at, value string) string {
		return fmt.Sprintf(`{"@id":"http://environment.data.gov.uk/flood-monitoring/data/readings/%s","dateTime":"%s","measure":"http://environment.data.gov.uk/flood-monitoring/id/measures/1234TH-%s","value":%s}`, at, at, measure, value)
	}
	t.Run("live", func(t *testing.T) {
		s, p := source(t, gauge.EA, station, `{"@context":"x","meta":{},"items":[`+live("flow--Mean-15_min-m3_s", "2026-11-02T15:00:00Z", "3.4")+","+
			live("level-stage-i-15_min-mASD", "2026-11-02T15:00:00Z", "0.42")+`]}`)
		for range 2 { // the other name is asked for once
			found, err := s.Latest(t.Context(), site, &gauge.Request{})
			holds(t, found, err, "flow 2026-11-02 15:00 3.4 provisional", "stage 2026-11-02 15:00 0.42 provisional")
			if err == nil && found.Series[0].Site != site {
				t.Errorf("the readings are of %s", found.Series[0].Site)
			}
		}
		const readings = "/flood-monitoring/id/stations/1234TH/readings?_limit=10000&since=2026-11-01T00:00:00Z"
		p.wasAsked(t, "/hydrology/id/stations/"+site.Number+".json?", readings, readings)
	})
	t.Run("one station in place of a list", func(t *testing.T) {
		s, p := source(t, gauge.EA, strings.NewReplacer("[", "", "]", "").Replace(station), `{"items":`+live("flow--Mean-15_min-m3_s", "2026-11-02T15:00:00Z", "3.4")+`}`)
		found, err := s.Latest(t.Context(), site, &gauge.Request{})
		holds(t, found, err, "flow 2026-11-02 15:00 3.4 provisional")
		if len(p.asked) != 2 {
			t.Errorf("asked %q", p.asked)
		}
	})
	t.Run("nothing new", func(t *testing.T) {
		s, p := source(t, gauge.EA, station)
		p.of = func(w http.ResponseWriter, r *http.Request) bool {
			if r.Header.Get("If-None-Match") == `"a"` {
				w.WriteHeader(http.StatusNotModified)
				return true
			}
			return false
		}
		r := gauge.Request{ETag: `"a"`}
		found, err := s.Latest(t.Context(), site, &r)
		holds(t, found, err)
		if r.ETag != `"a"` || len(p.asked) != 2 {
			t.Errorf("known by %q; asked %q", r.ETag, p.asked)
		}
	})
	t.Run("not live", func(t *testing.T) {
		s, p := source(t, gauge.EA, station, `{"items":[]}`, `{"items":[`+item("flow-i-900-m3s-qualified", "2026-11-01T00:45:00", "3.21", "Unchecked")+`]}`)
		for range 2 {
			found, err := s.Latest(t.Context(), site, &gauge.Request{})
			holds(t, found, err, "flow 2026-11-01 00:45 3.21 provisional")
		}
		const archive = "/hydrology/data/readings.json?_limit=100000&mineq-date=2026-10-30&station="
		p.wasAsked(t, "/hydrology/id/stations/"+site.Number+".json?", "/flood-monitoring/id/stations/1234TH/readings?_limit=10000&since=2026-11-01T00:00:00Z", archive+site.Number, archive+site.Number)
	})
	t.Run("archive", func(t *testing.T) {
		s, p := source(t, gauge.EA, unknown, `{"meta":{},"items":[`+strings.Join([]string{
			item("flow-i-900-m3s-qualified", "2026-10-25T00:45:00", "3.21", "Unchecked"), // the clocks go back at 01:00 UTC on October 25
			item("flow-i-900-m3s-qualified", "2026-10-25T01:00:00", "3.22", "Good"),
			item("flow-i-900-m3s-qualified", "2026-10-25T01:15:00", "3.23", "Suspect"),
			item("flow-m-86400-m3s-qualified", "2026-10-25T09:00:00", "3.2", "Good"),
			item("level-i-900-m-qualified", "2026-10-25T01:00:00", "0.412", "Estimated"),
			`{"measure":{"@id":"http://environment.data.gov.uk/hydrology/id/measures/` + site.Number + `-level-i-900-m-qualified"},"date":"2026-10-25","dateTime":"2026-10-25T01:15:00","quality":"Missing"}`,
		}, ",")+`]}`)
		found, err := s.Latest(t.Context(), site, &gauge.Request{})
		holds(t, found, err, // times without an offset are UTC, daily means are left to Daily
			"flow 2026-10-25 00:45 3.21 provisional",
			"flow 2026-10-25 01:00 3.22",
			"flow 2026-10-25 01:15 3.23 suspect",
			"stage 2026-10-25 01:00 0.412 estimated",
			"stage 2026-10-25 01:15 NaN no value")
		p.wasAsked(t, "/hydrology/id/stations/"+site.Number+".json?", "/hydrology/data/readings.json?_limit=100000&mineq-date=2026-10-30&station="+site.Number)
	})
	t.Run("another station's", func(t *testing.T) { // should the service not go by the question
		s, _ := source(t, gauge.EA, unknown, `{"items":[{"measure":{"@id":"http://environment.data.gov.uk/hydrology/id/measures/another-flow-i-900-m3s-qualified"},"dateTime":"2026-11-01T00:00:00","date":"2026-11-01","value":1,"quality":"Good"}]}`)
		found, err := s.Latest(t.Context(), site, &gauge.Request{})
		holds(t, found, err, "The answer was about other gauges, so nothing of it was taken.")
	})
	t.Run("no daily means", func(t *testing.T) {
		s, _ := source(t, gauge.EA)
		found, err := s.Daily(t.Context(), site, time.Time{}, now)
		holds(t, found, err, "The Environment Agency has no daily means of flow of this gauge.")
	})
}

func TestHubeau(t *testing.T) {
	t.Parallel()
	site := gauge.Site{Provider: gauge.Hubeau, Number: "A123456701"}
	item := func(station, what, at, value string) string {
		return fmt.Sprintf(`{"code_site":"A1234567","code_station":%s,"grandeur_hydro":"%s","date_obs":"%s","resultat_obs":%s,"code_statut":4,"libelle_statut":"Donnée brute","libelle_qualification_obs":"Non qualifiée","libelle_methode_obs":"Mesurée"}`, station, what, at, value)
	}
	t.Run("latest", func(t *testing.T) {
		s, p := source(t, gauge.Hubeau, `{"count":3,"next":null,"api_version":"2.0.1","data":[`+strings.Join([]string{
			item(`"A123456701"`, "Q", "2026-11-02T15:00:00Z", "47800.0"),
			item("null", "Q", "2026-11-02T15:00:00Z", "47800.0"), // the same once more, of the site
			item(`"A123456701"`, "H", "2026-11-02T15:00:00Z", "-1232.0"),
		}, ",")+`]}`)
		p.of = func(w http.ResponseWriter, _ *http.Request) bool {
			w.WriteHeader(http.StatusPartialContent)
			return false
		}
		found, err := s.Latest(t.Context(), site, &gauge.Request{})
		holds(t, found, err, // l/s and mm
			"flow 2026-11-02 15:00 47.8 provisional",
			"stage 2026-11-02 15:00 -1.232 provisional")
		p.wasAsked(t, "/api/v2/hydrometrie/observations_tr?code_entite=A123456701&date_debut_obs=2026-10-30&size=20000&sort=asc")
	})
	t.Run("daily", func(t *testing.T) {
		s, _ := source(t, gauge.Hubeau, `{"count":1,"next":null,"data":[{"code_site":"A1234567","code_station":"A123456701","date_obs_elab":"1971-09-15","resultat_obs_elab":12345.0,"grandeur_hydro_elab":"QmnJ","libelle_statut":"Donnée validée","libelle_methode":"Expertisée","libelle_qualification":"Bonne"}]}`)
		found, err := s.Daily(t.Context(), site, time.Date(1971, 9, 1, 0, 0, 0, 0, time.UTC), time.Date(1971, 9, 30, 0, 0, 0, 0, time.UTC))
		holds(t, found, err, "flow daily mean 1971-09-15 00:00 12.345")
	})
	t.Run("long ago", func(t *testing.T) {
		s, p := source(t, gauge.Hubeau)
		found, err := s.Past(t.Context(), site, now.AddDate(-1, 0, 0), now.AddDate(0, -2, 0))
		holds(t, found, err, "Hub'Eau has readings of the last month alone; of the time before it has daily means.")
		p.wasAsked(t)
	})
}
