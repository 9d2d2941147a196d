package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal/demo"
	"rigtally/journal/pg"
	"rigtally/web/webtest"
)

// Ensure that no CSV of any command holds a cell that a spreadsheet program would run, whatever people call things.
func TestNoCSVRunsInASpreadsheet(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	store := webtest.Got(pg.Open(t.Context(), url))(t)
	defer store.Close()
	season := demo.Generate(demo.Seed, 30)
	if err := demo.Load(t.Context(), store, season); err != nil {
		t.Fatal(err)
	}
	trial := webtest.Got(demo.PlayTrial(t.Context(), store, season, demo.TrialSeed, 3))(t)
	webtest.Formulas(t, url)

	asked, guarded := 0, map[string]int{}
	ask := func(args ...string) {
		t.Helper()
		guarded[args[0]] += webtest.Harmless(t, strings.Join(args, " "), mustRun(t, url, args...))
	}
	for _, cmd := range everyCommand(t) {
		form := cmd.Flags().Lookup("format")
		if form == nil || !strings.Contains(form.Usage, "csv") {
			continue
		}
		asked++
		args := strings.Fields(cmd.CommandPath())[1:]
		by := []string{"junction"}
		switch args[0] {
		case "trials":
			args = append(args, trial.ID.String())
		case "rates", "curve":
			args = append(args, "tangles")
		case "export":
			args = append(args, "--to", "-")
		}
		if cmd.Flags().Lookup("by") == nil {
			by = nil
			ask(append(args, "--format", "csv")...)
		} else if args[0] != "bench" {
			by = []string{"angler", "water", "rig", "junction"}
		}
		for _, factor := range by {
			ask(append(args, "--by", factor, "--format", "csv")...)
		}
	}
	pulls := filepath.Join(t.TempDir(), "pulls.csv")
	mustRun(t, url, "bench", "export", "--to", pulls)
	guarded["bench"] += webtest.Harmless(t, pulls, string(webtest.Got(os.ReadFile(pulls))(t)))
	for _, name := range []string{"bench", "claims", "export", "life", "rates"} {
		if guarded[name] == 0 {
			t.Errorf("%s tells no name", name)
		}
	}
	if asked < 10 {
		t.Errorf("only %d commands give CSV", asked)
	}
}
