package prose

import (
	"math"
	"slices"
	"strings"

	"rigtally/analytics/stat/sequential"
	"rigtally/analytics/trial"
	"rigtally/internal/table"
	"rigtally/internal/units"
)

// SayTrial puts a trial into words and tables.
func SayTrial(a trial.Answer, sys units.System) Said {
	s := Said{Title: a.Trial.Name, Sentence: a.Trial.Name, More: []string{TrialPlan(a, sys), "", Trial(a, sys)}, Tables: []table.Table{TrialArms(a, sys)}}
	if l, ok := a.Last(); ok && l.Blocks > 0 {
		s.More = append(s.More, TrialBet(l.Robust))
	}
	if len(a.Looks) > 0 {
		s.Tables = append(s.Tables, TrialLooks(a))
	}
	if len(a.Units) > 0 {
		s.Tables = append(s.Tables, TrialUnitTable(a, sys))
	}
	for _, n := range TrialNotes(a, sys) {
		s.After = append(s.After, "- "+n)
	}
	s.Notes = []string{"Seal of the order: " + a.Trial.Commitment}
	return s
}

// TrialArms is the table of a trial's arms, A and B.
func TrialArms(a trial.Answer, sys units.System) table.Table {
	type arm = int
	var c table.Columns[arm]
	c.Words("arm", "Arm", func(i arm) string { return string(rune('A'+i)) + ", " + TrialArm(a, i, sys) })
	c.Count("units", capital(TrialUnits(a.Trial, 2)), func(i arm) int { return a.Arms[i].Units })
	c.Said("exposure", Exposure(a.Outcome), func(i arm) string { return Figure(a.Arms[i].Exposure) })
	c.Said("events", capital(a.Outcome.Events), func(i arm) string {
		if a.Arms[i].Exposure <= 0 && slices.ContainsFunc(a.Units, func(u trial.Unit) bool { return u.NoCount && u.Unit.Arm.Index() == i }) {
			return notRecorded
		}
		return Count(a.Arms[i].Events)
	})
	c.Said("rate", Measure(a.Outcome), func(i arm) string {
		if a.Arms[i].Exposure <= 0 {
			return "–"
		}
		rate, _, _ := strings.Cut(Rate(a.Outcome, a.Arms[i].Rate()), " ")
		return rate
	})
	c.Count("apart", "Broke the plan", func(i arm) int { return a.Arms[i].Broke })
	return c.Make([]arm{0, 1})
}

// TrialLooks is the table of the evidence after each session.
func TrialLooks(a trial.Answer) table.Table {
	type look struct {
		trial.Look
		n int
	}
	looks := make([]look, len(a.Looks))
	for i, l := range a.Looks {
		looks[i] = look{l, i + 1}
	}
	bounded := func(v float64) *float64 {
		if math.IsInf(v, 0) {
			return nil
		}
		return &v
	}
	var c table.Columns[look]
	c.Count("look", "Session", func(l look) int { return l.n }).Words = true
	c.Words("day", "Day", func(l look) string { return l.Day.String() })
	c.Number("hours", "Hours", Hours1, func(l look) *float64 { return &l.Hours })
	c.Value("exposure", func(l look) *float64 { return &l.Exposure })
	c.Number("events", capital(a.Outcome.Events), Count, func(l look) *float64 { return &l.Events })
	c.Count("blocks", "Blocks", func(l look) int { return l.Blocks })
	evidence := func(of func(look) sequential.Sequence, stake, e, ends string, spare int) {
		c.Add(e, stake, func(l look) table.Cell {
			s := of(l)
			return table.Number(EValue(s.LogE), bounded(sequential.EValue(s.LogE)))
		}).Spare = spare
		c.Said(ends, "A to B, 95%", func(l look) string { return TrialSpan(of(l).Low, of(l).High) }).Spare = spare
		c.Value(ends+"_low", func(l look) *float64 { return bounded(of(l).Low) })
		c.Value(ends+"_high", func(l look) *float64 { return bounded(of(l).High) })
	}
	evidence(func(l look) sequential.Sequence { return l.Robust }, "Stake of 1", "e_robust", "ratio", 0)
	evidence(func(l look) sequential.Sequence { return l.Model }, "By the model", "e_model", "model_ratio", 1)
	t := c.Make(looks)
	t.Title = "After each session"
	return t
}

// TrialUnitTable is the table of what was started, what broke the plan too.
func TrialUnitTable(a trial.Answer, sys units.System) table.Table {
	type unit = trial.Unit
	var c table.Columns[unit]
	c.Add("number", "No.", func(u unit) table.Cell { return table.Count(u.Unit.Ordinal) }).Words = true
	c.Words("arm", "Arm", func(u unit) string {
		return string(u.Unit.Arm) + ", " + TrialArm(a, u.Unit.Arm.Index(), sys)
	})
	c.Words("events", capital(a.Outcome.Events), func(u unit) string { return TrialCounted(a, u) })
	c.Words("standing", "Standing", TrialUnitWords)
	c.Words("day", "Day", func(u unit) string {
		if !u.Found {
			return "–"
		}
		return u.Day.String()
	})
	c.Words("rig", "Rig", func(u unit) string { return strings.Join(u.Rigs, ", ") }).Spare = 1
	t := c.Make(a.Units)
	t.Title = capital(TrialUnits(a.Trial, 2))
	return t
}
