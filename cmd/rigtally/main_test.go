package main

import (
	"bytes"
	"context"
	"os"
	"strings"
	"testing"
	"time"

	"rigtally/cmd/rigtally/command"
	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/pg"
)

// beProgram makes the test binary be the program itself, so that tests can
// start it as a process of its own.
const beProgram = "BE_RIGTALLY"

func TestMain(m *testing.M) {
	if os.Getenv(beProgram) == "1" {
		os.Unsetenv(beProgram)
		main()
		return
	}
	os.Exit(pgtest.Main(m, pg.Migrate))
}

// outcome is what a run of the program came to.
type outcome struct {
	status      int
	out, errors string
}

// runIn runs the whole program in process on the database at url, "" for none.
func runIn(t *testing.T, url string, args ...string) outcome {
	t.Helper()
	env := []string{"HOME=" + t.TempDir(), "RIGTALLY_DATABASE_URL=" + url}
	var out, errs bytes.Buffer
	status := run(t.Context(), args, strings.NewReader(""), &out, &errs, env)
	return outcome{status, out.String(), errs.String()}
}

// mustRun is runIn for what has to succeed; it returns the output.
func mustRun(t *testing.T, url string, args ...string) string {
	t.Helper()
	got := runIn(t, url, args...)
	if got.status != 0 {
		t.Fatalf("rigtally %s: status %d, %s", strings.Join(args, " "), got.status, got.errors)
	}
	return got.out
}

// contentsOf reads the whole journal at url.
func contentsOf(t *testing.T, url string) journal.Contents {
	t.Helper()
	store, err := pg.Open(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	c, err := store.Contents(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// dialogueIn runs the program as at a terminal with the given lines typed.
func dialogueIn(t *testing.T, url string, typed []string, args ...string) outcome {
	t.Helper()
	return dialogueAt(t, t.TempDir(), url, typed, args...)
}

// dialogueAt is dialogueIn with a data folder that outlives it.
func dialogueAt(t *testing.T, dir, url string, typed []string, args ...string) outcome {
	t.Helper()
	var out, errs bytes.Buffer
	p := command.New(strings.NewReader(strings.Join(typed, "\n")+"\n"), &out, &errs, []string{"RIGTALLY_DATABASE_URL=" + url, "RIGTALLY_DATA_DIR=" + dir})
	p.Asks = true
	p.Now = func() time.Time { return time.Date(2026, 5, 4, 18, 0, 0, 0, time.UTC) }
	status := p.Run(context.WithoutCancel(t.Context()), commands(p), args)
	return outcome{status, out.String(), errs.String()}
}
