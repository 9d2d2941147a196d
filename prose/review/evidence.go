package review

import (
	"fmt"
	"slices"
	"strings"

	"rigtally/analytics/season"
	"rigtally/journal"
	"rigtally/prose"
)

// condition reports whether a factor is what the day brings, not what one ties.
func condition(f journal.Factor) bool {
	return slices.Contains([]string{"flow", "temperature", "flow-percentile", "temperature-peak", "trend-6h", "trend-24h", "month", "season", "water", "beat", "angler", "rig"}, f.Key)
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
		return more + " " + stepped(f.Factor)
	}
	good, bad := strings.Join(f.Level, " or "), strings.Join(f.Versus, " or ")
	if !f.LevelIsBetter() {
		good, bad = bad, good
	}
	return preferred(f.Factor, good, bad)
}

// stepped names what is longer or shorter of a factor that is a number.
func stepped(f journal.Factor) string {
	return map[string]string{"tag-length": "tags", "tippet": "tippet", "hook-size": "hooks"}[f.Key]
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

// basis says what the advice rests on.
func (w reviewer) basis(list []Advice) Section {
	s := Section{Key: "basis", Title: "What the changes rest on"}
	for _, a := range list {
		s.Text = append(s.Text, a.Basis)
	}
	var parts []string
	open := 0
	for _, e := range w.a.Evidence {
		open += len(e.Open)
		if e.Claims.Tested+e.Compared == 0 {
			continue
		}
		whose := "the outfit’s"
		if e.Angler != "" {
			whose = possessive(e.Angler)
		}
		asked := prose.Several(e.Compared, "comparison")
		if e.Claims.Tested > 0 {
			asked = prose.Several(e.Claims.Tested, "claim") + " and " + asked
		}
		parts = append(parts, fmt.Sprintf("%s of %s %s, %d to %d", asked, whose, prose.Several(e.Sessions, "session"), e.From, e.To))
	}
	if len(parts) == 0 {
		s.Text = append(s.Text, "Too few sessions, or too little that differs between them, to compare one way of rigging with another.")
		return s
	}
	s.Text = append(s.Text, fmt.Sprintf("Asked at once, and adjusted for that together: %s; %s. Each is about one outcome alone, and rigs were chosen for the day, not drawn at random: a planned trial settles a doubt.", prose.Listed(parts), prose.Plural(open, "is still open", "are still open")))
	return s
}
