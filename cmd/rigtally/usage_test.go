package main

import (
	"bytes"
	"context"
	"strings"
	"syscall"
	"testing"

	"rigtally/cmd/rigtally/command"
	"rigtally/internal/pgserver/pgtest"
)

// goodLog is a session that is stored; each malformed one differs in one thing.
var goodLog = []string{"log", "--angler", "Maud", "--water", "Tessel", "--junction", "blood", "--minutes", "60"}

func logWith(args ...string) []string { return append(append([]string{}, goodLog...), args...) }

// Ensure that wrong usage and impossible values each get a clear error and the
// right status, and that nothing at all is written.
func TestMalformedFlags(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	for _, c := range []struct {
		name   string
		args   []string
		status int
		want   string
	}{
		{"life in days", []string{"life", "--in", "days"}, 2, "hours or in loads"},
		{"plan of one rate", []string{"plan", "--tangles", "120mm=0.3"}, 2, "two lengths at least"},
		{"plan with a waste of nothing", []string{"plan", "--waste", "0"}, 2, "the tag lost at a change can't be 0"},
		{"unknown command", []string{"lgo"}, 2, `there is no command "lgo" in rigtally; did you mean "rigtally log"?`},
		{"unknown subcommand", []string{"sessions", "burn"}, 2, "there are: delete, deleted, edit, list, restore, show"},
		{"unknown flag", logWith("--tangels", "2"), 2, `did you mean "--tangles"?`},
		{"unknown short flag", logWith("-z"), 2, "there is no flag -z here"},
		{"flag without a value", []string{"log", "--angler"}, 2, "--angler needs a value"},
		{"argument too many", logWith("blood"), 2, `"blood" is not expected here`},
		{"id missing", []string{"sessions", "show"}, 2, "the session's id is missing"},
		{"id malformed", []string{"sessions", "delete", "12"}, 2, `"12" is too short for the beginning of an id`},
		{"id unknown", []string{"sessions", "show", "0198c5a2-7d1e-7f3a-9b57-3f5c1d2e4a60"}, 1, "not in this journal"},
		{"limit not a number", []string{"sessions", "list", "--limit", "many"}, 2, `--limit "many": write a whole number`},
		{"limit of nothing", []string{"sessions", "list", "--limit", "0"}, 2, "write 1 or more"},
		{"angler unknown", []string{"sessions", "list", "--angler", "Nobody"}, 1, "find the angler Nobody: not in this journal"},
		{"rig unknown", []string{"rigs", "show", "No such rig"}, 1, "rigtally rigs list"},
		{"nothing to log", []string{"log"}, 2, "there is nothing to log"},
		{"no angler", []string{"log", "--water", "Tessel", "--junction", "blood"}, 2, "--angler is missing"},
		{"no water", []string{"log", "--angler", "Maud", "--junction", "blood"}, 2, "--water is missing"},
		{"no rig", []string{"log", "--angler", "Maud", "--water", "Tessel", "--minutes", "60"}, 2, "the rig is missing"},
		{"rig not described", logWith("--stint", "rig=Ghost, minutes=60"), 2, "is beside --stint"},
		{"stint of an unknown rig", []string{"log", "--angler", "Maud", "--water", "Tessel", "--stint", "rig=Ghost"}, 2, `the journal has no rig "Ghost"`},
		{"stint with an unknown part", []string{"log", "--angler", "Maud", "--water", "Tessel", "--stint", "knots=blood"}, 2, `"knots" is not known`},
		{"stint without parts", []string{"log", "--angler", "Maud", "--water", "Tessel", "--stint", "blood"}, 2, "write key=value"},
		{"stint with a part twice", []string{"log", "--angler", "Maud", "--water", "Tessel", "--stint", "tag=6 in, tag=7 in"}, 2, "tag is given twice"},
		{"minutes in words", logWith("--minutes", "an hour"), 2, "“an hour” is not a time"},
		{"minutes negative", logWith("--minutes", "-30"), 2, "-30"},
		{"minutes beyond a day", logWith("--minutes", "40h"), 1, "stint 1 lasts 2400 minutes"},
		{"no such day", logWith("--date", "2026-02-31"), 2, `"2026-02-31" is not a day of the calendar`},
		{"ambiguous day", logWith("--date", "03/04/2026"), 2, "write it as 2026-04-30"},
		{"no such time", logWith("--start", "25:00"), 2, `--start "25:00" is not a time of day`},
		{"end before start", logWith("--start", "12:00", "--end", "9:00"), 1, "ends before it starts"},
		{"longer fished than there", logWith("--start", "12:00", "--end", "12:30"), 1, "add up to 60 minutes, but the session lasted 30"},
		{"junction misspelt", logWith("--junction", "blod"), 2, `did you mean "blood"?`},
		{"junction unknown", logWith("--junction", "bowline"), 2, "your own knot is other:NAME"},
		{"junction with no name", logWith("--junction", "other:"), 1, `junction "other"`},
		{"facing unknown", logWith("--facing", "left"), 2, "write one of: down, up, side"},
		{"tag in words", logWith("--tag", "a hand"), 2, "“a hand” is not a length"},
		{"tag bare, likely cm", logWith("--tag", "16.5"), 2, "write 16.5 cm or 16.5 mm"},
		{"tag too long", logWith("--tag", "9 ft"), 1, "the tag length of dropper 1"},
		{"tag on a fly in line", logWith("--hang", "bend", "--tag", "165 mm"), 1, "does not hang on a tag"},
		{"point fly with a junction", logWith("--position", "0"), 1, "does not hang on a tag"},
		{"tippet unknown", logWith("--tippet", "7Z"), 2, "7Z"},
		{"hook size in words", logWith("--hook-size", "small"), 2, `"small" is not a whole number`},
		{"flow negative", logWith("--flow", "-3 cfs"), 2, "--flow"},
		{"temperature impossible", logWith("--water-temp", "54 C"), 1, "a water temperature of 54 °C can't be"},
		{"count negative", logWith("--tangles", "-1"), 2, `"-1" is not a whole number`},
		{"count broken", logWith("--snags", "1.5"), 2, `"1.5" is not a whole number`},
		{"more landed than hooked", logWith("--hookups", "2", "--landed", "3"), 1, "than hooked (2)"},
		{"more foul than hooked", logWith("--hookups", "1", "--foul", "2"), 1, "more foul (2) than hooked (1)"},
		{"more kinds than tangles", logWith("--tangles", "1", "--twists", "2"), 1, "than tangles (1)"},
		{"minutes lost to nothing", logWith("--minutes-lost", "5"), 1, "no tangle or re-tie is counted"},
		{"checks without turns", logWith("--checks", "3"), 1, "add the turns"},
		{"turns without checks", logWith("--turns", "3"), 1, "add the checks"},
		{"break place unknown", logWith("--broke-off", "knot=1"), 2, `break place "knot" is not known`},
		{"cut without a change", logWith("--cut", "1 in"), 1, "add the fly changes"},
		{"name too long", logWith("--angler", strings.Repeat("Maud ", 50)), 1, "longer than 120 characters"},
		{"zero byte", logWith("--notes", "a\x00b"), 1, "zero byte"},
		{"units unknown", logWith("--units", "imperial"), 2, "units must be us or metric"},
		{"port unknown", []string{"serve", "--port", "seven"}, 2, `"seven" is not a port`},
		{"no such settings file", logWith("--config", "/nowhere/rigtally.toml"), 2, "the settings file cannot be read"},
		{"start of a database that is not ours", []string{"database", "start"}, 1, "does not start or stop"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := runIn(t, url, c.args...)
			if got.status != c.status || !strings.Contains(got.errors, c.want) {
				t.Errorf("status %d, want %d; want %q in:\n%s", got.status, c.status, c.want, got.errors)
			}
			if strings.Contains(got.errors, "goroutine") || strings.Contains(got.errors, "SQLSTATE") || strings.Contains(got.out, "Usage:") {
				t.Errorf("too much was said:\n%s%s", got.out, got.errors)
			}
		})
	}
	nothingIn(t, url)
	mustRun(t, url, goodLog...)
}

// Ensure that a failed job does not look like a wrong use, and that what can't
// be written is no success.
func TestUnwritableAnswer(t *testing.T) {
	t.Parallel()
	var errs bytes.Buffer
	if status := run(context.Background(), []string{"version"}, strings.NewReader(""), fullDisk{}, &errs, nil); status != 1 || !strings.Contains(errs.String(), "write the answer") {
		t.Errorf("status %d, %s", status, errs.String())
	}
}

type fullDisk struct{}

func (fullDisk) Write([]byte) (int, error) { return 0, syscall.ENOSPC }

// Ensure that an interrupt ends a command with its own word and stores nothing.
func TestInterrupted(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	var out, errs bytes.Buffer
	status := run(ctx, goodLog, strings.NewReader(""), &out, &errs, []string{"RIGTALLY_DATABASE_URL=" + url})
	if status != 1 || !strings.Contains(errs.String(), "interrupted") {
		t.Errorf("status %d, %s", status, errs.String())
	}
	nothingIn(t, url)
}

// Ensure that the help of every command exists and costs nothing but its text.
func TestHelp(t *testing.T) {
	t.Parallel()
	p := command.New(strings.NewReader(""), &bytes.Buffer{}, &bytes.Buffer{}, nil)
	for _, cmd := range commands(p).Commands() {
		if cmd.Short == "" {
			t.Errorf("%s says nothing of itself", cmd.CommandPath())
		}
		got := runIn(t, "", cmd.Name(), "--help")
		if got.status != 0 || !strings.Contains(got.out, "Usage:") {
			t.Errorf("%s --help: status %d, %s", cmd.Name(), got.status, got.errors)
		}
	}
}

// Ensure that no message shows a password, whether the address is malformed,
// refused or asked for.
func TestPasswordNeverShown(t *testing.T) {
	t.Parallel()
	const password = "tight-lines-7"
	for _, address := range []string{
		"postgres://guide:" + password + "@127.0.0.1:1/journal",
		"postgres://guide@127.0.0.1:1/journal?password=" + password,
		"host=127.0.0.1 port=1 user=guide dbname=journal password=" + password,
		"postgres://guide:" + password + "@127.0.0.1:port/journal",
		"postgres://guide:" + password + "@127.0.0.1:1/journal?sslmode=perhaps",
		"host=127.0.0.1 sslmode=perhaps password=" + password,
		"postgres://guide:" + password + "@127.0.0.1:1,127.0.0.1:2/journal?target_session_attrs=read-write",
	} {
		for _, args := range [][]string{{"sessions", "list"}, {"database", "where"}, {"database", "url"}, {"database", "start"}} {
			got := runIn(t, address, args...)
			if strings.Contains(got.out+got.errors, password) {
				t.Errorf("rigtally %v shows the password: %s%s", args, got.out, got.errors)
			}
			if got.status == 0 && args[0] == "sessions" {
				t.Errorf("rigtally %v succeeded on %s", args, address)
			}
		}
	}
}

// Of several hosts each is named: where the journal is, and where nobody answers.
func TestSeveralHostsAreNamed(t *testing.T) {
	t.Parallel()
	const address = "postgres://guide@127.0.0.1:1,127.0.0.1:2/journal?target_session_attrs=read-write"
	if got := mustRun(t, address, "database", "url"); got != address+"\n" {
		t.Errorf("the address is %s", got)
	}
	if got := runIn(t, address, "sessions", "list"); got.status != 1 || !strings.Contains(got.errors, "at 127.0.0.1:1, 127.0.0.1:2 cannot be used") || !strings.Contains(got.errors, "none of them answers") {
		t.Errorf("status %d, %s", got.status, got.errors)
	}
}
