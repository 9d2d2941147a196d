package main

import (
	"strings"
	"testing"

	"rigtally/internal/pgserver/pgtest"
)

// A session that was warm, fast and stormy is answered with the cautions, each in
// the person's units and with who decides. 68 °F is 20 °C (Northern Ireland DAERA),
// and 2.5 ft at 4 ft/s are the 10 ft²/s of the U.S. Geological Survey's rule of thumb.
func TestLogAnswersWithCautions(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	out := mustRun(t, url, "log", "--units", "us", "--angler", "J. Felt", "--water", "Little Marrow", "--date", "2026-07-03", "--water-temp", "68",
		"--depth", "2.5 ft", "--velocity", "4 ft/s", "--storm", "yes", "--junction", "blood", "--minutes", "60")
	for _, want := range []string{"water running 4 ft/s", "storm", "Caution: Thunder or lightning", "30 minutes after the last thunder",
		"Caution: 2.5 ft deep at 4 ft/s", "10 ft²/s", "Caution: Water at 68 °F", "fish and wildlife agency"} {
		if !strings.Contains(out, want) {
			t.Errorf("the answer lacks %q:\n%s", want, out)
		}
	}
	s := contentsOf(t, url).Sessions[0]
	near(t, "velocity", s.VelocityMS, 4*0.3048)
	if !s.Storm {
		t.Error("the storm was not stored")
	}
}
