package main

import (
	"encoding/json"
	"strings"
	"testing"
	"unicode/utf8"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal/demo"
)

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
	for _, want := range []string{"One run of stints looks as if no count was kept", "Fen Amberquist, " + found[0].First + " to " + found[0].Last + ": no snag in", command,
		"everything but tangles, kinds", "everything but snags", "hookups 100%; all else"} {
		if !strings.Contains(shown, want) {
			t.Errorf("%q is missing in\n%s", want, shown)
		}
	}
	for line := range strings.Lines(mustRun(t, url, "recorded", "show")) {
		if n := utf8.RuneCountInString(strings.TrimSuffix(line, "\n")); n > 80 && !strings.Contains(line, "rigtally recorded mark") {
			t.Errorf("%d columns: %s", n, line)
		}
	}
	args := []string{"recorded", "mark", "--angler", "fen amberquist", "--from", found[0].First, "--to", found[0].Last, "--not", "snags"}
	preview := mustRun(t, url, args...)
	t.Log("\n" + preview)
	if !strings.Contains(preview, "Nothing is changed yet. To do it, add --yes.") || len(runs()) != 1 {
		t.Errorf("the preview says\n%s", preview)
	}
	done := mustRun(t, url, append(args, "--yes")...)
	_, undo, ok := strings.Cut(done, "To take it back: rigtally ")
	if !ok || !strings.Contains(done, "stints are marked.") || len(runs()) != 0 {
		t.Fatalf("marked:\n%s", done)
	}
	if again := mustRun(t, url, append(args, "--yes")...); !strings.Contains(again, "Nothing had to be changed") || strings.Contains(again, "take it back") {
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
	if out := mustRun(t, pgtest.NewDatabase(t), "recorded", "show"); !strings.Contains(out, "holds no stint yet") {
		t.Error(out)
	}
}
