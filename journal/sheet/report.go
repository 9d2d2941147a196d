package sheet

import (
	"cmp"
	"encoding/csv"
	"fmt"
	"io"
	"slices"
	"strings"

	lines "rigtally/internal/table"
	"rigtally/journal/exchange"
	"rigtally/journal/sheet/shape"
)

// Report writes how the file was understood: each column in a table, what was
// settled for the whole file, what was skipped and what can't be taken. Lines keep to
// a width in characters; 0 is without end.
func (s *Sheet) Report(w io.Writer, width int) error { return s.report(w, width, s.Summary()) }

func (s *Sheet) report(w io.Writer, width int, summary string) error {
	var rows [][]string
	for _, c := range s.Columns {
		meaning, unit := cmp.Or(c.Understood, "not understood; ignored"), c.Unit
		if c.Note != "" && c.Note != meaning {
			meaning += " (" + c.Note + ")"
		}
		if c.Ignored() {
			meaning = c.Note
		}
		if len(c.Missing) > 0 {
			meaning += " (not in " + strings.Join(c.Missing, ", ") + ")"
		}
		if c.Chosen && !c.Ignored() {
			meaning += " (as chosen)"
		}
		if c.UnitFrom == "default" && unit != "" {
			unit += " unless a cell names another"
		}
		rows = append(rows, []string{cmp.Or(shown(c.written()), "(no header)"), meaning, unit, strings.Join(c.Samples, " | ")})
	}
	if err := lines.Words("", 4, []string{"Column", "Understood as", "Unit", "Examples"}, rows).WriteText(w, width); err != nil {
		return fmt.Errorf("write the report: %w", err)
	}
	var b strings.Builder
	b.WriteString("\n" + summary + "\n")
	for _, line := range slices.Concat(s.readings(), s.Choices, s.Warnings, s.sayAccepted()) {
		b.WriteString(line + "\n")
	}
	if ignored := s.ignored(); len(ignored) > 0 {
		fmt.Fprintf(&b, "Columns not understood, and ignored: %s.\n", strings.Join(ignored, ", "))
	}
	for _, stop := range s.Stops {
		b.WriteString("To be decided: " + stop.String() + "\n")
	}
	s.listSkipped(&b)
	for _, bad := range s.Bad {
		b.WriteString(bad.String() + "\n")
	}
	if _, err := io.WriteString(w, lines.FoldLines(b.String(), width)); err != nil {
		return fmt.Errorf("write the report: %w", err)
	}
	return nil
}

// Summary counts rows, sessions and stints in a sentence or two.
func (s *Sheet) Summary() string {
	if s.lacking {
		return fmt.Sprintf("%s, of which nothing can be told before what is asked below is said.", exchange.Counted(s.Rows, "row"))
	}
	text := fmt.Sprintf("%s %s in %s.", exchange.Verb(s.Rows-s.BadRows(), "row", "holds", "hold"), exchange.Counted(s.Stints, "stint"), exchange.Counted(s.Sessions, "session"))
	if bad := s.BadRows(); bad > 0 {
		text += fmt.Sprintf(" %s can't be taken.", exchange.Counted(bad, "row"))
	}
	return text
}

// readings tells how each column of counts was taken.
func (s *Sheet) readings() []string {
	var list []string
	for _, c := range s.Columns {
		if c.Reading != nil {
			list = append(list, fmt.Sprintf("%s: %s.", shown(c.written()), c.Reading.sentence(c.Header)))
		}
	}
	return list
}

func (s *Sheet) ignored() []string {
	var list []string
	for i, c := range s.Columns {
		if c.Ignored() && !s.columns[i].left && (c.Header != "" || len(c.Samples) > 0) {
			list = append(list, cmp.Or(shown(c.written()), "one without a header"))
		}
	}
	return list
}

// listSkipped tells of skipped rows by their reason.
func (s *Sheet) listSkipped(b *strings.Builder) {
	var reasons []string
	rows := map[string][]string{}
	for _, skip := range s.Skipped {
		if len(rows[skip.Why]) == 0 {
			reasons = append(reasons, skip.Why)
		}
		rows[skip.Why] = append(rows[skip.Why], atRow(skip.Sheet, skip.Row))
	}
	for _, why := range reasons {
		list := rows[why]
		fmt.Fprintf(b, "Skipped %s, %s (%s).\n", exchange.Counted(len(list), "row"), why, strings.ReplaceAll(shortList(list, ", "), ", row ", ", "))
	}
}

// WriteRejects writes the rows that were kept out under the file's own headers, with a
// column that says why, so that they can be corrected and imported. Of a workbook, all
// sheets have the same. Texts that a spreadsheet program would run are marked, which is taken off as they are read.
func (s *Sheet) WriteRejects(w io.Writer) error {
	out := csv.NewWriter(w)
	out.Comma = rune(s.separator)
	var header []string
	for _, t := range s.tables {
		header = withNames(header, s.common(t))
	}
	problem := slices.IndexFunc(header, func(name string) bool { return s.reader.keyOf(name) == "problem" })
	if problem < 0 {
		problem = len(header)
		header = append(header, "problem")
	}
	write := func(cells []string) error {
		for i, cell := range cells {
			cells[i] = lines.Guard(cell)
		}
		return out.Write(cells)
	}
	if err := write(slices.Clone(header)); err != nil {
		return fmt.Errorf("write the rejected rows: %w", err)
	}
	for _, t := range s.tables {
		why := s.whyRefused(t)
		for _, l := range t.lines {
			reason, bad := why[l.Number]
			if !bad {
				continue
			}
			if err := write(rejected(l, s.common(t), header, problem, reason)); err != nil {
				return fmt.Errorf("write the rejected rows: %w", err)
			}
		}
	}
	out.Flush()
	if err := out.Error(); err != nil {
		return fmt.Errorf("write the rejected rows: %w", err)
	}
	return nil
}

// common are the headers of a table, of columns that it has in common with others as
// these are called.
func (s *Sheet) common(t *table) []string {
	names := slices.Clone(t.header.Names)
	if len(t.parts) == 1 && t.parts[0].width == len(names) {
		for i, at := range t.parts[0].from {
			if at >= 0 && t.parts[0].headers[i] == names[at] {
				names[at] = s.columns[i].Header
			}
		}
	}
	return names
}

// rejected puts a line's cells, which have names, under a header. Those beyond the names
// stay beyond the problem too.
func rejected(l shape.Row, names, header []string, problem int, reason string) []string {
	cells := make([]string, len(header))
	next := map[string]int{} // where to look for a header that comes several times
	for i, name := range names {
		at := next[name] + slices.Index(header[next[name]:], name)
		next[name] = at + 1
		if i < len(l.Cells) {
			cells[at] = l.Cells[i]
		}
	}
	cells[problem] = reason
	return append(cells, l.Cells[min(len(l.Cells), len(names)):]...)
}

// whyRefused tells of the rows of a table that are kept out why, by number.
func (s *Sheet) whyRefused(t *table) map[int]string {
	why := map[int]string{}
	for _, bad := range s.Bad {
		if bad.row.of.table != t {
			continue
		}
		text := bad.Problem + "; " + bad.Remedy
		if bad.Column != "" {
			text = bad.Column + " " + text
		}
		if why[bad.Row] != "" {
			text = why[bad.Row] + ". " + text
		}
		for _, number := range append([]int{bad.Row}, bad.row.others...) {
			why[number] = text
		}
	}
	for _, r := range s.rows {
		if !r.bad || r.of.table != t || r.with == nil {
			continue
		}
		for _, number := range append([]int{r.number}, r.others...) {
			if why[number] == "" {
				why[number] = fmt.Sprintf("good itself, but %s of the same stint or session was not", r.with.at())
			}
		}
	}
	return why
}
