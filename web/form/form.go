// Package form reads what people write into the fields of a page, and shows it again with
// what is wrong.
package form

import (
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
)

// Beaten notes a conflict in the form, which keeps what was typed: saved again,
// it goes in the place of what the journal holds by now. It reports whether err is one.
// differs says how that differs from what was sent.
func (f *Form) Beaten(err error, differs func(held any) string) bool {
	var c *journal.Conflict
	if !errors.As(err, &c) {
		return false
	}
	said := "this " + c.What + " changed while you were editing it, so yours is not saved. "
	switch {
	case c.Deleted:
		said = "this " + c.What + " was deleted while you were editing it, so yours is not saved. Bring it back first"
	case c.Held == 0:
		said = "this " + c.What + " was deleted while you were editing it, so yours is not saved. Save it again to put it back as shown below"
		f.Set("version", "")
	default:
		said += differs(c.Stored) + " Save it again to replace it with what is below"
		f.Set("version", strconv.Itoa(c.Held))
	}
	f.Faults = append(f.Faults, Fault{"", Sentence(said)})
	return true
}

// Form is a form as it was written: the texts of its fields and what is wrong
// with them. Reading a field that makes no sense notes a sentence beside it, so
// that a person sees every fault at once and loses nothing that was entered.
type Form struct {
	Values url.Values
	Units  units.System
	Faults []Fault

	asked []asked
}

// Fault is what is wrong with a field, or with the whole entry when Field is "".
type Fault struct{ Field, Text string }

// ErrDamaged says that what came is no form.
var ErrDamaged = errors.New("the form arrived damaged")

// Read takes the fields out of a POST.
func Read(r *http.Request, sys units.System) (*Form, error) {
	if err := r.ParseForm(); err != nil {
		var tooBig *http.MaxBytesError
		if errors.As(err, &tooBig) {
			return nil, err
		}
		return nil, ErrDamaged
	}
	return Of(r.PostForm, sys), nil
}

// New is an empty form.
func New(sys units.System) *Form { return Of(url.Values{}, sys) }

// Of is a form that holds what an address says.
func Of(values url.Values, sys units.System) *Form { return &Form{Values: values, Units: sys} }

// Set fills a field.
func (f *Form) Set(name, value string) { f.Values.Set(name, value) }

// Check ticks a box, or not.
func (f *Form) Check(name string, on bool) {
	if on {
		f.Set(name, "yes")
	}
}

// Text returns a field without the spaces around it, and with line ends as \n.
func (f *Form) Text(name string) string {
	return strings.TrimSpace(strings.ReplaceAll(f.Values.Get(name), "\r\n", "\n"))
}

func (f *Form) Fault(name, text string) {
	f.Faults = append(f.Faults, Fault{name, Sentence(text)})
}

// Refuse notes what the journal says of the whole entry.
func (f *Form) Refuse(invalid *journal.Invalid) {
	for _, text := range Sentences(invalid) {
		f.Faults = append(f.Faults, Fault{"", text})
	}
}

func (f *Form) Wrong(name string) string {
	for _, w := range f.Faults {
		if w.Field == name {
			return w.Text
		}
	}
	return ""
}

// Optional reads a quantity, nil when the field is left blank.
func Optional[T any](f *Form, name string, parse func(string) (T, error)) *T {
	text := f.Text(name)
	if units.IsBlank(text) {
		return nil
	}
	v, err := parse(text)
	if err != nil {
		f.Fault(name, err.Error())
		return nil
	}
	return &v
}

// Filled is the text of a field that must be filled in; otherwise is said when it is blank.
func (f *Form) Filled(name, otherwise string) string {
	text := f.Text(name)
	if text == "" {
		f.Fault(name, otherwise)
	}
	return text
}

// Needed reads a field that must be filled in; otherwise is said when it is blank.
func Needed[T any](f *Form, name, otherwise string, parse func(string) (T, error)) T {
	v := Optional(f, name, parse)
	if v == nil && f.Wrong(name) == "" {
		f.Fault(name, otherwise)
	}
	return Or0(v)
}

// Or is what was noted, or else another value.
func Or[T any](v *T, otherwise T) T {
	if v == nil {
		return otherwise
	}
	return *v
}

// Or0 is what was noted, or the zero value.
func Or0[T any](v *T) (none T) { return Or(v, none) }

// bare returns the unit that a number without one is taken in.
func (f *Form) bare(us, metric units.Unit) units.Unit {
	if f.Units == units.US {
		return us
	}
	return metric
}

// Unit is the symbol of the unit that a number without one is taken in.
func (f *Form) Unit(us, metric units.Unit) string { return f.bare(us, metric).Symbol() }

func (f *Form) ShortLength(name string) *float64 {
	return Optional(f, name, func(s string) (float64, error) {
		return units.Parse(units.Length, s, f.bare(units.Inch, units.Millimetre))
	})
}

func (f *Form) LongLength(name string) *float64 {
	return Optional(f, name, func(s string) (float64, error) {
		return units.Parse(units.Length, s, f.bare(units.Foot, units.Metre))
	})
}

func (f *Form) Fished(name string) *float64 {
	return Optional(f, name, func(s string) (float64, error) { return units.ParseMinutes(s, units.Minute) })
}

func (f *Form) Duration(name string) *int {
	return Optional(f, name, func(s string) (int, error) { return units.ParseDuration(s, units.Minute) })
}

func (f *Form) Whole(name string, high int) *int {
	return Optional(f, name, func(s string) (int, error) {
		n, err := strconv.Atoi(s)
		if err != nil || n < 0 || n > high {
			return 0, errors.New("write a whole number from 0 to " + strconv.Itoa(high))
		}
		return n, nil
	})
}

// Count reads a counter; blank is none.
func (f *Form) Count(name string) int {
	const most = 5000 // as in the journal's rules
	return Or0(f.Whole(name, most))
}

func (f *Form) ID(name string) *journal.ID {
	return Optional(f, name, journal.ParseID)
}

// Version is the version that the form was shown with, 0 when it says none.
func (f *Form) Version() int {
	n, err := strconv.Atoi(f.Text("version"))
	if err != nil {
		return 0
	}
	return n
}

// Sentences writes what is wrong with an entry, one sentence for each problem.
func Sentences(invalid *journal.Invalid) []string {
	list := make([]string, len(invalid.Problems))
	for i, p := range invalid.Problems {
		list[i] = Sentence(p)
	}
	return list
}

// Sentence gives an error's text a capital and a full stop.
func Sentence(text string) string {
	text = strings.TrimSpace(text)
	if text == "" {
		return ""
	}
	first := strings.ToUpper(text[:1]) // a letter beyond ASCII stays as it is
	if text[0] >= 0x80 {
		first = text[:1]
	}
	return first + strings.TrimSuffix(text[1:], ".") + "."
}

// Shown writes what was noted, and nothing as "".
func Shown[T any](v *T, print func(T) string) string {
	if v == nil {
		return ""
	}
	return print(*v)
}

// In writes in the units that people see.
func In[T any](print func(T, units.System) string, sys units.System) func(T) string {
	return func(v T) string { return print(v, sys) }
}
