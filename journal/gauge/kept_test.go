package gauge_test

import (
	"math"
	"testing"
	"time"

	"rigtally/journal/gauge"
)

// Ensure that a link shows the reading that a session takes at that moment: of the first sensor that has one then, unless it names one.
func TestALinkShowsWhatSessionsTake(t *testing.T) {
	t.Parallel()
	noon := time.Date(2026, 5, 6, 12, 0, 0, 0, time.UTC)
	site, other := gauge.NewSite("county", "7"), gauge.NewSite("county", "8")
	sensor := func(of gauge.Site, name string, ago time.Duration, v float64) gauge.Series {
		return gauge.Series{Site: of, Quantity: gauge.Temperature, Sensor: name, Readings: []gauge.Reading{{At: noon.Add(-ago), Value: v}}}
	}
	for name, c := range map[string]struct {
		link gauge.Link
		list []gauge.Series
		want float64 // NaN: nothing
	}{
		"the first, a little behind":   {gauge.Link{Site: site}, []gauge.Series{sensor(site, "bottom", time.Hour, 5), sensor(site, "top", 0, 9)}, 5},
		"both of one time":             {gauge.Link{Site: site}, []gauge.Series{sensor(site, "bottom", 0, 5), sensor(site, "top", 0, 9)}, 5},
		"the first ended long ago":     {gauge.Link{Site: site}, []gauge.Series{sensor(site, "bottom", 48*time.Hour, 5), sensor(site, "top", 0, 9)}, 9},
		"the second ended long ago":    {gauge.Link{Site: site}, []gauge.Series{sensor(site, "bottom", 0, 5), sensor(site, "top", 48*time.Hour, 9)}, 5},
		"the one that is named":        {gauge.Link{Site: site, Sensor: "top"}, []gauge.Series{sensor(site, "bottom", 0, 5), sensor(site, "top", 48*time.Hour, 9)}, 9},
		"another gauge":                {gauge.Link{Site: site}, []gauge.Series{sensor(other, "bottom", 0, 5)}, math.NaN()},
		"what the water does not take": {gauge.Link{Site: site, Takes: []gauge.Quantity{gauge.Flow}}, []gauge.Series{sensor(site, "bottom", 0, 5)}, math.NaN()},
		"no value":                     {gauge.Link{Site: site}, []gauge.Series{sensor(site, "bottom", 0, math.NaN()), sensor(site, "top", time.Hour, 9)}, 9},
	} {
		r, shown := gauge.State{Last: c.list}.LatestOf(c.link)[gauge.Temperature]
		if shown == math.IsNaN(c.want) || shown && r.Value != c.want {
			t.Errorf("%s: it shows %v, %v, want %g", name, r, shown, c.want)
		}
		if !shown {
			continue
		}
		last := r.At
		for _, s := range c.link.Of(c.list) {
			if x := s.Readings[0]; x.Usable() && x.At.After(last) {
				last = x.At
			}
		}
		if f, ok := gauge.Take(gauge.Outing{Middle: last}, gauge.Temperature, c.link.Of(c.list), gauge.Usual{}); !ok || f.Value != r.Value || !f.At.Equal(r.At) {
			t.Errorf("%s: a session takes %+v, %v, where %v is shown", name, f, ok, r)
		}
	}
}
