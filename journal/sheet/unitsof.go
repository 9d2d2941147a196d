package sheet

import "rigtally/internal/units"

// Units returns the system of most units in the headers, "" without a winner.
func (s *Sheet) Units() units.System {
	us, metric := 0, 0
	for _, c := range s.Columns {
		if c.UnitFrom != "header" {
			continue
		}
		switch c.Unit {
		case units.Inch.Symbol(), units.Foot.Symbol(), units.CubicFootPerSecond.Symbol(), units.FootPerSecond.Symbol(), units.Fahrenheit.Symbol():
			us++
		case units.Millimetre.Symbol(), units.Centimetre.Symbol(), units.Metre.Symbol(), units.CubicMetrePerSecond.Symbol(), units.MetrePerSecond.Symbol(), units.Celsius.Symbol():
			metric++
		}
	}
	switch {
	case us > metric:
		return units.US
	case metric > us:
		return units.Metric
	}
	return ""
}
