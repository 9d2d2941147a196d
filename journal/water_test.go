package journal_test

import (
	"encoding/json"
	"reflect"
	"strings"
	"testing"

	"rigtally/journal"
	"rigtally/journal/gauge"
)

// Ensure that a water of an older program, with one gauge in words of one's own, is read as one with a link, and that what
// is written now is read back.
func TestWaterReadsOlderGauges(t *testing.T) {
	for text, want := range map[string][]gauge.Link{
		`{"name":"Tessel River","gauge_provider":" USGS ","gauge_site":"01234567"}`: {{Site: gauge.Site{Provider: "usgs", Number: "01234567"}}},
		`{"name":"Tessel River","gauge_provider":"","gauge_site":""}`:               nil,
		`{"name":"Tessel River","gauge_provider":"usgs"}`:                           nil,
		`{"name":"Tessel River","gauges":[{"provider":"EA","number":"9001","takes":["stage"],"sensor":"2"}]}`: {{Site: gauge.Site{Provider: "ea", Number: "9001"},
			Takes: []gauge.Quantity{gauge.Stage}, Sensor: "2"}},
	} {
		var w, again journal.Water
		if err := json.Unmarshal([]byte(text), &w); err != nil || w.Name != "Tessel River" || !reflect.DeepEqual(w.Gauges, want) {
			t.Errorf("%s: %+v, %v; want %v", text, w, err, want)
		}
		written, err := json.Marshal(w)
		if err != nil || json.Unmarshal(written, &again) != nil || !reflect.DeepEqual(w, again) {
			t.Errorf("%s was read back as %+v, %v", written, again, err)
		}
	}
	var w journal.Water
	if err := json.Unmarshal([]byte(`{"name":"x","gage":1}`), &w); err == nil || !strings.Contains(err.Error(), "unknown field") {
		t.Errorf("a field that nobody knows: %v", err)
	}
}

// Ensure that a link is refused that could not be found again, or says something twice.
func TestWaterChecksItsGauges(t *testing.T) {
	site := gauge.Site{Provider: "usgs", Number: "01234567"}
	for want, links := range map[string][]gauge.Link{
		"fill in both":             {{Site: gauge.Site{Provider: "usgs"}}},
		"in small letters":         {{Site: gauge.Site{Provider: "USGS", Number: "1"}}},
		"stands there twice":       {{Site: site}, {Site: site, Takes: []gauge.Quantity{gauge.Flow}}},
		"quantity of a gauge":      {{Site: site, Takes: []gauge.Quantity{"depth"}}},
		"gives flow twice":         {{Site: site, Takes: []gauge.Quantity{gauge.Flow, gauge.Flow}}},
		"can't be longer than 100": {{Site: gauge.Site{Provider: "usgs", Number: strings.Repeat("1", 101)}}},
	} {
		w := journal.Water{Name: "Tessel River", Kind: "freestone", TimeZone: "Europe/Oslo", Gauges: links}
		if err := w.Validate(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v: %v; want %q", links, err, want)
		}
	}
	w := journal.Water{Name: "Tessel River", Kind: "freestone", TimeZone: "Europe/Oslo", Gauges: []gauge.Link{{Site: site, Sensor: "1"}, {Site: site, Sensor: "2"}}}
	if err := w.Validate(); err != nil {
		t.Error(err)
	}
}
