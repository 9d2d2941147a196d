package analytics

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// WriteCSV writes a header and a row for each group, in full precision, with
// levels in storage units. A cell is empty where a value does not exist; a band
// is written FROM..<TO.
func (a RateAnswer) WriteCSV(w io.Writer) error {
	var header []string
	for _, by := range a.By {
		header = append(header, by.Factor.Key)
	}
	out := csv.NewWriter(w)
	header = append(header, "stints", "sessions", "hours", "exposure", "events", "dispersion", "rate", "low", "high",
		"versus", "ratio", "ratio_low", "ratio_high", "p", "q", "verdict", "hours_needed")
	if len(a.Given) > 0 {
		header = append(header, "corrected_ratio", "corrected_low", "corrected_high", "corrected_p", "corrected_se_log", "corrected_df", "corrected_method")
	}
	rows := [][]string{header}
	for _, g := range a.Groups {
		row := a.csvRow(g)
		if len(a.Given) > 0 {
			row = append(row, correctedTexts(g.Corrected)...)
		}
		rows = append(rows, row)
	}
	if err := out.WriteAll(rows); err != nil {
		return fmt.Errorf("write the answer as CSV: %w", err)
	}
	return nil
}

func (a RateAnswer) csvRow(g Group) []string {
	row := levelTexts(g.Level)
	row = append(row, strconv.Itoa(g.Stints), strconv.Itoa(g.Sessions), decimal(&g.Hours), decimal(&g.Exposure), decimal(&g.Events), decimal(&g.Dispersion), decimal(&g.Rate))
	if g.HasInterval {
		row = append(row, decimal(known(g.Low)), decimal(known(g.High)))
	} else {
		row = append(row, "", "")
	}
	v := g.Versus
	if v == nil {
		return append(row, "", "", "", "", "", "", "", "")
	}
	return append(row, strings.Join(levelTexts(a.Groups[a.Reference].Level), ","), decimal(v.Ratio), decimal(v.Low), decimal(v.High), decimal(v.P), decimal(v.Q), string(v.Verdict), decimal(v.HoursNeeded))
}

func correctedTexts(c *Corrected) []string {
	if c == nil {
		return make([]string, 7)
	}
	return []string{decimal(c.Ratio), decimal(c.Low), decimal(c.High), decimal(c.P), decimal(c.SELog), decimal(c.DF), c.Method}
}
