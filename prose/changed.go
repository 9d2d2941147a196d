package prose

import (
	"fmt"
	"math"
	"strings"

	"rigtally/analytics"
	"rigtally/analytics/change"
	"rigtally/internal/units"
	"rigtally/journal"
)

// LikeForLike says what is done about changes that follow events.
const LikeForLike = "Answers here are compared like for like, with each session's own difficulty taken into account."

// Changed says in a sentence how changes of a factor follow events.
func Changed(f change.Finding) string {
	outcome, err := journal.OutcomeByKey(f.Outcome)
	factor, err2 := journal.FactorByKey(f.Factor)
	if err != nil || err2 != nil || f.Low == nil {
		return ""
	}
	events, what := outcome.Events, strings.ToLower(factor.Title)
	if outcome.Measure == journal.AmountPer {
		events = "tangles" // they are what costs minutes
	}
	event := "a " + strings.TrimSuffix(events, "s")
	if !f.ByMinutes {
		return fmt.Sprintf("%d of %s with %s were followed by a change of the %s, and %d of %d without: for their time, the stints that ended in a change had %s.",
			f.With.Changed, Several(f.With.Stints, "stint"), event, what, f.Without.Changed, f.Without.Stints, timesAsMany(f, "as many "+events+" as the others"))
	}
	of := fmt.Sprintf("%d of %s", f.AfterEvent, Several(f.Changes, "change"))
	if f.AfterEvent == f.Changes {
		of = "all " + Several(f.Changes, "change")
	}
	expected := ""
	if f.Ratio == nil && f.Expected != nil {
		expected = fmt.Sprintf(", where about %.0f of them would lie if they had nothing to do with it", *f.Expected)
	}
	return fmt.Sprintf("In %s of the %s, %s came in the %s minutes before%s: it was changed %s.", of, what, event, Number(change.Window), expected, timesAsMany(f, "as often then as at other times"))
}

// manyTimes is so much that more would say no more.
const manyTimes = 20

// timesAsMany says a finding's ratio with its interval.
func timesAsMany(f change.Finding, as string) string {
	switch {
	case f.Ratio == nil:
		return fmt.Sprintf("at least %s times %s (95%% interval)", roughRatio(min(*f.Low, manyTimes)), as)
	case f.High == nil:
		return fmt.Sprintf("%s times %s (95%% interval from %s up)", roughRatio(*f.Ratio), as, roughRatio(*f.Low))
	}
	return fmt.Sprintf("%s times %s (95%% interval %s to %s)", roughRatio(*f.Ratio), as, roughRatio(*f.Low), roughRatio(*f.High))
}

// roughRatio prints a ratio as people say it: two decimals only close to 1, where they matter.
func roughRatio(v float64) string {
	switch {
	case v < 2:
		return Ratio(v)
	case v < 10:
		return Tenths(v)
	}
	return fmt.Sprintf("%.0f", v)
}

// ChangedTitle stands above what was changed because of what had happened.
const ChangedTitle = "Changed because of what had happened"

// writeChanged lists what was changed because of what had happened.
func writeChanged(b *strings.Builder, list []change.Finding) {
	if len(list) == 0 {
		return
	}
	b.WriteString("\n" + ChangedTitle + ":\n")
	for _, f := range list {
		b.WriteString("- " + Changed(f) + "\n")
	}
	b.WriteString(LikeForLike + "\n")
}

// changedRates says in a line that what an answer divides by was changed because of what happened, and what
// that would have done to it.
func changedRates(a analytics.RateAnswer, sys units.System) []string {
	if a.Changed == nil {
		return nil
	}
	text := Changed(*a.Changed) + " " + LikeForLike
	far, at := 0.0, -1
	for i, g := range a.Groups {
		if c := g.Corrected; c != nil && c.MarginalRatio != nil && *c.MarginalRatio > 0 && *c.Ratio > 0 {
			if d := math.Abs(math.Log(*c.MarginalRatio / *c.Ratio)); d > far {
				far, at = d, i
			}
		}
	}
	if at >= 0 {
		c := a.Groups[at].Corrected
		text += apart(Capital((sayer{a, sys}).name(a.Groups[at])), c.Ratio, c.MarginalRatio)
	}
	return []string{text}
}

// changedCurve is that of a curve.
func changedCurve(a analytics.CurveAnswer, sys units.System) []string {
	if a.Changed == nil {
		return nil
	}
	text := Changed(*a.Changed) + " " + LikeForLike
	if r := a.Rise; r != nil {
		text += apart(Capital(value(a.Over, r.To, sys))+" against "+value(a.Over, r.From, sys), r.Ratio, r.Marginal)
	}
	return []string{text}
}

// apart says how far an answer lies from that of a fit without the sessions' own difficulty.
func apart(what string, ratio, without *float64) string {
	text := fmt.Sprintf(" %s comes to %s times; without that it would be %s times.", what, Ratio(*ratio), Ratio(*without))
	if analytics.Opposed(ratio, without) {
		text += " The two point different ways: a trial, with its order drawn by lot, would settle it."
	}
	return text
}
