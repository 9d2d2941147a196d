package agency_test

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"rigtally/gauges/agency"
	"rigtally/gauges/fetch"
	"rigtally/journal"
	"rigtally/journal/gauge"
)

// now is when these tests play. All gauges, names and values of this file are invented, in the shapes that the services
// document.
var now = time.Date(2026, 11, 2, 15, 20, 0, 0, time.UTC)

// replay is a service on this machine, which answers what it was given and keeps what it was asked.
type replay struct {
	mu      sync.Mutex
	answers []string // one after the other; the last one again and again
	asked   []string
	of      func(w http.ResponseWriter, r *http.Request) bool // answers by itself if it returns true
	address string
}

func (p *replay) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	p.mu.Lock()
	defer p.mu.Unlock()
	query, _ := url.QueryUnescape(r.URL.RawQuery)
	p.asked = append(p.asked, r.URL.Path+"?"+query)
	if p.of != nil && p.of(w, r) {
		return
	}
	w.Header().Set("Content-Type", "application/json")
	if len(p.answers) == 0 {
		http.NotFound(w, r)
		return
	}
	fmt.Fprint(w, strings.ReplaceAll(p.answers[0], "SELF", p.address))
	if len(p.answers) > 1 {
		p.answers = p.answers[1:]
	}
}

// source is an agency's, asked at a replay.
func source(t *testing.T, provider string, answers ...string) (agency.Source, *replay) {
	t.Helper()
	p := &replay{answers: answers}
	server := httptest.NewServer(p)
	t.Cleanup(server.Close)
	p.address = server.URL
	at, _ := url.Parse(server.URL)
	clock := func() time.Time { return now }
	list, err := agency.Sources(agency.Settings{Client: fetch.New(fetch.Options{Loopback: []string{at.Host}, Now: clock}), Now: clock, Key: "invented",
		USGS: server.URL + "/ogcapi/v0", EA: server.URL + "/hydrology", Hubeau: server.URL + "/api/v2/hydrometrie"})
	if err != nil {
		t.Fatal(err)
	}
	return list[slices.IndexFunc(list, func(s agency.Source) bool { return s.Provider() == provider })], p
}

func (p *replay) wasAsked(t *testing.T, want ...string) {
	t.Helper()
	if !slices.Equal(p.asked, want) {
		t.Errorf("asked\n%s\nand it has to be\n%s", strings.Join(p.asked, "\n"), strings.Join(want, "\n"))
	}
}

// told is what was found, in lines that a test can say.
func told(found gauge.Found) []string {
	var lines []string
	for _, s := range found.Series {
		for _, r := range s.Readings {
			words := []string{string(s.Quantity), s.Sensor, string(s.Statistic), r.At.UTC().Format("2006-01-02 15:04"), fmt.Sprintf("%.6g", r.Value), strings.Join(r.Flags.Words(), ", ")}
			lines = append(lines, strings.Join(slices.DeleteFunc(words, func(w string) bool { return w == "" }), " "))
		}
	}
	return append(lines, found.Notes...)
}

func holds(t *testing.T, found gauge.Found, err error, want ...string) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	if got := told(found); !slices.Equal(got, want) {
		t.Errorf("found\n%s\nand it has to be\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

var blueCut = gauge.Site{Provider: gauge.USGS, Number: "01234567"}

// reading is a feature of the Water Data service. Value and qualifier are JSON.
func reading(code, series, at, value, unit, approval, qualifier string) string {
	return fmt.Sprintf(`{"type":"Feature","id":"%s-%s","geometry":null,"properties":{"time_series_id":"%s","monitoring_location_id":"USGS-01234567","parameter_code":"%s","statistic_id":"00011","time":"%s","value":%s,"unit_of_measure":"%s","approval_status":"%s","qualifier":%s,"last_modified":"2026-11-02T15:05:07.672769+00:00"}}`,
		series, at, series, code, at, value, unit, approval, qualifier)
}

func features(list ...string) string {
	return fmt.Sprintf(`{"type":"FeatureCollection","features":[%s],"numberReturned":%d,"links":[]}`, strings.Join(list, ","), len(list))
}

func TestUSGSLatest(t *testing.T) {
	t.Parallel()
	const q, h, c = "aaaa0001", "aaaa0002", "aaaa0003" // names of series, which are longer where they are real
	for _, c := range []struct {
		name, answer string
		want         []string
	}{
		{"units", features(
			reading("00060", q, "2026-11-02T15:00:00+00:00", `"535"`, "ft^3/s", "Provisional", "null"),
			reading("00065", h, "2026-11-02T15:00:00+00:00", `"1.59"`, "ft", "Provisional", "null"),
			reading("00010", c, "2026-11-02T15:00:00+00:00", `"8.4"`, "degC", "Provisional", "null")), []string{
			// 1 ft³/s is 0.028316846592 m³/s, 1 ft 0.3048 m.
			"flow aaaa0001 2026-11-02 15:00 15.1495 provisional",
			"stage aaaa0002 2026-11-02 15:00 0.484632 provisional",
			"temperature aaaa0003 2026-11-02 15:00 8.4 provisional",
		}},
		{"gaps", features( // of which nothing is filled in
			reading("00060", q, "2026-11-02T01:00:00+00:00", `"100"`, "ft^3/s", "Provisional", "null"),
			reading("00060", q, "2026-11-02T14:45:00+00:00", `"110"`, "ft^3/s", "Provisional", "null")), []string{
			"flow aaaa0001 2026-11-02 01:00 2.83168 provisional",
			"flow aaaa0001 2026-11-02 14:45 3.11485 provisional",
		}},
		{"ice", features(
			reading("00060", q, "2026-11-02T14:00:00+00:00", "null", "ft^3/s", "Provisional", `["ICE"]`),
			reading("00060", q, "2026-11-02T14:15:00+00:00", `"90"`, "ft^3/s", "Provisional", `["ICE","ESTIMATED"]`)), []string{
			"flow aaaa0001 2026-11-02 14:00 NaN provisional, ice",
			"flow aaaa0001 2026-11-02 14:15 2.54852 provisional, estimated, ice",
		}},
		{"equipment", features(
			reading("00065", h, "2026-11-02T14:00:00+00:00", "null", "ft", "Provisional", `["EQUIP"]`),
			reading("00065", h, "2026-11-02T14:15:00+00:00", `"Eqp"`, "ft", "Provisional", "null"),
			reading("00065", h, "2026-11-02T14:30:00+00:00", "null", "ft", "Provisional", "null")), []string{
			"stage aaaa0002 2026-11-02 14:00 NaN provisional, gauge out of order",
			"stage aaaa0002 2026-11-02 14:15 NaN provisional, gauge out of order",
			"stage aaaa0002 2026-11-02 14:30 NaN provisional, no value",
		}},
		{"censored", features(reading("00060", q, "2026-11-02T14:00:00+00:00", `"0.5"`, "ft^3/s", "Approved", `["<"]`)), []string{
			"flow aaaa0001 2026-11-02 14:00 0.0141584 beyond what the gauge can measure",
		}},
		{"several sensors", features( // of which each keeps its name, and so does one alone
			reading("00010", "bbbb0001", "2026-11-02T15:00:00+00:00", `"8.4"`, "degC", "Approved", "null"),
			reading("00010", "bbbb0002", "2026-11-02T15:00:00+00:00", `"9.9"`, "degC", "Approved", "null")), []string{
			"temperature bbbb0001 2026-11-02 15:00 8.4",
			"temperature bbbb0002 2026-11-02 15:00 9.9",
			"usgs:01234567 measures temperature with 2 sensors: bbbb0001, bbbb0002.",
		}},
		{"clocks put back", features( // at 07:00 UTC on November 1 in the middle of the U.S.: times are UTC, and none is twice
			reading("00060", q, "2026-11-01T06:45:00+00:00", `"100"`, "ft^3/s", "Approved", "null"),
			reading("00060", q, "2026-11-01T07:15:00+00:00", `"101"`, "ft^3/s", "Approved", "null"),
			reading("00060", q, "2026-11-01T01:45:00-06:00", `"102"`, "ft^3/s", "Approved", "null")), []string{
			"flow aaaa0001 2026-11-01 06:45 2.83168",
			"flow aaaa0001 2026-11-01 07:15 2.86",
			"flow aaaa0001 2026-11-01 07:45 2.88832",
		}},
		{"clocks put forward", features( // at 08:00 UTC on March 8
			reading("00060", q, "2026-03-08T07:45:00+00:00", `"100"`, "ft^3/s", "Approved", "null"),
			reading("00060", q, "2026-03-08T03:00:00-05:00", `"101"`, "ft^3/s", "Approved", "null")), []string{
			"flow aaaa0001 2026-03-08 07:45 2.83168",
			"flow aaaa0001 2026-03-08 08:00 2.86",
		}},
		{"nothing", features(), []string{
			"The answer holds no readings: there were none of flow, stage or water temperature for what was asked.",
		}},
		{"another quantity", features(reading("00300", "cccc0001", "2026-11-02T15:00:00+00:00", `"9.1"`, "mg/l", "Approved", "null")), []string{
			"The answer holds no readings: there were none of flow, stage or water temperature for what was asked.",
			"Left out, since only flow, stage and water temperature are taken: parameter 00300.",
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			s, p := source(t, gauge.USGS, c.answer)
			found, err := s.Latest(t.Context(), blueCut, &gauge.Request{})
			holds(t, found, err, c.want...)
			p.wasAsked(t, "/ogcapi/v0/collections/continuous/items?f=json&filter=parameter_code IN ('00060','00065','00010')&limit=50000&monitoring_location_id=USGS-01234567&skipGeometry=true&time=P3D")
		})
	}
}

// An answer of several pages is put together; a page is never got from another host, and pages without an end end.
func TestPages(t *testing.T) {
	t.Parallel()
	page := func(at, next string) string {
		return fmt.Sprintf(`{"type":"FeatureCollection","features":[%s],"numberReturned":1,"links":[{"rel":"next","href":"%s"}]}`,
			reading("00060", "aaaa0001", at, `"100"`, "ft^3/s", "Approved", "null"), next)
	}
	last := features(reading("00060", "aaaa0001", "2026-11-02T15:00:00+00:00", `"101"`, "ft^3/s", "Approved", "null"))
	t.Run("two", func(t *testing.T) {
		s, p := source(t, gauge.USGS, page("2026-11-02T14:45:00+00:00", "SELF/ogcapi/v0/collections/continuous/items?cursor=b"), last)
		p.of = func(w http.ResponseWriter, _ *http.Request) bool { w.Header().Set("ETag", `"first"`); return false }
		r := gauge.Request{}
		found, err := s.Latest(t.Context(), blueCut, &r)
		holds(t, found, err, "flow aaaa0001 2026-11-02 14:45 2.83168", "flow aaaa0001 2026-11-02 15:00 2.86")
		if p.asked[1] != "/ogcapi/v0/collections/continuous/items?cursor=b" || r.ETag != "" {
			t.Errorf("asked %q; known by %q", p.asked[1], r.ETag)
		}
	})
	for _, c := range []struct{ name, next, want string }{
		{"another host", "https://example.org/items", "The U.S. Geological Survey answered in a form that is not understood: it goes on at an address that isn't the service's own"},
		{"no end", "SELF/ogcapi/v0/collections/continuous/items?cursor=a", "The U.S. Geological Survey answered in a form that is not understood: its pages have no end"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, _ := source(t, gauge.USGS, page("2026-11-02T14:45:00+00:00", c.next))
			_, err := s.Past(t.Context(), blueCut, now.Add(-24*time.Hour), now)
			fails(t, err, c.want)
		})
	}
}

func fails(t *testing.T, err error, want string) {
	t.Helper()
	var e *fetch.Error
	if !errors.As(err, &e) || err.Error() != want {
		t.Errorf("the error is\n%v\nand has to be\n%s", err, want)
	}
}

// What can't be read is told as what it is.
func TestUnreadable(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ name, answer, want string }{
		{"cut", `{"type":"FeatureCollection","features":[{"type":"Feature"`,
			"The U.S. Geological Survey broke off in the middle of its answer, of which nothing was kept"},
		{"another form", `{"code":"Internal","description":"invented"}`,
			"The U.S. Geological Survey answered in a form that is not understood: The answer holds no readings but what the service answered instead: “invented”"},
		{"a page", "<html><body>We have moved</body></html>",
			"The U.S. Geological Survey answered with a web page instead of readings; its address may have changed"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, _ := source(t, gauge.USGS, c.answer)
			_, err := s.Latest(t.Context(), blueCut, &gauge.Request{})
			fails(t, err, c.want)
		})
	}
}

// Questions about the past are cut where an agency takes no longer ones, and ask for what is documented.
func TestPastAndDaily(t *testing.T) {
	t.Parallel()
	const guid = "3c9d1f5e-0b1a-4c55-9f0e-0a1b2c3d4e5f"
	day := func(text string) time.Time {
		at, err := time.Parse(time.DateOnly, text)
		if err != nil {
			t.Fatal(err)
		}
		return at
	}
	const usgs = "/ogcapi/v0/collections/"
	const page = "&limit=50000&monitoring_location_id=USGS-01234567"
	for _, c := range []struct {
		name, number, from, to string
		daily                  bool
		want                   []string
	}{
		{"usgs past", "usgs:01234567", "2022-01-01", "2026-10-01", false, []string{
			usgs + "continuous/items?f=json&filter=parameter_code IN ('00060','00065','00010')" + page + "&skipGeometry=true&time=2022-01-01T00:00:00Z/2024-12-30T00:00:00Z",
			usgs + "continuous/items?f=json&filter=parameter_code IN ('00060','00065','00010')" + page + "&skipGeometry=true&time=2024-12-30T00:00:00Z/2026-10-01T00:00:00Z",
		}},
		{"usgs daily", "usgs:01234567", "", "2026-10-01", true, []string{
			usgs + "daily/items?f=json" + page + "&parameter_code=00060&skipGeometry=true&statistic_id=00003&time=../2026-10-01",
		}},
		{"ea past", "ea:" + guid, "2026-07-01", "2026-10-01", false, []string{
			"/hydrology/data/readings.json?_limit=100000&maxeq-date=2026-08-15&mineq-date=2026-07-01&station=" + guid,
			"/hydrology/data/readings.json?_limit=100000&maxeq-date=2026-09-29&mineq-date=2026-08-15&station=" + guid,
			"/hydrology/data/readings.json?_limit=100000&maxeq-date=2026-10-01&mineq-date=2026-09-29&station=" + guid,
		}},
		{"ea daily", "ea:" + guid, "2024-01-01", "2026-10-01", true, []string{
			"/hydrology/id/measures/" + guid + "-flow-m-86400-m3s-qualified/readings.json?_limit=100000&maxeq-date=2026-10-01&mineq-date=2024-01-01",
		}},
		{"hubeau past", "hubeau:A123456701", "2026-10-20", "2026-11-02", false, []string{
			"/api/v2/hydrometrie/observations_tr?code_entite=A123456701&date_debut_obs=2026-10-20T00:00:00Z&date_fin_obs=2026-11-02T00:00:00Z&size=20000&sort=asc",
		}},
		{"hubeau past, the month alone", "hubeau:A123456701", "2026-07-01", "2026-11-02", false, []string{
			"/api/v2/hydrometrie/observations_tr?code_entite=A123456701&date_debut_obs=2026-10-02T15:20:00Z&date_fin_obs=2026-11-02T00:00:00Z&size=20000&sort=asc",
		}},
		{"hubeau daily", "hubeau:A123456701", "", "2026-11-01", true, []string{
			"/api/v2/hydrometrie/obs_elab?code_entite=A123456701&date_debut_obs_elab=1900-01-01&date_fin_obs_elab=1949-12-19&grandeur_hydro_elab=QmnJ&size=20000",
			"/api/v2/hydrometrie/obs_elab?code_entite=A123456701&date_debut_obs_elab=1949-12-20&date_fin_obs_elab=1999-12-07&grandeur_hydro_elab=QmnJ&size=20000",
			"/api/v2/hydrometrie/obs_elab?code_entite=A123456701&date_debut_obs_elab=1999-12-08&date_fin_obs_elab=2026-11-01&grandeur_hydro_elab=QmnJ&size=20000",
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			site, err := gauge.ParseSite(c.number)
			if err != nil {
				t.Fatal(err)
			}
			s, p := source(t, site.Provider, map[string]string{gauge.USGS: features(), gauge.EA: `{"items":[]}`, gauge.Hubeau: `{"count":0,"data":[]}`}[site.Provider])
			ask := s.Past
			if c.daily {
				ask = s.Daily
			}
			var from time.Time
			if c.from != "" {
				from = day(c.from)
			}
			if _, err := ask(t.Context(), site, from, day(c.to)); err != nil {
				t.Fatal(err)
			}
			p.wasAsked(t, c.want...)
		})
	}
}

// Nothing gets into an address but a number of the agency's form, and words without marks of their own.
func TestNumbers(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ site, want string }{
		{"usgs:1234567", `"1234567" is not the number of a gauge of usgs; such numbers look like 01234567`},
		{"usgs:01234567' OR '1'='1", `"01234567' OR '1'='1" is not the number of a gauge of usgs; such numbers look like 01234567`},
		{"ea:../../flood-monitoring", `"../../flood-monitoring" is not the number of a gauge of ea; such numbers look like 3c9d1f5e-0b1a-4c55-9f0e-0a1b2c3d4e5f`},
		{"hubeau:A1234567", `"A1234567" is not the number of a gauge of hubeau; such numbers look like A123456701`},
		{"hubeau:A123456701&size=1", `"A123456701&size=1" is not the number of a gauge of hubeau; such numbers look like A123456701`},
	} {
		site, err := gauge.ParseSite(c.site)
		if err != nil {
			t.Fatal(err)
		}
		s, p := source(t, site.Provider)
		_, one := s.Latest(t.Context(), site, &gauge.Request{})
		_, two := s.Past(t.Context(), site, now.Add(-time.Hour), now)
		_, three := s.Daily(t.Context(), site, time.Time{}, now)
		for _, err := range []error{one, two, three} {
			var invalid *journal.Invalid
			if !errors.As(err, &invalid) || err.Error() != c.want {
				t.Errorf("%s: the error is\n%v\nand has to be\n%s", c.site, err, c.want)
			}
		}
		p.wasAsked(t)
	}
}

// Finding gauges: what each agency is told of a number, a name or a place, and what comes back. A place leaves no more exactly
// than to a tenth of a degree.
func TestFind(t *testing.T) {
	t.Parallel()
	location := func(number, name string, long, lat float64) string {
		return fmt.Sprintf(`{"type":"Feature","id":"USGS-%s","geometry":{"type":"Point","coordinates":[%g,%g]},"properties":{"agency_code":"USGS","monitoring_location_number":"%s","monitoring_location_name":"%s","time_zone_abbreviation":"MST","uses_daylight_savings":"Y","site_type_code":"ST"}}`,
			number, long, lat, number, name)
	}
	places := features(location("01234567", "MARROW RIVER AT BLUE CUT, MT", -112.0312, 46.5968), location("01234568", "MARROW RIVER BELOW BLUE CUT, MT", -112.0912, 46.6168))
	values := features(
		reading("00060", "aaaa0001", "2026-11-02T15:00:00+00:00", `"535"`, "ft^3/s", "Provisional", "null"),
		reading("00010", "aaaa0003", "2026-11-02T15:00:00+00:00", `"8.4"`, "degC", "Provisional", "null"),
		strings.ReplaceAll(reading("00060", "dddd0001", "2008-10-02T15:00:00+00:00", `"535"`, "ft^3/s", "Approved", "null"), "01234567", "01234568"))
	const usgs = "/ogcapi/v0/collections/"
	const measures = "parameter_code IN ('00060','00065','00010')"
	stations := `{"items":[{"@id":"http://environment.data.gov.uk/hydrology/id/stations/3c9d1f5e-0b1a-4c55-9f0e-0a1b2c3d4e5f","notation":"3c9d1f5e-0b1a-4c55-9f0e-0a1b2c3d4e5f","label":["Blue Cut","Blue Cut Weir"],"lat":51.5,"long":-1.2,"riverName":"River Marrow","measures":[{"@id":"http://environment.data.gov.uk/hydrology/id/measures/3c9d1f5e-0b1a-4c55-9f0e-0a1b2c3d4e5f-flow-i-900-m3s-qualified"},{"@id":"http://environment.data.gov.uk/hydrology/id/measures/3c9d1f5e-0b1a-4c55-9f0e-0a1b2c3d4e5f-level-i-900-m-qualified"}]},
		{"@id":"http://environment.data.gov.uk/hydrology/id/stations/rain","notation":"rain","label":"Rain","measures":[{"@id":"http://environment.data.gov.uk/hydrology/id/measures/rain-rainfall-t-900-mm-qualified"}]}]}`
	french := `{"count":1,"data":[{"code_station":"A123456701","libelle_station":"La Moelle à Coupe-Bleue","longitude_station":6.1,"latitude_station":48.2,"code_departement":"88"}]}`
	near := agency.Near(46.5968, -112.0312)
	for _, c := range []struct {
		name, provider string
		query          agency.Query
		answers        []string
		asked          []string
		want           string
	}{
		{"usgs number", gauge.USGS, agency.Query{Number: "usgs-01234567"}, []string{places, values}, []string{
			usgs + "monitoring-locations/items?f=json&id=USGS-01234567&limit=100",
			usgs + "latest-continuous/items?f=json&filter=monitoring_location_id IN ('USGS-01234567','USGS-01234568') AND " + measures + "&limit=5000&skipGeometry=true",
		}, "usgs:01234567 MARROW RIVER AT BLUE CUT, MT America/Denver [flow temperature]"},
		{"usgs number that measures nothing now", gauge.USGS, agency.Query{Number: "01234567"}, []string{features(location("01234567", "MARROW RIVER AT BLUE CUT, MT", -112.0312, 46.5968)), features()}, []string{
			usgs + "monitoring-locations/items?f=json&id=USGS-01234567&limit=100",
			usgs + "latest-continuous/items?f=json&filter=monitoring_location_id IN ('USGS-01234567') AND " + measures + "&limit=5000&skipGeometry=true",
		}, "usgs:01234567 MARROW RIVER AT BLUE CUT, MT America/Denver []"},
		{"usgs number of nobody", gauge.USGS, agency.Query{Number: "99999999"}, []string{features()}, []string{
			usgs + "monitoring-locations/items?f=json&id=USGS-99999999&limit=100",
		}, ""},
		{"usgs name", gauge.USGS, agency.Query{Name: " marrow'; blue% "}, []string{places, values}, []string{
			usgs + "monitoring-locations/items?f=json&filter=site_type_code IN ('ST','ST-CA','ST-DCH','ST-TS','SP','LK') AND (monitoring_location_name LIKE '%MARROW%' OR monitoring_location_name LIKE '%Marrow%') AND (monitoring_location_name LIKE '%BLUE%' OR monitoring_location_name LIKE '%Blue%')&limit=100",
			usgs + "latest-continuous/items?f=json&filter=monitoring_location_id IN ('USGS-01234567','USGS-01234568') AND " + measures + "&limit=5000&skipGeometry=true",
		}, "usgs:01234567 MARROW RIVER AT BLUE CUT, MT America/Denver [flow temperature]"},
		{"usgs place", gauge.USGS, agency.Query{Near: near}, []string{values, places}, []string{
			usgs + "latest-continuous/items?bbox=-112.3,46.3,-111.7,46.9&f=json&filter=" + measures + "&limit=5000&skipGeometry=true",
			usgs + "monitoring-locations/items?f=json&id=USGS-01234567&limit=100",
		}, "usgs:01234567 MARROW RIVER AT BLUE CUT, MT America/Denver [flow temperature]"},
		{"ea name", gauge.EA, agency.Query{Name: "Blue Cut"}, []string{stations}, []string{"/hydrology/id/stations.json?_limit=100&search=Blue Cut"},
			"ea:3c9d1f5e-0b1a-4c55-9f0e-0a1b2c3d4e5f River Marrow at Blue Cut Europe/London [flow stage]"},
		{"ea place", gauge.EA, agency.Query{Near: agency.Near(51.5432, -1.2345)}, []string{stations}, []string{"/hydrology/id/stations.json?_limit=100&dist=33&lat=51.5&long=-1.2"},
			"ea:3c9d1f5e-0b1a-4c55-9f0e-0a1b2c3d4e5f River Marrow at Blue Cut Europe/London [flow stage]"},
		{"ea number", gauge.EA, agency.Query{Number: "3c9d1f5e-0b1a-4c55-9f0e-0a1b2c3d4e5f"}, []string{stations}, []string{"/hydrology/id/stations/3c9d1f5e-0b1a-4c55-9f0e-0a1b2c3d4e5f.json?"},
			"ea:3c9d1f5e-0b1a-4c55-9f0e-0a1b2c3d4e5f River Marrow at Blue Cut Europe/London [flow stage]"},
		{"ea reference", gauge.EA, agency.Query{Number: "1234TH"}, []string{`{"items":[]}`, stations}, []string{
			"/hydrology/id/stations.json?_limit=100&wiskiID=1234TH", "/hydrology/id/stations.json?_limit=100&stationReference=1234TH"},
			"ea:3c9d1f5e-0b1a-4c55-9f0e-0a1b2c3d4e5f River Marrow at Blue Cut Europe/London [flow stage]"},
		{"hubeau name", gauge.Hubeau, agency.Query{Name: "Moelle"}, []string{`{"count":0,"data":[]}`, french}, []string{
			"/api/v2/hydrometrie/referentiel/stations?en_service=1&format=json&libelle_cours_eau=Moelle&size=100",
			"/api/v2/hydrometrie/referentiel/stations?en_service=1&format=json&libelle_station=Moelle&size=100"},
			"hubeau:A123456701 La Moelle à Coupe-Bleue Europe/Paris []"},
		{"hubeau number", gauge.Hubeau, agency.Query{Number: "a123456701"}, []string{french}, []string{"/api/v2/hydrometrie/referentiel/stations?code_station=A123456701&format=json&size=100"},
			"hubeau:A123456701 La Moelle à Coupe-Bleue Europe/Paris []"},
		{"hubeau place", gauge.Hubeau, agency.Query{Near: agency.Near(48.1999, 6.1001)}, []string{french}, []string{"/api/v2/hydrometrie/referentiel/stations?bbox=5.8,47.9,6.4,48.5&en_service=1&format=json&size=100"},
			"hubeau:A123456701 La Moelle à Coupe-Bleue Europe/Paris []"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			s, p := source(t, c.provider, c.answers...)
			list, err := s.Find(t.Context(), c.query)
			if err != nil {
				t.Fatal(err)
			}
			var got []string
			for _, g := range list {
				got = append(got, fmt.Sprint(g.Site, " ", g.Name, " ", g.Zone, " ", g.Measures))
			}
			if text := strings.Join(got, "\n"); text != c.want {
				t.Errorf("found\n%s\nand it has to be\n%s", text, c.want)
			}
			p.wasAsked(t, c.asked...)
		})
	}
	t.Run("nothing to look for", func(t *testing.T) {
		for _, provider := range []string{gauge.USGS, gauge.EA, gauge.Hubeau} {
			s, _ := source(t, provider)
			if _, err := s.Find(t.Context(), agency.Query{Name: " %' "}); err == nil || err.Error() != "Write the number of a gauge, words of its name, or a place." {
				t.Errorf("%s says %v", provider, err)
			}
		}
	})
}

// Each agency is named and credited.
func TestCredits(t *testing.T) {
	t.Parallel()
	list, err := agency.Sources(agency.Settings{})
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range list {
		if s.Title() == "" || !strings.HasSuffix(s.Credit(), ".") || cmp.Or(s.Provider(), "?") == "?" {
			t.Errorf("%q has title %q and credit %q", s.Provider(), s.Title(), s.Credit())
		}
	}
}

// Real answers of the U.S. Geological Survey, where they are beside the project: what was measured, in its own units, by its
// own words.
func TestRealAnswers(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile(filepath.Join("..", "..", "..", "shared", "gauge-samples", "usgs-ogc-continuous-06904500.json"))
	if errors.Is(err, fs.ErrNotExist) {
		t.Skip("there are no real answers beside the project")
	}
	if err != nil {
		t.Fatal(err)
	}
	var answers map[string]json.RawMessage // by collection
	if err := json.Unmarshal(text, &answers); err != nil {
		t.Fatal(err)
	}
	site := gauge.Site{Provider: gauge.USGS, Number: "06904500"}
	s, _ := source(t, gauge.USGS, string(answers["continuous"]), string(answers["latest-continuous"]))
	found, err := s.Past(t.Context(), site, now.Add(-time.Hour), now)
	holds(t, found, err, // 1.76 ft
		"stage b36569a0067443ac9425e850a3ac7baa 2025-01-01 00:00 0.536448",
		"stage b36569a0067443ac9425e850a3ac7baa 2025-01-01 00:15 0.536448")
	found, err = s.Past(t.Context(), site, now.Add(-time.Hour), now)
	holds(t, found, err, // 1.59 ft and 535 ft³/s
		"stage b36569a0067443ac9425e850a3ac7baa 2026-08-07 18:45 0.484632 provisional",
		"flow 627c17455f9e4a4286e1d75dde4d8470 2026-08-07 18:45 15.1495 provisional")
}
