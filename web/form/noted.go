package form

import (
	"slices"
	"sync"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/field"
)

// Part is a field of the catalogue in a form: an input, a choice or a tick.
type Part struct {
	Key    string
	Field  *Field
	Choice *Choice
	Tick   *Tick
}

// Parts shows fields of the catalogue, each under the name that is made of its own.
func Parts[T any](f *Form, list []field.Field[T], name func(string) string) []Part {
	parts := make([]Part, len(list))
	for i, x := range list {
		parts[i].Key = x.Key
		switch at := name(x.FormName()); x.Kind {
		case field.Truth:
			parts[i].Tick = new(f.Tick(at, x.Over()))
		case field.Chosen:
			parts[i].Choice = new(f.Choose(at, x.Over(), x.Hint, Vocabulary(x.Words, NotNoted)))
		case field.Number:
			parts[i].Field = new(measured(f, x.Description, at))
		case field.Whole:
			parts[i].Field = new(f.Input(at, x.Over(), x.Hint).Keyboard("numeric"))
		default:
			parts[i].Field = new(f.Input(at, x.Over(), x.Hint))
		}
	}
	return parts
}

// measured is an input of a measurement. A length may be a fraction, which the keyboards for numbers lack.
func measured(f *Form, x field.Description, name string) Field {
	in := f.Input(name, x.Over(), x.Hint)
	switch {
	case x.Quantity == units.Duration:
		return in.Keyboard("numeric")
	case x.Fixed != "", x.Quantity == "":
		return in.Keyboard("decimal")
	case x.Quantity == units.Tippet:
		return in
	}
	unit := x.Bare(f.Units).Symbol()
	if x.Quantity != units.Length {
		return in.Taken(unit).Keyboard("decimal")
	}
	in.Hint = unit + x.Hint
	return in
}

// Fill writes what was noted into the form, so that Take reads it as it is.
func Fill[T any](f *Form, list []field.Field[T], v *T, name func(string) string) {
	for _, x := range list {
		text := x.Exact(v, f.Units)
		if x.Quantity == units.Duration {
			text = x.Show(v, f.Units)
		}
		f.Set(name(x.FormName()), text)
	}
}

// Take notes what stands in the form. What can't be read is a fault of the form.
func Take[T any](f *Form, list []field.Field[T], v *T, name func(string) string) {
	for _, x := range list {
		switch at := name(x.FormName()); x.Kind {
		case field.Truth:
			x.Set(v, f.Checked(at))
		case field.Number:
			n := Optional(f, at, func(s string) (float64, error) { return parse(x.Description, s, f.Units) })
			x.Set(v, orNothing(n))
		case field.Whole:
			x.Set(v, orNothing(f.Whole(at, int(x.High))))
		default:
			x.Set(v, f.Text(at))
		}
	}
}

func parse(x field.Description, s string, sys units.System) (float64, error) {
	switch x.Quantity {
	case units.Duration:
		return units.ParseMinutes(s, units.Minute)
	case units.Tippet:
		return units.Parse(units.Tippet, s, "") // a number may be a size or a diameter
	case "":
		return units.ParseNumber(s)
	}
	return units.Parser{}.Parse(x.Quantity, s, x.Bare(sys))
}

func orNothing[T any](v *T) any {
	if v == nil {
		return nil
	}
	return v
}

// Own is the name of a field as it is.
func Own(name string) string { return name }

// Less leaves fields out.
func Less[T any](list []field.Field[T], keys ...string) []field.Field[T] {
	return slices.DeleteFunc(slices.Clone(list), func(x field.Field[T]) bool { return slices.Contains(keys, x.Key) })
}

// Words lists the journal's words for a kind of angler or water, for a condition, the stroke, or what is noted of a pull.
func Words(of string) []string { return vocabularies()[of] }

var vocabularies = sync.OnceValue(func() map[string][]string {
	all := map[string][]string{}
	for _, kind := range journal.AnglerKinds() {
		all["angler"] = append(all["angler"], string(kind))
	}
	for _, kind := range journal.WaterKinds() {
		all["water"] = append(all["water"], string(kind))
	}
	gather(all, journal.SessionFields())
	gather(all, journal.StintFields())
	gather(all, journal.PullFields())
	return all
})

func gather[T any](all map[string][]string, list []field.Field[T]) {
	for _, x := range list {
		all[x.Key] = x.Words
	}
}
