package seasons_test

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"rigtally/journal/gauge"
	"rigtally/web/webtest"
)

// The days of a season stand on the flow of its water, of the gauge's own daily means or of its readings; a review that hides
// waters does not show it, nor one without gauges.
func TestSeasonAndItsWater(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	s.Fish()
	const title = "The season and its water"
	if strings.Contains(s.Page("/season", http.StatusOK), title) {
		t.Error("a season without gauges shows its water")
	}
	w := webtest.Got(s.Store.Waters(t.Context()))(t)[0]
	first := time.Date(2026, time.May, 1, 6, 0, 0, 0, time.UTC) // midnight in Denver
	s.Gauge(w, first, first.AddDate(0, 0, 14), map[gauge.Quantity]webtest.Course{gauge.Flow: func(time.Time) (float64, gauge.Flags) { return 10, gauge.Provisional }})
	page := s.Page("/season", http.StatusOK)
	webtest.CheckPage(t, "season", page)
	webtest.WantAll(t, "season", page, title, "Sallow Fork: flow, cfs", "A day fished, at that day’s flow", "A day fished, without readings")
	if strings.Contains(s.Page("/season?waters=blurred", http.StatusOK), title) {
		t.Error("a review that hides waters shows them")
	}
	if strings.Contains(s.Get("/season.html").Body, title) {
		t.Error("the two sheets have a third")
	}

	// What an agency says anew changes no journal, and the page all the same.
	site := webtest.Got(s.Store.Waters(t.Context()))(t)[0].Gauges[0].Site
	before := webtest.Got(s.Store.Revision(t.Context()))(t)
	webtest.Got(s.Store.KeepReadings(t.Context(), gauge.Found{Series: []gauge.Series{{Site: site, Quantity: gauge.Flow, Statistic: gauge.DailyMean, Readings: []gauge.Reading{{At: time.Date(2026, time.May, 2, 0, 0, 0, 0, time.UTC), Value: 90}}}}}))(t)
	if again := s.Page("/season", http.StatusOK); again == page || webtest.Got(s.Store.Revision(t.Context()))(t) != before {
		t.Error("a season does not take what its gauge says anew")
	}
}
