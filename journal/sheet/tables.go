package sheet

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	lines "rigtally/internal/table"
	"rigtally/internal/units"
	"rigtally/journal/sheet/grid"
	"rigtally/journal/sheet/shape"
)

// table is the one of a CSV, or a sheet of a workbook, with its header.
type table struct {
	name   string // of a sheet
	rows   []shape.Row
	hidden []int // numbers of rows that are
	merged []shape.Range

	header shape.Header
	fields []*field    // of the columns as written
	lines  []shape.Row // that hold data
	breaks []int       // numbers of the rows that were skipped among them
	torn   []tornCell

	spreadOver map[[2]int]bool // by number and column, cells under a merged one that it was spread over

	parts []*part
}

// TakenSheet is a sheet of a workbook.
type TakenSheet struct {
	Name string
	Rows int    // data rows, bad ones included
	Left string // why it was left out; "" if it was not
}

// atRow names a row in a sentence: "row 7", or "April, row 7" of a workbook.
func atRow(sheet string, number int) string {
	if sheet == "" {
		return fmt.Sprintf("row %d", number)
	}
	return fmt.Sprintf("%s, row %d", sheet, number)
}

// load takes the tables of a file apart, and finds their headers.
func (s *Sheet) load(ctx context.Context, r io.Reader) error {
	in := bufio.NewReader(r)
	begin, err := in.Peek(512)
	if err != nil && !errors.Is(err, io.EOF) {
		return fmt.Errorf("read the file: %w", err)
	}
	if grid.IsWorkbook(begin) {
		return s.loadWorkbook(ctx, in)
	}
	text, encoding, err := readText(in, func(header string) bool { return s.reader.keyOf(header) != "" })
	if err != nil {
		return err
	}
	return s.loadCSV(text, encoding)
}

func (s *Sheet) loadCSV(text, encoding string) error {
	if strings.TrimSpace(text) == "" {
		return errors.New("the file is empty")
	}
	if len(s.options.Sheets) > 0 {
		return errors.New("a CSV has no sheets to choose from; leave the names of sheets away")
	}
	separator, text := declared(text)
	candidates := separators
	if separator != 0 {
		candidates = string(separator)
	}
	best := -1
	for _, s.guess = range s.guesses() {
		for i := range len(candidates) {
			h, ok := s.header(numbered(head(text, candidates[i])), nil)
			likely := h.Known
			if s.guess {
				likely = len(h.Names)
			}
			if ok && likely > best {
				best, s.separator = likely, candidates[i]
			}
		}
		if best >= 0 {
			break
		}
	}
	if best < 0 {
		return s.noHeader()
	}
	all, err := records(text, s.separator)
	if err != nil {
		return err
	}
	t := &table{rows: numbered(all)}
	if !s.locate(t) {
		return s.noHeader()
	}
	s.choose("Read as %s, separated by %s.", encoding, separatorWord(s.separator))
	return nil
}

// guesses are how headers are looked for, one after the other: by what is understood, and where no header tells the
// day, by their looks, so that people can say what the columns are.
func (s *Sheet) guesses() []bool {
	if s.layout.pulls {
		return []bool{false}
	}
	return []bool{false, true}
}

// header finds the header among rows.
func (s *Sheet) header(rows []shape.Row, merged []shape.Range) (shape.Header, bool) {
	if s.guess {
		return shape.Guess(rows, merged, s.reader.keyOf)
	}
	return shape.Find(rows, merged, s.reader.keyOf, s.layout.key)
}

// numbered are rows of a file, without the marks of texts that would run as formulas.
func numbered(rows [][]string) []shape.Row {
	list := make([]shape.Row, len(rows))
	for i, cells := range rows {
		list[i] = shape.Row{Number: i + 1, Cells: unguarded(cells)}
	}
	return list
}

func unguarded(cells []string) []string {
	own := false
	for i, cell := range cells {
		if text := lines.Unguard(cell); text != cell {
			if !own {
				cells, own = slices.Clone(cells), true
			}
			cells[i] = text
		}
	}
	return cells
}

func (s *Sheet) noHeader() error {
	return fmt.Errorf("no header row with a %s was found; the first row must name the columns, for example: %s", s.layout.key, s.layout.example)
}

func (s *Sheet) loadWorkbook(ctx context.Context, r io.Reader) error {
	b, err := io.ReadAll(io.LimitReader(r, grid.MaxFile+1))
	if err != nil {
		return fmt.Errorf("read the file: %w", err)
	}
	sheets, notes, err := grid.Read(ctx, bytes.NewReader(b), int64(len(b)))
	if err != nil {
		return err
	}
	s.separator = ','
	if err := s.knowSheets(sheets); err != nil {
		return err
	}
	for _, s.guess = range s.guesses() {
		if s.takeSheets(sheets); len(s.tables) > 0 {
			break
		}
	}
	s.choose("Read as a workbook.")
	s.Warnings = append(s.Warnings, notes...)
	for _, t := range s.Sheets {
		if t.Left != "" {
			s.choose("The sheet %s was left out: it is %s.", t.Name, t.Left)
		}
	}
	if len(s.tables) == 0 {
		return s.noHeader()
	}
	return nil
}

// takeSheets takes the sheets that are asked for, or all that have a header.
func (s *Sheet) takeSheets(sheets []grid.Table) {
	s.Sheets = nil
	for _, g := range sheets {
		asked := slices.ContainsFunc(s.options.Sheets, func(name string) bool { return sameName(name, g.Name) })
		left := ""
		switch t := tableOf(g); {
		case len(s.options.Sheets) > 0 && !asked:
			left = "not asked for"
		case g.Hidden && !asked:
			left = "hidden"
		case len(g.Rows) == 0:
			left = "empty"
		case !s.locate(t):
			left = "without a header that has a " + s.layout.key
		case t.header.After >= len(t.rows):
			s.tables = s.tables[:len(s.tables)-1]
			left = "without rows"
		}
		s.Sheets = append(s.Sheets, TakenSheet{Name: g.Name, Left: left})
	}
}

// knowSheets refuses names of sheets that the workbook does not have.
func (s *Sheet) knowSheets(sheets []grid.Table) error {
	for _, name := range s.options.Sheets {
		if !slices.ContainsFunc(sheets, func(g grid.Table) bool { return sameName(name, g.Name) }) {
			var names []string
			for _, g := range sheets {
				names = append(names, g.Name)
			}
			return fmt.Errorf("the workbook has no sheet %q; it has: %s", name, strings.Join(names, ", "))
		}
	}
	return nil
}

func sameName(a, b string) bool { return strings.EqualFold(strings.TrimSpace(a), strings.TrimSpace(b)) }

func tableOf(g grid.Table) *table {
	t := &table{name: g.Name, rows: make([]shape.Row, len(g.Rows))}
	for i, r := range g.Rows {
		t.rows[i] = shape.Row{Number: r.Number, Cells: unguarded(r.Cells)}
		if r.Hidden {
			t.hidden = append(t.hidden, r.Number)
		}
	}
	for _, m := range g.Merged {
		t.merged = append(t.merged, shape.Range(m))
	}
	return t
}

// locate finds the header of a table and takes it, if it has one.
func (s *Sheet) locate(t *table) bool {
	h, ok := s.header(t.rows, t.merged)
	if ok && h.Fold != nil && s.reader.relabel(h.Fold) {
		h, ok = s.header(t.rows, t.merged)
	}
	if !ok {
		return false
	}
	t.header = h
	if h.Fold == nil {
		t.nameColumns()
	}
	t.fields = make([]*field, len(t.header.Names))
	for i, name := range t.labels() {
		t.fields[i] = s.reader.meaning(name).field
	}
	s.tables = append(s.tables, t)
	return true
}

// checkAbove refuses a table with a row of data above what was taken for its header: its
// own header is another row, of which less was understood.
func (s *Sheet) checkAbove(t *table) error {
	day := slices.IndexFunc(t.fields, func(f *field) bool { return f != nil && f.Key == "date" })
	d := &dateReader{order: DayFirst, now: s.options.now(), words: s.words, odd: map[string]int{}}
	for _, r := range t.rows[:min(t.header.After, len(t.rows))] {
		if r.Number >= t.header.Top || day < 0 || day >= len(r.Cells) {
			continue
		}
		filled := 0
		for _, cell := range r.Cells {
			if !units.IsBlank(cell) {
				filled++
			}
		}
		text, _ := splitClock(r.Cells[day])
		if _, err := d.read(text); err == nil && filled > 2 {
			return fmt.Errorf("%s has a day, but stands above the header, which was found in row %d; correct the headers above it, so that they are known", atRow(t.name, r.Number), t.header.Top)
		}
	}
	return nil
}

// takeLines keeps the rows of a table that hold data, and notes why it skips the others.
func (s *Sheet) takeLines(t *table) {
	day := slices.IndexFunc(t.fields, func(f *field) bool { return f != nil && f.Key == "date" })
	for i, r := range t.rows {
		why := ""
		switch {
		case i < t.header.After && r.Number < t.header.Top:
			why = "above the header"
		case i < t.header.After:
			continue
		case allBlank(r.Cells):
			why = "blank"
		case t.header.Again(r.Cells):
			why = "the header again"
		default:
			word := s.totalWord(r.Cells, day, len(t.header.Names))
			if word == "" {
				t.lines = append(t.lines, r)
				continue
			}
			why = fmt.Sprintf("a total (%q)", word)
			if s.words.Sums(word) {
				s.totals = append(s.totals, total{t, r})
			}
		}
		s.Skipped = append(s.Skipped, SkippedRow{Sheet: t.name, Row: r.Number, Why: why})
		t.breaks = append(t.breaks, r.Number)
	}
	s.sayHidden(t)
}

func (s *Sheet) sayHidden(t *table) {
	var list []string
	for _, l := range t.lines {
		if slices.Contains(t.hidden, l.Number) {
			list = append(list, fmt.Sprint(l.Number))
		}
	}
	if len(list) > 0 {
		s.choose("Hidden rows of %s are taken like the others: %s.", t.name, shortList(list, ", "))
	}
}

// shortList names the first of many.
func shortList(list []string, between string) string {
	const most = 12
	text := strings.Join(list[:min(most, len(list))], between)
	if len(list) > most {
		text += between + "…"
	}
	return text
}

func allBlank(cells []string) bool {
	for _, c := range cells {
		if !units.IsBlank(c) {
			return false
		}
	}
	return true
}

// nameColumns gives a name of its own to each column that has none, or that of another.
func (t *table) nameColumns() {
	data := t.rows[min(t.header.After, len(t.rows)):]
	names := slices.Clone(t.header.Names)
	if t.name != "" { // notes beside a table; of a CSV, a cell too many may be a slip
		for _, r := range data {
			names = append(names, make([]string, max(0, len(r.Cells)-len(names)))...)
		}
	}
	seen := map[string]int{}
	for i, name := range names {
		if name = strings.TrimSpace(name); name == "" {
			if slices.ContainsFunc(data, func(r shape.Row) bool { return !units.IsBlank(cellAt(r, i)) }) {
				names[i] = "column " + columnLetters(i)
			}
			continue
		}
		if seen[name]++; seen[name] > 1 {
			names[i] = fmt.Sprintf("%s (%d)", name, seen[name])
		}
	}
	t.header.Names = names
}

// columnLetters is how spreadsheet programs call a column.
func columnLetters(i int) string {
	if i < 26 {
		return string(rune('A' + i))
	}
	return columnLetters(i/26-1) + string(rune('A'+i%26))
}

// labels are the headers as written, without what tells rigs side by side apart.
func (t *table) labels() []string {
	labels := slices.Clone(t.header.Names)
	if f := t.header.Fold; f != nil {
		for i, name := range f.Names {
			for _, at := range f.From[i] {
				if at >= 0 {
					labels[at] = name
				}
			}
		}
	}
	return labels
}
