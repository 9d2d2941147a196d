package demo

import (
	"testing"

	"rigtally/journal"
)

// A season has some sessions of every kind that calls for a caution, storms only
// in summer, and is otherwise as it was.
func TestSomeSessionsCallForCaution(t *testing.T) {
	t.Parallel()
	season := Generate(Seed, Sessions)
	fast, storms := 0, 0
	for i, s := range withCautions(season.Sessions) {
		if s.VelocityMS != nil && *s.VelocityMS**s.DepthM >= 0.929 {
			fast++
		}
		if s.Storm {
			storms++
			if s.Day.Month < 6 || s.Day.Month > 8 {
				t.Errorf("a storm on %s", s.Day)
			}
		}
		if was := season.Sessions[i]; was.Storm || was.VelocityMS != nil || was.ID != s.ID {
			t.Errorf("session %d of the season itself was changed", i)
		}
		s.VelocityMS = nil
		s.Storm = false
		if err := s.Validate(rigsOf(season)); err != nil {
			t.Fatal(err)
		}
	}
	if fast < 5 || fast > 100 || storms < 3 || storms > 30 {
		t.Errorf("%d fast and %d stormy sessions of %d", fast, storms, len(season.Sessions))
	}
}

func rigsOf(s Season) map[journal.ID]journal.Rig {
	rigs := map[journal.ID]journal.Rig{}
	for _, r := range s.Rigs {
		rigs[r.ID] = r
	}
	return rigs
}
