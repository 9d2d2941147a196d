package table

// Stacked is a cell of a page, with a second line in some.
type Stacked struct {
	Text, Under string
	Words       bool
}

// StackedRow is a row of a page.
type StackedRow struct {
	Href  string
	Cells []Stacked
}

// Page is a table with fewer columns than numbers: what has a column to stand below is a second
// line in its cells.
type Page struct {
	Title string
	Head  []Stacked
	Rows  []StackedRow
}

// Stack lays the table out for a page, in the order of OnPage.
func (t Table) Stack() Page {
	t = t.shown(People)
	top := t
	if len(t.OnPage) > 0 {
		top = t.Pick(t.OnPage...)
	}
	p := Page{Title: t.Title}
	below := map[string][]int{}
	for i, c := range t.Columns {
		if c.Below != "" && t.index(c.Below) >= 0 {
			below[c.Below] = append(below[c.Below], i)
		}
	}
	var at []int
	for _, c := range top.Columns {
		if c.Below != "" && t.index(c.Below) >= 0 {
			continue
		}
		at = append(at, t.index(c.Key))
		head := Stacked{Text: c.Title, Words: c.Words}
		for _, i := range below[c.Key] {
			head.Under = joined(head.Under, t.Columns[i].Title)
		}
		p.Head = append(p.Head, head)
	}
	for _, row := range t.Rows {
		out := StackedRow{Href: row.Href}
		for _, i := range at {
			c := t.Columns[i]
			cell := Stacked{Text: row.Cells[i].Text, Words: c.Words}
			for _, j := range below[c.Key] {
				if text := row.Cells[j].Text; text != "" && text != Unknown {
					cell.Under = joined(cell.Under, t.Columns[j].Mark+text)
				}
			}
			out.Cells = append(out.Cells, cell)
		}
		p.Rows = append(p.Rows, out)
	}
	return p
}

func joined(a, b string) string {
	if a == "" {
		return b
	}
	return a + "; " + b
}
