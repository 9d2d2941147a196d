package review

import (
	"fmt"
	"slices"
	"strings"

	"rigtally/analytics/caution"
	"rigtally/analytics/season"
	"rigtally/journal"
	"rigtally/prose"
)

// cautions says what the season's conditions called for, and who decides.
func (w reviewer) cautions() Section {
	s := Section{Key: "cautions", Title: "Cautions"}
	for _, c := range w.a.Cautions {
		tally := prose.CautionTally(c.Tally, w.sys)
		if tally == "" || c.Care+c.Stop == 0 {
			continue
		}
		level := caution.Care
		if c.Stop > 0 {
			level = caution.Stop
		}
		s.Text = append(s.Text, tally+w.stopDays(c.Stopped)+" "+prose.CautionText(c.Kind, level, w.sys)+" "+sourced(prose.CautionSource(c.Kind)))
	}
	s.Text = append(s.Text, "Hooks and eyes: wear glasses. In one study 143 of 732 eye injuries in sport came from fishing (Alfaro and others 2005). A hook in or near an eye, or close to large vessels or nerves, is for a doctor to take out (Thommasen 2005). These are reminders; who runs the place decides.")
	return s
}

// sourced names where a caution comes from; of common practice that says itself that it has no source.
func sourced(text string) string {
	if strings.HasPrefix(text, "Common practice, no source") {
		return text
	}
	return "Source: " + text
}

// quality says what touches how far the review can be trusted.
func (w reviewer) quality() Section {
	s := Section{Key: "quality", Title: "How far to trust this"}
	t, q := w.a.Totals, w.a.Quality
	if t.Sessions < fewForReview {
		few := fmt.Sprintf("%d sessions are few. ", t.Sessions)
		if t.Sessions == 1 {
			few = "One session is very little. "
		}
		s.Text = append(s.Text, few+"The counts are what happened; rates, comparisons and charts from so little don’t say much yet, and their intervals may be too narrow.")
	}
	switch late := q.Late - q.Together; {
	case q.Late == 0:
		s.Text = append(s.Text, "Every session was logged within a week of its day.")
	case late == 0:
		s.Text = append(s.Text, fmt.Sprintf("%s logged more than a week late together with others, as an import does, which says nothing about when they were first written down.", prose.Plural(q.Late, "session was", "sessions were")))
	case t.Sessions == 1:
		s.Text = append(s.Text, "It was logged more than a week late. Counts fade from memory within days, so read them as rough.")
	default:
		s.Text = append(s.Text, fmt.Sprintf("Of %s, %s logged more than a week late. Counts fade from memory within days, so read these as rough.", prose.Several(t.Sessions, "session"), prose.Plural(q.Late, "was", "were")))
	}
	if q.Untimed > 0 {
		s.Text = append(s.Text, fmt.Sprintf("%d of %s %s no minutes noted and %s in no rate per hour; the hours above are those that were noted.", q.Untimed, prose.Several(t.Stints, "stint"), prose.Verb(q.Untimed, "has", "have"), prose.Verb(q.Untimed, "counts", "count")))
	}
	if q.UntimedTangles > 0 {
		s.Text = append(s.Text, fmt.Sprintf("%s a tangle whose lost minutes were not noted; the minutes lost per hour are those of the other stints.", prose.Have(q.UntimedTangles, "stint")))
	}
	s.Text = append(s.Text, missingCounts(q, t.Stints)...)
	s.Text = append(s.Text, "Days that were not logged are unknown. A season whose blank days are missing looks better than it was.")
	return s
}

// missingCounts says of what no count was kept, and where that is only assumed.
func missingCounts(q season.Quality, stints int) []string {
	var parts []string
	for _, k := range journal.Kinds() {
		switch n := q.Missing[k]; {
		case n == 0:
		case len(parts) == 0:
			parts = append(parts, fmt.Sprintf("Not counted: %s in %d of %s", k.Title(), n, prose.Several(stints, "stint")))
		default:
			parts = append(parts, fmt.Sprintf("%s in %d", k.Title(), n))
		}
	}
	text := ""
	if len(parts) > 0 {
		text = strings.Join(parts, ", ") + "; no rate uses these. "
	}
	if q.Assumed > 0 {
		text += fmt.Sprintf("Nobody said what was counted in %s; there, everything is taken to have been.", prose.Several(q.Assumed, "stint"))
	}
	if text == "" {
		return nil
	}
	return []string{strings.TrimSpace(text)}
}

// methods says how a review was computed, with sources.
func (w reviewer) methods() []Method {
	baseline := "that of all anglers of the season"
	if w.outfit() {
		baseline = "that of all seasons"
	}
	list := []Method{
		{"Rates", "All events divided by all hours (Pollock, Jones & Brown 1994), with exact 95% intervals (Garwood 1936; Clopper & Pearson 1934) widened for what sessions scatter beyond chance (Korn & Graubard 1998). Rigs are as fished; none is held against another."},
		{besideOutfit, fmt.Sprintf("Rates are drawn toward %s by a Gamma–Poisson or beta–binomial model (Marshall 1991). Better and worse need a two-sided chance below 5%%, adjusted for the %d outcomes (Benjamini & Hochberg 1995). Minutes lost are compared by a ratio estimator (Cochran 1977).", baseline, w.a.Compared)},
		{"Session by session", "A u-chart with three-sigma limits (Laney 2002); the trend is a Poisson regression, variance CR2 (Bell & McCaffrey 2002)."},
		{"Changes", "One Poisson regression each, what is named held equal, with a multiplier for each session (Hausman, Hall & Griliches 1984; for shares Zou 2004). Settled: q below 0.05 within its question, and among all that this review asks. Best bet: a posterior chance of 80% or more, a choice and not a finding."},
		{"Hours and days", "Hours needed: 80% power at 5% (van Belle 2008; Cohen 1988). A day is the season’s median session. High water is 1.5 times a water’s median flow that year."},
	}
	if w.a.Alone {
		list = slices.DeleteFunc(list, func(m Method) bool { return m.What == besideOutfit })
	}
	return list
}

// besideOutfit is the method by which rates are held against the outfit's.
const besideOutfit = "Beside the outfit"

// stopDays names the days of sessions past the line, the first few of many.
func (w reviewer) stopDays(list []journal.SessionRef) string {
	const most = 4
	var days []string
	for _, s := range list {
		if d := w.day(s.Day); !slices.Contains(days, d) {
			days = append(days, d)
		}
	}
	if len(days) == 0 {
		return ""
	}
	if more := len(days) - most; more > 0 {
		days = append(days[:most], fmt.Sprintf("%d more", more))
	}
	return " Past the line: " + prose.Listed(days) + "."
}
