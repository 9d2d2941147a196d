package prose

import (
	"fmt"
	"io"
	"math"
	"strings"

	"rigtally/analytics/quality"
	"rigtally/internal/table"
	"rigtally/journal"
)

// listedWrong is how much of anything wrong is listed for people.
const listedWrong = 20

// CheckText writes a report on a journal for a terminal.
func CheckText(w io.Writer, r quality.Report) error {
	var b strings.Builder
	b.WriteString(Recounted(r) + "\n")
	if len(r.Recount.First) > 0 {
		b.WriteString("\n")
		_, _ = table.Words("", 4, []string{"Day", "Stint", "Where", "Count", "Stored", "From its events", "Session"}, differenceRows(r.Recount.First)).WriteText(&b, 0) // a strings.Builder never fails
		writeMore(&b, r.Recount.Differences, len(r.Recount.First))
	}
	if r.Impossible.Count > 0 {
		fmt.Fprintf(&b, "\n%s can't be right. Open the session on its page, or with \"rigtally sessions show ID\", and correct it:\n", capital(plural(r.Impossible.Count, "thing", "things")))
		for _, p := range r.Impossible.First[:min(len(r.Impossible.First), listedWrong)] {
			fmt.Fprintf(&b, "  %s  %s  (session %s)\n", p.Day, p.Problem, p.Session)
		}
		writeMore(&b, r.Impossible.Count, len(r.Impossible.First))
	}
	if remarks := Remarks(r); len(remarks) > 0 {
		b.WriteString("\nHow the journal is kept:\n")
		for _, text := range remarks {
			b.WriteString("- " + text + "\n")
		}
	}
	writeCounted(&b, r.Counted)
	_, err := io.WriteString(w, b.String())
	return err
}

func writeMore(b *strings.Builder, count, listed int) {
	if more := count - min(listed, listedWrong); more > 0 {
		fmt.Fprintf(b, "  … and %d more\n", more)
	}
}

// Recounted says what came of counting the events again.
func Recounted(r quality.Report) string {
	c := r.Recount
	if c.Stints == 0 {
		return "The journal has no stints yet, so there is nothing to check. Log or import some fishing first."
	}
	var parts []string
	switch {
	case c.Wrong > 0 && c.Repaired:
		parts = append(parts, fmt.Sprintf("%d of %s had stored counts that did not match their events (%s). The counts are corrected; the events were not touched.",
			c.Wrong, plural(c.Stints, "stint", "stints"), plural(c.Differences, "difference", "differences")))
	case c.Wrong > 0:
		parts = append(parts, fmt.Sprintf("%d of %s have stored counts that do not match their events (%s), so answers may be wrong. Run \"rigtally check --repair\" to count them again from the events.",
			c.Wrong, plural(c.Stints, "stint", "stints"), plural(c.Differences, "difference", "differences")))
	case c.Uncounted < c.Stints:
		parts = append(parts, fmt.Sprintf("Counted again: the counts of %s match their events.", plural(c.Stints-c.Uncounted, "stint", "stints")))
	}
	if c.Uncounted > 0 {
		parts = append(parts, fmt.Sprintf("The events of %s contradict each other or the rig and can't be counted; correct them as shown below.", plural(c.Uncounted, "stint", "stints")))
	}
	return strings.Join(parts, " ")
}

func differenceRows(list []journal.Difference) [][]string {
	var rows [][]string
	for _, d := range list[:min(len(list), listedWrong)] {
		kept, counted := kept(d.Kept), kept(d.Counted)
		switch d.Column {
		case "row":
			kept, counted = "missing", "there"
			if d.Kept != nil {
				kept, counted = "there", "none"
			}
		case "session", "rig":
			kept, counted = "another", "its own"
		}
		rows = append(rows, []string{d.Day.String(), fmt.Sprint(d.Stint), place(d), strings.ReplaceAll(d.Column, "_", " "), kept, counted, d.Session.String()})
	}
	return rows
}

func kept(v *float64) string {
	if v == nil {
		return "none"
	}
	if *v == math.Trunc(*v) {
		return fmt.Sprintf("%.0f", *v)
	}
	return fmt.Sprintf("%.4g", *v)
}

func place(d journal.Difference) string {
	switch {
	case d.Position == nil:
		return "whole rig"
	case d.Spell == nil:
		return journal.PositionTitle(*d.Position)
	}
	return fmt.Sprintf("%s, length %d", journal.PositionTitle(*d.Position), *d.Spell+1)
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
