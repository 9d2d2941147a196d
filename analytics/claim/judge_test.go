package claim

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"

	"rigtally/analytics/answer"
	"rigtally/internal/units"
	"rigtally/journal"
)

// The 15 p-values of Benjamini & Hochberg (1995, JRSS B 57:289, §3), of which the
// procedure finds the first four at 5%: those claims hold, and turned round they
// do not hold.
func TestABoardOfPublishedPValues(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "reference", "false-discovery.json"))
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Cases []struct {
			ID   string `json:"id"`
			Data struct {
				P []float64 `json:"p"`
			} `json:"data"`
		} `json:"cases"`
	}
	if err := json.Unmarshal(text, &file); err != nil {
		t.Fatal(err)
	}
	published := file.Cases[0].Data
	const found = 4 // as the paper says
	if file.Cases[0].ID != "bh1995" || len(published.P) != 15 {
		t.Fatalf("the first case is %s with %d p-values", file.Cases[0].ID, len(published.P))
	}
	for _, turned := range []bool{false, true} {
		var b Board
		for _, p := range published.P {
			a := Answer{PFor: answer.Known(p), PAgainst: answer.Known(1 - p)}
			if turned {
				a.PFor, a.PAgainst = a.PAgainst, a.PFor
			}
			b.Claims = append(b.Claims, a)
		}
		b.Claims = append(b.Claims, Answer{}) // one that could not be tested
		if err := b.judge(); err != nil {
			t.Fatal(err)
		}
		want := Holds
		if turned {
			want = HoldsNot
		}
		n := 0
		for _, a := range b.Claims {
			if a.Standing == want {
				n++
			}
		}
		if n != found || b.Tested != len(published.P) || b.Claims[15].Standing != OpenStill || b.Claims[15].QFor != nil {
			t.Errorf("turned %v: %d of %d tested are %q, want %d", turned, n, b.Tested, want, found)
		}
	}
}

// The limits are those of statistics.md, §6: below, not at.
func TestStandings(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		qFor, qAgainst float64
		want           Standing
	}{
		{0.0499, 1, Holds}, {0.05, 1, LeansFor}, {0.1999, 1, LeansFor}, {0.20, 1, OpenStill},
		{1, 0.0499, HoldsNot}, {1, 0.05, LeansOther}, {1, 0.1999, LeansOther}, {1, 0.20, OpenStill}, {0.5, 0.5, OpenStill},
	} {
		if got := stand(tt.qFor, tt.qAgainst); got != tt.want {
			t.Errorf("q %g for and %g against is %q, want %q", tt.qFor, tt.qAgainst, got, tt.want)
		}
	}
}

// A claim that finer tippet breaks more is one of less with a greater diameter,
// and its ratio is given for one X finer: above 1 speaks for it.
func TestWhichRatioSpeaksForAClaim(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		factor string
		d      journal.Direction
		more   bool
	}{{"tag-length", journal.More, true}, {"tag-length", journal.Less, false}, {"tippet", journal.Less, true}, {"tippet", journal.More, false}, {"facing", journal.More, true}, {"facing", journal.Less, false}} {
		f, err := journal.FactorByKey(tt.factor)
		if err != nil {
			t.Fatal(err)
		}
		a := Answer{Claim: journal.Claim{Direction: tt.d}, Step: StepOf(f, units.US)}
		if a.SaysMore() != tt.more {
			t.Errorf("%s, %s: a ratio above 1 speaks for it: %v", tt.factor, tt.d, a.SaysMore())
		}
	}
}

// 1 in is exactly 25.4 mm, a cubic foot 0.028316846592 m³ and a degree
// Fahrenheit 5/9 K (NIST SP 811, appendix B.8); X sizes differ by a thousandth of
// an inch (rule of eleven).
func TestSteps(t *testing.T) {
	t.Parallel()
	for _, f := range journal.Factors() {
		us, metric := StepOf(f, units.US), StepOf(f, units.Metric)
		want := map[journal.Quantity]float64{journal.Length: 25.4, journal.Diameter: -25.4 / 1000, journal.Flow: 100 * 0.028316846592, journal.Temperature: 5 * 5.0 / 9}[f.Quantity]
		switch {
		case f.Quantity == journal.Words && (us != 0 || metric != 0):
			t.Errorf("%s has steps of %g and %g", f.Key, us, metric)
		case f.Quantity != journal.Words && (us == 0 || metric == 0):
			t.Errorf("%s has no step", f.Key)
		case want != 0 && math.Abs(us-want) > 1e-12:
			t.Errorf("%s: a step of %g, want %g", f.Key, us, want)
		}
	}
}

// Hours needed are those behind it when the ratio seen is just as sure as
// planned: z = 1.959964 + 0.841621 (any table of the normal distribution), and four times as many
// with twice the standard error.
func TestHoursForARatio(t *testing.T) {
	t.Parallel()
	const z = 1.959964 + 0.841621
	if got := hoursFor(200, 0.3, 0.3*z); math.Abs(got-200) > 1e-3 {
		t.Errorf("%g hours, want 200", got)
	}
	if got := hoursFor(200, 0.6, 0.3*z); math.Abs(got-800) > 1e-2 {
		t.Errorf("%g hours, want 800", got)
	}
}
