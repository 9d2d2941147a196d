package form

import (
	"rigtally/internal/units"
	"rigtally/journal/field"
)

// Fill writes what was noted of something into the fields that the catalogue has of it, so
// that Take reads the same. name makes the name of a field in this form.
func Fill[T any](f *Form, name func(string) string, fields []field.Field[T], of *T) {
	for _, d := range fields {
		f.Set(name(d.FormName()), d.Exact(of, f.Units))
	}
}

// Take reads the fields that the catalogue has of something.
func Take[T any](f *Form, name func(string) string, fields []field.Field[T], of *T) {
	for _, d := range fields {
		at := name(d.FormName())
		switch d.Kind {
		case field.Number:
			note(d, of, f.quantity(at, d.Description))
		case field.Whole:
			note(d, of, f.Whole(at, int(d.High)))
		case field.Truth:
			d.Set(of, f.Checked(at))
		default:
			d.Set(of, f.Text(at))
		}
	}
}

func note[T, V any](d field.Field[T], of *T, v *V) {
	if v == nil {
		d.Set(of, nil)
	} else {
		d.Set(of, *v)
	}
}

// quantity reads a measurement, a time to the second.
func (f *Form) quantity(name string, d field.Description) *float64 {
	switch d.Quantity {
	case units.Duration:
		return f.Fished(name)
	case units.Tippet:
		return f.Tippet(name)
	}
	return Optional(f, name, func(s string) (float64, error) { return units.Parser{}.Parse(d.Quantity, s, d.Bare(f.Units)) })
}

// Plain leaves the name of a field as it is.
func Plain(name string) string { return name }
