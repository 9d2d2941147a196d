package prose_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"rigtally/analytics/stat"
	"rigtally/analytics/stat/sequential"
	"rigtally/analytics/trial"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

func trialAnswer(t testing.TB, outcome, factor, a, b string) trial.Answer {
	t.Helper()
	o, err := journal.OutcomeByKey(outcome)
	if err != nil {
		t.Fatal(err)
	}
	f, err := journal.FactorByKey(factor)
	if err != nil {
		t.Fatal(err)
	}
	return trial.Answer{Outcome: o, Factor: f, Trial: journal.Trial{Factor: factor, Worth: 1.5, MostHours: 60, Unit: journal.ByStint, Block: 2, Arms: [2]journal.TrialArm{{Level: a}, {Level: b}}},
		Arms: [2]trial.Arm{{Units: 6, Hours: 10, Exposure: 10, Events: 20}, {Units: 6, Hours: 10, Exposure: 10, Events: 10}}}
}

// looked adds as many looks, of which the last has this interval and e-value.
func looked(a trial.Answer, n int, low, high, e float64) trial.Answer {
	for i := range n {
		a.Looks = append(a.Looks, trial.Look{Hours: 20 * float64(i+1) / float64(n), Blocks: i + 1,
			Robust: sequential.Sequence{LogE: math.Log(e), Interval: stat.Interval{Low: low, High: high}}})
	}
	return a
}

// The arms have names that can be read aloud.
func TestTrialArms(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		factor, level, want string
		sys                 units.System
	}{
		{"facing", "up", "facing up", units.US}, {"tag-length", "165.1", "tag of 6½ in", units.US}, {"tag-length", "165", "tag of 165 mm", units.Metric},
		{"prop", "none", "no prop", units.US}, {"swivel", "tippet ring", "tippet ring", units.US}, {"junction", "blood", "blood", units.US}, {"bulk", "slim", "slim fly", units.US},
		{"stroke", "oval", "oval stroke", units.US}, {"hang", "eye", "hung on the eye", units.US}, {"hook-size", "16", "hook size 16", units.US},
	} {
		if got := prose.TrialArm(trialAnswer(t, "tangles", tt.factor, tt.level, "x"), 0, tt.sys); got != tt.want {
			t.Errorf("%s %s is %q, want %q", tt.factor, tt.level, got, tt.want)
		}
	}
}

// Each state is said in words that claim no more than it allows.
func TestTrialSentences(t *testing.T) {
	t.Parallel()
	base := trialAnswer(t, "tangles", "facing", "up", "down")
	state := func(a trial.Answer, s trial.State, settled int) trial.Answer {
		a.State, a.Settled = s, settled
		return a
	}
	open := state(looked(base, 4, 0, math.Inf(1), 1.5), trial.Open, 0)
	open.Outlook = &trial.Outlook{Ratio: 2, Seen: true, Chance: 0.62, Hours: 21.2, Left: 40, Fixed: 50}
	stuck := state(looked(base, 4, 0.4, math.Inf(1), 1.5), trial.Hopeless, 0)
	stuck.Outlook = &trial.Outlook{Ratio: 1 / 1.5, Chance: 0.01, Hours: math.Inf(1), Left: 40, Fixed: 500}
	for name, tt := range map[string]struct {
		a    trial.Answer
		want string
	}{
		"more with A": {state(looked(base, 5, 1.2, 3.1, 22), trial.MoreA, 4), "Settled: facing up has 2.00 times (1.20–3.10) the tangles per hour of facing down. It took 16 h over 4 sessions; 1 session came after."},
		"more with B": {state(looked(base, 5, 0.25, 0.8, 22), trial.MoreB, 5), "Settled: facing down has 0.50 times (1.25–4.00) the tangles per hour of facing up. It took 20 h over 5 sessions."},
		"alike":       {state(looked(base, 5, 0.7, 1.4, 0.1), trial.NoOdds, 5), "Settled: no difference worth knowing. Facing up has 2.00 times (0.70–1.40) the tangles per hour of facing down, less apart, either way, than the 1.5 times worth knowing. It took 20 h over 5 sessions."},
		"open":        {open, "Not settled yet. After 20 h, 4 sessions, facing up has 2.00 times (nothing excluded yet) the tangles per hour of facing down. If the difference is as seen, 2.00 times, 22 h more of fishing will do in half of all cases; the chance of a decision within the 40 h left is about 60%."},
		"stuck":       {stuck, "It can’t be settled at this pace. After 20 h, 4 sessions, facing up has 2.00 times (at least 0.40) the tangles per hour of facing down. If one has 1.5 times as much as the other, no decision is in sight; the chance of a decision within the 40 h left is below 5%. Choose something that happens more often, or end it."},
		"given up":    {state(looked(base, 4, 0.4, 9, 1.5), trial.GivenUp, 0), "Ended without being settled. After 20 h, 4 sessions, facing up has 2.00 times (0.40–9.00) the tangles per hour of facing down; that is not the same as no difference."},
		"begun":       {base, "Nothing to compare yet: a block counts once every stint of it has been fished and logged."},
		"a share":     {state(looked(trialAnswer(t, "loss", "facing", "up", "down"), 5, 1.2, 3.1, 22), trial.MoreA, 5), "Settled: facing up has 2.00 times (1.20–3.10) the share of lost fish of facing down. It took 20 h over 5 sessions."},
	} {
		if got := prose.Trial(tt.a, units.US); got != tt.want {
			t.Errorf("%s:\n%s\nwant\n%s", name, got, tt.want)
		}
	}
}

// An arm of which no count was kept has no zero.
func TestTrialArmWithoutACount(t *testing.T) {
	t.Parallel()
	a := trialAnswer(t, "tangles", "facing", "up", "down")
	a.Arms[1] = trial.Arm{}
	u := trial.Unit{Standing: trial.UnitUnusable}
	u.Found, u.NoCount, u.Unit.Arm = true, true, journal.ArmB
	a.Units = []trial.Unit{u}
	_, rows := prose.TrialArms(a, units.US).Texts()
	if rows[0][3] != "20" || rows[1][3] != "not recorded" || rows[1][4] != "–" || prose.TrialCounted(a, u) != "not recorded" {
		t.Errorf("%q, %q", rows, prose.TrialCounted(a, u))
	}
}

// What stands apart is told, and when it would change the verdict.
func TestTrialNotes(t *testing.T) {
	t.Parallel()
	a := looked(trialAnswer(t, "tangles", "facing", "up", "down"), 5, 1.2, 3.1, 22)
	a.State, a.Settled, a.Arms[0].Broke, a.Undone = trial.MoreA, 5, 2, 1
	a.Drawn = &trial.Drawn{Units: 2, LogE: math.Log(4)}
	a.Units = []trial.Unit{{Standing: trial.UnitWaits}, {Standing: trial.UnitGone}, {Standing: trial.UnitUnusable}}
	got := strings.Join(prose.TrialNotes(a, units.US), "\n")
	for _, want := range []string{"2 stints broke the plan (2 of facing up, 0 of facing down) and are not counted", "the stake has come to 4.00. That alone would not settle it", "1 stint is started and not attached",
		"no longer in the journal", "1 stint has nothing that can be counted, and takes no part", "1 start was taken back", "does not decide"} {
		if !strings.Contains(got, want) {
			t.Errorf("%q is missing in\n%s", want, got)
		}
	}
	for logE, want := range map[float64]string{0: "1.00", math.Log(62.93): "62.9", math.Log(447): "447", math.Log(32300): "32300", 40: "more than a million", -10: "less than 0.01"} {
		if got := prose.EValue(logE); got != want {
			t.Errorf("e of %g is %q, want %q", logE, got, want)
		}
	}
}

// Where there is no verdict, because of how the arms were treated or of what is
// missing, it is said why, and no probability is shown as certain.
func TestTrialTreatment(t *testing.T) {
	t.Parallel()
	a := looked(trialAnswer(t, "tangles", "facing", "up", "down"), 5, 1.2, 3.1, 22)
	a.Treatment = trial.Treatment{Untold: 3, Checks: [3]trial.Check{{Matter: trial.LedNowhere, Count: [2]int{7, 0}, Of: [2]int{20, 20}, P: new(0.008), Unlike: true},
		{Matter: trial.BrokePlan, Of: [2]int{20, 20}, P: new(1.0)}, {Matter: trial.EndedSoon, Count: [2]int{12, 1}, Of: [2]int{14, 11}, P: new(0.0002), Unlike: true}}}
	a.State = trial.Unlike
	if got := prose.TrialState(a, units.US); got != "Not settled: the arms were not treated alike" {
		t.Errorf("it stands at %q", got)
	}
	want := "Not settled: the arms were not treated alike. Of the starts, 7 of 20 with facing up led to nothing, 0 of 20 with facing down. Of the stints that had tangles, 12 of 14 with facing up ended within 10 minutes of the last, 1 of 11 with facing down. " +
		"So the stake may tell how they were treated, and not how they do. After 20 h, 5 sessions, facing up has 2.00 times (1.20–3.10) the tangles per hour of facing down."
	if got := prose.Trial(a, units.US); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	_, rows := prose.TrialTreatment(a).Texts()
	if got := strings.Join(rows[0], "|") + "\n" + strings.Join(rows[1], "|") + "\n" + strings.Join(rows[2], "|"); got != "Started, and led to nothing|7 of 20|0 of 20|0.008\nBroke the plan|0 of 20|0 of 20|over 0.99\nEnded within 10 min of the last of their tangles|12 of 14|1 of 11|under 0.001" {
		t.Errorf("as a table:\n%s", got)
	}
	unseen := strings.Join(prose.TrialUnseen(a), " ")
	if !strings.Contains(unseen, "never begun leaves no trace") || !strings.Contains(unseen, "3 stints are left out") {
		t.Errorf("what can't be seen: %s", unseen)
	}
	a.Treatment.Checks[2] = trial.Check{Matter: trial.EndedSoon}
	if got := strings.Join(prose.TrialUnseen(a), " "); !strings.Contains(got, "can’t be compared") {
		t.Errorf("without minutes: %s", got)
	}
	a.State, a.Treatment.Missing = trial.Missing, 2
	for _, tt := range []struct {
		missing int
		turned  *trial.Turned
		want    string
	}{
		{2, &trial.Turned{Missing: 2, LogE: math.Log(8.2)}, "Not settled: too much is missing. Nothing is known of 2 starts. Had they gone against the difference, the stake would have come to 8.20; 20 settles it. After"},
		{1, nil, "Nothing is known of 1 start. Had it gone one way or the other, a difference worth knowing would not be ruled out. After"},
		{0, &trial.Turned{LogE: math.Log(8.2)}, "Not settled: too much broke the plan. Counted for the arm that was drawn, the stake has come to 8.20; 20 settles it. After"},
		{0, nil, "Counted for the arm that was drawn, a difference worth knowing is not ruled out. After"},
	} {
		a.Treatment.Missing, a.Turned = tt.missing, tt.turned
		if got := prose.Trial(a, units.US); !strings.Contains(got, tt.want) {
			t.Errorf("got\n%s\nwant\n%s", got, tt.want)
		}
	}
}

// Earlier trials of the question are named, and an order that was cut is told.
func TestTrialEarlierAndCut(t *testing.T) {
	t.Parallel()
	at := time.Date(2026, 5, 3, 9, 0, 0, 0, time.UTC)
	if got := prose.TrialEarlier([]trial.Earlier{{Name: "Knots", PlannedAt: at}, {Name: "Knots again", PlannedAt: at.AddDate(0, 1, 0)}}); !strings.HasPrefix(got, "The same was asked before, by Knots (planned on 3 May 2026) and Knots again (planned on 3 June 2026).") {
		t.Errorf("named as %q", got)
	}
	a := trialAnswer(t, "tangles", "facing", "up", "down")
	a.Trial.OrderCut = true
	if got := strings.Join(prose.TrialNotes(a, units.US), " "); !strings.Contains(got, "so it can’t begin") {
		t.Errorf("with nothing drawn: %s", got)
	}
	a.Trial.Units = make([]journal.TrialUnit, 5)
	if got := strings.Join(prose.TrialNotes(a, units.US), " "); !strings.Contains(got, "it ends with the part that was drawn, 5 stints. The seal is kept") {
		t.Errorf("with some drawn: %s", got)
	}
}
