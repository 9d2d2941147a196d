package prose

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"rigtally/analytics/bench"
	"rigtally/analytics/stat"
	"rigtally/internal/units"
)

// BenchTable lays the numbers of an answer out for people: one row for each group.
func BenchTable(a bench.Answer, sys units.System) (header []string, rows [][]string) {
	for _, f := range a.By {
		header = append(header, f.Title)
	}
	if len(a.By) == 0 {
		header = []string{"Knots"}
	}
	scale := "Mean"
	if a.Relative {
		scale = "Mean, of unknotted"
	}
	header = append(header, "Pulls", "Slipped", scale, "95% interval", "SD", "CV", "Of unknotted", "95% interval", "10% strength", "95% interval", "Weibull shape")
	compared := a.Reference >= 0 && len(a.Groups) > 1
	if compared {
		header = append(header, "Times "+BenchLevel(a, a.Groups[a.Reference], sys), "95% interval", "Difference", "q", "Verdict", "Shift", "95% interval", "Rank test p", "Pulls needed of each")
	}
	for i, g := range a.Groups {
		row := append(benchLevels(a, g, sys), benchCells(a, g, sys)...)
		if compared {
			row = append(row, benchVersus(g.Versus, i == a.Reference, sys)...)
		}
		rows = append(rows, row)
	}
	return header, rows
}

func benchLevels(a bench.Answer, g bench.Group, sys units.System) []string {
	if len(a.By) == 0 {
		return []string{BenchLevel(a, g, sys)}
	}
	var cells []string
	for i, l := range g.Level {
		cells = append(cells, Level(a.By[i], l, sys))
	}
	return cells
}

func benchCells(a bench.Answer, g bench.Group, sys units.System) []string {
	mean, interval, sd, cv := "?", "?", "?", "?"
	if g.N > 0 {
		mean = Strength(g.Mean, a.Relative, sys)
	}
	if g.N > 1 {
		interval = strengthInterval(stat.Interval{Low: *g.MeanLow, High: *g.MeanHigh}, a.Relative, sys)
		sd, cv = Strength(g.SD, a.Relative, sys), percent(g.CV())
	}
	cells := []string{strconv.Itoa(g.N), strconv.Itoa(g.Slipped), mean, interval, sd, cv}
	switch {
	case g.Unknotted:
		cells = append(cells, "100%", "")
	case g.Efficiency == nil:
		cells = append(cells, "?", "?")
	default:
		cells = append(cells, percent(g.Efficiency.Ratio), ratioSet(g.Efficiency.RatioSet, percent))
	}
	if w := g.Weibull; w != nil {
		return append(cells, Strength(w.B10, a.Relative, sys), strengthInterval(w.B10Interval, a.Relative, sys), Figure(w.Shape)+" ("+Figure(w.ShapeInterval.Low)+"–"+Figure(w.ShapeInterval.High)+")")
	}
	return append(cells, "?", "?", "?")
}

func benchVersus(c *bench.Comparison, reference bool, sys units.System) []string {
	switch {
	case reference:
		return []string{"reference", "", "", "", "", "", "", "", ""}
	case c == nil:
		return []string{"?", "?", "?", "?", "?", "?", "?", "?", "?"}
	}
	shift := "no bounds"
	if !math.IsInf(c.Shift.Low, 0) {
		shift = signedForce(c.Shift.Low, sys) + " to " + signedForce(c.Shift.High, sys)
	}
	need := "?"
	if c.PullsNeeded != nil {
		need = strconv.Itoa(*c.PullsNeeded) + " (enough)"
		if *c.MorePulls > 0 {
			need = fmt.Sprintf("%d (%d more)", *c.PullsNeeded, *c.MorePulls)
		}
	}
	return []string{Ratio(c.Ratio.Ratio), ratioSet(c.Ratio, Ratio), signedForce(c.Difference, sys), PValue(c.Q), string(c.Verdict),
		signedForce(c.Shift.Shift, sys), shift, PValue(c.Shift.P), need}
}

// signedForce prints a difference of forces with its sign.
func signedForce(n float64, sys units.System) string {
	text := units.FormatForce(math.Abs(n), sys)
	switch {
	case strings.HasPrefix(text, "0 "):
	case n > 0:
		return "+" + text
	case n < 0:
		return "−" + text
	}
	return text
}

// BenchText writes an answer of the bench for a terminal. The table stands on
// its side, since it has more columns than a terminal is wide.
func BenchText(w io.Writer, a bench.Answer, sys units.System) error {
	var b strings.Builder
	b.WriteString(BenchSentence(a, sys) + "\n")
	if len(a.Groups) > 0 {
		header, rows := BenchTable(a, sys)
		words := max(1, len(a.By))
		b.WriteString("\n")
		writeTable(&b, header[:words+8], cut(rows, 0, words+8), words)
		b.WriteString("\n")
		names := append(append([]string{}, header[:words]...), header[words+8:words+11]...)
		if len(header) > words+11 {
			names = append(names, header[words+11:words+16]...)
		}
		writeTable(&b, names, join(cut(rows, 0, words), cut(rows, words+8, min(len(header), words+16))), words)
		if len(header) > words+16 {
			b.WriteString("\n")
			writeTable(&b, append(append([]string{}, header[:words]...), header[words+16:]...), join(cut(rows, 0, words), cut(rows, words+16, len(header))), words)
		}
		fmt.Fprintf(&b, "\n%s in all. Compared are pulls with the same %s.\n", countOf(a.Pulls, "pull"), BenchAlike(a))
	}
	if left := BenchLeftOut(a); len(left) > 0 {
		b.WriteString("Left out: " + strings.Join(left, "; ") + ".\n")
	}
	for _, n := range BenchNotes(a, sys) {
		b.WriteString(n + "\n")
	}
	b.WriteString(NoKnotTable + "\n")
	_, err := io.WriteString(w, b.String())
	return err
}

func cut(rows [][]string, from, to int) [][]string {
	var list [][]string
	for _, r := range rows {
		list = append(list, r[from:to])
	}
	return list
}

func join(left, right [][]string) [][]string {
	var list [][]string
	for i := range left {
		list = append(list, append(append([]string{}, left[i]...), right[i]...))
	}
	return list
}
