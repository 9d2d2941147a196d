package prose

import (
	"cmp"
	"fmt"
	"io"
	"maps"
	"math"
	"rigtally/analytics/quality"
	"rigtally/internal/table"
	"rigtally/journal"
	"slices"
	"strings"
)

// CountedRow says of what an angler kept count through some months that are alike in it.
type CountedRow struct {
	Angler, Months string
	Stints         int
	Assumed        int    // stints of which nothing was said
	What           string // "everything but snags", "hookups 100%; all else 82%": shares of the stints
}

// CountedRows puts months together that follow on each other and are alike.
func CountedRows(c quality.Counted) []CountedRow {
	var rows []CountedRow
	var first, alike string
	for _, m := range c.Months {
		month := fmt.Sprintf("%04d-%02d", m.Year, m.Month)
		what := sharesOf(m)
		said := fmt.Sprint(m.Angler, what, share(float64(m.Assumed)/float64(m.Stints)))
		if said != alike {
			rows = append(rows, CountedRow{Angler: m.Angler, What: what})
			first, alike = month, said
		}
		r := &rows[len(rows)-1]
		r.Stints, r.Assumed, r.Months = r.Stints+m.Stints, r.Assumed+m.Assumed, first
		if month != first {
			r.Months = first + " to " + month
		}
	}
	return rows
}

// sharesOf words the shares of all kinds, those most alike last.
func sharesOf(m quality.CountedMonth) string {
	of := map[string][]journal.Kind{}
	for _, k := range journal.Kinds() {
		s := share(m.Share(k))
		of[s] = append(of[s], k)
	}
	kept, missing := titles(of[whole]), titles(of[none])
	switch all := len(journal.Kinds()); {
	case len(kept) == all:
		return "everything"
	case len(missing) == all:
		return "nothing"
	case len(kept)+len(missing) == all && len(kept) < len(missing):
		return Listed(kept) + " only"
	case len(kept)+len(missing) == all:
		return "everything but " + Listed(missing)
	}
	shares := slices.SortedFunc(maps.Keys(of), func(a, b string) int { return cmp.Or(len(of[a])-len(of[b]), cmp.Compare(of[a][0], of[b][0])) })
	var parts []string
	for i, s := range shares {
		what := Listed(titles(of[s]))
		if i > 0 && i == len(shares)-1 {
			what = "all else"
		}
		parts = append(parts, what+" "+s)
	}
	return strings.Join(parts, "; ")
}

// The shares of all and of nothing.
const whole, none = "100%", "none"

// share is a part in percent that is 100% only of all, and none only of nothing.
func share(v float64) string {
	switch {
	case v == 0:
		return none
	case v < 0.01:
		return "<1%"
	case v > 0.99 && v < 1:
		return ">99%"
	}
	return fmt.Sprintf("%.0f%%", 100*v) // whole for 1
}

// RunsSay introduces the runs of which no count seems to have been kept.
func RunsSay(c quality.Counted) string {
	if len(c.Runs) == 1 {
		return "One run of stints looks as if something was not counted: stints counted as the others were would do that less than once in a thousand times. If it was not counted, mark it, so that none noted is not read as zero:"
	}
	return fmt.Sprintf("%s runs of stints look as if something was not counted: stints counted as the others were would make one like that less than once in a thousand times. Mark those where that is true, so that none noted is not read as zero:", Capital(Number(len(c.Runs))))
}

// RunSays says whose run it is, what is missing in it, and how surprising that is.
func RunSays(r quality.UncountedRun) string { return r.Angler + ", " + RunTells(r) }

// RunTells is RunSays where it stands already whose run it is.
func RunTells(r quality.UncountedRun) string {
	days := fmt.Sprintf("%s to %s", r.First, r.Last)
	if r.First == r.Last {
		days = r.First.String()
	}
	expected := Tenths(r.Expected)
	if r.Expected >= 10 {
		expected = Count(math.Round(r.Expected))
	}
	if r.ByDay {
		expected += " days with one"
	}
	return fmt.Sprintf("%s: no %s in %s (%s), where about %s would be expected", days, noneOf(r.Kind), Several(r.Stints, "stint"), FishedHours(r.Hours), expected)
}

// noneOf is what is missing where no count was kept of a kind, after "no".
func noneOf(k journal.Kind) string {
	if text, ok := map[journal.Kind]string{
		journal.KindHookups:     "hookup",
		journal.KindHooking:     "foul hookup",
		journal.KindBreakPlace:  "break with its place",
		journal.KindSnags:       "snag",
		journal.KindTangles:     "tangle",
		journal.KindTangleKind:  "tangle with its kind",
		journal.KindTurns:       "check of the tag",
		journal.KindChanges:     "fly change or re-tie",
		journal.KindMinutesLost: "tangle with its minutes lost",
	}[k]; ok {
		return text
	}
	return k.Title() // fish landed, lost, broken off
}

// MarkCommand is the command that marks a run as not recorded.
func MarkCommand(r quality.UncountedRun) string {
	return MarkFlags(r.Angler, r.First, r.Last) + " --not " + r.Kind.String()
}

// MarkFlags is the command about an angler's days, up to what is said of them.
func MarkFlags(angler string, from, to journal.Date) string {
	quoted := `"` + angler + `"`
	if strings.ContainsAny(angler, "\"\\$`!") {
		quoted = "'" + strings.ReplaceAll(angler, "'", `'\''`) + "'"
	}
	return fmt.Sprintf("rigtally recorded mark --angler %s --from %s --to %s", quoted, from, to)
}

// CountedText writes what was counted for a terminal of so many characters; 0 is without end.
func CountedText(w io.Writer, c quality.Counted, width int) error {
	var b strings.Builder
	writeCounted(&b, c, width)
	text := strings.TrimPrefix(b.String(), "\n")
	if text == "" {
		text = "The journal has no stints yet, so nothing was counted.\n"
	}
	_, err := io.WriteString(w, table.FoldLines(text, width))
	return err
}

// writeCounted says what was counted, and where that is doubtful.
func writeCounted(w io.Writer, c quality.Counted, width int) {
	rows := CountedRows(c)
	if len(rows) == 0 {
		return
	}
	if width < 1 {
		width = math.MaxInt
	}
	fmt.Fprint(w, "\nWhat was counted, as a share of stints. For assumed ones nobody said what was counted; everything is taken to have been.\n")
	for i, r := range rows {
		if i == 0 || rows[i-1].Angler != r.Angler {
			fmt.Fprintf(w, "%s\n", r.Angler)
		}
		Paragraph(w, fmt.Sprintf("  %-18s  %s  ", r.Months, assumedWords(r)), r.What, width)
	}
	if len(c.Runs) == 0 {
		return
	}
	fmt.Fprintln(w)
	Paragraph(w, "", RunsSay(c), width)
	for _, r := range c.Runs {
		Paragraph(w, "- ", RunSays(r)+".", width)
		fmt.Fprint(w, table.FoldLines("  "+MarkCommand(r)+"\n", width))
	}
}

func assumedWords(r CountedRow) string {
	assumed := fmt.Sprintf("%d assumed", r.Assumed)
	switch r.Assumed {
	case r.Stints:
		assumed = "all assumed"
	case 0:
		assumed = "none assumed"
	}
	return fmt.Sprintf("%4d %s %-12s", r.Stints, Verb(r.Stints, "stint, ", "stints,"), assumed)
}

// MarkPreview says what a mark of what was recorded is about, a sentence or two for each point.
func MarkPreview(angler string, mark journal.RecordedMark, m journal.Marked) []string {
	list := []string{fmt.Sprintf("%s, %s to %s: %s in %s (%s).", angler, mark.From, mark.To, Several(m.Stints, "stint"), Several(m.Sessions, "session"), FishedHours(m.Hours))}
	if mark.Forget {
		list = append(list, "This takes back what was said about them: everything is assumed counted again.")
	}
	if len(mark.Not) > 0 {
		list = append(list, fmt.Sprintf("Not counted: %s. Rates that need it leave these stints out.", Kinds(mark.Not)))
	}
	if len(mark.Kept) > 0 {
		list = append(list, fmt.Sprintf("Counted: %s. None noted means zero.", Kinds(mark.Kept)))
	}
	if same := m.Stints - m.Changed; same > 0 {
		list = append(list, Plural(same, "stint is", "stints are")+" marked so already.")
	}
	for _, k := range mark.Not {
		if n := m.Noted[k]; n > 0 {
			list = append(list, fmt.Sprintf("%s noted all the same: %d. That stays in the journal, as part of what happened.", Capital(k.Title()), n))
		}
	}
	if m.Assumed > 0 && !mark.Forget {
		list = append(list, fmt.Sprintf("Nobody had said what was counted in %s. From now on they say that everything else was.", Several(m.Assumed, "stint")))
	}
	if len(m.Also) > 0 {
		var none []string
		for _, k := range m.Also {
			none = append(none, "no "+noneOf(k))
		}
		list = append(list, "These stints also have "+strings.Join(none, ", ")+". If that was not counted either, name it too.")
	}
	return list
}

// MarkDone says what was marked.
func MarkDone(m journal.Marked) string {
	if m.Changed == 0 {
		return "Nothing to change: it was so already."
	}
	return Capital(Plural(m.Changed, "stint is", "stints are")) + " marked."
}

// MarkUndo is the command that takes a mark back: that count was kept, or where nothing had been
// said of any stint before, that it is assumed again.
func MarkUndo(angler string, mark journal.RecordedMark, m journal.Marked) string {
	flags := MarkFlags(angler, mark.From, mark.To)
	switch {
	case m.Assumed == m.Changed && m.Changed == m.Stints && !mark.Forget:
		return flags + " --assumed --yes"
	case len(mark.Not) > 0:
		return flags + " --kept " + kindWords(mark.Not) + " --yes"
	case len(mark.Kept) > 0:
		return flags + " --not " + kindWords(mark.Kept) + " --yes"
	}
	return ""
}
