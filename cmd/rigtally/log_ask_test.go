package main

import (
	"slices"
	"strings"
	"testing"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
)

// firstSession is what is typed for a session in an empty journal.
func firstSession() []string {
	return []string{
		"Maud", "yes", "Tessel", "yes", "Long Glide", "", "9:30", "12:00", "540 cfs", "", "clear",
		"new", "blood", "6 1/2 in", "up", "6X", "Pheasant tail", "slim", "", "1h30", "oval", "2", "1", "fly knot=1", "0", "3", "1", "1", "", "", "7", "0",
		"no", "Good light", "yes",
	}
}

// Ensure that a session told step by step is stored as told.
func TestAskSession(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	got := dialogueIn(t, url, firstSession(), "log", "--units", "us")
	if got.status != 0 {
		t.Fatalf("status %d: %s\n%s", got.status, got.errors, got.out)
	}
	c := contentsOf(t, url)
	s, rig := c.Sessions[0], c.Rigs[0]
	if s.Notes != "Good light" || s.Clarity != "clear" || s.Day.String() != "2026-05-04" || c.Anglers[0].Name != "Maud" || c.Waters[0].Beats[0].Name != "Long Glide" {
		t.Errorf("stored %+v", s)
	}
	near(t, "tag", rig.Positions[0].TagLengthMM, 165.1)
	tally, err := journal.TallyStint(rig, s.Stints[0])
	if err != nil {
		t.Fatal(err)
	}
	if n := tally.Stint; n.Int(journal.CountHookups) != 4 || n.Int(journal.CountTwists) != 1 || n.Int(journal.CountMinutesLost) != 7 || *s.Stints[0].Minutes != 90 {
		t.Errorf("counted %v in %g minutes", n, *s.Stints[0].Minutes)
	}
}

// Ensure that the next session takes the last one's angler, water and rig by
// Enter alone, that bad input is asked again with the reason, that ? explains
// and that back leads to the question before.
func TestAskSessionAgain(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	if got := dialogueIn(t, url, firstSession(), "log"); got.status != 0 {
		t.Fatalf("status %d: %s", got.status, got.errors)
	}
	typed := []string{
		"", "", "", // angler, water, beat as last time
		"31 February", "2026-05-05", // refused, then good
		"back", "2026-05-03", // the day once more
		"", "", "", "?", "54 F", "",
		"",           // the same rig
		"16 cm", "-", // its tag has been cut
		"forty", "40", "", "1", "back", "2", "0", "", "", "", "", "",
		"yes",                                                               // another stint
		"1", "", "", "20", "", "0", "", "", "", "", "", "", "no", "", "yes", // with the rig by its number
	}
	got := dialogueIn(t, url, typed, "log")
	if got.status != 0 {
		t.Fatalf("status %d: %s\n%s", got.status, got.errors, got.out)
	}
	for _, want := range []string{`"31 February" is not a day of the calendar`, "“forty” is not a time", "54F, 12.5 C"} {
		if !strings.Contains(got.out, want) {
			t.Errorf("the dialogue lacks %q:\n%s", want, got.out)
		}
	}
	c := contentsOf(t, url)
	if len(c.Sessions) != 2 || len(c.Rigs) != 1 || len(c.Anglers) != 1 {
		t.Fatalf("%d sessions, %d rigs, %d anglers", len(c.Sessions), len(c.Rigs), len(c.Anglers))
	}
	s := c.Sessions[0] // by day: 3 May comes before 4 May
	if s.Day.String() != "2026-05-03" || len(s.Stints) != 2 || *s.Stints[0].Minutes != 40 || s.Stints[0].Stroke != "oval" || *s.Stints[0].Positions[0].TagStartMM != 160 {
		t.Errorf("stored %+v", s)
	}
	if e := s.Stints[0].Events; len(e) != 1 || e[0].Ending != journal.Landed || e[0].Count != 2 {
		t.Errorf("the answer given after going back was lost: %+v", e)
	}
}

// Ensure that leaving early, in any way, writes nothing at all.
func TestAskStopped(t *testing.T) {
	t.Parallel()
	all := firstSession()
	for name, typed := range map[string][]string{
		"quit at once":      {"quit"},
		"end of input":      all[:7],
		"quit in the stint": append(append([]string{}, all[:20]...), "quit"),
		"not stored":        append(append([]string{}, all[:len(all)-1]...), "no"),
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			url := pgtest.NewDatabase(t)
			got := dialogueIn(t, url, typed, "log")
			if got.status != 1 || !strings.Contains(got.errors, "nothing was stored") {
				t.Errorf("status %d: %s", got.status, got.errors)
			}
			nothingIn(t, url)
		})
	}
}

// Ensure that what was typed outlives a refusal, an end in the middle and a run of
// its own, and is gone once it is stored.
func TestAskGoesOnWithWhatWasBegun(t *testing.T) {
	t.Parallel()
	url, dir := pgtest.NewDatabase(t), t.TempDir()
	all := firstSession()
	if got := dialogueAt(t, dir, url, all[:20], "log"); got.status != 1 || !strings.Contains(got.errors, "what you said is kept") {
		t.Fatalf("status %d: %s", got.status, got.errors)
	}
	nothingIn(t, url)
	// Enter takes what was said.
	typed := append([]string{"yes"}, slices.Repeat([]string{""}, 20)...)
	typed = append(append(typed, all[20:]...), "", "")
	got := dialogueAt(t, dir, url, typed, "log")
	if got.status != 0 || !strings.Contains(got.out, "You have a session begun on Monday 4 May at 18:00; go on with it") {
		t.Fatalf("status %d: %s\n%s", got.status, got.errors, got.out)
	}
	if c := contentsOf(t, url); len(c.Sessions) != 1 || c.Anglers[0].Name != "Maud" || c.Sessions[0].Notes != "Good light" {
		t.Errorf("stored %+v", c.Sessions)
	}
	if got := dialogueAt(t, dir, url, []string{"quit"}, "log"); strings.Contains(got.out, "begun on") {
		t.Errorf("it is offered again though it is stored:\n%s", got.out)
	}
}

// Ensure that what is likelier a slip is asked about, and that --accept answers that.
func TestLogAsksAboutDoubts(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	args := []string{"log", "--angler", "Maud", "--water", "Tessel", "--date", "2026-05-03", "--junction", "blood", "--tag", "16.5 cm", "--minutes", "2"}
	if got := runIn(t, url, args...); got.status == 0 || !strings.Contains(got.errors, "less than 3 minutes") || !strings.Contains(got.errors, "--accept") {
		t.Errorf("status %d: %s", got.status, got.errors)
	}
	nothingIn(t, url)
	if got := dialogueIn(t, url, []string{"no"}, args...); got.status == 0 || !strings.Contains(got.out, "Is that so") {
		t.Errorf("status %d: %s\n%s", got.status, got.errors, got.out)
	}
	nothingIn(t, url)
	if got := dialogueIn(t, url, []string{"yes"}, args...); got.status != 0 {
		t.Errorf("status %d: %s", got.status, got.errors)
	}
	mustRun(t, url, append(args, "--accept", "--notes", "another")...)
	if c := contentsOf(t, url); len(c.Sessions) != 2 || len(c.Anglers) != 1 {
		t.Errorf("%d sessions and %d anglers", len(c.Sessions), len(c.Anglers))
	}
}
