package web

import (
	"strconv"
	"strings"

	"rigtally/analytics/plan"
	"rigtally/journal"
)

// usualPrefix starts the name of the hidden field that keeps what was filled in
// for another field, so that what a person typed is never written over.
const usualPrefix = "usual."

// isUsual reports whether a field still holds what was filled in for the person.
func (f *form) isUsual(name string) bool {
	filled := f.text(usualPrefix + name)
	return filled != "" && filled == f.text(name)
}

// fillUsual fills in what is usual for the form's method, where nothing stands
// or only what was filled in before.
func (f *form) fillUsual() {
	droppers := max(f.flies()-1, 0)
	from := newForm(f.units)
	from.fillRig(plan.UsualRig(journal.Method(f.text("method")), droppers, f.units))
	for name := range from.values {
		if name == "name" || name == "method" || name == "notes" || strings.HasSuffix(name, ".position") {
			continue
		}
		usual := from.text(name)
		blank, filled := f.text(name) == "", f.isUsual(name)
		f.values.Del(usualPrefix + name)
		if !blank && !filled || f.offTag(name) {
			continue
		}
		f.set(name, usual)
		if usual != "" {
			f.set(usualPrefix+name, usual)
		}
	}
}

// offTag reports whether a field is about the tag of a fly that a person hung in line.
func (f *form) offTag(name string) bool {
	for _, of := range []string{".junction", ".facing", ".prop", ".tag"} {
		if fly, ok := strings.CutSuffix(name, of); ok {
			hang := f.text(fly + ".hang")
			return hang != "" && hang != string(journal.HangTag) && !f.isUsual(fly+".hang")
		}
	}
	return false
}

// hasUsual reports whether anything in the form was filled in for the person.
func (f *form) hasUsual() bool {
	for name := range f.values {
		if field, ok := strings.CutPrefix(name, usualPrefix); ok && f.isUsual(field) {
			return true
		}
	}
	return false
}

// usualFields are the hidden fields of what was filled in.
func (f *form) usualFields(names []string) []field {
	var list []field
	for _, name := range names {
		if f.isUsual(name) {
			list = append(list, f.input(usualPrefix+name, "", ""))
		}
	}
	return list
}

// filledField and filledChoice say of a field that it was filled in.
func (f *form) filledField(x field) field {
	x.Filled = f.filled(x.Name)
	return x
}

func (f *form) filledChoice(x choice) choice {
	x.Filled = f.filled(x.Name)
	return x
}

func (f *form) filled(name string) string {
	if f.isUsual(name) {
		return string(plan.FromPractice)
	}
	return ""
}

// filledNames are the fields that may be filled in, for so many flies.
func filledNames(flies int) []string {
	names := []string{"rod", "leader", "sighter", "swivel", "tippet"}
	for i := range flies {
		for _, of := range []string{"hang", "junction", "facing", "prop", "tag", "distance", "tippet", "material"} {
			names = append(names, "fly."+strconv.Itoa(i)+"."+of)
		}
	}
	return names
}
