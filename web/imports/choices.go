package imports

import (
	"cmp"
	"maps"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal/sheet"
)

// What is chosen of a file stands in fields of its own: f0.dates, and for the columns and names of a file, which are
// many, in fields with a number, beside one that says which is meant: f0.header3 is the header of f0.as3.
const (
	leaveOut = "-"   // of a column
	yes      = "yes" // of a tick
)

// fields of a file's form, by what they are of.
var (
	fileFields   = []string{"dates", "decimal", "units", "ranges", "angler", "water", "day", "accept", "update", "leave"}
	columnFields = []string{"header", "as", "unit", "blank"}
	nameFields   = []string{"kind", "written", "means"}
)

// mostNumbered is more than there are columns or names in a sheet.
const mostNumbered = 400

// chosen keeps of a form what was chosen, and nothing else: fields left as they are, and what stands beside those, are
// dropped, so that equal choices are equal.
func chosen(form url.Values, files int) url.Values {
	kept := url.Values{}
	keep := func(field string) bool {
		text := strings.TrimSpace(form.Get(field))
		if text == "" || len(text) > 1000 {
			return false
		}
		kept.Set(field, text)
		return true
	}
	for i := range files {
		for _, f := range fileFields {
			keep(name(i, f))
		}
		list := form[name(i, "sheet")] // those of a workbook that are read; the others of its own accord are in sheets
		if len(list) > 0 && len(list) <= mostNumbered && !slices.Equal(list, form[name(i, "sheets")]) {
			kept[name(i, "sheet")] = slices.Clone(list)
		}
		for n := range mostNumbered {
			keepNumbered(keep, i, n, columnFields)
			keepNumbered(keep, i, n, nameFields)
		}
	}
	return kept
}

// keepNumbered keeps what was chosen of a column or a name, with what says which it is.
func keepNumbered(keep func(string) bool, file, n int, fields []string) {
	which := 1
	if fields[0] == "kind" {
		which = 2
	}
	any := false
	for _, f := range fields[which:] {
		any = keep(numbered(file, f, n)) || any
	}
	for _, f := range fields[:which] {
		if any {
			keep(numbered(file, f, n))
		}
	}
}

func numbered(file int, field string, n int) string { return name(file, field+strconv.Itoa(n)) }

// same reports whether two persons, or one twice, chose the same.
func same(a, b url.Values) bool { return maps.EqualFunc(a, b, slices.Equal) }

// options says how a file is read.
func options(v url.Values, file int) sheet.Options {
	said := func(field string) string { return v.Get(name(file, field)) }
	o := sheet.Options{Angler: said("angler"), Water: said("water"), Accept: said("accept") == yes, Sheets: v[name(file, "sheet")]}
	if order, err := sheet.ParseDateOrder(said("dates")); err == nil {
		o.Dates = order
	}
	if rule, err := sheet.ParseRangeRule(said("ranges")); err == nil {
		o.Ranges = rule
	}
	switch said("decimal") {
	case "point":
		o.Decimal = units.DecimalPoint
	case "comma":
		o.Decimal = units.DecimalComma
	}
	switch sys := units.System(said("units")); sys {
	case units.US, units.Metric:
		o.Units = sys
	}
	if day := said("day"); day != "" {
		o.Columns = append(o.Columns, sheet.ColumnRule{Header: day, Key: "date"})
	}
	for n := range mostNumbered {
		at := func(field string) string { return v.Get(numbered(file, field, n)) }
		if header := at("header"); header != "" {
			switch as, measured := at("as"), at("unit"); { // the unit's field has the whole key
			case as == leaveOut:
				o.Columns = append(o.Columns, sheet.ColumnRule{Header: header})
			case measured != "" && (as == "" || strings.HasPrefix(measured, as+"_")):
				o.Columns = append(o.Columns, sheet.ColumnRule{Header: header, Key: measured})
			case as != "":
				o.Columns = append(o.Columns, sheet.ColumnRule{Header: header, Key: as})
			}
			if is := sheet.Blank(at("blank")); is == sheet.BlankZero || is == sheet.BlankUnknown {
				o.Blanks = append(o.Blanks, sheet.BlankRule{Header: header, Is: is})
			}
		}
		if written := at("written"); written != "" && at("means") != "" {
			o.Names = append(o.Names, sheet.NameRule{Kind: at("kind"), Written: written, Means: at("means")})
		}
	}
	return o
}

// recall chooses what was chosen the last time.
func recall(v url.Values, file int, last sheet.Remembered) {
	set := func(field, text string) {
		if text != "" {
			v.Set(name(file, field), text)
		}
	}
	set("dates", string(last.Dates))
	set("units", string(last.Units))
	set("ranges", string(last.Ranges))
	set("angler", last.Angler)
	set("water", last.Water)
	set("decimal", map[units.Decimal]string{units.DecimalPoint: "point", units.DecimalComma: "comma"}[last.Decimal])
	if len(last.Sheets) > 0 {
		v[name(file, "sheet")] = slices.Clone(last.Sheets)
	}
	n := map[string]int{}
	at := func(header string) int {
		if _, known := n[header]; !known {
			n[header] = len(n)
			v.Set(numbered(file, "header", n[header]), header)
		}
		return n[header]
	}
	for _, rule := range last.Columns {
		as := fieldOf(rule.Key)
		v.Set(numbered(file, "as", at(rule.Header)), as)
		if as != rule.Key && as != leaveOut {
			v.Set(numbered(file, "unit", at(rule.Header)), rule.Key)
		}
	}
	for _, rule := range last.Blanks {
		v.Set(numbered(file, "blank", at(rule.Header)), string(rule.Is))
	}
}

// fieldOf is what a key of a rule is of, without its unit.
func fieldOf(key string) string {
	if key == "" {
		return leaveOut
	}
	best := ""
	for _, x := range sheet.Fields() {
		if x.Key == key {
			return key
		}
		if strings.HasPrefix(key, x.Key+"_") && len(x.Key) > len(best) {
			best = x.Key
		}
	}
	return cmp.Or(best, key)
}
