package caution

import (
	"testing"

	"rigtally/journal"
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

func TestSeasonCountsWhatIsKnown(t *testing.T) {
	t.Parallel()
	tallies := OfSeason([]journal.Session{
		{WaterTempC: ptr(19), Storm: true},
		{WaterTempC: ptr(21), DepthM: ptr(1), VelocityMS: ptr(1)},
		{DepthM: ptr(1)},
	})
	want := []Tally{{Lightning, 0, 1, 3, 3}, {Wading, 0, 1, 1, 3}, {WarmWater, 1, 1, 2, 3}}
	for i, w := range want {
		if tallies[i] != w {
			t.Errorf("%+v, want %+v", tallies[i], w)
		}
	}
}
