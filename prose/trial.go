package prose

import (
	"fmt"
	"math"
	"rigtally/analytics/answer"
	"rigtally/analytics/stat/sequential"
	"rigtally/analytics/trial"
	"rigtally/internal/table"
	"rigtally/internal/units"
	"rigtally/journal"
	"slices"
	"strconv"
	"strings"
)

// TrialArm names an arm of a trial, 0 for A: "facing up", "tag of 4.7 in".
func TrialArm(a trial.Answer, i int, sys units.System) string {
	if a.Rigs[i] != "" {
		return a.Rigs[i]
	}
	word := a.Trial.Arms[i].Level
	if a.Factor.Quantity != journal.Words {
		if v, err := strconv.ParseFloat(word, 64); err == nil {
			word = value(a.Factor, v, sys)
		}
	}
	switch a.Factor.Key {
	case "facing":
		return "facing " + word
	case "tag-length":
		return "tag of " + word
	case "hang":
		return "hung on " + map[string]string{"tag": "a tag", "eye": "the eye", "bend": "the bend"}[word]
	case "prop", "swivel":
		if word == "none" {
			return "no " + a.Factor.Key
		}
		return word + map[string]string{"prop": " prop", "swivel": ""}[a.Factor.Key]
	case "bulk":
		return word + " fly"
	case "stroke":
		return word + " stroke"
	case "hook-size":
		return "hook " + word
	case "tippet":
		return word + " tippet"
	}
	return word
}

// trialArmSaid is TrialArm within a sentence.
func trialArmSaid(a trial.Answer, i int, sys units.System) string {
	name := TrialArm(a, i, sys)
	switch a.Factor.Key {
	case "tag-length", "bulk":
		return "a " + name
	case "stroke":
		return "the " + name
	}
	return name
}

// TrialUnits names what a trial alternates by: "stint", "stints".
func TrialUnits(t journal.Trial, n int) string { return Verb(n, string(t.Unit), string(t.Unit)+"s") }

// EValue prints an e-value: what a stake of 1 has come to.
func EValue(logE float64) string {
	e := sequential.EValue(logE)
	switch {
	case e >= mostFigure:
		return "more than a million"
	case e < 0.01:
		return "less than 0.01"
	case e < 9.995:
		return strconv.FormatFloat(e, 'f', 2, 64)
	}
	return Figure(e)
}

// TrialState names where a trial stands, in a word or two.
func TrialState(a trial.Answer, sys units.System) string {
	if a.State == trial.MoreA || a.State == trial.MoreB {
		return "Settled: more with " + TrialArm(a, trialMore(a), sys)
	}
	return map[trial.State]string{
		trial.Planned:  "Nothing to compare yet",
		trial.NoOdds:   "Settled: no difference worth knowing",
		trial.Open:     "Not settled yet",
		trial.Hopeless: "Can’t be settled at this pace",
		trial.Unlike:   "Not settled: the arms were not treated alike",
		trial.Missing:  "Not settled: too much is missing",
		trial.GivenUp:  "Ended without being settled",
	}[a.State]
}

// trialMore is the arm with more, 0 for A.
func trialMore(a trial.Answer) int {
	if a.State == trial.MoreB {
		return 1
	}
	return 0
}

// per is what a trial's rates are of: "tangles per hour", "share of lost fish".
func per(o journal.Outcome) string {
	if o.Measure == journal.ShareOf {
		return "share of " + o.Events
	}
	return o.Events + " " + o.Unit()
}

// TrialRatio says how an arm does beside the other, with the confidence sequence:
// "2.31 times (1.20–4.50)". Turned puts B before A.
func TrialRatio(a trial.Answer, s sequential.Sequence, turned bool) string {
	low, high := s.Low, s.High
	ratio := a.Arms[0].Rate() / a.Arms[1].Rate()
	if turned {
		ratio, low, high = 1/ratio, 1/high, 1/low
	}
	span := RatioSpan(low, high)
	if low <= 0 && math.IsInf(high, 1) {
		span = "nothing excluded yet"
	}
	if math.IsNaN(ratio) || math.IsInf(ratio, 0) {
		return "a ratio not known yet (" + span + ")"
	}
	return Ratio(ratio) + " times (" + span + ")"
}

// Trial says how a trial stands, in a few sentences.
func Trial(a trial.Answer, sys units.System) string {
	look, ok := a.Last()
	arms := [2]string{trialArmSaid(a, 0, sys), trialArmSaid(a, 1, sys)}
	if !ok || look.Blocks == 0 {
		if a.Trial.Ended() {
			return "Ended before anything could be compared."
		}
		return "Nothing to compare yet: a block counts once every " + string(a.Trial.Unit) + " of it has been fished and logged." + trialAhead(a)
	}
	beside := func(one int) string {
		return fmt.Sprintf("%s has %s the %s of %s", arms[one], TrialRatio(a, look.Robust, one == 1), per(a.Outcome), arms[1-one])
	}
	so := fmt.Sprintf("After %s, %s, %s", Hours1(look.Hours), Several(len(a.Looks), "session"), beside(0))
	switch a.State {
	case trial.MoreA, trial.MoreB:
		return fmt.Sprintf("Settled: %s. It took %s.", beside(trialMore(a)), trialTook(a))
	case trial.NoOdds:
		return fmt.Sprintf("Settled: no difference worth knowing. %s, less apart, either way, than the %s times worth knowing. It took %s.",
			Capital(beside(0)), strconv.FormatFloat(a.Trial.Worth, 'f', -1, 64), trialTook(a))
	case trial.Hopeless:
		return "It can’t be settled at this pace. " + so + "." + trialAhead(a) + " Choose something that happens more often, or end it."
	case trial.Unlike:
		return "Not settled: the arms were not treated alike. " + trialUnlike(a, sys) + " So the stake may tell how they were treated, and not how they do. " + so + "."
	case trial.Missing:
		return "Not settled: " + trialMissing(a) + " " + so + ". Attach what was fished, if something was, or fish on."
	case trial.GivenUp:
		return "Ended without being settled. " + so + "; that is not the same as no difference."
	}
	return "Not settled yet. " + so + "." + trialAhead(a)
}

// trialTook says what it took to settle a trial.
func trialTook(a trial.Answer) string {
	look := a.Looks[a.Settled-1]
	text := fmt.Sprintf("%s over %s", Hours1(look.Hours), Several(a.Settled, "session"))
	if after := len(a.Looks) - a.Settled; after > 0 {
		text += fmt.Sprintf("; %s came after", Several(after, "session"))
	}
	return text
}

// Hours1 prints hours fished: to a tenth below ten, whole beyond.
func Hours1(h float64) string {
	if h < 10 {
		return strconv.FormatFloat(h, 'f', 1, 64) + " h"
	}
	return strconv.FormatFloat(h, 'f', 0, 64) + " h"
}

// TrialSpan prints an interval of ratios; an end that excludes nothing is "…".
func TrialSpan(low, high float64) string {
	from, to := "…", "…"
	if low >= leastRatio {
		from = Ratio(low)
	}
	if high <= mostRatio {
		to = Ratio(high)
	}
	return from + "–" + to
}

// trialAhead is the outlook, after a space; "" where there is none.
func trialAhead(a trial.Answer) string {
	return strings.TrimRight(" "+TrialOutlook(a.Outlook), " ")
}

// TrialOutlook says how a trial may go on; "" when nothing is known.
func TrialOutlook(o *trial.Outlook) string {
	if o == nil || math.IsInf(o.Fixed, 1) && math.IsInf(o.Hours, 1) {
		return ""
	}
	ratio := o.Ratio
	if ratio < 1 {
		ratio = 1 / ratio
	}
	if o.Left == 0 {
		return "All the hours planned are fished."
	}
	what := fmt.Sprintf("If one has %s times as much as the other", strconv.FormatFloat(math.Round(100*ratio)/100, 'f', -1, 64))
	if o.Seen {
		what = fmt.Sprintf("If the difference is as seen, %s times", Figure(ratio))
	}
	when := fmt.Sprintf("%s more of fishing will do in half of all cases", Hours(o.Hours))
	if math.IsInf(o.Hours, 1) {
		when = "no decision is in sight"
	}
	return fmt.Sprintf("%s, %s; the chance of a decision within the %s left is %s.", what, when, Hours(o.Left), trialChance(o.Chance))
}

// trialChance prints a chance found by few trials: to 5%.
func trialChance(chance float64) string {
	switch n := 5 * math.Round(20*chance); n {
	case 0:
		return "below 5%"
	case 100:
		return "above 95%"
	default:
		return fmt.Sprintf("about %.0f%%", n)
	}
}

// TrialBet says what the e-value means.
func TrialBet(s sequential.Sequence) string {
	return fmt.Sprintf("A stake of 1 on a difference has come to %s; 20 settles it.", EValue(s.LogE))
}

// TrialNotes says what the reader of a trial must know, a sentence each.
func TrialNotes(a trial.Answer, sys units.System) []string {
	var list []string
	add := func(format string, args ...any) { list = append(list, fmt.Sprintf(format, args...)) }
	if broke := a.Arms[0].Broke + a.Arms[1].Broke; broke > 0 {
		add("%s broke the plan (%d of %s, %d of %s) and %s not counted, nor is the rest of a block of two.", Capital(Several(broke, string(a.Trial.Unit))),
			a.Arms[0].Broke, TrialArm(a, 0, sys), a.Arms[1].Broke, TrialArm(a, 1, sys), Verb(broke, "is", "are"))
	}
	if d := a.Drawn; d != nil {
		text := fmt.Sprintf("Counted for the arm that was drawn, with the %d that broke the plan, the stake has come to %s.", d.Units, EValue(d.LogE))
		if settled := a.State == trial.MoreA || a.State == trial.MoreB; settled && d.LogE < math.Log(20) {
			text += " That alone would not settle it, so look at why they broke the plan."
		}
		list = append(list, text)
	}
	standing := map[trial.Standing]int{}
	for _, u := range a.Units {
		standing[u.Standing]++
	}
	if n := standing[trial.UnitWaits]; n > 0 {
		add("%s %s started and not attached to a session yet.", Several(n, string(a.Trial.Unit)), Verb(n, "is", "are"))
	}
	if n := standing[trial.UnitGone]; n > 0 {
		add("%s %s from a session that is no longer in the journal; restore it, or attach another.", Several(n, string(a.Trial.Unit)), Verb(n, "was", "were"))
	}
	if n := standing[trial.UnitUnusable]; n > 0 {
		add("%s nothing that can be counted, and %s no part.", Have(n, string(a.Trial.Unit)), Verb(n, "takes", "take"))
	}
	if n := a.Treatment.Missing; n > 0 && a.Settled == 0 && a.State != trial.Missing {
		add("Nothing is known of %s. A verdict must hold even if %s went against it.", Several(n, "start"), Verb(n, "it", "they"))
	}
	if a.Settled > 0 && a.Settled < len(a.Looks) && a.Treatment.Unlike() {
		add("Since it was settled the arms have not been treated alike. %s", trialUnlike(a, sys))
	}
	if text := TrialOrderCut(a.Trial); text != "" {
		list = append(list, text)
	}
	if a.Undone > 0 {
		add("%s taken back after the arm was shown. The order did not change.", Capital(Several(a.Undone, "start")+" "+Verb(a.Undone, "was", "were")))
	}
	if look, ok := a.Last(); ok && look.Blocks > 0 {
		add("By the model of counts with one level within a block, the stake has come to %s and the ratio is %s. It is shown for comparison and does not decide.", EValue(look.Model.LogE), TrialRatio(a, look.Model, false))
	}
	return list
}

// TrialPlan says what is compared, in a sentence.
func TrialPlan(a trial.Answer, sys units.System) string {
	return fmt.Sprintf("%s: %s against %s, by %s, in blocks of %d. Worth knowing from %s times on; at most %s.", Measure(a.Outcome), TrialArm(a, 0, sys), TrialArm(a, 1, sys),
		a.Trial.Unit, a.Trial.Block, strconv.FormatFloat(a.Trial.Worth, 'f', -1, 64), Hours(a.Trial.MostHours))
}

// TrialUnitWords says what a unit of a trial is in, and why it does not count.
func TrialUnitWords(u trial.Unit) string {
	switch u.Standing {
	case trial.UnitWaits:
		return "Not attached yet"
	case trial.UnitApart:
		return "Broke the plan: " + u.Reason
	case trial.UnitGone, trial.UnitUnusable:
		return "Does not count: " + u.Reason
	}
	if !u.Complete {
		return "Waits for the rest of its block"
	}
	return "Counts"
}

// TrialCounted says what was counted in a unit: "3 in 1 h 30 min".
func TrialCounted(a trial.Answer, u trial.Unit) string {
	switch {
	case u.NoCount:
		return NotRecorded
	case !u.Found || u.T == 0:
		return ""
	}
	if a.Outcome.Exposure == "hours" {
		return fmt.Sprintf("%s in %s", Count(u.K), units.FormatDuration(math.Round(60*u.T)))
	}
	return fmt.Sprintf("%s of %s %s", Count(u.K), Count(u.T), strings.ToLower(Against(a.Outcome)))
}

// TrialFixed says what a test of fixed size would take; "" when nothing is known.
func TrialFixed(o *trial.Outlook) string {
	if o == nil || math.IsInf(o.Fixed, 1) {
		return ""
	}
	return fmt.Sprintf("A test looked at only once, after a number of hours fixed beforehand, would take %s to see it four times in five.", Hours(o.Fixed))
}

// SayTrial puts a trial into words and tables.
func SayTrial(a trial.Answer, sys units.System) Said {
	s := Said{Title: a.Trial.Name, Sentence: a.Trial.Name, More: []string{TrialPlan(a, sys), "", Trial(a, sys)}, Tables: []table.Table{TrialArms(a, sys)}}
	if text := SayTrialBet(a, sys); text != "" {
		s.More = append(s.More, text)
	}
	if l, ok := a.Last(); ok && l.Blocks > 0 {
		s.More = append(s.More, TrialBet(l.Robust))
	}
	if len(a.Units) > 0 {
		s.Tables = append(s.Tables, TrialTreatment(a))
	}
	if len(a.Looks) > 0 {
		s.Tables = append(s.Tables, TrialLooks(a))
	}
	if len(a.Units) > 0 {
		s.Tables = append(s.Tables, TrialUnitTable(a, sys))
	}
	notes := append(TrialNotes(a, sys), TrialUnseen(a)...)
	if text := TrialEarlier(a.Earlier); text != "" {
		notes = append([]string{text}, notes...)
	}
	for _, n := range notes {
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
	c.Count("units", Capital(TrialUnits(a.Trial, 2)), func(i arm) int { return a.Arms[i].Units })
	c.Said("exposure", Exposure(a.Outcome), func(i arm) string { return fished(a.Arms[i].Exposure) })
	c.Said("events", Capital(a.Outcome.Events), func(i arm) string {
		if a.Arms[i].Exposure <= 0 && slices.ContainsFunc(a.Units, func(u trial.Unit) bool { return u.NoCount && u.Unit.Arm.Index() == i }) {
			return NotRecorded
		}
		return Count(a.Arms[i].Events)
	})
	c.Said("rate", Measure(a.Outcome), func(i arm) string {
		if a.Arms[i].Exposure <= 0 {
			return "–"
		}
		return RateFigure(a.Outcome, a.Arms[i].Rate())
	})
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
	var c table.Columns[look]
	c.Count("look", "Session", func(l look) int { return l.n }).Words = true
	c.Words("day", "Day", func(l look) string { return l.Day.String() })
	c.Number("hours", "Hours", Hours1, func(l look) *float64 { return &l.Hours })
	c.Value("exposure", func(l look) *float64 { return &l.Exposure })
	c.Number("events", Capital(a.Outcome.Events), Count, func(l look) *float64 { return &l.Events })
	c.Count("blocks", "Blocks", func(l look) int { return l.Blocks })
	evidence := func(of func(look) sequential.Sequence, stake, e, ends string, spare int) {
		c.Add(e, stake, func(l look) table.Cell {
			s := of(l)
			return table.Number(EValue(s.LogE), answer.Known(sequential.EValue(s.LogE)))
		}).Spare = spare
		c.Said(ends, "A to B, 95%", func(l look) string { return TrialSpan(of(l).Low, of(l).High) }).Spare = spare
		c.Values(func(l look) []*float64 { return answer.Numbers(of(l).Low, of(l).High) }, ends+"_low", ends+"_high")
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
	c.Words("events", Capital(a.Outcome.Events), func(u unit) string { return TrialCounted(a, u) })
	c.Words("standing", "Standing", TrialUnitWords)
	c.Words("day", "Day", func(u unit) string {
		if !u.Found {
			return "–"
		}
		return u.Day.String()
	})
	c.Words("rig", "Rig", func(u unit) string { return strings.Join(u.Rigs, ", ") }).Spare = 1
	t := c.Make(a.Units)
	t.Title = Capital(TrialUnits(a.Trial, 2))
	return t
}
