package sheet

import (
	"cmp"
	"encoding/csv"
	"fmt"
	"io"
	"slices"
	"strings"
	"text/tabwriter"

	"rigtally/journal/exchange"
)

// Report writes how the file was understood: each column in a table, what was
// settled for the whole file, what was skipped and what can't be taken.
func (s *Sheet) Report(w io.Writer) error { return s.report(w, s.Summary()) }

func (s *Sheet) report(w io.Writer, summary string) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "COLUMN\tUNDERSTOOD AS\tUNIT\tEXAMPLES")
	for _, c := range s.Columns {
		meaning, unit := cmp.Or(c.Understood, "not understood; ignored"), c.Unit
		if c.Note != "" && c.Note != meaning {
			meaning += " (" + c.Note + ")"
		}
		if c.Ignored() {
			meaning = c.Note
		}
		if c.UnitFrom == "default" && unit != "" {
			unit += " unless a cell names another"
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\n", cmp.Or(shown(c.Header), "(no header)"), meaning, unit, strings.Join(c.Samples, " | "))
	}
	if err := t.Flush(); err != nil {
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
	s.listSkipped(&b)
	for _, bad := range s.Bad {
		b.WriteString(bad.String() + "\n")
	}
	if _, err := io.WriteString(w, b.String()); err != nil {
		return fmt.Errorf("write the report: %w", err)
	}
	return nil
}

// Summary counts rows, sessions and stints in a sentence or two.
func (s *Sheet) Summary() string {
	text := fmt.Sprintf("%s hold %s in %s.", exchange.Counted(s.Rows-s.BadRows(), "row"), exchange.Counted(s.Stints, "stint"), exchange.Counted(s.Sessions, "session"))
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
			list = append(list, fmt.Sprintf("%s: %s.", shown(c.Header), c.Reading.sentence(c.Header)))
		}
	}
	return list
}

func (s *Sheet) ignored() []string {
	var list []string
	for _, c := range s.Columns {
		if c.Ignored() && (c.Header != "" || len(c.Samples) > 0) {
			list = append(list, cmp.Or(shown(c.Header), "one without a header"))
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
		rows[skip.Why] = append(rows[skip.Why], fmt.Sprint(skip.Row))
	}
	for _, why := range reasons {
		const most = 12
		list := rows[why]
		text := strings.Join(list[:min(most, len(list))], ", ")
		if len(list) > most {
			text += ", …"
		}
		fmt.Fprintf(b, "Skipped %s, %s (row %s).\n", exchange.Counted(len(list), "row"), why, text)
	}
}

// WriteRejects writes the rows that were kept out under the file's own header,
// with a last column that says why, so that they can be corrected and imported.
func (s *Sheet) WriteRejects(w io.Writer) error {
	out := csv.NewWriter(w)
	out.Comma = rune(s.separator)
	problem, _ := s.find("problem")
	header := make([]string, 0, len(s.columns)+1)
	for _, c := range s.columns {
		header = append(header, c.Header)
	}
	if problem == len(header) {
		header = append(header, "problem")
	}
	why := map[int][]string{}
	for _, bad := range s.Bad {
		text := bad.Problem + "; " + bad.Remedy
		if bad.Column != "" {
			text = bad.Column + " " + text
		}
		why[bad.Row] = append(why[bad.Row], text)
	}
	if err := out.Write(header); err != nil {
		return fmt.Errorf("write the rejected rows: %w", err)
	}
	for _, r := range s.rows {
		if !r.bad {
			continue
		}
		// Cells beyond the header stay beyond the problem too.
		cells := slices.Clone(r.cells)
		for len(cells) < len(header) {
			cells = append(cells, "")
		}
		if problem == len(s.columns) && len(r.cells) > problem {
			cells = slices.Insert(slices.Clone(r.cells), problem, "")
		}
		cells[problem] = strings.Join(why[r.number], ". ")
		if r.with > 0 {
			cells[problem] = fmt.Sprintf("good itself, but row %d of the same stint or session was not", r.with)
		}
		if err := out.Write(cells); err != nil {
			return fmt.Errorf("write the rejected rows: %w", err)
		}
	}
	out.Flush()
	if err := out.Error(); err != nil {
		return fmt.Errorf("write the rejected rows: %w", err)
	}
	return nil
}
