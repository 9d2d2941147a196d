package form

import (
	"fmt"

	"rigtally/journal/near"
)

// meantName is the field that says which of two names is meant: the one that was written, or the known one near it.
func meantName(name string) string { return name + ".meant" }

// Meant is the name that a field means. A new one near a known one is a fault of the form, beside which both are
// offered, until somebody has said which of them is meant.
func (f *Form) Meant(name string, known []string) string {
	text := f.Text(name)
	other, ok := near.Name(text, known)
	if !ok {
		return text
	}
	switch f.Text(meantName(name)) {
	case text: // the answer is to this name: another one is asked about anew
		return text
	case other:
		f.Set(name, other)
		f.Values.Del(meantName(name))
		return other
	}
	f.asked = append(f.asked, asked{name, text, other})
	f.Fault(name, fmt.Sprintf("“%s” is not in this journal, but “%s” is; say which one you mean", text, other))
	return text
}

// asked is a question that a form asks: was the known name meant by a new one?
type asked struct{ field, written, known string }

// askedOf are the answers to the question beside a field, nil where nothing was asked.
func (f *Form) askedOf(name string) *Choice {
	for _, q := range f.asked {
		if q.field == name {
			return &Choice{Name: meantName(name), Label: "Which one?", Options: Pairs(q.known, q.known, q.written, q.written+" is new")}
		}
	}
	if text := f.Text(meantName(name)); text != "" && text == f.Text(name) { // was answered; the form may come back for another fault
		return &Choice{Name: meantName(name), Label: "Which one?", Options: []Option{{Value: text, Text: text + " is new", Selected: true}}}
	}
	return nil
}
