package main

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal/demo"
	"rigtally/journal/pg"
)

// demoAt fills a journal with an invented season and returns its address.
func demoAt(t *testing.T, sessions int) string {
	t.Helper()
	url := pgtest.NewDatabase(t)
	store, err := pg.Open(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	if err := demo.Load(t.Context(), store, demo.Generate(demo.Seed, sessions)); err != nil {
		t.Fatal(err)
	}
	return url
}

func execAt(t *testing.T, url, sql string) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), pgtest.AsSuperuser(url))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.WithoutCancel(t.Context()))
	if tag, err := conn.Exec(t.Context(), sql); err != nil || tag.RowsAffected() == 0 {
		t.Fatalf("%s: %v, %v", sql, tag, err)
	}
}

func TestCheckOfASoundJournal(t *testing.T) {
	t.Parallel()
	url := demoAt(t, demo.Sessions)
	out := mustRun(t, url, "check")
	t.Log("\n" + out)
	for _, want := range []string{"Counted again: the counts of", "logged more than a week late", "no minutes noted", "How the journal is kept:"} {
		if !strings.Contains(out, want) {
			t.Errorf("%q is missing in\n%s", want, out)
		}
	}
	var report struct {
		Defects  bool
		Sessions int
		Counts   struct{ Stints, Wrong, Uncounted, Differences int }
		Heaping  []struct {
			Measure, Unit string
			Share, P      float64
		}
		Quiet map[string]any `json:"without_a_bad_event"`
	}
	if err := json.Unmarshal([]byte(mustRun(t, url, "check", "--format", "json")), &report); err != nil {
		t.Fatal(err)
	}
	if report.Defects || report.Sessions != demo.Sessions || report.Counts.Stints == 0 || report.Counts.Wrong != 0 || len(report.Heaping) < 2 || report.Quiet["expected"] == nil {
		t.Errorf("%+v", report)
	}
}

// Ensure that wrong counts fail the command, that --repair puts them right, and
// that other programs are told the same.
func TestCheckFindsAndRepairsWrongCounts(t *testing.T) {
	t.Parallel()
	url := demoAt(t, 20)
	before := mustRun(t, url, "rates", "tangles", "--format", "json")
	execAt(t, url, `UPDATE stint SET tangles = tangles + 100 WHERE id = (SELECT id FROM stint ORDER BY id LIMIT 1)`)
	got := runIn(t, url, "check")
	if got.status != 1 || !strings.Contains(got.errors, "some counts are wrong") || !strings.Contains(got.out, "1 of") || !strings.Contains(got.out, "whole rig  tangles") {
		t.Errorf("status %d, %s\n%s", got.status, got.errors, got.out)
	}
	asJSON := runIn(t, url, "check", "--format", "json")
	if asJSON.status != 1 || !json.Valid([]byte(asJSON.out)) || !strings.Contains(asJSON.out, `"defects": true`) {
		t.Errorf("status %d\n%s", asJSON.status, asJSON.out)
	}
	if out := mustRun(t, url, "check", "--repair"); !strings.Contains(out, "counts are corrected") {
		t.Errorf("repaired:\n%s", out)
	}
	mustRun(t, url, "check")
	if after := mustRun(t, url, "rates", "tangles", "--format", "json"); after != before {
		t.Error("after the repair the answer differs")
	}
	execAt(t, url, `UPDATE event SET cut_mm = 1500 WHERE cut_mm IS NOT NULL`)
	got = runIn(t, url, "check", "--repair")
	if got.status != 1 || !strings.Contains(got.out, "the cuts take more off the tag") || !strings.Contains(got.errors, "can't be counted") {
		t.Errorf("status %d, %s\n%s", got.status, got.errors, got.out)
	}
}

func TestCheckOfAnEmptyJournal(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	if out := mustRun(t, url, "check"); !strings.Contains(out, "has no stints yet") {
		t.Error(out)
	}
	if out := mustRun(t, url, "check", "--format", "json"); !json.Valid([]byte(out)) || strings.Contains(out, "NaN") {
		t.Error(out)
	}
	if got := runIn(t, url, "check", "--format", "csv"); got.status != 2 {
		t.Errorf("csv: status %d", got.status)
	}
}

// What check lists is marked by the command that it names, which shows first, and is taken back by
// the one that this names.
func TestARunIsMarkedAndTakenBack(t *testing.T) {
	t.Parallel()
	url := demoAt(t, demo.Sessions)
	type run struct {
		Angler, Kind, First, Last string
		Stints                    int
	}
	runs := func() []run {
		t.Helper()
		var report struct{ Runs []run }
		if err := json.Unmarshal([]byte(mustRun(t, url, "recorded", "show", "--format", "json")), &report); err != nil {
			t.Fatal(err)
		}
		return report.Runs
	}
	found := runs()
	if len(found) != 1 || found[0].Angler != "Fen Amberquist" || found[0].Kind != "snags" {
		t.Fatalf("%+v", found)
	}
	command := `rigtally recorded mark --angler "Fen Amberquist" --from ` + found[0].First + " --to " + found[0].Last + " --not snags"
	shown := mustRun(t, url, "check")
	t.Log("\n" + shown)
	for _, want := range []string{"One run of stints looks as if something was not counted", "Fen Amberquist, " + found[0].First + " to " + found[0].Last + ": no snag in", command,
		"everything but tangles, kinds", "everything but snags", "hookups 100%; all else"} {
		if !strings.Contains(shown, want) {
			t.Errorf("%q is missing in\n%s", want, shown)
		}
	}
	args := []string{"recorded", "mark", "--angler", "fen amberquist", "--from", found[0].First, "--to", found[0].Last, "--not", "snags"}
	preview := mustRun(t, url, args...)
	t.Log("\n" + preview)
	if !strings.Contains(preview, "Nothing is changed yet. To do it, add --yes.") || len(runs()) != 1 {
		t.Errorf("the preview says\n%s", preview)
	}
	done := mustRun(t, url, append(args, "--yes")...)
	_, undo, ok := strings.Cut(done, "To take it back:\n  rigtally ")
	if !ok || !strings.Contains(done, "stints are marked.") || len(runs()) != 0 {
		t.Fatalf("marked:\n%s", done)
	}
	if again := mustRun(t, url, append(args, "--yes")...); !strings.Contains(again, "Nothing to change") || strings.Contains(again, "take it back") {
		t.Errorf("twice:\n%s", again)
	}
	undo = strings.ReplaceAll(strings.TrimSpace(undo), `"Fen Amberquist"`, "Fen_Amberquist")
	var back []string
	for _, arg := range strings.Fields(undo) {
		back = append(back, strings.ReplaceAll(arg, "_", " "))
	}
	mustRun(t, url, back...)
	if again := runs(); len(again) != 1 || again[0] != found[0] {
		t.Errorf("taken back: %+v", again)
	}
}

func TestMarkingAsksForWhatItNeeds(t *testing.T) {
	t.Parallel()
	url := demoAt(t, 20)
	mark := func(args ...string) []string { return append([]string{"recorded", "mark"}, args...) }
	for _, tt := range []struct {
		args   []string
		status int
		want   string
	}{
		{mark(), 2, "--angler, --from and --to"},
		{mark("--angler", "Wren Tallowby", "--from", "2025-02-30", "--to", "2025-03-01", "--not", "snags"), 2, "--from: "},
		{mark("--angler", "Wren Tallowby", "--from", "2025-03-01", "--to", "2025-03-02"), 2, "--not tangles"},
		{mark("--angler", "Wren Tallowby", "--from", "2025-03-01", "--to", "2025-03-02", "--not", "knots"), 2, "minutes-lost"},
		{mark("--angler", "Wren Tallowby", "--from", "2025-03-02", "--to", "2025-03-01", "--not", "snags"), 1, "swap them"},
		{mark("--angler", "Wren Tallowby", "--from", "1999-01-01", "--to", "1999-12-31", "--not", "snags"), 1, "no session of that angler"},
		{mark("--angler", "Nobody", "--from", "2025-03-01", "--to", "2025-03-02", "--not", "snags"), 1, "the angler's name"},
	} {
		if got := runIn(t, url, tt.args...); got.status != tt.status || !strings.Contains(got.errors, tt.want) {
			t.Errorf("%v: status %d, %s; want %d, %q", tt.args, got.status, got.errors, tt.status, tt.want)
		}
	}
	if out := mustRun(t, pgtest.NewDatabase(t), "recorded", "show"); !strings.Contains(out, "has no stints yet") {
		t.Error(out)
	}
}

func TestRigsCheckFromTheCommandLine(t *testing.T) {
	t.Parallel()
	url := smallJournal(t)
	text := mustRun(t, url, "rigs", "check")
	for _, want := range []string{"International competition, an example", "can't be checked", "examples to check against the rules in force"} {
		if !strings.Contains(text, want) {
			t.Errorf("without %q:\n%s", want, text)
		}
	}
	var got struct {
		Rules struct {
			Name    string `json:"name"`
			Example bool   `json:"example"`
		} `json:"rules"`
		Rigs []struct {
			Name   string `json:"name"`
			Checks []struct {
				Rule    string   `json:"rule"`
				Verdict string   `json:"verdict"`
				Limit   *float64 `json:"limit"`
			} `json:"checks"`
		} `json:"rigs"`
	}
	if err := json.Unmarshal([]byte(mustRun(t, url, "rigs", "check", "--format", "json", "--rules", "international COMPETITION, an example")), &got); err != nil {
		t.Fatal(err)
	}
	if !got.Rules.Example || len(got.Rigs) == 0 || len(got.Rigs[0].Checks) != 5 || got.Rigs[0].Checks[1].Rule != "distance between flies" || *got.Rigs[0].Checks[1].Limit != 500 {
		t.Errorf("got %+v", got)
	}
	one := mustRun(t, url, "rigs", "check", got.Rigs[0].Name)
	if !strings.HasPrefix(one, got.Rigs[0].Name) {
		t.Errorf("one rig: %s", one)
	}
}

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
	for _, want := range []string{"Facing down is stronger than facing up (junction figure-eight)", "times as much", "that is settled", "1 pull slipped", "no table of knot strengths"} {
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
	if out := mustRun(t, url, "bench", "water"); !strings.Contains(out, "too few to compare") || !strings.Contains(out, "is not a fish") {
		t.Errorf("bench and water:\n%s", out)
	}
}
