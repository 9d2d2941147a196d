package main

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/demo"
	"rigtally/journal/pg"
)

type toldJSON struct {
	Number int    `json:"number"`
	Arm    string `json:"arm"`
	Tie    string `json:"tie"`
}

func decoded[T any](t *testing.T, text string) T {
	t.Helper()
	var v T
	if err := json.Unmarshal([]byte(text), &v); err != nil {
		t.Fatalf("%v in\n%s", err, text)
	}
	return v
}

// Ensure that a trial is planned, fished, attached, ended and verified from the
// command line, and that nothing tells the order before its end.
func TestTrialFromTheCommandLine(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	if out := mustRun(t, url, "trials"); !strings.Contains(out, "No trial is planned yet") {
		t.Errorf("without a trial:\n%s", out)
	}
	out := mustRun(t, url, "trials", "plan", "Knots", "--outcome", "tangles", "--factor", "junction", "--a", "blood", "--b", "uni", "--b-note", "three turns", "--most-hours", "40", "--block", "2")
	if !strings.Contains(out, "Tangles per hour: blood against uni, by stint, in blocks of 2") || !strings.Contains(out, "sealed") || strings.Index(out, "chance of a decision") > strings.Index(out, "sealed") {
		t.Errorf("planned:\n%s", out)
	}
	var knots []string
	for n := 1; n <= 3; n++ {
		told := decoded[toldJSON](t, mustRun(t, url, "trials", "start", "knots", "--format", "json"))
		knot := map[string]string{"A": "blood", "B": "uni"}[told.Arm]
		if told.Number != n || !strings.HasPrefix(told.Tie, knot) {
			t.Fatalf("told %+v", told)
		}
		knots = append(knots, knot)
	}
	mustRun(t, url, "trials", "back", "Knots")
	for i, knot := range knots[:2] {
		mustRun(t, url, "log", "--date", "2026-05-0"+fmt.Sprint(i+1), "--angler", "Ilse", "--water", "Alder Brook", "--junction", knot, "--minutes", "90", "--tangles", fmt.Sprint(i+1))
	}
	if out := mustRun(t, url, "trials", "attach", "Knots", "1"); !strings.Contains(out, "No session is logged") {
		t.Errorf("candidates of another year:\n%s", out)
	}
	var ids []string
	for _, s := range contentsOf(t, url).Sessions {
		ids = append(ids, s.ID.String())
	}
	if got := runIn(t, url, "trials", "attach", "Knots", "1", "--session", ids[1], "--stint", "1"); got.status != 2 || !strings.Contains(got.errors, "broke the plan") {
		t.Errorf("the wrong arm: %+v", got)
	}
	for i := range 2 {
		mustRun(t, url, "trials", "attach", "Knots", fmt.Sprint(i+1), "--session", ids[i], "--stint", "1")
	}
	out = mustRun(t, url, "trials", "show", "Knots")
	for _, want := range []string{"Not settled yet", "Counts", "1 in 1 h 30 min", "2 in 1 h 30 min", "1 start was taken back"} {
		if !strings.Contains(out, want) {
			t.Errorf("%q is missing in\n%s", want, out)
		}
	}
	mustRun(t, url, "trials", "broke", "Knots", "2", "--why", "a storm")
	if out := mustRun(t, url, "trials"); !strings.Contains(out, "Nothing to compare yet") && !strings.Contains(out, "Not settled") && !strings.Contains(out, "pace") {
		t.Errorf("listed:\n%s", out)
	}
	mustRun(t, url, "trials", "detach", "Knots", "2")
	mustRun(t, url, "trials", "rename", "Knots", "--name", "Two knots")
	held := contentsOf(t, url).Trials[0]
	for _, args := range [][]string{{"trials", "verify", "Two knots"}, {"trials", "show", "Two knots", "--format", "json"}, {"trials", "--format", "json"}} {
		if out := mustRun(t, url, args...); strings.Contains(out, "rigtally trial order") || !strings.Contains(out, held.Commitment) {
			t.Errorf("%v tells\n%s", args, out)
		}
	}
	mustRun(t, url, "trials", "end", "Two knots", "--why", "for the test")
	out = mustRun(t, url, "trials", "verify", "Two knots")
	_, sealed, _ := strings.Cut(out, "work out:\n")
	if sum := sha256.Sum256([]byte(sealed)); hex.EncodeToString(sum[:]) != held.Commitment {
		t.Errorf("the seal is not the hash of what is shown:\n%s", out)
	}
	if got := runIn(t, url, "trials", "start", "Two knots"); got.status != 2 || !strings.Contains(got.errors, "has ended") {
		t.Errorf("started after the end: %+v", got)
	}
	if out := mustRun(t, url, "trials", "show", "Two knots", "--format", "csv"); !strings.HasPrefix(out, "look,day,hours") {
		t.Errorf("as CSV:\n%s", out)
	}
}

// Ensure that a plan's chance of a decision and the trials that asked the same are
// shown before anything is sealed, that blocks are of four where nothing is said,
// and that nothing tells the seed of a trial that runs: no answer, export or backup.
func TestTrialIsShownBeforeItIsSealed(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	store, err := pg.Open(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	seed := strings.Repeat("5eed", 16)
	if _, err := store.PlanTrial(t.Context(), journal.Trial{ID: journal.NewID(), Name: "First", Outcome: "tangles", Factor: "facing", Arms: [2]journal.TrialArm{{Level: "down"}, {Level: "up"}},
		Unit: journal.ByStint, Worth: 1.5, MostHours: 40, Seed: seed}); err != nil {
		t.Fatal(err)
	}
	mustRun(t, url, "log", "--date", "2026-05-01", "--angler", "Ilse", "--water", "Alder Brook", "--junction", "blood", "--minutes", "240", "--tangles", "9")
	ask := []string{"trials", "plan", "Second", "--outcome", "tangles", "--factor", "facing", "--a", "up", "--b", "down", "--most-hours", "5"}
	out := mustRun(t, url, append(ask, "--preview")...)
	for _, want := range []string{"in blocks of 4", "the chance of a decision within the 5 h left is", "The same was asked before, by First", "Nothing was planned"} {
		if !strings.Contains(out, want) {
			t.Errorf("%q is missing in\n%s", want, out)
		}
	}
	ahead := decoded[struct {
		Outlook struct {
			Chance float64 `json:"chance_within_most_hours"`
		}
		Earlier []struct{ Name string } `json:"earlier_trials"`
	}](t, mustRun(t, url, append(ask, "--preview", "--format", "json")...))
	if c := ahead.Outlook.Chance; !(c > 0 && c < 1) || len(ahead.Earlier) != 1 || ahead.Earlier[0].Name != "First" {
		t.Errorf("as JSON %+v", ahead)
	}
	if list := contentsOf(t, url).Trials; len(list) != 1 {
		t.Fatalf("planned %+v", list)
	}
	mustRun(t, url, ask...)
	mustRun(t, url, "trials", "start", "First")
	for _, args := range []string{"trials", "trials --format json", "trials show First", "trials show First --format json", "trials show First --format csv", "trials show Second", "trials verify First",
		"trials verify First --format json", "trials back First", "export --to -", "export --to - --format csv", "export --to - --format backup", "database", "sessions list", "claims"} {
		got := runIn(t, url, strings.Fields(args)...)
		if strings.Contains(got.out+got.errors, seed) {
			t.Errorf("%s tells the seed:\n%s", args, got.out)
		}
	}
	mustRun(t, url, "trials", "start", "First")
	backup := filepath.Join(t.TempDir(), "journal.jsonl")
	mustRun(t, url, "export", "--to", backup)
	again := pgtest.NewDatabase(t)
	mustRun(t, again, "import", backup)
	for command, want := range map[string]string{"show": "ends with the part that was drawn, 1 stint.", "verify": "The seal can't be checked here"} {
		if out := mustRun(t, again, "trials", command, "First"); !strings.Contains(strings.Join(strings.Fields(out), " "), want) {
			t.Errorf("brought back, %s says\n%s", command, out)
		}
	}
	if got := runIn(t, again, "trials", "start", "First"); got.status != 2 || !strings.Contains(got.errors, "ends with number 1") {
		t.Errorf("started beyond what was drawn: %+v", got)
	}
}

// Ensure that what is asked in a wrong way is answered with what to write.
func TestTrialUsage(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	mustRun(t, url, "trials", "plan", "Up or down", "--outcome", "loss", "--factor", "facing", "--a", "UP", "--b", "down")
	mustRun(t, url, "trials", "plan", "Long or short", "--outcome", "tangles", "--factor", "tag-length", "--a", "4 in", "--b", "165 mm")
	if got := contentsOf(t, url).Trials; got[0].Arms[0].Level != "up" || got[1].Arms != [2]journal.TrialArm{{Level: "101.6"}, {Level: "165"}} {
		t.Errorf("planned %+v", got)
	}
	for _, tt := range []struct{ args, want string }{
		{"trials show|Up or dawn", `did you mean "Up or down"?`},
		{"trials plan|Third", "--outcome is missing"},
		{"trials plan|Third|--outcome|tangles|--factor|facing|--a|sideways|--b|up", `facing "sideways" is not known`},
		{"trials plan|Third|--outcome|tangles|--factor|water|--a|x|--b|y", "water can't be tied"},
		{"trials plan|up OR down|--outcome|tangles|--factor|facing|--a|side|--b|up", "a trial of that name"},
		{"trials attach|Up or down|0", "not the number of a start"},
		{"trials broke|Up or down|1|--why|x", "has not been started"},
		{"trials back|Up or down", "nothing in Up or down has been started"},
		{"trials rename|Up or down", "give --name or --notes"},
		{"trials show|Up or down|--format|xml", "--format"},
		{"trials|--format|csv", "write text or json"},
	} {
		var args []string
		for i, part := range strings.Split(tt.args, "|") {
			if i == 0 {
				args = strings.Fields(part)
			} else {
				args = append(args, part)
			}
		}
		if got := runIn(t, url, args...); got.status != 2 || !strings.Contains(got.errors, tt.want) {
			t.Errorf("%v: status %d, %s", args, got.status, got.errors)
		}
	}
	mustRun(t, url, "trials", "delete", "Up or down")
}

// Ensure that the invented trial is shown with its decision.
func TestTrialShowsTheInventedOne(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	store, err := pg.Open(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	season := demo.Generate(demo.Seed, 0)
	if err := demo.Load(t.Context(), store, season); err != nil {
		t.Fatal(err)
	}
	if _, err := demo.PlayTrial(t.Context(), store, season, demo.TrialSeed, demo.TrialSessions); err != nil {
		t.Fatal(err)
	}
	out := mustRun(t, url, "trials", "show", demo.TrialName)
	if !strings.Contains(out, "Settled: a tag of 8¼ in has 2.19 times") {
		t.Errorf("shown:\n%s", out)
	}
}
