package prose

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"rigtally/analytics/quality"
	"rigtally/internal/table"
	"rigtally/internal/units"
	"rigtally/journal"
)

// listedWrong is how much of anything wrong is listed for people.
const listedWrong = 20

// CheckText writes a report on a journal for a terminal of so many characters; 0 is without end.
func CheckText(w io.Writer, r quality.Report, width int) error {
	var b strings.Builder
	b.WriteString(Recounted(r) + "\n")
	if len(r.Recount.First) > 0 {
		b.WriteString("\n")
		_ = table.Words("", 4, []string{"Day", "Stint", "Where", "Count", "Stored", "From its events", "Session"}, differenceRows(r.Recount.First)).WriteText(&b, width) // a strings.Builder never fails
		writeMore(&b, r.Recount.Differences, len(r.Recount.First))
	}
	if r.Impossible.Count > 0 {
		fmt.Fprintf(&b, "\n%s can't be right. Open the session on its page, or with \"rigtally sessions show ID\", and correct it:\n", Capital(Several(r.Impossible.Count, "thing")))
		for _, p := range r.Impossible.First[:min(len(r.Impossible.First), listedWrong)] {
			fmt.Fprintf(&b, "  %s  %s  (session %s)\n", p.Day, p.Problem, p.Session)
		}
		writeMore(&b, r.Impossible.Count, len(r.Impossible.First))
	}
	if remarks := Remarks(r); len(remarks) > 0 {
		b.WriteString("\nHow the journal is kept:\n")
		for _, text := range remarks {
			b.WriteString("- " + text + "\n")
		}
	}
	writeChanged(&b, r.Changed)
	writeCounted(&b, r.Counted, width)
	_, err := io.WriteString(w, table.FoldLines(b.String(), width))
	return err
}

func writeMore(b *strings.Builder, count, listed int) {
	if more := count - min(listed, listedWrong); more > 0 {
		fmt.Fprintf(b, "  … and %d more\n", more)
	}
}

// Recounted says what came of counting the events again.
func Recounted(r quality.Report) string {
	c := r.Recount
	if c.Stints == 0 {
		return "The journal has no stints yet, so there is nothing to check. Log or import some fishing first."
	}
	var parts []string
	switch {
	case c.Wrong > 0 && c.Repaired:
		parts = append(parts, fmt.Sprintf("%d of %s had stored counts that did not match their events (%s). The counts are corrected; the events were not touched.",
			c.Wrong, Several(c.Stints, "stint"), Several(c.Differences, "difference")))
	case c.Wrong > 0:
		parts = append(parts, fmt.Sprintf("%d of %s have stored counts that do not match their events (%s), so answers may be wrong. Run \"rigtally check --repair\" to count them again from the events.",
			c.Wrong, Several(c.Stints, "stint"), Several(c.Differences, "difference")))
	case c.Uncounted < c.Stints:
		parts = append(parts, fmt.Sprintf("Counted again: the counts of %s match their events.", Several(c.Stints-c.Uncounted, "stint")))
	}
	if c.Uncounted > 0 {
		parts = append(parts, fmt.Sprintf("The events of %s contradict each other or the rig and can't be counted; correct them as shown below.", Several(c.Uncounted, "stint")))
	}
	return strings.Join(parts, " ")
}

func differenceRows(list []journal.Difference) [][]string {
	var rows [][]string
	for _, d := range list[:min(len(list), listedWrong)] {
		kept, counted := kept(d.Kept), kept(d.Counted)
		switch d.Column {
		case "row":
			kept, counted = "missing", "there"
			if d.Kept != nil {
				kept, counted = "there", "none"
			}
		case "session", "rig":
			kept, counted = "another", "its own"
		}
		rows = append(rows, []string{d.Day.String(), fmt.Sprint(d.Stint), place(d), strings.ReplaceAll(d.Column, "_", " "), kept, counted, d.Session.String()})
	}
	return rows
}

func kept(v *float64) string {
	if v == nil {
		return "none"
	}
	if *v == math.Trunc(*v) {
		return fmt.Sprintf("%.0f", *v)
	}
	return strconv.FormatFloat(math.Round(*v*100)/100, 'f', -1, 64)
}

func place(d journal.Difference) string {
	switch {
	case d.Position == nil:
		return "whole rig"
	case d.Spell == nil:
		return journal.PositionTitle(*d.Position)
	}
	return fmt.Sprintf("%s, length %d", journal.PositionTitle(*d.Position), *d.Spell+1)
}

// Remarks says how well a journal is kept, a sentence or two for each point.
func Remarks(r quality.Report) []string {
	if r.Sessions == 0 {
		return nil
	}
	var list []string
	for _, h := range r.Heaping {
		list = append(list, heaping(h))
	}
	list = append(list, late(r))
	if r.UntimedStints > 0 {
		list = append(list, fmt.Sprintf("%s no minutes noted and can't count in any rate per hour: %s. Add the minutes where you still know them.",
			Have(r.UntimedStints, "stint"), namedSessions(r.Untimed)))
	}
	if len(r.Untagged) > 0 {
		list = append(list, untagged(r.Untagged))
	}
	return append(list, uneventful(r.Quiet))
}

// namedSessions names a few of them.
func namedSessions(l journal.SessionList) string {
	var names []string
	for _, s := range l.First[:min(len(l.First), mostNamed)] {
		names = append(names, fmt.Sprintf("%s on %s", s.Angler, s.Day))
	}
	if more := l.Count - len(names); more > 0 {
		names = append(names, fmt.Sprintf("and %d more", more))
	}
	return strings.Join(names, ", ")
}

func late(r quality.Report) string {
	if r.Late.Count == 0 {
		return "Every session was logged within a week of its day."
	}
	text := fmt.Sprintf("%d of %s logged more than a week late", r.Late.Count, Plural(r.Sessions, "session was", "sessions were"))
	if r.Imported > 0 {
		text += fmt.Sprintf(", %d of them together with others, as an import does, which says nothing about when they were first written down", r.Imported)
	}
	if r.Imported < r.Late.Count {
		text += ". Counts fade from memory within days: log them the same evening"
	}
	return text + "."
}

func untagged(rigs []journal.UntaggedRig) string {
	var names []string
	for _, u := range rigs[:min(len(rigs), mostNamed)] {
		names = append(names, fmt.Sprintf("%s (%s)", u.Title, Several(u.Stints, "stint")))
	}
	if more := len(rigs) - len(names); more > 0 {
		names = append(names, fmt.Sprintf("and %d more", more))
	}
	return fmt.Sprintf("%s a tag whose length was not noted: %s. Note the length at the start of those stints, or tie a new revision with it.",
		Have(len(rigs), "rig"), strings.Join(names, ", "))
}

// heaping says whether values were rounded, and whether that matters.
func heaping(h quality.Heaping) string {
	what, even := "tag lengths measured in millimetres", "every last digit"
	switch h.Unit {
	case units.Inch:
		what, even = "tag lengths measured in inches", "every eighth of an inch"
	case units.Minute:
		what = "times fished"
	}
	if h.P == nil {
		return fmt.Sprintf("Too few different %s (%d written down) to tell whether they were rounded.", what, h.Values)
	}
	text := fmt.Sprintf("%s of %d %s lie on %s, where %s would be there if %s were as likely as any other (p %s)", Percent(h.Share), h.Values, what, roundValues(h), Percent(h.Expected), even, PValue(*h.P))
	if !h.Heaped {
		return text + ": no sign of rounding."
	}
	text += ": they were rounded"
	if h.Share < 0.9 {
		text = strings.TrimSuffix(text, "they were rounded") + "many were rounded"
	}
	switch {
	case h.Measure == quality.HeapMinutes && h.Grid <= 15:
		return text + ", which evens out over a season."
	case h.Measure == quality.HeapMinutes:
		return text + " so much that rates of short stints are poorly known. Note the minutes to the nearest five."
	case h.Grid <= fineMetric && h.Unit == units.Millimetre || h.Grid <= fineInch && h.Unit == units.Inch:
		return text + ", but finely enough to compare lengths."
	case h.Unit == units.Inch:
		return text + ", so smaller differences can't be seen. Measure to the quarter inch."
	}
	return text + ", so smaller differences can't be seen. Measure to the nearest 5 mm."
}

// Grids no coarser than these are as fine as the steps of a curve over tag length.
const (
	fineMetric = 5
	fineInch   = 0.25
)

func roundValues(h quality.Heaping) string {
	switch h.Unit {
	case units.Inch:
		return map[float64]string{1: "whole inches", 0.5: "half inches", 0.25: "quarter inches"}[h.Grid]
	case units.Minute:
		if words, ok := map[float64]string{60: "full hours", 30: "half hours", 15: "quarter hours"}[h.Grid]; ok {
			return words
		}
		return fmt.Sprintf("multiples of %.0f minutes", h.Grid)
	}
	return fmt.Sprintf("multiples of %.0f mm", h.Grid)
}

// uneventful says whether too many sessions tell of nothing bad.
func uneventful(q quality.Quiet) string {
	const bad = "no tangle, foul hookup, lost fish or break-off"
	if !q.Enough {
		return fmt.Sprintf("Too few sessions with all minutes noted and every bad event counted (%d) to tell whether bad events were left out.", q.Sessions)
	}
	text := fmt.Sprintf("In %d of %d sessions there was %s; %s would be expected from how sessions differ", q.Without, q.Sessions, bad, Figure(*q.Expected))
	if !q.Suspect {
		return text + fmt.Sprintf(" (p %s): no sign that any were left out.", PValue(*q.P))
	}
	text += fmt.Sprintf(" (p %s). Some bad events may not have been written down", PValue(*q.P))
	var names []string
	for _, a := range q.Anglers {
		if a.Q != nil && *a.Q < 0.05 && a.Angler != "" && len(q.Anglers) > 1 {
			names = append(names, fmt.Sprintf("%s (%d, expected %s)", a.Angler, a.Without, Figure(*a.Expected)))
		}
	}
	if len(names) > 0 {
		text += ", most of all by " + strings.Join(names, ", ")
	}
	return text + ". A rate is only as honest as its worst days: note those too."
}

// Rule says what a rule asks of a rig.
func Rule(c journal.RuleCheck, sys units.System) string {
	limit, rods := 0.0, ""
	if c.Limit != nil {
		limit = *c.Limit
	}
	if c.RodMM != nil {
		rods = ", here " + units.FormatLength(limit**c.RodMM, sys)
	}
	length := units.FormatLength(limit, sys)
	return map[journal.RuleKey]string{
		journal.RuleFlies:      "At most " + Plural(int(limit), "fly", "flies"),
		journal.RuleApart:      "Flies at least " + length + " apart",
		journal.RuleLeader:     "Leader of at most " + length,
		journal.RuleLeaderRods: "Leader of at most " + decimal(limit) + " rod lengths" + rods,
		journal.RuleRod:        "Rod of at most " + length,
		journal.RuleRings:      "No rings",
		journal.RuleSwivels:    "No swivels",
		journal.RuleLeastTag:   "Tags of at least " + length,
		journal.RuleMostTag:    "Tags of at most " + length,
		journal.RuleBead:       "Beads of at most " + units.FormatLength(limit, units.Metric),
	}[c.Rule]
}

// RuleFound says what the rig has, "" when nothing of it is noted.
func RuleFound(c journal.RuleCheck, sys units.System) string {
	switch {
	case c.Rule == journal.RuleRings || c.Rule == journal.RuleSwivels:
		if len(c.Breaks) > 0 {
			return "one at " + strings.Join(each(c.Breaks, rulePlace), " and ")
		}
		if len(c.Missing) == 0 {
			return "none"
		}
		return ""
	case c.Found == nil && len(c.Missing) == 0:
		return "nothing it is about"
	case c.Found == nil:
		return ""
	case c.Rule == journal.RuleFlies:
		return Plural(int(*c.Found), "fly", "flies")
	case c.Rule == journal.RuleBead && *c.Found == 0:
		return "no bead"
	case c.Rule == journal.RuleBead:
		return "the largest " + units.FormatLength(*c.Found, units.Metric)
	}
	text := units.FormatLength(*c.Found, sys)
	switch c.Rule {
	case journal.RuleApart, journal.RuleLeastTag:
		return "the least " + text
	case journal.RuleMostTag:
		return "the longest " + text
	}
	return text
}

// RuleAdvice says what would keep a rule that is broken, or what to note of one
// that can't be checked; "" for one that is kept.
func RuleAdvice(c journal.RuleCheck, sys units.System) string {
	switch c.Verdict {
	case journal.RuleBreaks:
		return ruleChange(c, sys)
	case journal.RuleUnknown:
		text := Capital(Listed(each(c.Missing, rulePlace))) + Verb(len(c.Missing), " isn't noted", " aren't noted")
		if c.Rule == journal.RuleBead && c.Missing[0].Part == "bead" {
			text += "; write 0 for no bead"
		}
		return text + "."
	}
	return ""
}

func ruleChange(c journal.RuleCheck, sys units.System) string {
	change := func(at journal.RulePlace) string {
		over, fly := 0.0, ""
		if at.Found != nil && c.Limit != nil {
			over = *at.Found - *c.Limit
		}
		if at.Position != nil {
			fly = journal.PositionTitle(*at.Position)
		}
		by := units.FormatLength(math.Abs(over), sys)
		switch c.Rule {
		case journal.RuleLeaderRods:
			return "shorten the leader by " + units.FormatLength(*c.Found-*c.Limit**c.RodMM, sys) + "; it is " + decimal(*at.Found) + " rod lengths"
		case journal.RuleBead:
			return "use a bead of at most " + units.FormatLength(*c.Limit, units.Metric) + " on " + fly
		}
		return map[journal.RuleKey]string{
			journal.RuleFlies:    "take " + Plural(int(over), "fly", "flies") + " off",
			journal.RuleApart:    "tie " + fly + " " + by + " higher",
			journal.RuleLeader:   "shorten the leader by " + by,
			journal.RuleRod:      "the rod is " + by + " too long",
			journal.RuleRings:    "tie a knot in place of the ring at " + rulePlace(at),
			journal.RuleSwivels:  "tie a knot in place of the swivel",
			journal.RuleLeastTag: "tie the tag of " + fly + " " + by + " longer",
			journal.RuleMostTag:  "cut " + by + " off the tag of " + fly,
		}[c.Rule]
	}
	return Capital(Listed(each(c.Breaks, change))) + "."
}

// rulePlace names a place on a rig.
func rulePlace(at journal.RulePlace) string {
	fly := ""
	if at.Position != nil {
		fly = journal.PositionTitle(*at.Position)
	}
	switch at.Part {
	case "swivel":
		return "the join of sighter and tippet"
	case "distance":
		return "the distance below " + fly
	case "leader":
		return "the leader's length"
	case "rod":
		return "the rod's length"
	}
	if fly != "" {
		return "the " + at.Part + " of " + fly
	}
	return "the " + at.Part
}

// RulesSummary says in a sentence how a rig stands to a set of rules.
func RulesSummary(set journal.RuleSet, checks []journal.RuleCheck) string {
	broken, open := 0, 0
	for _, c := range checks {
		switch c.Verdict {
		case journal.RuleBreaks:
			broken++
		case journal.RuleUnknown:
			open++
		}
	}
	name := "“" + set.Name + "”"
	switch {
	case len(checks) == 0:
		return "There is no rule in " + name + " yet."
	case broken == 0 && open == 0:
		return "Keeps all " + Several(len(checks), "rule") + " of " + name + "."
	case broken == 0:
		return fmt.Sprintf("Keeps %d of %s of %s; %d can't be checked yet.", len(checks)-open, Several(len(checks), "rule"), name, open)
	}
	text := fmt.Sprintf("Breaks %d of %s of %s", broken, Several(len(checks), "rule"), name)
	if open > 0 {
		text += fmt.Sprintf("; %d can't be checked yet", open)
	}
	return text + "."
}

// RulesCaution says what a check is worth.
func RulesCaution(set journal.RuleSet) string {
	text := "Distances are measured along the leader, from junction to junction. The rules in force, and whoever judges by them, decide; this page does not."
	if set.Example {
		text = "These are examples to check against the rules in force. " + text
	}
	return text
}

// decimal prints a number with at most two decimals.
func decimal(v float64) string {
	return strconv.FormatFloat(math.Round(v*100)/100, 'f', -1, 64)
}
