package outing

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"rigtally/cmd/rigtally/terminal"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/near"
)

const (
	newRig    = "new"
	rigsShown = 8
)

// script asks for one session, with what the last one was as the default.
type script struct {
	planner
	last *journal.Session // nil in an empty journal
}

// formOf sorts the answers into a form. A stint's keys begin with its number.
func formOf(answers map[string]string) form {
	told := form{session: map[string]string{}, stints: []map[string]string{{}}}
	for n := 2; terminal.IsYes(answers[stintKey(n-1, "more")]); n++ {
		told.stints = append(told.stints, map[string]string{})
	}
	for key, answer := range answers {
		number, rest, ofStint := strings.Cut(key, ".")
		n, err := strconv.Atoi(number)
		if !ofStint || err != nil {
			told.session[key] = answer
		} else if n <= len(told.stints) && !(rest == "rig" && answer == newRig) {
			told.stints[n-1][rest] = answer
		}
	}
	return told
}

func stintKey(number int, key string) string { return fmt.Sprintf("%d.%s", number, key) }

func (s script) questions(answers map[string]string) []terminal.Question {
	all := s.sessionQuestions(answers)
	for n := 1; ; n++ {
		all = append(all, s.stintQuestions(n, answers)...)
		more := terminal.YesNo(stintKey(n, "more"), "Another stint, with another rig", "A stint is a time fished with one rig as tied. yes asks about the next one.", terminal.No)
		if all = append(all, more); !terminal.IsYes(answers[more.Key]) {
			break
		}
	}
	return append(all, optional(terminal.Question{Key: "notes", Text: "Notes on the session", Help: "Anything worth remembering."}, nil))
}

func (s script) sessionQuestions(answers map[string]string) []terminal.Question {
	n := s.known
	angler, water, beat := "", "", ""
	if s.last != nil {
		angler, water = n.Anglers[s.last.AnglerID].Name, n.Waters[s.last.WaterID].Name
		if s.last.BeatID != nil && (answers["water"] == "" || strings.EqualFold(answers["water"], water)) {
			beat = n.beat(s.last.WaterID, *s.last.BeatID)
		}
	}
	all := []terminal.Question{required(terminal.Question{Key: "angler", Text: "Who fished", Help: "The angler's name.", Options: n.anglerNames(), Fallback: angler})}
	if name := answers["angler"]; name != "" {
		if _, known := n.angler(name); !known && !isNear(name, n.anglerNames()) {
			all = append(all, sure("angler-new", name))
		}
	}
	all = append(all, required(terminal.Question{Key: "water", Text: "On which water", Help: "The name of the river or lake.", Options: n.waterNames(), Fallback: water}))
	if name := answers["water"]; name != "" {
		if _, known := n.water(name); !known && !isNear(name, n.waterNames()) {
			all = append(all, sure("water-new", name))
		}
	}
	all = append(all, optional(terminal.Question{Key: "beat", Text: "Beat", Help: "The stretch of the water, if you name them.", Fallback: beat}, nil))
	for _, q := range []terminal.Question{
		{Key: "date", Text: "Which day", Fallback: "today"},
		{Key: "start", Text: "Began at"}, {Key: "end", Text: "Ended at"},
		{Key: "flow", Text: "Flow"}, {Key: "water-temp", Text: "Water temperature"}, {Key: "clarity", Text: "Clarity"},
	} {
		all = append(all, asEntry(q, sessionEntries(), s.sys))
	}
	return all
}

func (s script) stintQuestions(n int, answers map[string]string) []terminal.Question {
	key := func(k string) string { return stintKey(n, k) }
	all := []terminal.Question{s.rigQuestion(n, answers)}
	ask := func(k, text, fallback string) {
		q := asEntry(terminal.Question{Key: k, Text: text, Fallback: fallback}, stintEntries(), s.sys)
		q.Key = key(k)
		all = append(all, q)
	}
	rig, known := s.known.Rig(answers[key("rig")])
	if !known {
		for _, k := range [][2]string{{"junction", "Junction"}, {"tag", "Tag length as tied"}, {"facing", "Facing"}, {"tippet", "Tippet of the tag"}, {"fly", "Fly on it"}, {"bulk", "Its bulk"}} {
			ask(k[0], k[1], "")
		}
	} else if d := rig.Droppers(); len(d) == 1 && d[0].TagLengthMM != nil {
		ask("tag", "Tag length at the start", units.ExactLength(*d[0].TagLengthMM, s.sys))
	}
	ask("tag-end", "Tag length at the end, if it was cut", "")
	ask("minutes", "Fished for", "")
	ask("stroke", "Stroke", s.lastStroke(n, answers))
	for _, k := range [][2]string{{"landed", "Landed"}, {"lost", "Lost"}, {"broke-off", "Broken off"}, {"foul", "Of all these, hooked foul"}, {"snags", "Snags"}, {"tangles", "Tangles"}} {
		ask(k[0], k[1], "0")
	}
	if some(answers[key("tangles")]) {
		ask("twists", "Of these, twists around the line", "0")
		ask("wind-knots", "Wind knots", "0")
		ask("nests", "Nests", "0")
		ask("minutes-lost", "Minutes lost to all of them", "")
	}
	ask("checks", "Looks at the tag", "0")
	if some(answers[key("checks")]) {
		ask("turns", "Turns around the line in all", "0")
	}
	return all
}

// isNear reports whether a name is so near a known one that it is asked about in the end.
func isNear(name string, known []string) bool {
	_, ok := near.Name(name, known)
	return ok
}

// some reports whether a counted answer is more than none.
func some(answer string) bool {
	n, err := strconv.Atoi(answer)
	return err == nil && n > 0
}

func (s script) lastStroke(n int, answers map[string]string) string {
	if s, ok := answers[stintKey(n-1, "stroke")]; ok {
		return s
	}
	if s.last == nil {
		return ""
	}
	return string(s.last.Stints[len(s.last.Stints)-1].Stroke)
}

// rigQuestion offers the rig of the stint before, and the others by name.
func (s script) rigQuestion(n int, answers map[string]string) terminal.Question {
	q := terminal.Question{Key: stintKey(n, "rig"), Text: "Rig", Fallback: newRig,
		Help: "The rig as tied: a name from the list, new to describe one, or a new name for a new one.\n  " + strings.Join(s.known.RigNames(), "; ")}
	if s.last != nil {
		for _, st := range slices.Backward(s.last.Stints) {
			if name := s.known.Rigs[st.RigID].Name; !slices.Contains(q.Options, name) {
				q.Options = append(q.Options, name)
			}
		}
		q.Fallback = q.Options[0]
	}
	for _, name := range s.known.RigNames() {
		if len(q.Options) < rigsShown && !slices.Contains(q.Options, name) {
			q.Options = append(q.Options, name)
		}
	}
	q.Options = append(q.Options, newRig)
	if before, ok := answers[stintKey(n-1, "rig")]; ok {
		q.Fallback = before
	}
	return required(q)
}

// asEntry gives a question the help and the check of the entry of its key.
func asEntry[T any](q terminal.Question, entries []entry[T], sys units.System) terminal.Question {
	i := slices.IndexFunc(entries, func(f entry[T]) bool { return f.key == q.Key })
	f := entries[i]
	q.Help = "  " + capital(strings.ReplaceAll(f.usage, "`", "")) + "."
	return optional(q, func(answer string) error {
		var scratch T
		return f.set(&scratch, answer, sys)
	})
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

func optional(q terminal.Question, check func(string) error) terminal.Question {
	q.Check = func(answer string) error {
		if check == nil || units.IsBlank(answer) {
			return nil
		}
		return check(answer)
	}
	return q
}

func required(q terminal.Question) terminal.Question {
	q.Check = func(answer string) error {
		if units.IsBlank(answer) {
			return errors.New("this one is needed; type it, or quit")
		}
		return nil
	}
	return q
}

// sure asks whether a name that the journal does not know is meant.
func sure(key, name string) terminal.Question {
	return terminal.Question{Key: key, Text: fmt.Sprintf("%s is new to the journal. Add", name), Help: "yes adds the name; back asks for it again.", Fallback: terminal.Yes,
		Check: func(answer string) error {
			if terminal.IsYes(answer) {
				return nil
			}
			return errors.New("then go back and write the name as it is in the journal: type back")
		}}
}
