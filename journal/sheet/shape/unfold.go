package shape

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"rigtally/internal/units"
	"rigtally/journal/words"
)

// Cells are a row's cells in the columns of the fold, of one part and shared ones. Of a
// row of totals, those of the parts' own columns add up over the parts.
func (f *Fold) Cells(part int, cells []string) []string {
	row := Row{Cells: cells}
	out := make([]string, len(f.Names))
	for i := range f.Names {
		out[i] = row.cell(f.at(i, part))
	}
	return out
}

// Unfold makes a row of each part of a row that says something: a stint of the session,
// or a fly of the stint. A part says nothing whose cells are blank, or zeros where
// amounts belong. A count or a time that the parts share belongs to a row's only part;
// where a row has several, it is a problem of that row, but for a zero, which each
// gets. Counts that flies share are those of the whole rig, and get a row of their own
// with the position rig; the time is that of the stint, and stands with each fly.
func (f *Fold) Unfold(rows []Row) Table {
	t := Table{Names: f.Names, Notes: []string{f.Says()}}
	zeros := make([]bool, len(f.Names)) // columns of shared counts in which zeros are written
	for i, key := range f.keys {
		zeros[i] = f.Shared(i) && natures[key].is(count) && slices.ContainsFunc(rows, func(r Row) bool { return isZero(r.cell(f.From[i][0])) })
	}
	stint := 0
	for _, r := range rows {
		present := f.present(r)
		if problems := f.check(r, present); len(problems) > 0 {
			t.Problems = append(t.Problems, problems...)
			continue
		}
		if f.Kind == Flies {
			stint++
			f.flies(&t, r, f.withDropper(r, present), stint, zeros)
			continue
		}
		if len(present) == 0 {
			present = []int{0}
		}
		for _, part := range present {
			stint++
			t.Rows = append(t.Rows, Out{Number: r.Number, Part: part, Stint: stint, Cells: f.Cells(part, r.Cells)})
		}
	}
	if idle := f.idle(rows); idle > 0 {
		t.Notes = append(t.Notes, fmt.Sprintf("Where a part has nothing but zeros, it was not fished (%d times).", idle))
	}
	for _, sum := range f.totals {
		t.Notes = append(t.Notes, fmt.Sprintf("%s is the sum of the parts, and left out.", f.written[sum.written]))
	}
	return t
}

// idle counts the parts of rows in which only zeros are written.
func (f *Fold) idle(rows []Row) (n int) {
	for _, r := range rows {
		present := f.present(r)
		for part := range f.Parts {
			zero := false
			for i, at := range f.From {
				zero = zero || !f.Shared(i) && isZero(r.cell(at[part]))
			}
			if zero && len(present) > 0 && !slices.Contains(present, part) {
				n++
			}
		}
	}
	return n
}

// present are the parts of which a row says something. A fly of which there are no
// columns on how it is tied is on every rig.
func (f *Fold) present(r Row) (list []int) {
	for part := range f.Parts {
		there, tied := false, false
		for i, key := range f.keys {
			if at := f.at(i, part); at >= 0 && !f.Shared(i) && !natures[key].is(ofDay) {
				there = there || says(r.cell(at), natures[key])
				tied = tied || natures[key].is(ofFly)
			}
		}
		if there || f.Kind == Flies && !tied {
			list = append(list, part)
		}
	}
	return list
}

// says reports whether a cell says that something was fished.
func says(cell string, is nature) bool {
	if cell == "" || !unicode.IsDigit(rune(cell[0])) && (units.IsBlank(cell) || nothing(cell)) {
		return false
	}
	return is.is(ofFly) && !is.is(measure) || !isZero(cell)
}

// nothing reports whether a cell says that there was none, or that none was counted.
func nothing(cell string) bool {
	t := words.Built()
	return strings.Trim(cell, "? ") == "" || t.None(cell) || t.Unknown(cell) || labelWords().unused[plain(cell)]
}

// isZero reports whether a cell is a zero as written, whatever its unit.
func isZero(cell string) bool {
	cell = strings.TrimSpace(cell)
	return strings.HasPrefix(cell, "0") && !strings.ContainsAny(cell, "123456789")
}

// none reports whether a cell of an amount adds nothing.
func none(cell string) bool { return !says(cell, count) }

// check finds what of a row can't be dealt out to its parts.
func (f *Fold) check(r Row, present []int) (problems []Problem) {
	for i := len(f.written); i < len(r.Cells); i++ {
		if !units.IsBlank(r.Cells[i]) {
			return []Problem{{Row: r.Number, Text: r.Cells[i], What: fmt.Sprintf("is in cell %d, but the header has %d", i+1, len(f.written)),
				Remedy: "put quotation marks around a value that has the separator in it, or give the column a header"}}
		}
	}
	if len(present) > 1 && f.Kind == Rigs {
		ownTime := false
		for i, key := range f.keys {
			ownTime = ownTime || natures[key].is(clock|span) && !f.Shared(i)
		}
		for i, key := range f.keys {
			cell := r.cell(f.at(i, present[0]))
			if !f.Shared(i) || none(cell) || !natures[key].is(count|span) && (key != "end" || ownTime) {
				continue
			}
			problems = append(problems, Problem{Row: r.Number, Header: f.Written(i, 0), Text: cell, What: "is told once for " + f.labels(present) + " together", Remedy: "write it for each of them, or one row for each"})
		}
	}
	for _, sum := range f.totals {
		cell := r.cell(sum.written)
		if none(cell) {
			continue
		}
		want, ok := number(cell)
		got := 0.0
		for part := range f.Parts {
			if c := r.cell(f.From[sum.column][part]); !none(c) {
				n, isNumber := number(c)
				got, ok = got+n, ok && isNumber
			}
		}
		if !ok || want != got {
			problems = append(problems, Problem{Row: r.Number, Header: f.written[sum.written], Text: cell, What: fmt.Sprintf("is not the sum of the %s of %s", f.Names[sum.column], f.labels(nil)), Remedy: "correct one of them, or leave the column out"})
		}
	}
	return problems
}

// labels lists parts, all of them if none are given.
func (f *Fold) labels(parts []int) string {
	var list []string
	for i, p := range f.Parts {
		if parts == nil || slices.Contains(parts, i) {
			list = append(list, p.Label)
		}
	}
	if len(list) < 2 {
		return strings.Join(list, "")
	}
	return strings.Join(list[:len(list)-1], ", ") + " and " + list[len(list)-1]
}

// number reads a plain number.
func number(cell string) (float64, bool) {
	n, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(cell), ",", ".", 1), 64)
	return n, err == nil
}

// withDropper adds the lowest dropper to flies that a row tells of, where it tells how a
// dropper is tied without naming its fly.
func (f *Fold) withDropper(r Row, present []int) []int {
	lowest := -1
	for part := len(f.Parts) - 1; part >= 0; part-- {
		if f.Parts[part].Position != "point" {
			lowest = part
			if slices.Contains(present, part) {
				return present
			}
		}
	}
	for i, key := range f.keys {
		if f.Shared(i) && natures[key].is(ofTag) && says(r.cell(f.From[i][0]), natures[key]) {
			return append([]int{lowest}, present...)
		}
	}
	return present
}

// flies adds the rows of one stint: of each fly, and of the whole rig.
func (f *Fold) flies(t *Table, r Row, present []int, stint int, zeros []bool) {
	whole := len(present) == 0 // something happened that several flies share
	base := f.Cells(0, r.Cells)
	rig := make([]string, len(base))
	for i, key := range f.keys {
		is := natures[key]
		switch {
		case !f.Shared(i) || is.is(ofFly):
		case is.is(count):
			rig[i] = base[i]
			whole = whole || len(present) > 1 && !none(base[i])
		case !is.is(span) || len(present) == 0:
			rig[i] = base[i]
		}
	}
	for _, part := range present {
		cells := f.Cells(part, r.Cells)
		for i, key := range f.keys {
			is := natures[key]
			switch {
			case key == "position":
				cells[i] = f.Parts[part].Position
			case f.Shared(i) && is.is(ofTag) && f.Parts[part].Position == "point":
				cells[i] = ""
			case f.Shared(i) && is.is(count) && whole && !none(cells[i]):
				cells[i] = ""
				if zeros[i] {
					cells[i] = "0"
				}
			}
		}
		t.Rows = append(t.Rows, Out{Number: r.Number, Part: part, Stint: stint, Cells: cells})
	}
	if whole {
		rig[slices.Index(f.keys, "position")] = "rig"
		t.Rows = append(t.Rows, Out{Number: r.Number, Part: 0, Stint: stint, Cells: rig})
	}
}
