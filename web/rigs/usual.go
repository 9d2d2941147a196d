package rigs

import (
	"strconv"
	"strings"

	"rigtally/analytics/plan"
	"rigtally/journal"
	"rigtally/web/form"
)

// usualPrefix starts the name of the hidden field that keeps what was filled in
// for another field, so that what a person typed is never written over.
const usualPrefix = "usual."

// isUsual reports whether a field still holds what was filled in for the person.
func isUsual(f *form.Form, name string) bool {
	filled := f.Text(usualPrefix + name)
	return filled != "" && filled == f.Text(name)
}

// fillUsual fills in what is usual for the form's method, where nothing stands
// or only what was filled in before.
func fillUsual(f *form.Form) {
	droppers := max(flies(f)-1, 0)
	from := form.New(f.Units)
	fillRig(from, plan.UsualRig(journal.Method(f.Text("method")), droppers, f.Units))
	for name := range from.Values {
		if name == "name" || name == "method" || name == "notes" || strings.HasSuffix(name, ".position") {
			continue
		}
		usual := from.Text(name)
		blank, filled := f.Text(name) == "", isUsual(f, name)
		f.Values.Del(usualPrefix + name)
		if !blank && !filled || offTag(f, name) {
			continue
		}
		f.Set(name, usual)
		if usual != "" {
			f.Set(usualPrefix+name, usual)
		}
	}
}

// offTag reports whether a field is about the tag of a fly that a person hung in line.
func offTag(f *form.Form, name string) bool {
	for _, of := range []string{".junction", ".facing", ".prop", ".tag"} {
		if fly, ok := strings.CutSuffix(name, of); ok {
			hang := f.Text(fly + ".hang")
			return hang != "" && hang != string(journal.HangTag) && !isUsual(f, fly+".hang")
		}
	}
	return false
}

// hasUsual reports whether anything in the form was filled in for the person.
func hasUsual(f *form.Form) bool {
	for name := range f.Values {
		if field, ok := strings.CutPrefix(name, usualPrefix); ok && isUsual(f, field) {
			return true
		}
	}
	return false
}

// usualFields are the hidden fields of what was filled in.
func usualFields(f *form.Form, names []string) []form.Field {
	var list []form.Field
	for _, name := range names {
		if isUsual(f, name) {
			list = append(list, f.Input(usualPrefix+name, "", ""))
		}
	}
	return list
}

// filledField and filledChoice say of a field that it was filled in.
// filledParts marks what was filled in, and not typed.
func filledParts(f *form.Form, parts []form.Part) []form.Part {
	for _, p := range parts {
		switch {
		case p.Field != nil:
			p.Field.Filled = filled(f, p.Field.Name)
		case p.Choice != nil:
			p.Choice.Filled = filled(f, p.Choice.Name)
		}
	}
	return parts
}

func filled(f *form.Form, name string) string {
	if isUsual(f, name) {
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
