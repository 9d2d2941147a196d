package caution

import (
	"testing"

	"rigtally/journal"
	"rigtally/journal/gauge"
)

func ptr(v float64) *float64 { return &v }

// The lines are those of the sources named at the constants: 18 and 20 °C
// (Northern Ireland DAERA), 68 °F, and a product of 10 with depth in ft and
// velocity in ft/s (U.S. Geological Survey's rule of thumb).
func TestLines(t *testing.T) {
	t.Parallel()
	const foot = 0.3048
	for _, c := range []struct {
		name string
		in   Conditions
		kind Kind
		want Level
	}{
		{"17.9 °C", Conditions{WaterTempC: ptr(17.9)}, WarmWater, ""},
		{"18 °C", Conditions{WaterTempC: ptr(18)}, WarmWater, Care},
		{"19.9 °C", Conditions{WaterTempC: ptr(19.9)}, WarmWater, Care},
		{"68 °F", Conditions{WaterTempC: ptr((68 - 32) / 1.8)}, WarmWater, Stop},
		{"2.5 ft at 4 ft/s", Conditions{DepthM: ptr(2.5 * foot), VelocityMS: ptr(4 * foot)}, Wading, Stop},
		{"2.4 ft at 4 ft/s", Conditions{DepthM: ptr(2.4 * foot), VelocityMS: ptr(4 * foot)}, Wading, Care},
		{"0.5 m at 1 m/s", Conditions{DepthM: ptr(0.5), VelocityMS: ptr(1)}, Wading, ""},
		{"deep, speed unknown", Conditions{DepthM: ptr(3)}, Wading, ""},
		{"fast, depth unknown", Conditions{VelocityMS: ptr(3)}, Wading, ""},
		{"storm", Conditions{Storm: true}, Lightning, Stop},
		{"nothing noted", Conditions{}, Lightning, ""},
	} {
		var got Level
		for _, found := range c.in.Cautions() {
			if found.Kind == c.kind {
				got = found.Level
			}
		}
		if got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// What a gauge tells: lines of common practice, and the 90th percentile of the U.S. Geological Survey's classes.
func TestGaugesTell(t *testing.T) {
	t.Parallel()
	flow := func(change, percent *float64) gauge.Fill {
		return gauge.Fill{Quantity: gauge.Flow, Value: 20, Change6H: change, Percentile: percent, Years: 30}
	}
	stage := func(change float64) gauge.Fill { return gauge.Fill{Quantity: gauge.Stage, Value: 1, Change6H: &change} }
	water := func(v, peak float64) gauge.Fill {
		return gauge.Fill{Quantity: gauge.Temperature, Value: v, Peak: &peak}
	}
	for _, c := range []struct {
		name  string
		read  *float64 // the angler's thermometer
		fills []gauge.Fill
		kind  Kind
		want  Level
		value float64
		peak  bool
	}{
		{"flow up 9%", nil, []gauge.Fill{flow(ptr(0.09), nil)}, RisingWater, "", 0, false},
		{"flow up 10%", nil, []gauge.Fill{flow(ptr(0.10), nil)}, RisingWater, Care, 0.10, false},
		{"flow up by half", nil, []gauge.Fill{flow(ptr(0.5), nil)}, RisingWater, Stop, 0.5, false},
		{"flow down", nil, []gauge.Fill{flow(ptr(-0.6), nil)}, RisingWater, "", 0, false},
		{"stage up 3 cm", nil, []gauge.Fill{stage(0.03)}, RisingWater, Care, 0.03, false},
		{"stage up 15 cm, flow a little", nil, []gauge.Fill{flow(ptr(0.2), nil), stage(0.15)}, RisingWater, Stop, 0.15, false},
		{"flow at the 89th", nil, []gauge.Fill{flow(nil, ptr(89))}, HighWater, "", 0, false},
		{"flow at the 90th", nil, []gauge.Fill{flow(nil, ptr(90))}, HighWater, Care, 90, false},
		{"cool at the time, warm later", nil, []gauge.Fill{water(15, 20.5)}, WarmWater, Stop, 20.5, true},
		{"read as warm by the angler", ptr(21.0), []gauge.Fill{water(15, 18)}, WarmWater, Stop, 21, false},
		{"read as cool, the gauge's day warm", ptr(15.0), []gauge.Fill{water(16, 18.2)}, WarmWater, Care, 18.2, true},
		{"warm by the gauge alone", nil, []gauge.Fill{{Quantity: gauge.Temperature, Value: 19}}, WarmWater, Care, 19, false},
		{"what the angler read stands for the gauge's", ptr(15.0), []gauge.Fill{{Quantity: gauge.Temperature, Value: 19}}, WarmWater, "", 0, false},
	} {
		var got Caution
		for _, found := range Of(journal.Session{WaterTempC: c.read}, c.fills) {
			if found.Kind == c.kind {
				got = found
			}
		}
		if got.Level != c.want || got.Value != c.value || got.Peak != c.peak {
			t.Errorf("%s: %q at %g, peak %t", c.name, got.Level, got.Value, got.Peak)
		}
		if noted := c.read != nil && !c.peak; c.want != "" && (got.From == nil) != noted {
			t.Errorf("%s: from %+v", c.name, got.From)
		}
	}
	if got := OfGauge([]gauge.Fill{flow(ptr(1), ptr(95)), water(21, 22)}); len(got) != 3 || got[0].Kind != RisingWater || got[1].Kind != HighWater || got[2].Kind != WarmWater {
		t.Errorf("now: %+v", got)
	}
	if got := (Conditions{Trend6H: gauge.Rising}).Cautions(); len(got) != 1 || got[0].Kind != RisingWater || got[0].Level != Care {
		t.Errorf("by its trend alone: %+v", got)
	}
}

func TestSeasonCountsWhatIsKnown(t *testing.T) {
	t.Parallel()
	tallies := OfSeason([]Conditions{
		{WaterTempC: ptr(19), Storm: true},
		{WaterTempC: ptr(21), DepthM: ptr(1), VelocityMS: ptr(1)},
		{DepthM: ptr(1), Trend6H: gauge.Rising},
		{Trend6H: gauge.Steady, Fills: []gauge.Fill{{Quantity: gauge.Flow, Percentile: ptr(95)}, {Quantity: gauge.Temperature, Value: 18, Peak: ptr(18)}}},
	})
	want := []Tally{{Lightning, 0, 1, 4, 4}, {RisingWater, 1, 0, 2, 4}, {Wading, 0, 1, 1, 4}, {HighWater, 1, 0, 1, 4}, {WarmWater, 2, 1, 3, 4}}
	for i, w := range want {
		if tallies[i] != w {
			t.Errorf("%+v, want %+v", tallies[i], w)
		}
	}
}
