// Package field says of one thing that can be noted what it is called, which values it can have, and how it is read and written.
package field

import (
	"cmp"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"rigtally/internal/units"
)

// Field is something that can be noted of a T. Everybody who reads, checks, shows or
// writes it goes by this one description.
type Field[T any] struct {
	Description
	Kind
	At func(v *T) any // a pointer to it: a **float64, *float64, **int, *bool, or one to a text
}

// Description says what a field is.
type Description struct {
	Key      string         // as in the flat CSV, its unit aside: tag_length
	JSON     string         // as in JSON and the tables, where that is not Column
	Quantity units.Quantity // of a measurement
	Words    []string       // of a vocabulary, in its order
	Asked    bool           // questions can ask by it
	Zero     bool           // of a length or time: it may be nothing at all
	Low      float64        // of a number, in the unit it is stored in
	High     float64        // the same; of a text: most letters
	Wrong    string         // what is said of a number that can't be, if not the usual: %[1]v of %[2]s
	Subject  string         // in such a sentence, if it is not its noun; %s for what it is of
	Noun     string         // in a sentence: "the tag length as tied"; "" if sheets don't tell it
	Says     string         // what the column of the flat CSV tells; "" if there is none
	Label    string         // beside its value
	Asks     string         // over it in a form, if that is another
	Hint     string         // beside the label
	Form     string         // its name in forms, if not the key
	Flag     string         // of "rigtally log", if not the key
	Usage    string         // of that flag, with the name of the value in backquotes; "" if there is none
	Told     string         // in a list of what was noted, %s for the value: "flow %s"; "" if it is told otherwise
	Fixed    units.Unit     // that a bare number is in, whatever units people see
	Long     bool           // a length that people know in feet and meters
}

// Of is a field that stands somewhere in a T.
func Of[T any](at func(*T) any, d Description) Field[T] {
	of := reflect.TypeOf(at(new(T))).Elem()
	if of.Kind() == reflect.Pointer {
		of = of.Elem()
	}
	f := Field[T]{d, Text, at}
	switch {
	case of.Kind() == reflect.Float64:
		f.Kind = Number
	case of.Kind() == reflect.Int:
		f.Kind = Whole
	case of.Kind() == reflect.Bool:
		f.Kind = Truth
	case d.Words != nil:
		f.Kind = Chosen
	}
	return f
}

// In is a field of a part of a T.
func In[T, P any](f Field[P], part func(*T) *P) Field[T] {
	return Field[T]{f.Description, f.Kind, func(v *T) any { return f.At(part(v)) }}
}

// AllIn are fields of a part of a T.
func AllIn[T, P any](list []Field[P], part func(*T) *P) []Field[T] {
	all := make([]Field[T], len(list))
	for i, f := range list {
		all[i] = In(f, part)
	}
	return all
}

// Kind is what sort of value a field has.
type Kind int

// The kinds of values.
const (
	Text   Kind = iota // of one's own words
	Chosen             // a word of a vocabulary
	Number             // a measurement
	Whole              // a whole number
	Truth              // whether something was so
)

// Words are the words of a vocabulary.
func Words[W ~string](list []W) []string {
	words := make([]string, len(list))
	for i, w := range list {
		words[i] = string(w)
	}
	return words
}

// Column is the field's name with its unit, as in JSON and in the flat CSV.
func (f Description) Column() string { return f.Key + suffixes[f.Quantity] }

// Name is the field's name in JSON and in the tables.
func (f Description) Name() string { return cmp.Or(f.JSON, f.Column()) }

// FormName is the field's name in forms.
func (f Description) FormName() string { return cmp.Or(f.Form, strings.ReplaceAll(f.Key, "_", "-")) }

// Over is what stands over the field in a form.
func (f Description) Over() string { return cmp.Or(f.Asks, f.Label) }

// FlagName is the field's name on the command line.
func (f Description) FlagName() string { return cmp.Or(f.Flag, strings.ReplaceAll(f.Key, "_", "-")) }

var suffixes = map[units.Quantity]string{units.Length: "_mm", units.Tippet: "_mm", units.Depth: "_m", units.Flow: "_m3s", units.Speed: "_ms",
	units.Temperature: "_c", units.Force: "_n"}

// Bare is the unit that a number without one is in, for people who see a system of units.
func (f Description) Bare(sys units.System) units.Unit {
	switch {
	case f.Fixed != "":
		return f.Fixed
	case f.Long && sys == units.US:
		return units.Foot
	case f.Long:
		return units.Metre
	}
	return units.Bare(f.Quantity, sys)
}

// Show writes the value for people, "" if it was not noted.
func (f Field[T]) Show(v *T, sys units.System) string { return f.show(v, sys, units.Format) }

// Exact writes the value for a form, so that it is read back as it is.
func (f Field[T]) Exact(v *T, sys units.System) string { return f.show(v, sys, units.Exact) }

func (f Field[T]) show(v *T, sys units.System, format func(units.Quantity, float64, units.System) string) string {
	if f.Fixed == units.Millimetre {
		sys = units.Metric
	}
	if n, ok := f.Get(v).(float64); ok && f.Quantity != "" {
		return format(f.Quantity, n, sys)
	}
	return f.String(v)
}

func (f Field[T]) value(v *T) reflect.Value { return reflect.ValueOf(f.At(v)).Elem() }

// Noted reports whether anything was noted.
func (f Field[T]) Noted(v *T) bool { return !f.value(v).IsZero() }

// Get is what was noted, a float64, an int, a string or true, and nil for nothing.
func (f Field[T]) Get(v *T) any {
	switch value := reflect.Indirect(f.value(v)); {
	case !f.Noted(v):
		return nil
	case value.CanFloat():
		return value.Float()
	case value.CanInt():
		return int(value.Int())
	case value.Kind() == reflect.Bool:
		return true
	default:
		return value.String()
	}
}

// String writes what was noted in the unit that it is stored in, "" for nothing.
func (f Field[T]) String(v *T) string {
	switch value := f.Get(v).(type) {
	case float64:
		return strconv.FormatFloat(value, 'f', -1, 64)
	case nil:
		return ""
	case bool:
		return "yes"
	default:
		return fmt.Sprint(value)
	}
}

// Set notes a float64, an int, a string or a truth, or what one of those points to; nil is nothing.
func (f Field[T]) Set(v *T, value any) {
	at := f.value(v)
	if value == nil {
		at.SetZero()
		return
	}
	from := reflect.ValueOf(value)
	if from.Type() == at.Type() {
		at.Set(from)
		return
	}
	if at.Kind() == reflect.Pointer {
		at.Set(reflect.New(at.Type().Elem()))
		at = at.Elem()
	}
	at.Set(reflect.Indirect(from).Convert(at.Type()))
}

// Take notes what another says.
func (f Field[T]) Take(v, from *T) { f.value(v).Set(f.value(from)) }

// Same reports whether two say the same.
func (f Field[T]) Same(a, b *T) bool {
	return f.Noted(a) == f.Noted(b) && (!f.Noted(a) || reflect.Indirect(f.value(a)).Equal(reflect.Indirect(f.value(b))))
}

// Problem says what is wrong with the value noted of something, "" if nothing is.
func (f Field[T]) Problem(v *T, of string) string {
	switch value := f.Get(v).(type) {
	case string:
		if f.Words != nil && !slices.Contains(f.Words, value) {
			return fmt.Sprintf("%s %q is not known; write one of: %s", f.subject(of), value, strings.Join(f.Words, ", "))
		}
		return f.textProblem(value, of)
	case int:
		if float64(value) < f.Low || float64(value) > f.High {
			return fmt.Sprintf(f.Wrong, value, of)
		}
	case float64:
		return f.numberProblem(value, of)
	}
	return ""
}

func (f Description) textProblem(value, of string) string {
	switch {
	case f.Words != nil:
	case float64(len(value)) > f.High:
		return fmt.Sprintf("%s is longer than %g letters; shorten it", f.subject(of), f.High)
	case strings.ContainsRune(value, 0):
		return f.subject(of) + " holds a zero byte; type it again"
	}
	return ""
}

func (f Description) numberProblem(v float64, of string) string {
	unit := units.Kept(f.Quantity).Symbol()
	switch {
	case f.Possible(v):
		return ""
	case f.Wrong != "":
		return fmt.Sprintf(f.Wrong, v, of)
	case f.fromNothing():
		return fmt.Sprintf("%s of %g %s can't be; it must be above 0 and at most %g %s (leave it out if it was not noted)", f.subject(of), v, unit, f.High, unit)
	}
	return fmt.Sprintf("%s of %g %s can't be right; it must be between %g and %g %s", f.subject(of), v, unit, f.Low, f.High, unit)
}

// Possible reports whether a number can be.
func (f Description) Possible(v float64) bool {
	return !math.IsNaN(v) && v >= f.Low && v <= f.High && !(v == 0 && f.fromNothing())
}

// fromNothing reports whether nothing at all is the same as not noted.
func (f Description) fromNothing() bool {
	return !f.Zero && (f.Quantity == units.Length || f.Quantity == units.Tippet || f.Quantity == units.Duration)
}

// subject begins what is said of a value: "hang of the point fly".
func (f Description) subject(of string) string {
	subject := cmp.Or(f.Subject, f.Noun)
	if f.Words != nil {
		subject = cmp.Or(f.Subject, f.Key)
	}
	switch {
	case strings.Contains(subject, "%s"):
		return fmt.Sprintf(subject, of)
	case of == "" || f.Words == nil && f.Quantity == "":
		return subject
	}
	return subject + " of " + of
}

// Tell says for people what was noted of something: in phrases, those of some keys first.
func Tell[T any](list []Field[T], v *T, sys units.System, first ...string) []string {
	var told []string
	for _, f := range Ranked(slices.Clone(list), func(f Field[T]) string { return f.Key }, first) {
		if text := f.Show(v, sys); f.Told != "" && text != "" {
			told = append(told, strings.Replace(f.Told, "%s", text, 1))
		}
	}
	return told
}

// By finds a field by its key.
func By[T any](list []Field[T], key string) Field[T] {
	i := slices.IndexFunc(list, func(f Field[T]) bool { return f.Key == key })
	return list[i]
}

// Ranked puts things in the order of some keys, others behind.
func Ranked[E any](list []E, key func(E) string, keys []string) []E {
	rank := func(e E) int {
		if i := slices.Index(keys, key(e)); i >= 0 {
			return i
		}
		return len(keys)
	}
	slices.SortStableFunc(list, func(a, b E) int { return cmp.Compare(rank(a), rank(b)) })
	return list
}
