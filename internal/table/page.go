package table

import (
	"cmp"
	"slices"
)

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
	Phone []PhoneRow
	Rest  *Page // rows that can wait; nil without any
}

// PhoneRow is a row as a phone shows it: two lines, and the rest behind a tap.
type PhoneRow struct {
	Href, Name string
	Beside     string // the name: what is to be read first
	Below      []Pair
	Rest       []Pair
}

// PhoneRows lays the table out for a phone.
func (t Table) PhoneRows() []PhoneRow {
	t = t.shown(Phone)
	beside, below := "", []string{}
	if len(t.OnPhone) > 0 {
		beside, below = t.OnPhone[0], t.OnPhone[1:]
	} else if i := slices.IndexFunc(t.Columns, func(c Column) bool { return !c.Words }); i >= 0 {
		below = []string{t.Columns[i].Key}
	}
	rows := make([]PhoneRow, len(t.Rows))
	for r, row := range t.Rows {
		out := PhoneRow{Href: row.Href, Below: make([]Pair, 0, len(below))}
		leads := true
		for i, c := range t.Columns {
			leads = leads && c.Words
			text := row.Cells[i].Text
			switch {
			case leads:
				out.Name = joined(out.Name, text)
			case c.Key == beside:
				out.Beside = text
			case text != "" && !slices.Contains(below, c.Key) && c.For != Phone:
				title := c.Title
				if i := t.index(c.Below); c.Below != "" && i >= 0 {
					title = t.Columns[i].Title + ", " + c.Title
				}
				out.Rest = append(out.Rest, Pair{title, text})
			}
		}
		for _, key := range below {
			if i := t.index(key); i >= 0 && row.Cells[i].Text != "" {
				out.Below = append(out.Below, Pair{t.Columns[i].Title, row.Cells[i].Text})
			}
		}
		rows[r] = out
	}
	return rows
}

// Of more rows than mostWhole, a page shows first the mostFirst that have most.
const mostFirst, mostWhole = 10, 14

// First tells of a list of so many things which a page shows first: all, or of many those that have most.
func First(of int, has func(int) float64) []int {
	if of <= mostWhole {
		return Greatest(of, of, has)
	}
	return Greatest(mostFirst, of, has)
}

// Greatest are the places, in order, of the n that have most among so many.
func Greatest(n, of int, has func(int) float64) []int {
	order := make([]int, of)
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(has(j), has(i)) })
	order = order[:min(n, of)]
	slices.Sort(order)
	return order
}

// StackFirst is Stack with what First leaves out as the rest.
func (t Table) StackFirst(has func(row int) float64) Page {
	first, rest := t, t
	first.Rows, rest.Rows = nil, nil
	shown := First(len(t.Rows), has)
	for i, row := range t.Rows {
		if slices.Contains(shown, i) {
			first.Rows = append(first.Rows, row)
		} else {
			rest.Rows = append(rest.Rows, row)
		}
	}
	p := first.Stack()
	if len(rest.Rows) > 0 {
		p.Rest = new(rest.Stack())
		p.Rest.Title = ""
	}
	return p
}

// Stack lays the table out for a page, in the order of OnPage.
func (t Table) Stack() Page {
	phone := t.PhoneRows()
	t = t.shown(People)
	top := t
	if len(t.OnPage) > 0 {
		top = t.Pick(t.OnPage...)
	}
	p := Page{Title: t.Title, Phone: phone}
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
