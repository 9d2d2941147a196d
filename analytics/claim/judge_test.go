package claim

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"

	"rigtally/analytics/answer"
	"rigtally/analytics/stat"
	"rigtally/internal/units"
	"rigtally/journal"
)

// The 15 p-values of Benjamini & Hochberg (1995, JRSS B 57:289, §3), of which the
// procedure finds the first four at 5%: those claims hold or, where the ratios lie the other way, their
// opposites do.
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
	for _, ratio := range []float64{2, 0.5} {
		var b Board
		for _, p := range published.P {
			b.Claims = append(b.Claims, Answer{Claim: journal.Claim{Direction: journal.More}, Ratio: &ratio, P: answer.Known(p), Verdict: stat.Judge(p, stat.Interval{High: 9})})
		}
		b.Claims = append(b.Claims, Answer{}) // one that could not be tested
		if err := b.judge(); err != nil {
			t.Fatal(err)
		}
		want := Holds
		if ratio < 1 {
			want = OppositeHolds
		}
		n, settled := 0, 0
		for _, a := range b.Claims {
			switch {
			case a.Standing == want:
				n++
			case a.Standing == Settled:
				settled++
			}
		}
		// Nine of the 15 p lie below 0.05 by themselves (the same paper).
		if n != found || settled != 5 || b.Tested != len(published.P) || b.Claims[0].Asked != b.Tested || b.Claims[15].Standing != OpenStill || b.Claims[15].QListed != nil {
			t.Errorf("ratio %g: %d of %d tested are %q, %d settled by themselves, want %d", ratio, n, b.Tested, want, settled, found)
		}
	}
}

// The verdict of the question alone decides what a claim may be called, and its q over the list whether it holds.
func TestStandings(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		verdict stat.Verdict
		ratio   float64
		listed  float64
		want    Standing
	}{
		{stat.Differs, 2, 0.0499, Holds}, {stat.Differs, 2, 0.05, Settled}, {stat.Differs, 0.5, 0.0499, OppositeHolds}, {stat.Differs, 0.5, 0.3, Settled},
		{stat.Leans, 2, 0.01, LeansFor}, {stat.Leans, 0.5, 0.3, LeansOther}, {stat.SameForPractice, 1.01, 0.9, Same}, {stat.CannotTell, 2, 0.01, OpenStill},
	} {
		a := Answer{Claim: journal.Claim{Direction: journal.More}, Ratio: &tt.ratio, Verdict: tt.verdict}
		if a.List(&tt.listed, 11); a.Standing != tt.want || a.Asked != 11 {
			t.Errorf("%s, %g times, q over the list %g is %q, want %q", tt.verdict, tt.ratio, tt.listed, a.Standing, tt.want)
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
