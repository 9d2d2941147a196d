package table

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
)

// WriteCSV writes the table for programs: keys, then the values in full precision, words as Guard
// leaves them. A cell is empty where there is none.
func (t Table) WriteCSV(w io.Writer) error {
	t = t.shown(Programs)
	rows := make([][]string, 1, 1+len(t.Rows))
	for _, c := range t.Columns {
		rows[0] = append(rows[0], Guard(c.Key))
	}
	for _, row := range t.Rows {
		var texts []string
		for _, c := range row.Cells {
			texts = append(texts, plain(c.Value))
		}
		rows = append(rows, texts)
	}
	if err := csv.NewWriter(w).WriteAll(rows); err != nil {
		return fmt.Errorf("write the table as CSV: %w", err)
	}
	return nil
}

func plain(v any) string {
	switch v := v.(type) {
	case nil:
		return ""
	case float64:
		return strconv.FormatFloat(v, 'f', -1, 64)
	case int:
		return strconv.Itoa(v)
	default:
		return Guard(fmt.Sprint(v))
	}
}
