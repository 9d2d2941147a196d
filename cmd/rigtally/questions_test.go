package main

import (
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
)

// smallJournal logs two hours with a blood junction and three with a figure-eight.
func smallJournal(t *testing.T) string {
	t.Helper()
	url := pgtest.NewDatabase(t)
	mustRun(t, url, "log", "--angler", "Maud", "--water", "Tessel", "--date", "2026-05-03",
		"--stint", "junction=blood, tag=6½ in, minutes=120, tangles=1", "--stint", "junction=figure-eight, tag=16 cm, minutes=180, tangles=6")
	return url
}

// Ensure that the three forms tell the same, and that json and csv round nothing.
// The limits for 1 event in 2 hours are the exact Poisson ones: 0.0253 and 5.57
// events (tabulated in many textbooks; from memory) over 2 hours.
func TestRatesForms(t *testing.T) {
	t.Parallel()
	url := smallJournal(t)
	var answer struct {
		Outcome string   `json:"outcome"`
		By      []string `json:"by"`
		Groups  []struct {
			Level                  map[string]string `json:"level"`
			Stints                 int               `json:"stints"`
			Exposure, Events, Rate float64
			Low, High              float64
		} `json:"groups"`
	}
	if err := json.Unmarshal([]byte(mustRun(t, url, "rates", "tangles", "--by", "junction", "--format", "json")), &answer); err != nil {
		t.Fatal(err)
	}
	if answer.Outcome != "tangles" || len(answer.Groups) != 2 {
		t.Fatalf("answered %+v", answer)
	}
	blood := answer.Groups[1]
	if blood.Level["junction"] != "blood" || blood.Stints != 1 || blood.Exposure != 2 || blood.Events != 1 || blood.Rate != 0.5 {
		t.Errorf("blood is %+v", blood)
	}
	const tol = 5e-3
	if low, high := blood.Low*2, blood.High*2; low < 0.0253-tol || low > 0.0253+tol || high < 5.57-tol || high > 5.57+tol {
		t.Errorf("the limits are %g and %g events, want 0.0253 and 5.57", low, high)
	}
	rows, err := csv.NewReader(strings.NewReader(mustRun(t, url, "rates", "tangles", "--by", "junction", "--format", "csv"))).ReadAll()
	if err != nil || len(rows) != 3 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	for i, name := range rows[0] {
		if name != "low" {
			continue
		}
		if v, err := strconv.ParseFloat(rows[2][i], 64); err != nil || v != blood.Low {
			t.Errorf("csv says low is %s, json %v", rows[2][i], blood.Low)
		}
	}
	if text := mustRun(t, url, "rates", "tangles", "--by", "junction"); !strings.Contains(text, "2 stints, 5 hours, 7 tangles in all") {
		t.Errorf("text says\n%s", text)
	}
	if text := mustRun(t, url, "rates", "tangles", "--by", "tag-length", "--units", "us", "--where", "junction=blood"); !strings.Contains(text, "6½ in") {
		t.Errorf("text says\n%s", text)
	}
}

// Ensure that a question that can't be asked says what could be.
func TestRatesErrors(t *testing.T) {
	t.Parallel()
	url := smallJournal(t)
	for _, c := range []struct {
		name string
		args []string
		want string
	}{
		{"no outcome", []string{"rates", "--by", "junction"}, "the outcome is missing; write one of: tangles, twists"},
		{"unknown outcome", []string{"rates", "tangls", "--by", "junction"}, `outcome "tangls" is not known; did you mean "tangles"?`},
		{"unknown factor", []string{"rates", "tangles", "--by", "knot"}, `factor "knot" is not known`},
		{"three factors", []string{"rates", "tangles", "--by", "junction,facing,prop"}, "two factors at most"},
		{"filter without a value", []string{"rates", "tangles", "--where", "junction"}, "write FACTOR=VALUE"},
		{"filter backwards", []string{"rates", "tangles", "--where", "tag-length=180mm..150mm"}, "runs backwards"},
		{"word not known", []string{"rates", "tangles", "--where", "facing=left"}, "write one of: down, up, side"},
		{"band of words", []string{"rates", "tangles", "--by", "junction:3"}, "has no bands"},
		{"band too narrow", []string{"rates", "tangles", "--by", "tag-length:0.001mm"}, "too narrow"},
		{"level not there", []string{"rates", "tangles", "--by", "junction", "--versus", "bowline"}, "bowline"},
		{"unknown form", []string{"rates", "tangles", "--by", "junction", "--format", "xml"}, "write text, json or csv"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			got := runIn(t, url, c.args...)
			if got.status != 2 || !strings.Contains(got.errors, c.want) || got.out != "" {
				t.Errorf("status %d; want %q in:\n%s%s", got.status, c.want, got.errors, got.out)
			}
		})
	}
}

// boardJSON is the board as other programs read it.
type boardJSON struct {
	Tested int `json:"tested"`
	Claims []struct {
		Number   int      `json:"number"`
		ID       string   `json:"id"`
		Words    string   `json:"words"`
		Level    []string `json:"level"`
		Versus   []string `json:"versus"`
		Given    []string `json:"given"`
		Source   string   `json:"source"`
		Standing string   `json:"standing"`
		Ratio    *float64 `json:"ratio"`
		Step     *float64 `json:"step"`
	} `json:"claims"`
	Retired []struct {
		Number int    `json:"number"`
		Words  string `json:"words"`
	} `json:"retired"`
}

func boardAt(t *testing.T, url string) boardJSON {
	t.Helper()
	var b boardJSON
	if err := json.Unmarshal([]byte(mustRun(t, url, "claims", "--format", "json")), &b); err != nil {
		t.Fatal(err)
	}
	return b
}

func TestClaimsFromTheCommandLine(t *testing.T) {
	t.Parallel()
	url := smallJournal(t)
	n := len(journal.StartingClaims())
	if b := boardAt(t, url); len(b.Claims) != n || b.Claims[0].Words != "Longer tags twist more" || b.Claims[0].Source != "common practice, no source" || b.Claims[0].Step == nil || *b.Claims[0].Step != 25 {
		t.Fatalf("the board starts as %+v", b)
	}
	mustRun(t, url, "claims", "add", "Loops tangle less than blood knots", "--outcome", "tangles", "--factor", "junction", "--level", "perfection loop,tippet ring", "--versus", "blood", "--direction", "less", "--given", "angler,tag-length:linear")
	b := boardAt(t, url)
	if len(b.Claims) != n+1 {
		t.Fatalf("%d claims", len(b.Claims))
	}
	own := b.Claims[n]
	if own.Number != n+1 || own.Source != "own" || !slices.Equal(own.Level, []string{"tippet ring", "perfection loop"}) || !slices.Equal(own.Given, []string{"tag-length:linear", "angler"}) || own.Standing != "can't tell yet" || own.Ratio != nil {
		t.Errorf("added %+v", own)
	}
	mustRun(t, url, "claims", "change", "loops TANGLE less than blood knots", "--words", "Loops tangle more", "--direction", "more", "--given", "")
	mustRun(t, url, "claims", "retire", "3")
	b = boardAt(t, url)
	if len(b.Retired) != 1 || b.Retired[0].Number != 3 || b.Claims[2].Number != 4 || b.Claims[n-1].Words != "Loops tangle more" || len(b.Claims[n-1].Given) != 0 {
		t.Errorf("after a change and a retirement: %+v", b)
	}
	text := mustRun(t, url, "claims")
	for _, want := range []string{"claims on the board", "Retired:\n3. Bulky flies twist more than slim ones", "12   Loops tangle more"} {
		if !strings.Contains(text, want) {
			t.Errorf("text is without %q:\n%s", want, text)
		}
	}
	mustRun(t, url, "claims", "restore", own.ID)
	mustRun(t, url, "claims", "restore", "3")
	rows, err := csv.NewReader(strings.NewReader(mustRun(t, url, "claims", "--format", "csv"))).ReadAll()
	if err != nil || len(rows) != n+2 || rows[3][2] != "Bulky flies twist more than slim ones" {
		t.Errorf("%d rows, %v", len(rows), err)
	}
	// Another factor takes the words of the old one away.
	mustRun(t, url, "claims", "change", own.ID, "--factor", "tag-length")
	if b = boardAt(t, url); b.Claims[n].Level != nil || b.Claims[n].Step == nil {
		t.Errorf("with another factor: %+v", b.Claims[n])
	}
}

// Ensure that what is wrong is said, and that nothing is written then.
func TestClaimsErrors(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	whole := []string{"claims", "add", "Loops tangle less", "--outcome", "tangles", "--factor", "junction", "--level", "perfection loop", "--versus", "blood", "--direction", "less"}
	with := func(flag, value string) []string {
		args := slices.Clone(whole)
		return append(args, flag, value)
	}
	for _, c := range []struct {
		name string
		args []string
		want string
	}{
		{"no words", []string{"claims", "add"}, "the claim in words is missing"},
		{"words in pieces", []string{"claims", "add", "Loops", "tangle"}, `"tangle" is one too many`},
		{"nothing else", []string{"claims", "add", "Loops tangle less"}, "choose an outcome; the claim has no direction; choose more or less; the claim has no factor"},
		{"unknown outcome", with("--outcome", "luck"), `outcome "luck" is not known`},
		{"unknown factor", with("--factor", "moon"), `factor "moon" is not known`},
		{"unknown direction", with("--direction", "up"), `direction "up" is not known`},
		{"both sides", with("--versus", "perfection loop"), "is on both sides"},
		{"no level", slices.Delete(slices.Clone(whole), 7, 9), "choose the junction that the claim is about"},
		{"given itself", with("--given", "junction"), "about junction itself"},
		{"words of another", []string{"claims", "change", "1", "--words", "shorter tags tangle less"}, "there already"},
		{"no change", []string{"claims", "change", "1"}, "nothing to change"},
		{"no such number", []string{"claims", "retire", "99"}, `there is no claim "99"; "rigtally claims list" shows them`},
		{"a slip of the fingers", []string{"claims", "retire", "Longer tags twits more"}, `did you mean "Longer tags twist more"?`},
		{"unknown form", []string{"claims", "--format", "xml"}, "write text, json or csv"},
		{"unknown command", []string{"claims", "delete", "1"}, "there are: add, change, list, restore, retire"},
		{"unknown flag", []string{"claims", "retire", "1", "--now"}, "there is no flag --now"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := runIn(t, url, c.args...)
			if got.status != 2 || !strings.Contains(got.errors, c.want) || got.out != "" {
				t.Errorf("status %d; want %q in:\n%s%s", got.status, c.want, got.errors, got.out)
			}
		})
	}
	if b := boardAt(t, url); len(b.Claims) != len(journal.StartingClaims()) || len(b.Retired) != 0 || b.Tested != 0 {
		t.Errorf("the board is %+v", b)
	}
}

// Two tags with a blood junction, of which one breaks after an hour and a half, its one
// load, and one with a uni that does not: worked out by hand.
func TestLifeForms(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	log := func(more ...string) {
		mustRun(t, url, append([]string{"log", "--angler", "Maud", "--water", "Tessel", "--fly-changes", "0", "--re-ties", "0"}, more...)...)
	}
	log("--date", "2026-05-03", "--junction", "blood", "--tag", "6 in", "--minutes", "3h", "--hookups", "1", "--broke-off", "junction=1", "--snags", "0")
	log("--date", "2026-05-04", "--junction", "blood", "--tag", "6 in", "--minutes", "2h", "--hookups", "0", "--broke-off", "0", "--snags", "0")
	log("--date", "2026-05-05", "--junction", "uni", "--tag", "6 in", "--minutes", "4h", "--hookups", "0", "--broke-off", "0", "--snags", "2")
	text := mustRun(t, url, "life")
	for _, want := range []string{"1 of 4 tags broke", "Still followed after", "Log-rank"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
	var answer struct {
		In     string
		Groups []struct {
			Level        string
			Ties, Breaks int
			Total        float64
			Steps        []struct{ At, Share float64 }
		}
	}
	if err := json.Unmarshal([]byte(mustRun(t, url, "life", "--format", "json")), &answer); err != nil {
		t.Fatal(err)
	}
	blood := answer.Groups[0]
	if answer.In != "hours" || len(answer.Groups) != 2 || blood.Level != "blood" || blood.Ties != 3 || blood.Breaks != 1 || blood.Total != 5 || blood.Steps[0].At != 1.5 {
		t.Errorf("%+v", answer)
	}
	rows, err := csv.NewReader(strings.NewReader(mustRun(t, url, "life", "--in", "loads", "--format", "csv"))).ReadAll()
	if err != nil || len(rows) != 2 || rows[1][0] != "blood" || rows[1][1] != "1" {
		t.Errorf("%v (%v)", rows, err)
	}
}

// Too little was fished to weigh anything; the three forms say so.
func TestNextForms(t *testing.T) {
	t.Parallel()
	url := smallJournal(t)
	if text := mustRun(t, url, "next"); !strings.Contains(text, "No question of what to tie is open") {
		t.Error(text)
	}
	var answer struct {
		Questions, Apart []any
		SeasonHours      float64 `json:"season_hours"`
		Prior            float64 `json:"prior_sd"`
	}
	if err := json.Unmarshal([]byte(mustRun(t, url, "next", "--format", "json")), &answer); err != nil || answer.Questions == nil || answer.SeasonHours != 5 || answer.Prior != journal.PriorSD {
		t.Errorf("%+v (%v)", answer, err)
	}
	rows, err := csv.NewReader(strings.NewReader(mustRun(t, url, "next", "--format", "csv"))).ReadAll()
	if err != nil || len(rows) != 1 || rows[0][0] != "outcome" {
		t.Errorf("%v (%v)", rows, err)
	}
}

// By hand as in the tests of package analytics: 120 mm loses 7.4048 minutes an hour.
func TestPlanForms(t *testing.T) {
	t.Parallel()
	url := smallJournal(t)
	ask := []string{"plan", "--units", "metric", "--tangles", "100mm=1, 130mm=4", "--breaks", "0.5", "--waste", "1 cm", "--changes", "1",
		"--tangle-minutes", "2", "--retie-minutes", "6", "--break-minutes", "4", "--tippet", "2 m", "--retie-cost", "30 cm"}
	text := mustRun(t, url, ask...)
	for _, want := range []string{"Tie it at 120 mm", "7.4 min of each hour", "2 fly changes", "From 110 to 130 mm", "3 re-ties", "8 fly changes", "150–180 mm", "common practice, no source", "typed in", "120 mm, the best"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
	var answer struct {
		Best struct {
			LengthMM float64 `json:"length_mm"`
			Loss     float64
			Low      *float64
		}
		Inputs []struct {
			Key, From string
			Value     float64
		}
	}
	if err := json.Unmarshal([]byte(mustRun(t, url, append(ask, "--format", "json")...)), &answer); err != nil {
		t.Fatal(err)
	}
	if b := answer.Best; b.LengthMM != 120 || b.Loss < 7.4048 || b.Loss > 7.4049 || b.Low != nil || len(answer.Inputs) != 8 || answer.Inputs[0].Value != 10 {
		t.Errorf("%+v", answer)
	}
	rows, err := csv.NewReader(strings.NewReader(mustRun(t, url, append(ask, "--format", "csv")...))).ReadAll()
	if err != nil || len(rows) != 8 || rows[1][0] != "100" || rows[1][5] != "10" {
		t.Errorf("%v (%v)", rows, err)
	}
	if text := mustRun(t, url, "plan"); !strings.Contains(text, "can’t say yet how often tags of each length tangle") {
		t.Errorf("two stints say %s", text)
	}
}

func TestSeasonFromTheCommandLine(t *testing.T) {
	t.Parallel()
	url := smallJournal(t)
	text := mustRun(t, url, "season")
	for _, want := range []string{"Season 20", "Rigs, the most fished first", "How far to trust this"} {
		if !strings.Contains(text, want) {
			t.Errorf("the review is without %q:\n%s", want, text)
		}
	}
	var review struct {
		Angler *string `json:"angler"`
		Season int     `json:"season"`
		Totals struct {
			Sessions int     `json:"sessions"`
			Hours    float64 `json:"hours"`
		} `json:"totals"`
	}
	if err := json.Unmarshal([]byte(mustRun(t, url, "season", "--format", "json")), &review); err != nil {
		t.Fatal(err)
	}
	if review.Angler != nil || review.Season == 0 || review.Totals.Sessions == 0 || review.Totals.Hours == 0 {
		t.Errorf("%+v", review)
	}
	file := filepath.Join(t.TempDir(), "review.json")
	if said := mustRun(t, url, "season", "--to", file); said != "Wrote "+file+".\n" {
		t.Errorf("it says %q", said)
	}
	page := filepath.Join(t.TempDir(), "review.html")
	mustRun(t, url, "season", "--angler", "maud", "--year", "2026", "--to", page, "--without-names", "--blur-waters")
	if body, err := os.ReadFile(page); err != nil || !strings.Contains(string(body), "Season 2026: the angler") || strings.Contains(string(body), "Maud") || strings.Contains(string(body), "Tessel") {
		t.Errorf("%v: %s", err, body)
	}
	if got := runIn(t, url, "season", "--to", page); got.status != 1 || !strings.Contains(got.errors, "replace it with --force") {
		t.Errorf("status %d, %s", got.status, got.errors)
	}
	if body, err := os.ReadFile(file); err != nil || !json.Valid(body) {
		t.Errorf("%v: %s", err, body)
	}
}

func TestSeasonErrors(t *testing.T) {
	t.Parallel()
	url := smallJournal(t)
	for _, c := range []struct {
		name string
		args []string
		want string
	}{
		{"nobody", []string{"season", "--angler", "Nobody At All"}, `angler "Nobody At All" is not in the journal; there are: `},
		{"no year", []string{"season", "--year", "26"}, "--year 26 is not a season; write a year such as 2026"},
		{"no form", []string{"season", "--to", "review.pdf"}, "end it in .html, .json or .txt"},
		{"unknown form", []string{"season", "--format", "pdf"}, "write text, json or html"},
		{"a word too much", []string{"season", "2026"}, `"2026" is not expected here`},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := runIn(t, url, c.args...)
			if got.status != 2 || !strings.Contains(got.errors, c.want) || got.out != "" {
				t.Errorf("status %d; want %q in:\n%s%s", got.status, c.want, got.errors, got.out)
			}
		})
	}
}

// Ensure that rates without arguments show the card of the tag's length, and where to go on.
func TestRatesAloneShowsTheCard(t *testing.T) {
	t.Parallel()
	out := mustRun(t, demoAt(t, 200), "rates")
	for _, want := range []string{"Dropper tag, like for like: ", "A tangle every ", "\n  rigtally plan\n"} {
		if !strings.Contains(out, want) {
			t.Errorf("%q is missing in\n%s", want, out)
		}
	}
	if out := mustRun(t, smallJournal(t), "rates"); !strings.Contains(out, "can’t say yet") {
		t.Errorf("of a small journal:\n%s", out)
	}
}
