package main

import (
	"encoding/csv"
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
)

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
		{"words in pieces", []string{"claims", "add", "Loops", "tangle"}, `"tangle" is too much here`},
		{"nothing else", []string{"claims", "add", "Loops tangle less"}, "choose an outcome; the claim goes no way; choose more or less; the claim has no factor"},
		{"unknown outcome", with("--outcome", "luck"), `outcome "luck" is not known`},
		{"unknown factor", with("--factor", "moon"), `factor "moon" is not known`},
		{"unknown direction", with("--direction", "up"), `direction "up" is not known`},
		{"both sides", with("--versus", "perfection loop"), "stands on both sides"},
		{"no level", slices.Delete(slices.Clone(whole), 7, 9), "choose the junction that the claim is about"},
		{"given itself", with("--given", "junction"), "about junction itself"},
		{"words of another", []string{"claims", "change", "1", "--words", "shorter tags tangle less"}, "there already"},
		{"no change", []string{"claims", "change", "1"}, "nothing is to be changed"},
		{"no such number", []string{"claims", "retire", "99"}, `there is no claim "99"; "rigtally claims" shows them`},
		{"a slip of the fingers", []string{"claims", "retire", "Longer tags twits more"}, `did you mean "Longer tags twist more"?`},
		{"unknown form", []string{"claims", "--format", "xml"}, "write text, json or csv"},
		{"unknown command", []string{"claims", "delete", "1"}, "there are: add, change, restore, retire"},
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
