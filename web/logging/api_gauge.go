package logging

import (
	"context"
	"net/http"
	"slices"
	"time"

	"rigtally/journal"
	"rigtally/journal/gauge"
	"rigtally/web/page"
)

// toldSession is a stored session as programs are told of it, with what it takes of gauges.
type toldSession struct {
	Session journal.Session `json:"session"`
	Gauges  []toldGauge     `json:"gauges"`
}

// toldGauge is what a session takes of a quantity. Each number is in the unit that its key ends in; percentile and changes of the
// flow are percent of years and shares of what it was.
type toldGauge struct {
	Quantity    gauge.Quantity `json:"quantity"`
	Site        string         `json:"site"`
	Sensor      string         `json:"sensor,omitempty"`
	FlowM3S     *float64       `json:"flow_m3s,omitempty"`
	StageM      *float64       `json:"stage_m,omitempty"`
	WaterTempC  *float64       `json:"water_temp_c,omitempty"`
	At          time.Time      `json:"at"`
	Taken       string         `json:"taken"`
	Provisional bool           `json:"provisional"`
	Flags       []string       `json:"flags,omitempty"` // what else is to be known of the readings

	FlowPercentile      *float64 `json:"flow_percentile,omitempty"`
	FlowPercentileYears int      `json:"flow_percentile_years,omitempty"`
	FlowChange6H        *float64 `json:"flow_change_6h,omitempty"`
	FlowChange24H       *float64 `json:"flow_change_24h,omitempty"`
	StageChange6HM      *float64 `json:"stage_change_6h_m,omitempty"`
	StageChange24HM     *float64 `json:"stage_change_24h_m,omitempty"`
	WaterTempPeakC      *float64 `json:"water_temp_peak_c,omitempty"`
}

// How a value was taken of a gauge.
const (
	takenReading      = "reading"
	takenInterpolated = "interpolated" // between the readings before and after
	takenDaysMean     = "day's mean"   // no times were noted
)

func told(f gauge.Fill) toldGauge {
	t := toldGauge{Quantity: f.Quantity, Site: f.Site.String(), Sensor: f.Sensor, At: f.At, Taken: takenReading, Provisional: f.Provisional(), Flags: (f.Flags &^ gauge.Provisional).Words()}
	switch {
	case f.WholeDay:
		t.Taken = takenDaysMean
	case f.Between:
		t.Taken = takenInterpolated
	}
	switch f.Quantity {
	case gauge.Flow:
		t.FlowM3S, t.FlowPercentile, t.FlowPercentileYears, t.FlowChange6H, t.FlowChange24H = &f.Value, f.Percentile, f.Years, f.Change6H, f.Change24H
	case gauge.Stage:
		t.StageM, t.StageChange6HM, t.StageChange24HM = &f.Value, f.Change6H, f.Change24H
	case gauge.Temperature:
		t.WaterTempC, t.WaterTempPeakC = &f.Value, f.Peak
	}
	return t
}

// sendSession answers with a stored session.
func (s *Pages) sendSession(ctx context.Context, w http.ResponseWriter, stored journal.Session) error {
	fills, err := s.Store.Fills(ctx, stored.ID)
	if err != nil {
		return err
	}
	answer := toldSession{Session: stored, Gauges: []toldGauge{}}
	for _, q := range gauge.Quantities() {
		if i := slices.IndexFunc(fills[stored.ID], func(f gauge.Fill) bool { return f.Quantity == q }); i >= 0 {
			answer.Gauges = append(answer.Gauges, told(fills[stored.ID][i]))
		}
	}
	return page.SendJSON(w, http.StatusOK, answer)
}

// apiStored tells of a session by its id: readings come in after it was sent, too.
func (s *Pages) apiStored(w http.ResponseWriter, r *http.Request) error {
	stored, err := page.At(r, s.Store.SessionByID)
	if err != nil {
		return err
	}
	return s.sendSession(r.Context(), w, stored)
}
