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
		if tally == "" {
			continue
		}
		level := caution.Care
		if c.Stop > 0 {
			level = caution.Stop
		}
		item := Item{Head: prose.CautionHeading(c.Kind, level), Lines: []string{tally + w.stopDays(c.Stopped)}}
		item.Lines = append(item.Lines, prose.CautionText(c.Kind, level, w.sys), "Source: "+prose.CautionSource(c.Kind))
		s.Items = append(s.Items, item)
	}
	s.Items = append(s.Items, Item{Head: "Hooks and eyes", Lines: []string{
		"Wear glasses: in one study 143 of 732 eye injuries in sport came from fishing (Alfaro and others 2005). A hook in or near an eye, or close to large vessels or nerves, is for a doctor to take out (Thommasen 2005).",
	}})
	s.Text = []string{"These are reminders. The decision is with others: your local fish and wildlife agency for closures and limits, the weather service, whoever runs the dam, the rules of the water."}
	return s
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
	s.Text = append(s.Text, "Days that were not logged are unknown. Diaries tend to leave out blank days; a season with those missing looks better than it was.")
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
	baseline := "that of every angler of the season together (the one reviewed among them)"
	if w.outfit() {
		baseline = "that of all seasons together (the one reviewed among them)"
	}
	return []Method{
		{"Rates", "All events divided by all hours, not the mean of the sessions’ own rates (Pollock, Jones & Brown 1994). The 95% interval is the exact one for counts (Garwood 1936), for shares that of Clopper and Pearson, on counts reduced for what sessions scatter beyond chance (Korn & Graubard 1998)."},
		{"Beside the outfit", fmt.Sprintf("Each rate or share is drawn toward the others’ by a Gamma–Poisson or beta–binomial model fitted by marginal likelihood (Marshall 1991); the interval averages over the priors that the counts allow. It is compared with %s. “Better” and “worse” need a chance below 5%% of lying on the other side, doubled for two sides and adjusted for the %d outcomes looked at (Benjamini & Hochberg 1995). Where the likelihood sees no difference between them, everyone gets the common rate. Minutes lost are not counts: they are not drawn, but compared with the others’ by a ratio estimator (Cochran 1977).", baseline, w.a.Compared)},
		{"Rigs", "Rates are as fished, with exact intervals (Garwood 1936) widened by how sessions differ. No rig is held against another: what rigs have in common is."},
		{"Session by session", "A u-chart with three-sigma limits, widened by how much sessions scatter from one to the next (Laney 2002). The trend is a Poisson regression over time with the variance taken from the sessions (CR2; Bell & McCaffrey 2002)."},
		{"Evidence", "Claims and comparisons come from one Poisson regression each, with what is named held equal and a multiplier for each session (Hausman, Hall & Griliches 1984; for shares Zou 2004), the interval being the wider of the model’s and that of the scatter of sessions (CR2 where they are few). q is the two-sided p adjusted for the comparisons of a question: settled by itself means below 0.05, leaning below 0.20. What the evidence supports is below 0.05 adjusted for everything that this review asks, too."},
		{"Hours needed", "For 80% power at 5%: the square-root rule for rates (van Belle 2008), Cohen’s h for shares (Cohen 1988), the present variance for claims."},
	}
}

// stopDays names the days of sessions past the line, the first few of many.
func (w reviewer) stopDays(list []journal.SessionRef) string {
	const most = 6
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
