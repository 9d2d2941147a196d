package prose

import (
	"fmt"
	"strings"

	"rigtally/analytics"
	"rigtally/analytics/stat"
	"rigtally/internal/units"
	"rigtally/journal"
)

// Measure names what the rates of an outcome are: "Tangles per hour", "Foul
// hookups as a share of hookups".
func Measure(o journal.Outcome) string {
	switch o.Measure {
	case journal.ShareOf:
		return capital(o.Events) + " as a share of " + o.Exposure
	case journal.AmountPer:
		return o.Title + " per hour"
	}
	return capital(o.Events) + " " + o.Unit()
}

// Exposure names what an outcome is counted against: "Hours fished", "Hookups".
func Exposure(o journal.Outcome) string {
	if o.Exposure == "hours" {
		return "Hours fished"
	}
	return capital(o.Exposure)
}

// Question names what an answer is about: "Tangles by junction and bulk".
func Question(o journal.Outcome, by []journal.By) string {
	titles := make([]string, len(by))
	for i, b := range by {
		titles[i] = strings.ToLower(b.Factor.Title)
	}
	if len(titles) == 0 {
		return o.Title
	}
	return o.Title + " by " + strings.Join(titles, " and ")
}

// InAll says what is behind an answer: "119 stints, 184 hours, 159 tangles in all."
func InAll(o journal.Outcome, total analytics.Group) string {
	return fmt.Sprintf("%s, %s %s, %s %s in all.", Plural(total.Stints, "stint", "stints"), exposure(total.Exposure), o.Exposure, Count(total.Events), o.Events)
}

// Described says what a chart of an answer shows, for those who can't see it.
func Described(a analytics.RateAnswer, sys units.System) string {
	return fmt.Sprintf("Chart of %s, each with its 95%% interval; the table below has the same numbers. %s", Question(a.Outcome, a.By), Sentence(a, sys))
}

// Verdict says how a group stands to the reference, for the key of a chart.
func Verdict(v stat.Verdict, reference string) string {
	switch v {
	case stat.Differs:
		return "differs from " + reference
	case stat.Leans:
		return "leans away from " + reference + ", not settled"
	case stat.SameForPractice:
		return "same as " + reference + " for practice"
	}
	return "can’t tell from " + reference + " yet"
}

// Reference says that a group is the one that others are compared with.
func Reference(name string) string { return name + ", the reference" }

// CorrectedFor names what an answer is corrected for; empty when it is not.
func CorrectedFor(givens []analytics.Given) string {
	if len(givens) == 0 {
		return ""
	}
	return givenTitles(givens)
}

// RatiosTitle heads a chart of corrected ratios.
func RatiosTitle(a analytics.RateAnswer, sys units.System) string {
	return fmt.Sprintf("Times the %s of %s, corrected for %s, with 95%% intervals", lower(Measure(a.Outcome)), Levels(a.By, a.Groups[a.Reference].Level, sys), givenTitles(a.Given))
}

// Amount prints how much was fished or tried: "12.5 hours", "40 loads".
func Amount(o journal.Outcome, v float64) string { return exposure(v) + " " + o.Exposure }
