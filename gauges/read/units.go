package read

import (
	"strings"

	"rigtally/journal/gauge"
)

// unit turns values into the storage unit of a quantity: (v − less) · by / per. Division keeps 1251 mm at 1.251 m.
type unit struct {
	quantity      gauge.Quantity
	less, by, per float64
}

func (u unit) si(v float64) float64 { return (v - u.less) * u.by / u.per }

const (
	foot      = 0.3048             // m, exactly
	cubicFoot = foot * foot * foot // m³
)

// unitNames are how units are written once spaces and case are gone. A foot is 0.3048 m by the agreement of 1959.
var unitNames = namedUnits()

func namedUnits() map[string]unit {
	units := map[string]unit{}
	for _, k := range []struct {
		unit
		names string
	}{
		{unit{gauge.Flow, 0, cubicFoot, 1}, "ft3/s ft^3/s ft³/s ft3s-1 cfs cuft/s cubicfeetpersecond cubicfootpersecond ft3.s-1 [ft_i]3/s ft3/sec cuft/sec cu.ft./s cubicft/s cubicft/sec cubicfeet/s cubicfeet/sec"},
		{unit{gauge.Flow, 0, 1000 * cubicFoot, 1}, "kcfs"},
		{unit{gauge.Flow, 0, 3785.411784, 86400}, "mgd mgal/d"}, // gallons of 231 cubic inches
		{unit{gauge.Flow, 0, 1000, 86400}, "ml/d ml/day"},
		{unit{gauge.Flow, 0, 1, 1}, "m3/s m^3/s m³/s m3s m3_s m3s-1 m3.s-1 cms cumec cumecs m3/sec m³/sec cubicmeterpersecond cubicmetrepersecond cubicmeterspersecond cubicmetrespersecond"},
		{unit{gauge.Flow, 0, 1, 1000}, "l/s l.s-1 ls-1 lps l/sec literspersecond litrespersecond"},
		{unit{gauge.Stage, 0, foot, 1}, "ft feet foot [ft_i]"},
		{unit{gauge.Stage, 0, 1, 1}, "m meter meters metre metres masd"},
		{unit{gauge.Stage, 0, 1, 100}, "cm centimeter centimeters centimetre centimetres"},
		{unit{gauge.Stage, 0, 1, 1000}, "mm millimeter millimeters millimetre millimetres"},
		{unit{gauge.Stage, 0, foot, 12}, "inch inches"},
		{unit{gauge.Temperature, 0, 1, 1}, "degc °c ºc oc c cel celsius degreescelsius deg.c degreesc °celsius"},
		{unit{gauge.Temperature, 32, 1, 1.8}, "degf °f ºf of f fahrenheit degreesfahrenheit deg.f degreesf °fahrenheit [degf]"},
	} {
		for name := range strings.FieldsSeq(k.names) {
			units[name] = k.unit
		}
	}
	return units
}

func unitOf(text string) (unit, bool) {
	u, ok := unitNames[strings.ToLower(strings.Join(strings.Fields(text), ""))]
	return u, ok
}

// unitFor is the unit of values of a quantity, refused where it isn't one.
func (b *book) unitFor(q gauge.Quantity, text, place string) (unit, error) {
	u, ok := unitOf(text)
	switch {
	case strings.TrimSpace(text) == "":
		return unit{}, b.unsaidf(place, "no unit is given for %s; name it, as %s", q, unitsOf(q))
	case !ok:
		return unit{}, b.wrongf(place, "%q is no unit that is known; those of %s are %s", text, q, unitsOf(q))
	case u.quantity != q:
		return unit{}, b.wrongf(place, "%q is not a unit of %s; those are %s", text, q, unitsOf(q))
	}
	return u, nil
}

func unitsOf(q gauge.Quantity) string {
	switch q {
	case gauge.Flow:
		return "cfs, m3/s or l/s"
	case gauge.Stage:
		return "ft, m, cm or mm"
	}
	return "degC or degF"
}

// parameter is what a number of the U.S. Geological Survey's list of parameters stands for.
type parameter struct {
	quantity gauge.Quantity
	unit     string
}

// parameters are those that are taken. The unit goes by the number.
var parameters = map[string]parameter{
	"00060": {gauge.Flow, "ft3/s"}, // daily or instant discharge
	"00061": {gauge.Flow, "ft3/s"}, // instant discharge
	"30208": {gauge.Flow, "m3/s"},
	"30209": {gauge.Flow, "m3/s"},
	"00065": {gauge.Stage, "ft"},
	"30207": {gauge.Stage, "m"},
	"00010": {gauge.Temperature, "degC"},
	"00011": {gauge.Temperature, "degF"},
}

// statistics of the U.S. Geological Survey that are taken; others are left out.
var statistics = map[string]gauge.Statistic{"": gauge.Instant, "00000": gauge.Instant, "00011": gauge.Instant, "00003": gauge.DailyMean}

func statisticName(code string) string {
	switch code {
	case "00001":
		return "daily maximum"
	case "00002":
		return "daily minimum"
	case "00008":
		return "daily median"
	}
	return "statistic " + code
}
