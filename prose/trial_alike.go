package prose

import (
	"fmt"
	"slices"
	"strings"

	"rigtally/analytics/trial"
	"rigtally/internal/table"
	"rigtally/internal/units"
	"rigtally/journal"
)

// trialUnlike says in what the arms were not treated alike, a sentence each.
func trialUnlike(a trial.Answer, sys units.System) string {
	var list []string
	for _, c := range a.Treatment.Checks {
		if !c.Unlike {
			continue
		}
		said := func(what, did string) {
			list = append(list, Capital(fmt.Sprintf("%s%d of %d with %s %s, %d of %d with %s.", what, c.Count[0], c.Of[0], trialArmSaid(a, 0, sys), did, c.Count[1], c.Of[1], trialArmSaid(a, 1, sys))))
		}
		switch c.Matter {
		case trial.LedNowhere:
			said("of the starts, ", "led to nothing")
		case trial.BrokePlan:
			said("of the starts, ", "broke the plan")
		case trial.EndedSoon:
			said(fmt.Sprintf("of the %s that had %s, ", trialLasts(a.Trial), a.Outcome.Events), fmt.Sprintf("ended within %d minutes of the last", trial.SoonMinutes))
		}
	}
	return strings.Join(list, " ")
}

// trialLasts are the stints whose ends are compared.
func trialLasts(t journal.Trial) string {
	if t.Unit == journal.BySession {
		return "sessions’ last stints"
	}
	return "stints"
}

// trialMissing says that a verdict does not withstand what is missing, within a sentence.
func trialMissing(a trial.Answer) string {
	n := a.Treatment.Missing
	so := fmt.Sprintf("too much is missing. Nothing is known of %s. Had %s gone ", Several(n, "start"), Verb(n, "it", "they"))
	if n == 0 {
		so = "too much broke the plan. Counted for the arm that was drawn, "
	}
	switch m := a.Turned; {
	case m != nil && n == 0:
		so += fmt.Sprintf("the stake has come to %s", EValue(m.LogE))
	case m != nil:
		so += fmt.Sprintf("against the difference, the stake would have come to %s", EValue(m.LogE))
	case n == 0:
		return so + "a difference worth knowing is not ruled out."
	default:
		return so + "one way or the other, a difference worth knowing would not be ruled out."
	}
	return so + "; 20 settles it."
}

// TrialTreatment is the table that compares how the arms were treated.
func TrialTreatment(a trial.Answer) table.Table {
	var c table.Columns[trial.Check]
	c.Words("matter", Capital(TrialUnits(a.Trial, 2)), func(v trial.Check) string {
		switch v.Matter {
		case trial.LedNowhere:
			return "Started, and led to nothing"
		case trial.BrokePlan:
			return "Broke the plan"
		}
		return fmt.Sprintf("Ended within %d min of the last of their %s", trial.SoonMinutes, a.Outcome.Events)
	})
	for i, key := range []string{"a", "b"} {
		c.Said(key, string(rune('A'+i)), func(v trial.Check) string {
			if v.Of[i] == 0 {
				return "–"
			}
			return fmt.Sprintf("%d of %d", v.Count[i], v.Of[i])
		})
	}
	c.Said("p", "p", func(v trial.Check) string {
		if v.P == nil {
			return "–"
		}
		return PValue(*v.P)
	})
	t := c.Make(a.Treatment.Checks[:])
	t.Title = "Were the arms treated alike?"
	return t
}

// TrialUnseen says what the comparison of the arms' treatment can't see.
func TrialUnseen(a trial.Answer) []string {
	list := []string{fmt.Sprintf("A %s that was never begun leaves no trace: begin both arms as gladly.", a.Trial.Unit)}
	ends := a.Treatment.Checks[2]
	switch n := a.Treatment.Untold; {
	case n > 0 && ends.P == nil:
		list = append(list, fmt.Sprintf("How soon after %s %s end can’t be compared, since the minutes are not noted.", a.Outcome.Events, trialLasts(a.Trial)))
	case n > 0:
		list = append(list, fmt.Sprintf("%s left out of the last row, since the minutes are not noted.", Capital(Several(n, string(a.Trial.Unit))+" "+Verb(n, "is", "are"))))
	}
	return list
}

// TrialAhead says what a plan may come to, before it is sealed.
func TrialAhead(a trial.Answer) string {
	list := []string{TrialOutlook(a.Outlook), TrialFixed(a.Outlook), TrialEarlier(a.Earlier)}
	if list[0] == "" {
		list[0] = TrialNoOutlook
	}
	return strings.Join(slices.DeleteFunc(list, func(s string) bool { return s == "" }), "\n")
}

// TrialNoOutlook is said of a plan when the journal has nothing to go by.
const TrialNoOutlook = "The journal has nothing on this yet, so can’t tell the chance of a decision."

// TrialEarlier names the trials that asked the same before; "" when none did.
func TrialEarlier(list []trial.Earlier) string {
	if len(list) == 0 {
		return ""
	}
	names := make([]string, len(list))
	for i, e := range list {
		names[i] = e.Name + " (planned on " + e.PlannedAt.Format("2 January 2006") + ")"
	}
	return fmt.Sprintf("The same was asked before, by %s. Each trial has its own chance of one in twenty to find what is not there, so read them together.", Listed(names))
}

// TrialOrderCut says that a trial ends where its backup was made; "" where its order is whole.
func TrialOrderCut(t journal.Trial) string {
	if !t.OrderCut {
		return ""
	}
	n := len(t.Units)
	if n == 0 {
		return "This trial came from a backup, which leaves out an order that is sealed. Nothing of it had been drawn, so it can’t begin; plan another one."
	}
	return fmt.Sprintf("This trial came from a backup, which leaves out the rest of an order that is sealed: it ends with the part that was drawn, %s. The seal is kept, and can be checked in the journal that drew it.", Several(n, string(t.Unit)))
}
