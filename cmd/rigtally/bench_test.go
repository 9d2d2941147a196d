package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rigtally/internal/pgserver/pgtest"
)

// Ensure that pulls can be recorded, listed, changed, taken out and brought back.
func TestBenchPullsFromTheCommandLine(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	out := mustRun(t, url, "bench", "add", "--junction", "Figure-Eight", "--facing", "down", "--tippet", "6X", "--material", "nylon", "--wet", "--pulled-on", "tag", "--force", "1.95lbf", "--broke-at", "junction", "--tied-by", "Maud", "--units", "us")
	if !strings.Contains(out, "Recorded: figure-eight, facing down, 6X (0.127 mm), wet nylon, pulled on the tag: 1.95 lbf, broke at the junction") {
		t.Fatalf("said %q", out)
	}
	mustRun(t, url, "bench", "add", "--junction", "none", "--tippet", "6X", "--force", "1.1kgf", "--ending", "did not break")
	list := mustRun(t, url, "bench", "list", "--units", "us")
	if !strings.Contains(list, "unknotted line") || !strings.Contains(list, "1.95 lbf") || !strings.Contains(list, "Maud") {
		t.Errorf("listed\n%s", list)
	}
	lines := strings.Split(strings.TrimSpace(list), "\n")
	fields := strings.Fields(lines[len(lines)-1])
	id := fields[len(fields)-1]
	if out := mustRun(t, url, "bench", "change", id, "--force", "9 N", "--ending", "slipped"); !strings.Contains(out, "slipped") || !strings.Contains(out, "facing down") {
		t.Errorf("changed: %q", out)
	}
	mustRun(t, url, "bench", "delete", id)
	if out := mustRun(t, url, "bench", "list"); strings.Contains(out, id) {
		t.Error("a deleted pull is listed")
	}
	if out := mustRun(t, url, "bench", "deleted"); !strings.Contains(out, id) {
		t.Error("a deleted pull can't be found")
	}
	mustRun(t, url, "bench", "restore", id)
	if out := mustRun(t, url, "bench", "list"); !strings.Contains(out, id) {
		t.Error("a restored pull is not listed")
	}
	for name, c := range map[string]struct {
		args []string
		want string
	}{
		"no force":          {[]string{"bench", "add", "--tippet", "6X"}, "--force is missing"},
		"no unit":           {[]string{"bench", "add", "--tippet", "6X", "--force", "3", "--ending", "broke", "--units", "metric"}, "names no unit"},
		"no end":            {[]string{"bench", "add", "--tippet", "6X", "--force", "3N"}, "choose broke, slipped or did not break"},
		"nothing to divide": {[]string{"bench", "compare"}, "--by is missing"},
		"no such factor":    {[]string{"bench", "compare", "--by", "colour"}, `the bench knows no factor "colour"`},
		"no such level":     {[]string{"bench", "compare", "--by", "junction", "--versus", "granny"}, `there are no pulls of "granny"`},
		"no such side":      {[]string{"bench", "water", "--by", "angler"}, "can't be set side by side"},
	} {
		if got := runIn(t, url, c.args...); got.status != 2 || !strings.Contains(got.errors, c.want) {
			t.Errorf("%s: exit %d, %q; want 2 and %q", name, got.status, got.errors, c.want)
		}
	}
}

const manyPulls = `junction,facing,tippet_x,material,wet,pulled_on,force_n,ending,broke_at
figure-eight,down,6,nylon,wet,tag,9.1,broke,junction
figure-eight,down,6,nylon,wet,tag,8.6,broke,junction
figure-eight,down,6,nylon,wet,tag,9.4,broke,tag
figure-eight,down,6,nylon,wet,tag,8.9,broke,junction
figure-eight,down,6,nylon,wet,tag,8.2,slipped,
figure-eight,down,6,nylon,wet,tag,9.0,broke,junction
figure-eight,up,6,nylon,wet,tag,7.1,broke,junction
figure-eight,up,6,nylon,wet,tag,6.6,broke,junction
figure-eight,up,6,nylon,wet,tag,7.4,broke,junction
figure-eight,up,6,nylon,wet,tag,7.0,broke,junction
figure-eight,up,6,nylon,wet,tag,6.9,broke,junction
figure-eight,up,6,nylon,wet,tag,7.6,broke,junction
none,,6,nylon,wet,,10.4,broke,main line
none,,6,nylon,wet,,10.9,broke,main line
none,,6,nylon,wet,,10.6,broke,grip
`

// Ensure that a file of pulls is taken in once, and compared in three forms that
// tell the same. Welch's t and p against R 4.2.2: t.test(down, up) gives
// t = 7.8658913, df = 9.7677901, p = 1.5695621e-05; the exact Mann–Whitney p of two samples
// of six that do not overlap is 2/924.
func TestBenchFromFiles(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	name := filepath.Join(t.TempDir(), "pulls.csv")
	if err := os.WriteFile(name, []byte(manyPulls), 0o600); err != nil {
		t.Fatal(err)
	}
	if out := mustRun(t, url, "bench", "import", name, "--check"); !strings.Contains(out, "15 rows of pulls.") || !strings.Contains(out, "force_n") {
		t.Errorf("checked:\n%s", out)
	}
	if out := mustRun(t, url, "bench", "import", name); !strings.Contains(out, "Added 15 pulls.") {
		t.Errorf("imported:\n%s", out)
	}
	if out := mustRun(t, url, "bench", "import", name); !strings.Contains(out, "Added 0 pulls.") || !strings.Contains(out, "15 pulls were already there.") {
		t.Errorf("imported again:\n%s", out)
	}
	var answer struct {
		Unit   string
		Groups []struct {
			Level      map[string]string
			Pulls      int
			Slipped    int
			Mean       float64
			Efficiency struct {
				Ratio, Low, High float64
				Bounds           string
			}
			Weibull struct{ Shape, Scale, Failures float64 }
			Versus  *struct {
				T, DF, P, Q float64
				RankP       float64 `json:"rank_p"`
				Difference  float64 `json:"difference_n"`
				Verdict     string
			}
		}
	}
	text := mustRun(t, url, "bench", "compare", "--by", "facing", "--where", "junction=figure-eight", "--versus", "up", "--format", "json")
	if err := json.Unmarshal([]byte(text), &answer); err != nil {
		t.Fatal(err)
	}
	if answer.Unit != "N" || len(answer.Groups) != 2 || answer.Groups[0].Level["facing"] != "down" || answer.Groups[0].Slipped != 1 || answer.Groups[0].Weibull.Failures != 5 {
		t.Fatalf("answered %+v", answer)
	}
	v := answer.Groups[0].Versus
	const tol = 1e-3
	near := func(got, want float64) bool { return got > want*(1-tol) && got < want*(1+tol) }
	if v == nil || !near(v.T, 7.8658913) || !near(v.DF, 9.7677901) || !near(v.P, 1.5695621e-05) || !near(v.RankP, 2.0/924) || v.Verdict != "differs" {
		t.Errorf("compared %+v", v)
	}
	if e := answer.Groups[0].Efficiency; e.Bounds != "bounded" || !near(e.Ratio, (53.2/6)/(31.9/3)) || e.Low >= e.Ratio || e.High <= e.Ratio {
		t.Errorf("efficiency %+v", e)
	}
	words := mustRun(t, url, "bench", "compare", "--by", "facing", "--where", "junction=figure-eight", "--units", "metric")
	for _, want := range []string{"Facing down is stronger than facing up (junction figure-eight)", "times as much", "that is settled", "1 pull slipped", "No table of knot strengths"} {
		if !strings.Contains(words, want) {
			t.Errorf("the text lacks %q:\n%s", want, words)
		}
	}
	if rows := strings.Split(strings.TrimSpace(mustRun(t, url, "bench", "compare", "--by", "junction", "--format", "csv")), "\n"); len(rows) != 3 || !strings.HasPrefix(rows[0], "junction,unit,pulls,") {
		t.Errorf("as CSV: %q", rows)
	}
	if out := mustRun(t, url, "bench", "export", "--to", "-"); strings.Count(out, "\n") != 16 {
		t.Errorf("exported\n%s", out)
	}
	if out := mustRun(t, url, "bench", "water"); !strings.Contains(out, "too few to set side by side") || !strings.Contains(out, "is not a fish") {
		t.Errorf("bench and water:\n%s", out)
	}
}
