package form

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"time"

	"rigtally/journal"
	"rigtally/prose"
)

// Boxes are boxes to tick of which several may be.
type Boxes struct {
	Name, Label, Wrong string
	List               []Box
}

type Box struct {
	Value, Text string
	On          bool
}

// Ticked makes boxes of which those are ticked that the field holds.
func (f *Form) Ticked(name, label string, list []Option) Boxes {
	b := Boxes{Name: name, Label: label, Wrong: f.Wrong(name)}
	for _, o := range list {
		b.List = append(b.List, Box{o.Value, o.Text, slices.Contains(f.Values[name], o.Value)})
	}
	return b
}

// Field is an input of a form, ready to be shown.
type Field struct {
	Name, Label, Hint string
	Value, Wrong      string
	Type, Mode        string  // of the input, and of the keyboard on a phone
	List              string  // id of a list of suggestions
	Unit              string  // of a number without one, for scripts
	Filled            string  // where the value comes from when nobody typed it
	Asked             *Choice // which of two names is meant, where that was asked
}

// Input shows a field with what was written and what is wrong with it.
func (f *Form) Input(name, label, hint string) Field {
	return Field{Name: name, Label: label, Hint: hint, Value: f.Values.Get(name), Wrong: f.Wrong(name), Type: "text", Asked: f.askedOf(name)}
}

// Typed is the field as a "date" or a "time". What was not understood would vanish from an input of that type, so it stays a text.
func (x Field) Typed(kind string) Field {
	_, err := time.Parse(map[string]string{"date": time.DateOnly, "time": "15:04"}[kind], x.Value)
	if x.Value == "" || err == nil {
		x.Type = kind
	}
	return x
}

func (x Field) Keyboard(mode string) Field { x.Mode = mode; return x }

func (x Field) Suggesting(list string) Field { x.List = list; return x }

func (x Field) Taken(unit string) Field { x.Hint, x.Unit = unit, unit; return x }

func (f *Form) Checked(name string) bool { return f.Values.Get(name) != "" }

func (f *Form) Counter(name, lbl string) Field { return f.Input(name, lbl, "").Keyboard("numeric") }

// Tick is a box to tick.
type Tick struct {
	Name, Label string
	On          bool
}

func (f *Form) Tick(name, label string) Tick { return Tick{name, label, f.Checked(name)} }

// Choice is a list of which one is chosen.
type Choice struct {
	Name, Label, Hint string
	Wrong             string
	Options           []Option
	Filled            string // as of a field
}

type Option struct {
	Value, Text string
	Selected    bool
}

// Choose shows a list with the one chosen that the field holds.
func (f *Form) Choose(name, label, hint string, options []Option) Choice {
	now := f.Values.Get(name)
	for i := range options {
		options[i].Selected = options[i].Value == now
	}
	return Choice{Name: name, Label: label, Hint: hint, Wrong: f.Wrong(name), Options: options}
}

// Vocabulary offers the journal's words, after one that says nothing.
func Vocabulary[T ~string](words []T, none string) []Option {
	return Offer(none, words, func(w T) Option { return Option{Value: string(w), Text: prose.Capital(string(w))} })
}

const NotNoted = "Not noted"

// Offer lists things to choose from, after one that says nothing unless none is "".
func Offer[T any](none string, list []T, option func(T) Option) []Option {
	var options []Option
	if none != "" {
		options = append(options, Option{Text: none})
	}
	for _, x := range list {
		options = append(options, option(x))
	}
	return options
}

// The options of what is chosen from most.

func Angler(a journal.Angler) Option   { return Option{Value: a.ID.String(), Text: a.Name} }
func Water(w journal.Water) Option     { return Option{Value: w.ID.String(), Text: w.Name} }
func Factor(f journal.Factor) Option   { return Option{Value: f.Key, Text: f.Title} }
func Outcome(o journal.Outcome) Option { return Option{Value: o.Key, Text: prose.Measure(o)} }
func Number(n int) Option              { return Option{Value: strconv.Itoa(n), Text: strconv.Itoa(n)} }

// Fishing leaves out anglers who no longer come, but for the one that a field holds.
func (f *Form) Fishing(name string, anglers []journal.Angler) []journal.Angler {
	return slices.DeleteFunc(slices.Clone(anglers), func(a journal.Angler) bool { return !a.Active && a.ID.String() != f.Text(name) })
}

// Problems is what is wrong with an entry, for the top of its page.
type Problems struct {
	Title string
	List  []Fault
}

// Problems says what is wrong under a title, that nothing was saved unless another is given.
func (f *Form) Problems(title ...string) Problems {
	return Problems{cmp.Or(strings.Join(title, ""), "Not saved yet. Please look at:"), f.Faults}
}

// OptionGroup is a titled part of a choice.
type OptionGroup struct {
	Title   string
	Options []Option
}

// Select marks the chosen entry; one that is on no list stays as it was typed.
func Select(list []Option, chosen string) []Option {
	if chosen == "" {
		return list
	}
	i := slices.IndexFunc(list, func(o Option) bool { return o.Value == chosen })
	if i < 0 {
		return append(list, Option{Value: chosen, Text: chosen, Selected: true})
	}
	list[i].Selected = true
	return list
}

// Pairs are options given as value and text in turn.
func Pairs(said ...string) []Option {
	var list []Option
	for pair := range slices.Chunk(said, 2) {
		list = append(list, Option{Value: pair[0], Text: pair[1]})
	}
	return list
}
