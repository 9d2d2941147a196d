package main

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"rigtally/internal/pgserver/pgtest"
)

// sampleJournal imports the sample of testdata, whose data are invented.
func sampleJournal(t *testing.T) string {
	t.Helper()
	url := pgtest.NewDatabase(t)
	mustRun(t, url, "import", "../../testdata/samples/guide-book-2025.csv")
	return url
}

// The sample, read by R 4.2.2 as the journal holds it, gives with
// f <- glm(tangles ~ junction + tag_mm + bulk + angler + offset(log(hours)), poisson,
// control = glm.control(epsilon = 1e-14, maxit = 100)), refitted from its coefficients, and
// sandwich::vcovCL(f, cluster = session, type = "HC1") these ratios and standard errors.
func TestCorrectedSampleAgreesWithR(t *testing.T) {
	t.Parallel()
	url := sampleJournal(t)
	args := []string{"rates", "tangles", "--by", "junction", "--given", "tag-length:linear,bulk,angler", "--versus", "figure-eight"}
	var answer struct {
		Given  []string
		Groups []struct {
			Level     map[string]string
			Corrected *struct {
				Ratio, P, DF float64
				SELog        float64 `json:"se_log"`
				Method       string
			}
		}
	}
	if err := json.Unmarshal([]byte(mustRun(t, url, append(args, "--format", "json")...)), &answer); err != nil {
		t.Fatal(err)
	}
	want := map[string][2]float64{
		"blood":            {0.93069109673929, 0.33289203534941},
		"double surgeon's": {1.15260613053833, 0.24546319541976},
		"tippet ring":      {2.33445223384477, 0.30998162440364},
	}
	const tol = 1e-8
	for _, g := range answer.Groups {
		w, ok := want[g.Level["junction"]]
		if !ok {
			continue
		}
		delete(want, g.Level["junction"])
		if c := g.Corrected; c == nil || math.Abs(c.Ratio/w[0]-1) > tol || math.Abs(c.SELog/w[1]-1) > tol || c.Method != "Poisson, HC1 by session" {
			t.Errorf("%s: %+v, want ratio %g and se_log %g", g.Level["junction"], c, w[0], w[1])
		}
	}
	if len(want) > 0 || len(answer.Given) != 3 {
		t.Errorf("given %q, not answered: %v", answer.Given, want)
	}
	rows, err := csv.NewReader(strings.NewReader(mustRun(t, url, append(args, "--format", "csv")...))).ReadAll()
	if err != nil || len(rows) != len(answer.Groups)+1 || rows[0][len(rows[0])-1] != "corrected_method" {
		t.Errorf("%v: %q", err, rows)
	}
	if text := mustRun(t, url, args...); !strings.Contains(text, "Corrected for tag length, bulk and angler:") || !strings.Contains(text, "Simpson") {
		t.Errorf("in words:\n%s", text)
	}
}

func TestCurveForms(t *testing.T) {
	t.Parallel()
	url := sampleJournal(t)
	var answer struct {
		Over            string
		Knots, Boundary []float64
		Points          []struct{ At, Rate, Low, High float64 }
		Best            []struct{ At, Probability float64 }
	}
	args := []string{"curve", "tangles", "--knots", "120,160", "--boundary", "80,240"}
	if err := json.Unmarshal([]byte(mustRun(t, url, append(args, "--format", "json")...)), &answer); err != nil {
		t.Fatal(err)
	}
	if answer.Over != "tag-length" || answer.Knots[0] != 120 || answer.Boundary[1] != 240 || len(answer.Points) < 10 || len(answer.Best) != len(answer.Points) {
		t.Errorf("%+v", answer)
	}
	rows, err := csv.NewReader(strings.NewReader(mustRun(t, url, append(args, "--format", "csv")...))).ReadAll()
	if err != nil || len(rows) != len(answer.Points)+1 {
		t.Errorf("%d rows, %v", len(rows), err)
	}
	if text := mustRun(t, url, append(args, "--given", "angler", "--units", "us")...); !strings.Contains(text, "Corrected for angler:") || !strings.Contains(text, " in ") {
		t.Errorf("in words:\n%s", text)
	}
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"curve"}, "the outcome is missing"},
		{[]string{"curve", "tangles", "--over", "junction"}, "a curve goes over a number"},
		{[]string{"curve", "tangles", "--format", "xml"}, "write text, json or csv"},
		{[]string{"curve", "tangles", "--knots", "12"}, "knots must lie where it was fished"},
		{[]string{"rates", "tangles", "--by", "junction", "--given", "junction"}, "can't be given too"},
	} {
		got := runIn(t, url, c.args...)
		if got.status != 2 || !strings.Contains(got.errors, c.want) || got.out != "" {
			t.Errorf("%s: status %d; want %q in:\n%s%s", c.args, got.status, c.want, got.errors, got.out)
		}
	}
}
