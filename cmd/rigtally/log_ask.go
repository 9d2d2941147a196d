package main

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
)

const (
	newRig    = "new"
	yes, no   = "yes", "no"
	rigsShown = 8
)

// inquiry asks for one session, with what the last one was as the default.
type inquiry struct {
	pl   planner
	last *journal.Session // nil in an empty journal
}

// formOf sorts the answers into a form. A stint's keys begin with its number.
func formOf(answers map[string]string) form {
	told := form{session: map[string]string{}, stints: []map[string]string{{}}}
	for n := 2; isYes(answers[stintKey(n-1, "more")]); n++ {
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

func (in inquiry) questions(answers map[string]string) []question {
	all := in.sessionQuestions(answers)
	for n := 1; ; n++ {
		all = append(all, in.stintQuestions(n, answers)...)
		more := yesNo(stintKey(n, "more"), "Another stint, with another rig", "A stint is a time fished with one rig as tied. yes asks about the next one.", no)
		if all = append(all, more); !isYes(answers[more.key]) {
			break
		}
	}
	return append(all, optional(question{key: "notes", text: "Notes on the session", help: "Anything worth remembering."}, nil))
}

func (in inquiry) sessionQuestions(answers map[string]string) []question {
	n := in.pl.names
	angler, water, beat := "", "", ""
	if in.last != nil {
		angler, water = n.anglers[in.last.AnglerID].Name, n.waters[in.last.WaterID].Name
		if in.last.BeatID != nil && (answers["water"] == "" || strings.EqualFold(answers["water"], water)) {
			beat = n.beat(in.last.WaterID, *in.last.BeatID)
		}
	}
	all := []question{required(question{key: "angler", text: "Who fished", help: "The angler's name.", options: n.anglerNames(), fallback: angler})}
	if name := answers["angler"]; name != "" {
		if _, known := n.angler(name); !known {
			all = append(all, sure("angler-new", name))
		}
	}
	all = append(all, required(question{key: "water", text: "On which water", help: "The name of the river or lake.", options: n.waterNames(), fallback: water}))
	if name := answers["water"]; name != "" {
		if _, known := n.water(name); !known {
			all = append(all, sure("water-new", name))
		}
	}
	all = append(all, optional(question{key: "beat", text: "Beat", help: "The stretch of the water, if you name them.", fallback: beat}, nil))
	for _, q := range []question{
		{key: "date", text: "Which day", fallback: "today"},
		{key: "start", text: "Began at"}, {key: "end", text: "Ended at"},
		{key: "flow", text: "Flow"}, {key: "water-temp", text: "Water temperature"}, {key: "clarity", text: "Clarity"},
	} {
		all = append(all, asField(q, sessionFields(journal.DateOf(in.pl.now)), in.pl.sys))
	}
	return all
}

func (in inquiry) stintQuestions(n int, answers map[string]string) []question {
	key := func(k string) string { return stintKey(n, k) }
	all := []question{in.rigQuestion(n, answers)}
	ask := func(k, text, fallback string) {
		q := asField(question{key: k, text: text, fallback: fallback}, allStintFields(), in.pl.sys)
		q.key = key(k)
		all = append(all, q)
	}
	rig, known := in.pl.names.rig(answers[key("rig")])
	if !known {
		for _, k := range [][2]string{{"junction", "Junction"}, {"tag", "Tag length as tied"}, {"facing", "Facing"}, {"tippet", "Tippet of the tag"}, {"fly", "Fly on it"}, {"bulk", "Its bulk"}} {
			ask(k[0], k[1], "")
		}
	} else if d := rig.Droppers(); len(d) == 1 && d[0].TagLengthMM != nil {
		ask("tag", "Tag length at the start", units.ExactLength(*d[0].TagLengthMM, in.pl.sys))
	}
	ask("tag-end", "Tag length at the end, if it was cut", "")
	ask("minutes", "Fished for", "")
	ask("stroke", "Stroke", in.lastStroke(n, answers))
	for _, k := range [][2]string{{"landed", "Landed"}, {"lost", "Lost"}, {"broke-off", "Broken off"}, {"foul", "Of all these, hooked foul"}, {"snags", "Snags"}, {"tangles", "Tangles"}} {
		ask(k[0], k[1], "0")
	}
	if some(answers[key("tangles")]) {
		ask("twists", "Of these, twists round the line", "0")
		ask("wind-knots", "Wind knots", "0")
		ask("nests", "Nests", "0")
		ask("minutes-lost", "Minutes lost to all of them", "")
	}
	ask("checks", "Looks at the tag", "0")
	if some(answers[key("checks")]) {
		ask("turns", "Turns round the line in all", "0")
	}
	return all
}

// some reports whether a counted answer is more than none.
func some(answer string) bool {
	n, err := strconv.Atoi(answer)
	return err == nil && n > 0
}

func (in inquiry) lastStroke(n int, answers map[string]string) string {
	if s, ok := answers[stintKey(n-1, "stroke")]; ok {
		return s
	}
	if in.last == nil {
		return ""
	}
	return string(in.last.Stints[len(in.last.Stints)-1].Stroke)
}

// rigQuestion offers the rig of the stint before, and the others by name.
func (in inquiry) rigQuestion(n int, answers map[string]string) question {
	q := question{key: stintKey(n, "rig"), text: "Rig", fallback: newRig,
		help: "The rig as tied: a name from the list, new to describe one, or a name of its own for a new one.\n  " + strings.Join(in.pl.names.rigNames(), "; ")}
	if in.last != nil {
		for _, st := range slices.Backward(in.last.Stints) {
			if name := in.pl.names.rigs[st.RigID].Name; !slices.Contains(q.options, name) {
				q.options = append(q.options, name)
			}
		}
		q.fallback = q.options[0]
	}
	for _, name := range in.pl.names.rigNames() {
		if len(q.options) < rigsShown && !slices.Contains(q.options, name) {
			q.options = append(q.options, name)
		}
	}
	q.options = append(q.options, newRig)
	if before, ok := answers[stintKey(n-1, "rig")]; ok {
		q.fallback = before
	}
	return required(q)
}

// asField gives a question the help and the check of the field of its key.
func asField[T any](q question, fields []field[T], sys units.System) question {
	i := slices.IndexFunc(fields, func(f field[T]) bool { return f.key == q.key })
	f := fields[i]
	q.help = "  " + capital(strings.ReplaceAll(f.usage, "`", "")) + "."
	return optional(q, func(answer string) error {
		var scratch T
		return f.set(&scratch, answer, sys)
	})
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

func optional(q question, check func(string) error) question {
	q.check = func(answer string) error {
		if check == nil || units.IsBlank(answer) {
			return nil
		}
		return check(answer)
	}
	return q
}

func required(q question) question {
	q.check = func(answer string) error {
		if units.IsBlank(answer) {
			return errors.New("this one is needed; type it, or quit")
		}
		return nil
	}
	return q
}

// sure asks whether a name that the journal does not know is meant.
func sure(key, name string) question {
	return question{key: key, text: fmt.Sprintf("%s is new to the journal. Add", name), help: "yes adds the name; back asks for it again.", fallback: yes,
		check: func(answer string) error {
			if isYes(answer) {
				return nil
			}
			return errors.New("then go back and write the name as the journal knows it: type back")
		}}
}

func yesNo(key, text, help, fallback string) question {
	return question{key: key, text: text, help: "  " + help, fallback: fallback, check: func(answer string) error {
		if isYes(answer) || slices.Contains([]string{"n", no}, strings.ToLower(answer)) {
			return nil
		}
		return errors.New("answer yes or no")
	}}
}

func isYes(answer string) bool {
	return slices.Contains([]string{"y", yes}, strings.ToLower(answer))
}
