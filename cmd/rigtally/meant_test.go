package main

import (
	"slices"
	"strings"
	"testing"
	"time"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
)

// Ensure that a name near one that the journal knows is refused where nobody can be asked, unless it is said to be new.
func TestANameNearAnotherIsRefused(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	mustRun(t, url, "log", "--angler", "J. Felt", "--water", "Little Marrow", "--beat", "Upper glide", "--junction", "other:Ringed bend", "--minutes", "60")
	log := func(angler, water, beat, knot string, more ...string) outcome {
		return runIn(t, url, append([]string{"log", "--angler", angler, "--water", water, "--beat", beat, "--junction", knot, "--minutes", "30"}, more...)...)
	}
	for _, c := range []struct {
		angler, water, beat, knot string
		want                      string
	}{
		{"Jon Felt", "Little Marrow", "", "blood", `the angler "Jon Felt" is new; did you mean "J. Felt"? Write it so, or add --new "Jon Felt"`},
		{"J. Felt", "Litle Marrow", "", "blood", `the water "Litle Marrow" is new; did you mean "Little Marrow"?`},
		{"J. Felt", "Little Marrow", "Uper glide", "blood", `the beat "Uper glide" is new; did you mean "Upper glide"?`},
		{"J. Felt", "Little Marrow", "", "other:Ringd bend", `the knot "Ringd bend" is new; did you mean "Ringed bend"?`},
		{"J. Felt", "Little Marrow", "", "other:figure eigth", `did you mean "figure-eight"?`},
	} {
		if got := log(c.angler, c.water, c.beat, c.knot); got.status != 2 || !strings.Contains(got.errors, c.want) {
			t.Errorf("%+v: status %d, %s", c, got.status, got.errors)
		}
	}
	if n := len(contentsOf(t, url).Sessions); n != 1 {
		t.Errorf("the journal holds %d sessions", n)
	}
	if got := log("Jon Felt", "Little Marrow", "", "blood", "--new", "Jon Felt"); got.status != 0 || len(contentsOf(t, url).Anglers) != 2 {
		t.Errorf("said to be new: %+v", got)
	}
	if got := runIn(t, url, "sessions", "edit", "last", "--water", "Litle Marrow"); got.status != 2 || !strings.Contains(got.errors, `did you mean "Little Marrow"?`) {
		t.Errorf("an edit: %+v", got)
	}
}

// Ensure that somebody at a terminal is asked, with flags and step by step, and that yes takes the name that is known.
func TestANameNearAnotherIsAskedAbout(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	mustRun(t, url, "log", "--angler", "J. Felt", "--water", "Little Marrow", "--junction", "blood", "--minutes", "60")
	flags := []string{"log", "--angler", "Jon Felt", "--water", "Litle Marrow", "--junction", "blood", "--minutes", "30"}
	got := dialogueIn(t, url, []string{"", "yes"}, flags...)
	if got.status != 0 || !strings.Contains(got.out, "Jon Felt is new to the journal. Did you mean J. Felt") || !strings.Contains(got.out, "J. Felt on Little Marrow") {
		t.Errorf("%+v", got)
	}
	typed := firstSession()
	typed[0], typed = "Jon Felt", slices.Delete(typed, 1, 2)
	typed[1], typed[2] = "Little Marrow", "" // beat
	typed = slices.Delete(typed, 3, 4)
	got = dialogueIn(t, url, append(typed, "yes", "yes"), "log", "--units", "us")
	if !strings.Contains(got.out, "Jon Felt is new to the journal. Did you mean J. Felt") {
		t.Errorf("step by step: %+v", got)
	}
	if got := dialogueIn(t, url, []string{"no", ""}, flags...); got.status != 0 || !strings.Contains(got.out, "new angler Jon Felt") {
		t.Errorf("no: %+v", got)
	}
	if c := contentsOf(t, url); len(c.Waters) != 1 || len(c.Anglers) != 2 {
		t.Errorf("anglers %+v, waters %+v", c.Anglers, c.Waters)
	}
}

// Ensure that a water's time zone can be set, for sessions to come alone.
func TestTheTimeZoneOfAWater(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	fish := func() {
		mustRun(t, url, "log", "--angler", "J. Felt", "--water", "Little Marrow", "--junction", "blood", "--minutes", "60", "--date", "2026-05-01", "--start", "10:00")
	}
	fish()
	was, zone := contentsOf(t, url).Waters[0].TimeZone, "America/Denver"
	if was == zone {
		zone = "America/Chicago"
	}
	for text, args := range map[string][]string{
		`did you mean "Little Marrow"?`: {"Litle Marrow", zone},
		`time zone "Mountain" is not known; write an IANA name such as America/Denver`: {"Little Marrow", "Mountain"},
	} {
		if got := runIn(t, url, append([]string{"waters", "zone"}, args...)...); got.status != 2 || !strings.Contains(got.errors, text) {
			t.Errorf("%v: %+v", args, got)
		}
	}
	for _, c := range []struct{ want, water string }{{"Little Marrow is in " + zone + " now, where it was in " + was, "little marrow"}, {"is in " + zone + " already", "Little Marrow"}} {
		if out := mustRun(t, url, "waters", "zone", c.water, zone); !strings.Contains(out, c.want) {
			t.Error(out)
		}
	}
	if out := mustRun(t, url, "waters", "list"); !strings.Contains(out, zone) {
		t.Error(out)
	}
	fish()
	c := contentsOf(t, url)
	if got := []string{c.Sessions[0].TimeZone, c.Sessions[1].TimeZone}; c.Waters[0].TimeZone != zone || !slices.Contains(got, zone) || !slices.Contains(got, was) {
		t.Errorf("the water is in %s, sessions in %v", c.Waters[0].TimeZone, got)
	}
	for _, x := range c.Sessions {
		mustRun(t, url, "sessions", "edit", x.ID.String(), "--time-zone", zone)
	}
	for _, x := range contentsOf(t, url).Sessions {
		if in, err := time.LoadLocation(x.TimeZone); err != nil || x.TimeZone != zone || x.Start.In(in).Format("2006-01-02 15:04") != "2026-05-01 10:00" {
			t.Errorf("a session is in %s and began at %v, %v", x.TimeZone, x.Start, err)
		}
	}
	if got := runIn(t, url, "sessions", "edit", "last", "--time-zone", "Mountain"); got.status == 0 || !strings.Contains(got.errors, "write an IANA name such as America/Denver") {
		t.Errorf("%+v", got)
	}
}

// Ensure that things are renamed and merged by name and by id, that a former name is known, and that it can be taken back.
func TestRenameMergeAndUndo(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	mustRun(t, url, "log", "--angler", "J. Felt", "--water", "Little Marrow", "--beat", "Upper glide", "--junction", "blood", "--minutes", "60")
	mustRun(t, url, "log", "--angler", "Jon Felt", "--new", "Jon Felt", "--water", "Little Marrow", "--beat", "Uper glide", "--new", "Uper glide", "--junction", "other:Ringed bend", "--minutes", "30")
	anglers := contentsOf(t, url).Anglers
	id := anglers[slices.IndexFunc(anglers, func(a journal.Angler) bool { return a.Name == "J. Felt" })].ID.String()
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"anglers", "merge", "jon felt", "J. Felt"}, "To take it back"},
		{[]string{"waters", "merge", "Uper glide", "Upper glide", "--beat-of", "Little Marrow"}, "To take it back"},
		{[]string{"waters", "rename", "Little Marrow", "Marrow Water"}, "Marrow Water"},
		{[]string{"knots", "rename", "Ringed bend", "Ring bend"}, "Ring bend"},
		{[]string{"rigs", "rename", "Ring bend", "Ringed"}, "Ringed"},
		{[]string{"anglers", "rename", id[:30], "Joan Felt"}, "Joan Felt"},
	} {
		if c.args[0] == "rigs" {
			rigs := contentsOf(t, url).Rigs
			c.args[2] = rigs[slices.IndexFunc(rigs, func(r journal.Rig) bool { return r.Positions[0].JunctionName != "" })].Name
		}
		if out := mustRun(t, url, c.args...); !strings.Contains(out, c.want) {
			t.Errorf("%v: %s", c.args, out)
		}
	}
	c := contentsOf(t, url)
	if len(c.Anglers) != 1 || c.Anglers[0].Name != "Joan Felt" || c.Waters[0].Name != "Marrow Water" || len(c.Waters[0].Beats) != 1 {
		t.Errorf("%+v, %+v", c.Anglers, c.Waters)
	}
	if out := mustRun(t, url, "log", "--angler", "Jon Felt", "--water", "Little Marrow", "--junction", "blood", "--minutes", "15"); !strings.Contains(out, "Joan Felt on Marrow Water") {
		t.Errorf("by former names: %s", out)
	}
	if got := runIn(t, url, "anglers", "rename", "Joan Flet", "x"); got.status != 2 || !strings.Contains(got.errors, `did you mean "Joan Felt"?`) {
		t.Errorf("misspelt: %+v", got)
	}
	if got := runIn(t, url, "undo"); got.status != 2 || !strings.Contains(got.errors, "--yes") {
		t.Errorf("undo without a word: %+v", got)
	}
	mustRun(t, url, "undo", "--yes") // the session
	if got := dialogueIn(t, url, []string{"no"}, "undo"); got.status != 1 || contentsOf(t, url).Anglers[0].Name != "Joan Felt" {
		t.Errorf("undo, thought better of: %+v", got)
	}
	if got := dialogueIn(t, url, []string{""}, "undo"); got.status != 0 || !strings.Contains(got.out, "Taken back") || contentsOf(t, url).Anglers[0].Name != "J. Felt" {
		t.Errorf("undo: %+v", got)
	}
	if out := mustRun(t, url, "steps", "list"); !strings.Contains(out, "taken back on") {
		t.Errorf("steps:\n%s", out)
	}
	if out := mustRun(t, url, "anglers", "list"); !strings.Contains(out, "J. Felt") || !strings.Contains(out, "2 sessions") {
		t.Errorf("anglers:\n%s", out)
	}
}
