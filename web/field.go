package web

import (
	"rigtally/journal"
	"rigtally/prose"
)

// field is an input of a form, ready to be shown.
type field struct {
	Name, Label, Hint string
	Value, Wrong      string
	Type, Mode        string // of the input, and of the keyboard on a phone
	List              string // id of a list of suggestions
	Unit              string // of a number without one, for scripts
	Filled            string // where the value comes from when nobody typed it
}

// input shows a field with what was written and what is wrong with it.
func (f *form) input(name, label, hint string) field {
	return field{Name: name, Label: label, Hint: hint, Value: f.values.Get(name), Wrong: f.wrong(name), Type: "text"}
}

func (x field) typed(kind string) field        { x.Type = kind; return x }
func (x field) keyboard(mode string) field     { x.Mode = mode; return x }
func (x field) suggesting(list string) field   { x.List = list; return x }
func (x field) taken(unit string) field        { x.Hint, x.Unit = unit, unit; return x }
func (f *form) checked(name string) bool       { return f.values.Get(name) != "" }
func (f *form) counter(name, lbl string) field { return f.input(name, lbl, "").keyboard("numeric") }

// tick is a box to tick.
type tick struct {
	Name, Label string
	On          bool
}

func (f *form) tick(name, label string) tick { return tick{name, label, f.checked(name)} }

// choice is a list of which one is chosen.
type choice struct {
	Name, Label, Hint string
	Wrong             string
	Options           []option
	Filled            string // as of a field
}

type option struct {
	Value, Text string
	Selected    bool
}

// choose shows a list with the one chosen that the field holds.
func (f *form) choose(name, label, hint string, options []option) choice {
	now := f.values.Get(name)
	for i := range options {
		options[i].Selected = options[i].Value == now
	}
	return choice{Name: name, Label: label, Hint: hint, Wrong: f.wrong(name), Options: options}
}

// vocabulary offers the journal's words, after one that says nothing.
func vocabulary[T ~string](words []T, none string) []option {
	var list []option
	if none != "" {
		list = append(list, option{Text: none})
	}
	for _, w := range words {
		list = append(list, option{Value: string(w), Text: prose.Capital(string(w))})
	}
	return list
}

// wordsOf lists the journal's words for a condition or the stroke, for pages that are the same for everybody.
func wordsOf(condition string) []string {
	var list []option
	switch condition {
	case "clarity":
		list = vocabulary(journal.Clarities(), "")
	case "wind":
		list = vocabulary(journal.Winds(), "")
	case "stroke":
		list = vocabulary(journal.Strokes(), "")
	case "light":
		list = vocabulary(journal.Lights(), "")
	}
	words := make([]string, len(list))
	for i, o := range list {
		words[i] = o.Value
	}
	return words
}

const notNoted = "Not noted"

// Problems is what is wrong with an entry, for the top of its page.
type problems struct {
	Title string
	List  []fault
}

func (f *form) problems(title string) problems { return problems{title, f.faults} }
