package prose

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"rigtally/analytics/trial"
	"rigtally/internal/units"
)

// TrialHead and TrialRows are the table of a trial's arms.
func TrialHead(a trial.Answer) []string {
	return []string{"Arm", capital(TrialUnits(a.Trial, 2)), Exposure(a.Outcome), capital(a.Outcome.Events), Measure(a.Outcome), "Set apart"}
}

// TrialRows are the rows under TrialHead, A and B.
func TrialRows(a trial.Answer, sys units.System) [][]string {
	var rows [][]string
	for i, arm := range a.Arms {
		events, rate := Count(arm.Events), "–"
		switch {
		case arm.Exposure > 0:
			rate, _, _ = strings.Cut(Rate(a.Outcome, arm.Rate()), " ")
		case slices.ContainsFunc(a.Units, func(u trial.Unit) bool { return u.NoCount && u.Unit.Arm.Index() == i }):
			events = notRecorded
		}
		rows = append(rows, []string{string(rune('A'+i)) + ", " + TrialArm(a, i, sys), fmt.Sprint(arm.Units), Figure(arm.Exposure), events, rate, fmt.Sprint(arm.Broke)})
	}
	return rows
}

// TrialLooksHead is the head of TrialLooks.
func TrialLooksHead(a trial.Answer) []string {
	return []string{"Session", "Day", "Hours", capital(a.Outcome.Events), "Blocks", "Stake of 1", "A to B, 95%", "By the model", "A to B, 95%"}
}

// TrialLooks is the table of the evidence after each session.
func TrialLooks(a trial.Answer) [][]string {
	var rows [][]string
	for i, l := range a.Looks {
		rows = append(rows, []string{fmt.Sprint(i + 1), l.Day.String(), Hours1(l.Hours), Count(l.Events), fmt.Sprint(l.Blocks),
			EValue(l.Robust.LogE), TrialSpan(l.Robust.Low, l.Robust.High), EValue(l.Model.LogE), TrialSpan(l.Model.Low, l.Model.High)})
	}
	return rows
}

// TrialUnitsHead is the head of TrialUnitRows.
func TrialUnitsHead(a trial.Answer) []string {
	return []string{"No.", "Arm", capital(a.Outcome.Events), "Standing", "Day", "Rig"}
}

// TrialUnitRows is the table of what was started, those that broke the plan too.
func TrialUnitRows(a trial.Answer, sys units.System) [][]string {
	var rows [][]string
	for _, u := range a.Units {
		day := "–"
		if u.Found {
			day = u.Day.String()
		}
		rows = append(rows, []string{fmt.Sprint(u.Unit.Ordinal), string(u.Unit.Arm) + ", " + TrialArm(a, u.Unit.Arm.Index(), sys), TrialCounted(a, u), TrialUnitWords(u), day, strings.Join(u.Rigs, ", ")})
	}
	return rows
}

// TrialText writes a trial for a terminal.
func TrialText(w io.Writer, a trial.Answer, sys units.System) error {
	b := &strings.Builder{}
	fmt.Fprintf(b, "%s\n%s\n\n%s\n", a.Trial.Name, TrialPlan(a, sys), Trial(a, sys))
	if l, ok := a.Last(); ok && l.Blocks > 0 {
		fmt.Fprintf(b, "%s\n", TrialBet(l.Robust))
	}
	b.WriteString("\n")
	writeTable(b, TrialHead(a), TrialRows(a, sys), 1)
	if len(a.Looks) > 0 {
		b.WriteString("\nAfter each session\n")
		writeTable(b, TrialLooksHead(a), TrialLooks(a), 2)
	}
	if len(a.Units) > 0 {
		fmt.Fprintf(b, "\n%s\n", capital(TrialUnits(a.Trial, 2)))
		writeTable(b, TrialUnitsHead(a), TrialUnitRows(a, sys), 6)
	}
	if notes := TrialNotes(a, sys); len(notes) > 0 {
		b.WriteString("\n")
		for _, n := range notes {
			fmt.Fprintf(b, "- %s\n", n)
		}
	}
	fmt.Fprintf(b, "\nSeal of the order: %s\n", a.Trial.Commitment)
	if _, err := io.WriteString(w, b.String()); err != nil {
		return fmt.Errorf("write the trial: %w", err)
	}
	return nil
}
