package web

import (
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
)

// form is a form as it was written: the texts of its fields and what is wrong
// with them. Reading a field that makes no sense notes a sentence beside it, so
// that a person sees every fault at once and loses nothing that was entered.
type form struct {
	values url.Values
	units  units.System
	faults []fault
}

// fault is what is wrong with a field, or with the whole entry when Field is "".
type fault struct{ Field, Text string }

// errDamaged says that what came is no form.
var errDamaged = errors.New("the form arrived damaged")

// readForm takes the fields out of a POST.
func readForm(r *http.Request, sys units.System) (*form, error) {
	if err := r.ParseForm(); err != nil {
		var tooBig *http.MaxBytesError
		if errors.As(err, &tooBig) {
			return nil, err
		}
		return nil, errDamaged
	}
	return formOf(r.PostForm, sys), nil
}

// newForm is an empty form.
func newForm(sys units.System) *form { return formOf(url.Values{}, sys) }

// formOf is a form that holds what an address says.
func formOf(values url.Values, sys units.System) *form { return &form{values: values, units: sys} }

// set fills a field.
func (f *form) set(name, value string) { f.values.Set(name, value) }

// text returns a field without the spaces around it, and with line ends as \n.
func (f *form) text(name string) string {
	return strings.TrimSpace(strings.ReplaceAll(f.values.Get(name), "\r\n", "\n"))
}

func (f *form) fault(name, text string) {
	f.faults = append(f.faults, fault{name, sentence(text)})
}

// refuse notes what the journal says of the whole entry.
func (f *form) refuse(invalid *journal.Invalid) {
	for _, text := range sentences(invalid) {
		f.faults = append(f.faults, fault{"", text})
	}
}

func (f *form) wrong(name string) string {
	for _, w := range f.faults {
		if w.Field == name {
			return w.Text
		}
	}
	return ""
}

// optional reads a quantity, nil when the field is left blank.
func optional[T any](f *form, name string, parse func(string) (T, error)) *T {
	text := f.text(name)
	if units.IsBlank(text) {
		return nil
	}
	v, err := parse(text)
	if err != nil {
		f.fault(name, err.Error())
		return nil
	}
	return &v
}

// bare returns the unit that a number without one is taken in.
func (f *form) bare(us, metric units.Unit) units.Unit {
	if f.units == units.US {
		return us
	}
	return metric
}

// unit is the symbol of the unit that a number without one is taken in.
func (f *form) unit(us, metric units.Unit) string { return f.bare(us, metric).Symbol() }

func (f *form) shortLength(name string) *float64 {
	return optional(f, name, func(s string) (float64, error) {
		return units.ParseLength(s, f.bare(units.Inch, units.Millimetre))
	})
}

func (f *form) longLength(name string) *float64 {
	return optional(f, name, func(s string) (float64, error) {
		return units.ParseLength(s, f.bare(units.Foot, units.Metre))
	})
}

func (f *form) depth(name string) *float64 {
	return optional(f, name, func(s string) (float64, error) { return units.ParseDepth(s, f.bare(units.Foot, units.Metre)) })
}

func (f *form) speed(name string) *float64 {
	return optional(f, name, func(s string) (float64, error) {
		return units.ParseSpeed(s, f.bare(units.FootPerSecond, units.MetrePerSecond))
	})
}

func (f *form) flow(name string) *float64 {
	return optional(f, name, func(s string) (float64, error) {
		return units.ParseFlow(s, f.bare(units.CubicFootPerSecond, units.CubicMetrePerSecond))
	})
}

func (f *form) temperature(name string) *float64 {
	return optional(f, name, func(s string) (float64, error) {
		return units.ParseTemperature(s, f.bare(units.Fahrenheit, units.Celsius))
	})
}

func (f *form) tippet(name string) *float64 {
	return optional(f, name, func(s string) (float64, error) { return units.ParseTippet(s, "") })
}

func (f *form) fished(name string) *float64 {
	return optional(f, name, func(s string) (float64, error) { return units.ParseMinutes(s, units.Minute) })
}

func (f *form) duration(name string) *int {
	return optional(f, name, func(s string) (int, error) { return units.ParseDuration(s, units.Minute) })
}

func (f *form) whole(name string, high int) *int {
	return optional(f, name, func(s string) (int, error) {
		n, err := strconv.Atoi(s)
		if err != nil || n < 0 || n > high {
			return 0, errors.New("write a whole number from 0 to " + strconv.Itoa(high))
		}
		return n, nil
	})
}

// count reads a counter; blank is none.
func (f *form) count(name string) int {
	const most = 5000 // as in the journal's rules
	if n := f.whole(name, most); n != nil {
		return *n
	}
	return 0
}

func (f *form) id(name string) *journal.ID {
	return optional(f, name, journal.ParseID)
}

// version is the version that the form was shown with, 0 when it says none.
func (f *form) version() int {
	n, err := strconv.Atoi(f.text("version"))
	if err != nil {
		return 0
	}
	return n
}

// sentences writes what is wrong with an entry, one sentence for each problem.
func sentences(invalid *journal.Invalid) []string {
	list := make([]string, len(invalid.Problems))
	for i, p := range invalid.Problems {
		list[i] = sentence(p)
	}
	return list
}

// sentence gives an error's text a capital and a full stop.
func sentence(text string) string {
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
