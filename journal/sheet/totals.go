package sheet

import (
	"fmt"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal/exchange"
)

// checkTotals holds the sums that a spreadsheet carries against its rows, since
// a difference means that one of them is not what its writer thinks.
func (s *Sheet) checkTotals() {
	from := 0
	for _, total := range s.totals {
		for i, c := range s.columns {
			if c.field == nil || !c.field.Counted || i >= len(total.cells) {
				continue
			}
			want, err := c.parser.Number(total.cells[i])
			if err != nil {
				continue
			}
			all, last := s.sum(i, 0, total.number), s.sum(i, from, total.number)
			if all.total == want || last.total == want {
				continue
			}
			note := ""
			if all.blank > 0 {
				note = fmt.Sprintf("; %s a dash or nothing there", exchange.Verb(all.blank, "row", "has", "have"))
			}
			s.warn("The total in row %d says %g for %s, but the rows above it add up to %g%s. The rows are imported.", total.number, want, c.Header, all.total, note)
		}
		from = total.number
	}
}

type columnSum struct {
	total float64
	blank int
}

// sum adds up a column between two rows.
func (s *Sheet) sum(column, after, before int) columnSum {
	var sum columnSum
	for _, r := range s.rows {
		if r.number <= after || r.number >= before {
			continue
		}
		if column >= len(r.cells) || units.IsBlank(r.cells[column]) {
			sum.blank++
			continue
		}
		if n, err := s.columns[column].parser.Number(r.cells[column]); err == nil {
			sum.total += n
		}
	}
	return sum
}

// totalWord returns the word that marks a row of sums: one in a column of names
// or words, in a row without a date.
func (s *Sheet) totalWord(cells []string) string {
	date, _ := s.find("date")
	if date < len(cells) && !units.IsBlank(cells[date]) && !s.isTotal(cells[date]) {
		return ""
	}
	for i, cell := range cells {
		if i < len(s.columns) && s.isTotal(cell) {
			return strings.TrimSpace(cell)
		}
	}
	return ""
}

func (s *Sheet) isTotal(cell string) bool {
	return cell != "" && len(cell) <= 40 && (s.words.Sums(cell) || s.words.Means(cell))
}
