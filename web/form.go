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
	values      url.Values
	units       units.System
	faults      []fault
	stored      journal.ID // what the journal holds instead of this entry, after a conflict
	anewOffered bool       // whether it may be stored beside what it conflicts with
	read        []string   // what was read off the clock: readNight, readClock
	doubtful    bool       // whether all that stands against it are doubts, which the person may confirm
}

// fault is what is wrong with a field, or with the whole entry when Field is "".
type fault struct{ Field, Text string }

// readForm takes the fields out of a POST.
func readForm(r *http.Request, sys units.System) (*form, error) {
	if err := r.ParseForm(); err != nil {
		var tooBig *http.MaxBytesError
		if errors.As(err, &tooBig) {
			return nil, err
		}
		return nil, &refusal{http.StatusBadRequest, "That could not be read", "The form arrived damaged, so nothing was saved. Go back and send it again."}
	}
	return &form{values: r.PostForm, units: sys}, nil
}

func newForm(sys units.System) *form { return &form{values: url.Values{}, units: sys} }

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
