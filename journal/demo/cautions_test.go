package demo

import "testing"

// A season has some sessions of every kind that calls for a caution, and storms
// only in summer.
func TestSomeSessionsCallForCaution(t *testing.T) {
	t.Parallel()
	season := Generate(Seed, Sessions)
	fast, storms := 0, 0
	for _, s := range season.Sessions {
		if s.VelocityMS != nil && *s.VelocityMS**s.DepthM >= 0.929 {
			fast++
		}
		if s.Storm {
			storms++
			if s.Day.Month < 6 || s.Day.Month > 8 {
				t.Errorf("a storm on %s", s.Day)
			}
		}
	}
	if fast < 5 || fast > 100 || storms < 3 || storms > 30 {
		t.Errorf("%d fast and %d stormy sessions of %d", fast, storms, len(season.Sessions))
	}
}
