package review

import (
	"fmt"
	"slices"
	"strings"

	"rigtally/analytics/season"
	"rigtally/analytics/stat"
	"rigtally/journal"
	"rigtally/prose"
)

// condition reports whether a factor is what the day brings, not what one ties.
func condition(f journal.Factor) bool {
	return slices.Contains([]string{"flow", "temperature", "month", "season", "water", "beat", "angler", "rig"}, f.Key)
}

// Change says what a finding speaks for: "shorter tags", "a sidearm stroke rather
// than oval". It is "" for what nobody can change.
func Change(f season.Finding) string {
	if condition(f.Factor) {
		return ""
	}
	if f.Step != 0 {
		more, less := prose.Grown(f.Factor)
		if f.Step < 0 {
			more, less = less, more
		}
		if !f.LevelIsBetter() {
			more = less
		}
		return more + " " + map[string]string{"tag-length": "tags", "tippet": "tippet", "hook-size": "hooks"}[f.Factor.Key]
	}
	good, bad := strings.Join(f.Level, " or "), strings.Join(f.Versus, " or ")
	if !f.LevelIsBetter() {
		good, bad = bad, good
	}
	return preferred(f.Factor, good, bad)
}

// preferred words a preference for one level of a factor over another.
func preferred(f journal.Factor, good, bad string) string {
	if text, ok := map[string]string{
		"junction": fmt.Sprintf("%s junctions rather than %s", good, bad),
		"facing":   fmt.Sprintf("tags facing %s rather than %s", good, bad),
		"prop":     fmt.Sprintf("%s rather than %s", propOf(good), propOf(bad)),
		"swivel":   fmt.Sprintf("%s rather than %s", withNone(good, "no swivel"), withNone(bad, "none")),
		"bulk":     fmt.Sprintf("%s flies rather than %s ones", good, bad),
		"stroke":   fmt.Sprintf("casting %s rather than %s", good, bad),
		"hang":     fmt.Sprintf("flies %s rather than %s", hung(good), hung(bad)),
		"material": fmt.Sprintf("%s rather than %s", good, bad),
		"method":   fmt.Sprintf("%s rather than %s", good, bad),
	}[f.Key]; ok {
		return text
	}
	return fmt.Sprintf("%s: %s rather than %s", strings.ToLower(f.Title), good, bad)
}

func withNone(word, none string) string {
	if word == "none" {
		return none
	}
	return word
}

func propOf(word string) string {
	if word == "none" {
		return "no prop"
	}
	return "a prop (" + word + ")"
}

func hung(word string) string {
	if word == "tag" {
		return "on a tag"
	}
	return "in line (" + word + ")"
}

// advice lists the changes that settled findings speak for, each with all that
// does; the surest first.
func (w reviewer) advice(e season.Evidence) []Item {
	var list []Item
	for _, f := range e.Findings {
		change := Change(f)
		if change == "" {
			continue
		}
		i := slices.IndexFunc(list, func(item Item) bool { return item.Head == change })
		if i < 0 {
			i = len(list)
			list = append(list, Item{Head: change})
		}
		list[i].Lines = append(list[i].Lines, w.finding(e, f))
	}
	return list
}

// finding says what was seen, how sure it is and what is behind it.
func (w reviewer) finding(e season.Evidence, f season.Finding) string {
	var text string
	if f.Step != 0 {
		text = fmt.Sprintf("%s: %s for each %s", prose.Measure(f.Outcome), timesOf(f), prose.Step(f.Factor, w.sys))
	} else {
		text = fmt.Sprintf("%s: with %s %s those with %s", prose.Measure(f.Outcome), strings.Join(f.Level, " or "), timesOf(f), strings.Join(f.Versus, " or "))
	}
	if given := w.given(e, f); len(given) > 0 {
		text += ", " + prose.Listed(given) + " held equal"
	}
	text += fmt.Sprintf("; %s, q %s, and %s among all %d", prose.FishedHours(f.Hours), prose.PValue(f.Q), prose.PValue(f.QListed), w.a.Asked)
	if f.Claim >= 0 {
		if c := e.Claims.Claims[f.Claim]; c.Claim.Words != "" {
			text += fmt.Sprintf(" (of the claim “%s”: %s)", c.Claim.Words, prose.ClaimStanding(c))
		}
	}
	return text + "."
}

func timesOf(f season.Finding) string {
	text := prose.Ratio(f.Ratio) + " times"
	if f.Low != nil && f.High != nil {
		text += " (" + prose.RatioSpan(*f.Low, *f.High) + ")"
	}
	return text
}

// given names what a finding holds alike, but the angler where there is one only.
func (w reviewer) given(e season.Evidence, f season.Finding) []string {
	var given []string
	if f.Claim >= 0 {
		given = prose.ClaimGivens(e.Claims.Claims[f.Claim])
	} else {
		for _, g := range e.Choices[f.Choice].Given {
			given = append(given, strings.ToLower(g.Factor.Title))
		}
	}
	if e.Angler != "" {
		given = slices.DeleteFunc(given, func(name string) bool { return name == "angler" })
	}
	return given
}

// whose sessions some evidence is from.
func whose(e season.Evidence) string {
	if e.Angler == "" {
		return "the outfit’s"
	}
	return possessive(e.Angler)
}

// part names the sessions behind some evidence.
func (w reviewer) part(e season.Evidence) string {
	years := fmt.Sprintf("%d to %d", e.From, e.To)
	if e.From == e.To {
		years = fmt.Sprint(e.To)
	}
	return fmt.Sprintf("%s %s of %s (%s)", whose(e), prose.Several(e.Sessions, "session"), years, prose.FishedHours(e.Hours))
}

func (w reviewer) tests(e season.Evidence) string {
	return fmt.Sprintf("%s and %s", prose.Several(e.Claims.Tested, "claim"), prose.Several(e.Compared, "comparison"))
}

// supported lists what the evidence speaks for.
func (w reviewer) supported() Section {
	s := Section{Key: "supported", Title: "What the evidence supports changing"}
	for _, e := range w.a.Evidence {
		list := w.advice(e)
		group := prose.Capital(fmt.Sprintf("in %s", w.part(e)))
		switch {
		case e.Claims.Tested+e.Compared == 0:
			list = []Item{{Head: "nothing to test yet", Lines: []string{"Too few sessions, or too little that differs between them, to compare one way of rigging with another."}}}
		case len(list) == 0:
			list = []Item{{Head: "nothing yet", Lines: []string{fmt.Sprintf("Of %s none stands out among all that was asked%s.", w.tests(e), besides(e))}}}
		}
		if known := w.settledBesides(e); len(known.Lines) > 0 {
			list = append(list, known)
		}
		for i, item := range list {
			item.Head = prose.Capital(item.Head)
			if i == 0 {
				item.Group = group
			}
			s.Items = append(s.Items, item)
		}
	}
	if w.anyTested() {
		s.Text = []string{w.tested()}
		s.After = []string{"Each is about one outcome alone: what tangles less may also fish less. And rigs were chosen for the day, not drawn at random; a planned trial is how to settle a doubt."}
	}
	return s
}

// besides counts what is settled by itself, but not among all that was asked.
func besides(e season.Evidence) string {
	n := 0
	for _, f := range e.Open {
		if f.Verdict == stat.Differs {
			n++
		}
	}
	if n == 0 {
		return ""
	}
	return fmt.Sprintf("; %s by itself (see what it can’t tell yet)", prose.Number(n)+prose.Verb(n, " is settled", " are settled"))
}

// settledBesides is what is settled about the days, which nobody can change.
func (w reviewer) settledBesides(e season.Evidence) Item {
	item := Item{Head: "good to know, though not to change"}
	for _, f := range e.Findings {
		if Change(f) == "" {
			item.Lines = append(item.Lines, w.finding(e, f))
		}
	}
	return item
}

func (w reviewer) anyTested() bool {
	return slices.ContainsFunc(w.a.Evidence, func(e season.Evidence) bool { return e.Claims.Tested+e.Compared > 0 })
}

// tested says over how many questions the evidence was adjusted.
func (w reviewer) tested() string {
	var parts []string
	for _, e := range w.a.Evidence {
		parts = append(parts, fmt.Sprintf("%s of %s sessions", w.tests(e), whose(e)))
	}
	return fmt.Sprintf("Asked at once, and adjusted for that together: %s. What is settled by itself and stands out among all %d is listed here, surest first; it rests on all seasons up to %d. Where nothing makes a difference, at most six reviews in a hundred list anything.", prose.Listed(parts), w.a.Asked, w.a.Year)
}

// mostOpen is how many open questions are worth a reader's time.
const mostOpen = 6

// open lists what can't be told yet, and how much fishing would tell.
func (w reviewer) open() Section {
	s := Section{Key: "open", Title: "What it can’t tell yet"}
	for i, e := range w.a.Evidence {
		if len(e.Open) == 0 {
			continue
		}
		table := Table{Caption: "In " + w.part(e), Words: 2, Head: []string{"Question", "Against", "Times so far", "95% interval", "q", "So far", "Needed still", "Sessions"}}
		left, same := 0, 0
		for _, f := range e.Open {
			switch {
			case f.Verdict == stat.SameForPractice:
				same++
			case f.MoreHours == nil:
				left++
			case len(table.Rows) == mostOpen:
				left++
			default:
				table.Rows = append(table.Rows, w.openRow(f))
			}
		}
		if len(table.Rows) > 0 {
			s.Tables = append(s.Tables, table)
		}
		if text := restOpen(left, same); text != "" {
			if len(w.a.Evidence) > 1 {
				text = []string{"Of the angler’s own: ", "Of the outfit’s: "}[min(i, 1)] + prose.Lower(text)
			}
			s.After = append(s.After, text)
		}
	}
	if len(s.Tables) == 0 && len(s.After) == 0 {
		return s
	}
	s.Text = []string{w.nearest()}
	return s
}

func restOpen(left, same int) string {
	var parts []string
	if left > 0 {
		parts = append(parts, prose.Number(left)+prose.Verb(left, " more question needs", " more questions need")+" longer still, or more than the journal can tell")
	}
	if same > 0 {
		parts = append(parts, fmt.Sprintf("in %s there is no difference that matters (the 90%% interval is within 0.80 to 1.25 times)", prose.Number(same)))
	}
	if len(parts) == 0 {
		return ""
	}
	return prose.Capital(strings.Join(parts, "; ")) + "."
}

// nearest says which question is the nearest to an answer.
func (w reviewer) nearest() string {
	text := "An open question is not a no. Needed still are the hours at the present mix that would show a difference as large as the one believed so far, or of one half more where that is smaller, four times in five; none for 1.5 times means that so large a one would have shown by now."
	per := w.a.Totals.PerOuting()
	if per > 0 {
		text += fmt.Sprintf(" A session is taken as %s, as this season.", prose.FishedHours(per))
	}
	return text
}

func (w reviewer) openRow(f season.Finding) []string {
	what, against := prose.Capital(strings.Join(f.Level, " or ")), strings.Join(f.Versus, " or ")
	if f.Step != 0 {
		what, against = "Each "+prose.Step(f.Factor, w.sys), ""
	}
	what += ": " + prose.Lower(prose.Measure(f.Outcome))
	interval, so, outings := "?", "can’t tell yet", "?"
	if f.Low != nil && f.High != nil {
		interval = prose.RatioSpan(*f.Low, *f.High)
	}
	switch f.Verdict {
	case stat.Differs:
		so = fmt.Sprintf("settled by itself, one of %d asked", w.a.Asked)
	case stat.Leans:
		so = "leans, not settled"
	}
	if f.Outings != nil && *f.Outings < 10_000 { // more than a life of fishing is no number
		outings = fmt.Sprint(*f.Outings)
	}
	more := prose.AboutHours(*f.MoreHours)
	switch {
	case f.Verdict == stat.Differs:
		more, outings = "none", "–"
	case *f.MoreHours == 0:
		more, outings = prose.EnoughFor, "–"
	}
	return []string{what, against, prose.Ratio(f.Ratio), interval, prose.PValue(f.Q), so, more, outings}
}
