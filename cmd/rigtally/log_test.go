package main

import (
	"io"
	"slices"
	"strings"
	"testing"
	"time"

	"rigtally/cmd/rigtally/command"
	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/pg"
)

// Ensure that a session told in flags is stored whole, in SI units. Inches are
// 25.4 mm and a cubic foot per second 0.028316846592 m³/s (NIST SP 811); 6X is
// 0.005 in by the rule of eleven (common practice, no source).
func TestLogFromFlags(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	out := mustRun(t, url, "log", "--units", "us", "--angler", "J. Felt", "--water", "Little Marrow", "--beat", "Upper", "--date", "2026-05-03",
		"--start", "9:30", "--end", "2:15pm", "--flow", "160 cfs", "--water-temp", "54", "--clarity", "Clear",
		"--junction", "blood", "--tag", "6 1/2", "--tippet", "6X", "--bulk", "slim", "--fly", "Pheasant tail", "--hook-size", "#16", "--minutes", "1h30",
		"--landed", "3", "--lost", "1", "--foul", "1", "--broke-off", "junction=1", "--broke-off", "fly knot=1",
		"--snags", "4", "--snag-broke", "point tippet=1", "--tangles", "3", "--twists", "2", "--minutes-lost", "11",
		"--checks", "2", "--turns", "5", "--fly-changes", "1", "--cut", "1 in", "--notes", "wind from the east")
	for _, want := range []string{"J. Felt on Little Marrow, Upper", "flow 160 cfs", "water 54 °F", "1 h 30 min", "6 hookups", "3 tangles", "11 minutes lost",
		"new angler J. Felt", "new water Little Marrow", "rigtally sessions delete "} {
		if !strings.Contains(out, want) {
			t.Errorf("the answer lacks %q:\n%s", want, out)
		}
	}
	c := contentsOf(t, url)
	if len(c.Sessions) != 1 || len(c.Rigs) != 1 || len(c.Anglers) != 1 || len(c.Waters) != 1 {
		t.Fatalf("stored %d sessions, %d rigs, %d anglers, %d waters; want one of each", len(c.Sessions), len(c.Rigs), len(c.Anglers), len(c.Waters))
	}
	s, rig := c.Sessions[0], c.Rigs[0]
	beside(t, "flow", s.FlowM3S, 160*0.028316846592)
	beside(t, "temperature", s.WaterTempC, (54-32)/1.8)
	beside(t, "tag", rig.Positions[0].TagLengthMM, 6.5*25.4)
	beside(t, "tippet", rig.Positions[0].TippetMM, 0.005*25.4)
	if s.Clarity != "clear" || s.Day != (journal.Date{Year: 2026, Month: time.May, Day: 3}) || s.End.Sub(*s.Start) != 4*time.Hour+45*time.Minute {
		t.Errorf("the session is %+v", s)
	}
	tally, err := journal.TallyStint(rig, s.Stints[0])
	if err != nil {
		t.Fatal(err)
	}
	for count, want := range map[journal.Count]int{
		journal.CountHookups: 6, journal.CountLanded: 3, journal.CountLost: 1, journal.CountFoul: 1, journal.CountBrokeOff: 2,
		journal.CountBrokeJunction: 1, journal.CountBrokeFlyKnot: 1, journal.CountBrokePointTippet: 1, journal.CountSnags: 4,
		journal.CountTangles: 3, journal.CountTwists: 2, journal.CountUntimed: 0, journal.CountMinutesLost: 11,
		journal.CountChecks: 2, journal.CountTurns: 5, journal.CountFlyChanges: 1,
	} {
		if got := tally.Stint.Int(count); got != want {
			t.Errorf("%s is %d, want %d", count.Column(), got, want)
		}
	}
}

// Ensure that today is the day at the water: at 2 o'clock in UTC it is still yesterday in Denver.
func TestLogToday(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	mustRun(t, url, "log", "--angler", "Maud", "--water", "Tessel", "--date", "2026-05-03", "--rig", "Short", "--junction", "blood", "--minutes", "60")
	store, err := pg.Open(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	water := contentsOf(t, url).Waters[0]
	water.TimeZone = "America/Denver"
	if err := store.SaveWater(t.Context(), water); err != nil {
		t.Fatal(err)
	}
	p := command.New(strings.NewReader(""), io.Discard, io.Discard, []string{"RIGTALLY_DATABASE_URL=" + url, "RIGTALLY_DATA_DIR=" + t.TempDir()})
	p.Now = func() time.Time { return time.Date(2026, 5, 6, 2, 0, 0, 0, time.UTC) }
	if status := p.Run(t.Context(), commands(p), []string{"log", "--rig", "Short", "--minutes", "60"}); status != 0 {
		t.Fatalf("ended with status %d", status)
	}
	days := []journal.Date{}
	for _, s := range contentsOf(t, url).Sessions {
		days = append(days, s.Day)
	}
	if want := (journal.Date{Year: 2026, Month: time.May, Day: 5}); !slices.Contains(days, want) {
		t.Errorf("sessions on %v, none on %v", days, want)
	}
}

func beside(t *testing.T, what string, got *float64, want float64) {
	t.Helper()
	const tol = 1e-9
	if got == nil || *got < want-tol || *got > want+tol {
		t.Errorf("%s is %v, want %v", what, got, want)
	}
}

// Ensure that stints told with --stint find rigs by name and by how they are
// tied, that a shorter tag is kept with the stint, and that a comma in a value
// is no end of it.
func TestLogSeveralStints(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	mustRun(t, url, "log", "--angler", "Maud", "--water", "Tessel", "--rig", "Blood short", "--junction", "blood", "--tag", "165 mm", "--tippet", "6X", "--minutes", "60")
	out := mustRun(t, url, "log", "--angler", "maud", "--water", "tessel",
		"--stint", "rig=blood SHORT, minutes=90, tag=16,0 cm, note=slow, then fast, broke-off=fly knot=1; junction=2",
		"--stint", "junction=blood, tag=165 mm, tippet=6X, minutes=45, tangles=1")
	if strings.Contains(out, "new ") {
		t.Errorf("something was added though all was known:\n%s", out)
	}
	c := contentsOf(t, url)
	s := c.Sessions[len(c.Sessions)-1]
	if len(s.Stints) != 2 {
		s = c.Sessions[0]
	}
	if len(c.Rigs) != 1 || s.Stints[0].RigID != s.Stints[1].RigID {
		t.Fatalf("%d rigs, want the one for both stints", len(c.Rigs))
	}
	if p := s.Stints[0].Positions; len(p) != 1 || *p[0].TagStartMM != 160 {
		t.Errorf("the first stint's tag is %+v, want 160 mm at the start", p)
	}
	if s.Stints[1].Positions != nil || s.Stints[0].Notes != "slow, then fast" {
		t.Errorf("the stints are %+v", s.Stints)
	}
	if broke := s.Stints[0].Events; len(broke) != 2 || broke[1].BreakPlace != journal.BrokeJunction || broke[1].Count != 2 {
		t.Errorf("the break-offs are %+v", broke)
	}
}

// Ensure that --dry-run shows everything and stores nothing.
func TestLogDryRun(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	out := mustRun(t, url, "log", "--angler", "Maud", "--water", "Tessel", "--junction", "blood", "--minutes", "60", "--dry-run")
	if !strings.Contains(out, "Maud on Tessel") || !strings.Contains(out, "Nothing was stored") {
		t.Errorf("got %s", out)
	}
	nothingIn(t, url)
}

func nothingIn(t *testing.T, url string) {
	t.Helper()
	if c := contentsOf(t, url); len(c.Sessions)+len(c.Rigs)+len(c.Anglers)+len(c.Waters) > 0 {
		t.Errorf("the journal holds %d sessions, %d rigs, %d anglers, %d waters; want nothing", len(c.Sessions), len(c.Rigs), len(c.Anglers), len(c.Waters))
	}
}

// Ensure that the way back works: delete, list, restore.
func TestDeleteAndRestore(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	mustRun(t, url, "log", "--angler", "Maud", "--water", "Tessel", "--junction", "blood", "--minutes", "60")
	id := contentsOf(t, url).Sessions[0].ID.String()
	if out := mustRun(t, url, "sessions", "delete", id); !strings.Contains(out, "30 days") || !strings.Contains(out, "rigtally sessions restore "+id) {
		t.Errorf("delete says %s", out)
	}
	if out := mustRun(t, url, "sessions", "list"); !strings.Contains(out, "No session") {
		t.Errorf("list says %s", out)
	}
	if out := mustRun(t, url, "sessions", "deleted"); !strings.Contains(out, id[:4]+"\n") {
		t.Errorf("deleted says %s", out)
	}
	mustRun(t, url, "sessions", "restore", id[:13])
	if out := mustRun(t, url, "sessions", "show", id); !strings.Contains(out, "Maud on Tessel") {
		t.Errorf("show says %s", out)
	}
}

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
	beside(t, "tag", rig.Positions[0].TagLengthMM, 165.1)
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
	if got.status != 0 || !strings.Contains(got.out, "You have a session started on Monday 4 May at 18:00; continue it") {
		t.Fatalf("status %d: %s\n%s", got.status, got.errors, got.out)
	}
	if c := contentsOf(t, url); len(c.Sessions) != 1 || c.Anglers[0].Name != "Maud" || c.Sessions[0].Notes != "Good light" {
		t.Errorf("stored %+v", c.Sessions)
	}
	if got := dialogueAt(t, dir, url, []string{"quit"}, "log"); strings.Contains(got.out, "a session started on") {
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
	if got := dialogueIn(t, url, []string{"no"}, args...); got.status == 0 || !strings.Contains(got.out, "Is that right") {
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

// A session that was warm, fast and stormy is answered with the cautions, each in
// the person's units and with who decides. 68 °F is 20 °C (Northern Ireland DAERA),
// and 2.5 ft at 4 ft/s are the 10 ft²/s of the U.S. Geological Survey's rule of thumb.
func TestLogAnswersWithCautions(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	out := mustRun(t, url, "log", "--units", "us", "--angler", "J. Felt", "--water", "Little Marrow", "--date", "2026-07-03", "--water-temp", "68",
		"--depth", "2.5 ft", "--velocity", "4 ft/s", "--storm", "yes", "--junction", "blood", "--minutes", "60")
	for _, want := range []string{"water running 4 ft/s", "storm", "Caution: Thunder or lightning", "30 minutes after the last thunder",
		"Caution: 2.5 ft deep at 4 ft/s", "10 ft²/s", "Caution: Water at 68 °F", "fish and wildlife agency"} {
		if !strings.Contains(out, want) {
			t.Errorf("the answer lacks %q:\n%s", want, out)
		}
	}
	s := contentsOf(t, url).Sessions[0]
	beside(t, "velocity", s.VelocityMS, 4*0.3048)
	if !s.Storm {
		t.Error("the storm was not stored")
	}
}
