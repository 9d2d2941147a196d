package analytics

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"

	"rigtally/analytics/answer"
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
	row := answer.LevelTexts(g.Level)
	row = append(row, strconv.Itoa(g.Stints), strconv.Itoa(g.Sessions), answer.Decimal(&g.Hours), answer.Decimal(&g.Exposure), answer.Decimal(&g.Events), answer.Decimal(&g.Dispersion), answer.Decimal(&g.Rate))
	if g.HasInterval {
		row = append(row, answer.Decimal(answer.Known(g.Low)), answer.Decimal(answer.Known(g.High)))
	} else {
		row = append(row, "", "")
	}
	v := g.Versus
	if v == nil {
		return append(row, "", "", "", "", "", "", "", "")
	}
	return append(row, strings.Join(answer.LevelTexts(a.Groups[a.Reference].Level), ","), answer.Decimal(v.Ratio), answer.Decimal(v.Low), answer.Decimal(v.High), answer.Decimal(v.P), answer.Decimal(v.Q), string(v.Verdict), answer.Decimal(v.HoursNeeded))
}

func correctedTexts(c *Corrected) []string {
	if c == nil {
		return make([]string, 7)
	}
	return []string{answer.Decimal(c.Ratio), answer.Decimal(c.Low), answer.Decimal(c.High), answer.Decimal(c.P), answer.Decimal(c.SELog), answer.Decimal(c.DF), c.Method}
}
