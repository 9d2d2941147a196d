package sheet_test

import (
	"bytes"
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/tools/txtar"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/sheet"
)

// entry is a sheet of testdata/corpus with what it must hold; README.md there says how they are written.
type entry struct {
	name    string
	options sheet.Options
	want    map[string]string
	says    []string // that must be told
	refused string   // a word of why it is not taken, or asked about
	asked   string
	file    []byte
	table   []byte // of a CSV: its text before it was put into its encoding
}

var pages = map[string]*charmap.Charmap{"windows-1252": charmap.Windows1252, "windows-1250": charmap.Windows1250, "iso-8859-2": charmap.ISO8859_2, "mac": charmap.Macintosh, "dos": charmap.CodePage850}

func corpus(t testing.TB) []entry {
	t.Helper()
	names, err := filepath.Glob(filepath.Join("testdata", "corpus", "*.txt"))
	if err != nil {
		t.Fatal(err)
	}
	var list []entry
	for _, name := range names {
		archive, err := txtar.ParseFile(name)
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, parseEntry(t, strings.TrimSuffix(filepath.Base(name), ".txt"), archive))
	}
	return list
}

func parseEntry(t testing.TB, name string, archive *txtar.Archive) entry {
	t.Helper()
	e := entry{name: name, want: map[string]string{}, options: sheet.Options{Now: func() time.Time { return time.Date(2025, 12, 1, 12, 0, 0, 0, time.UTC) }}}
	encoding := ""
	for line := range strings.Lines(string(archive.Files[0].Data)) {
		key, value, ok := strings.Cut(strings.TrimSpace(line), ": ")
		if !ok {
			t.Fatalf("%s: the line %q has no value", name, line)
		}
		switch key {
		case "encoding":
			encoding = value
		case "options":
			e.option(t, value)
		case "says":
			e.says = append(e.says, value)
		case "refused":
			e.refused = value
		case "asked":
			e.asked = value
		default:
			e.want[key] = value
		}
	}
	if archive.Files[1].Name != "sheet.csv" {
		e.file = workbook(t, name, archive.Files[1:])
		return e
	}
	e.table = archive.Files[1].Data
	e.file = encoded(t, string(e.table), encoding)
	return e
}

// option takes "dates=day-first; column=Fish=hookups".
func (e *entry) option(t testing.TB, text string) {
	t.Helper()
	for part := range strings.SplitSeq(text, "; ") {
		key, value, _ := strings.Cut(part, "=")
		header, rest, _ := strings.Cut(value, "=")
		switch key {
		case "dates":
			e.options.Dates = sheet.DateOrder(value)
		case "units":
			e.options.Units = units.System(value)
		case "angler":
			e.options.Angler = value
		case "water":
			e.options.Water = value
		case "ranges":
			e.options.Ranges = sheet.RangesMiddle
		case "sheet":
			e.options.Sheets = append(e.options.Sheets, value)
		case "column":
			if rest == "ignore" {
				rest = ""
			}
			e.options.Columns = append(e.options.Columns, sheet.ColumnRule{Header: header, Key: rest})
		case "blank":
			e.options.Blanks = append(e.options.Blanks, sheet.BlankRule{Header: header, Is: sheet.Blank(rest)})
		default:
			t.Fatalf("%s: there is no option %s", e.name, key)
		}
	}
}

func encoded(t testing.TB, text, encoding string) []byte {
	t.Helper()
	switch encoding {
	case "":
		return []byte(text)
	case "utf-8-sig":
		return []byte("\ufeff" + text)
	case "crlf":
		return []byte(strings.ReplaceAll(text, "\n", "\r\n"))
	case "utf-16":
		b := []byte{0xff, 0xfe}
		for _, r := range text {
			b = append(b, byte(r), byte(r>>8)) // no letter of the corpus needs a pair
		}
		return b
	}
	b, err := pages[encoding].NewEncoder().String(text)
	if err != nil {
		t.Fatal(err)
	}
	return []byte(b)
}

// workbook makes a workbook of its description.
func workbook(t testing.TB, name string, sheets []txtar.File) []byte {
	t.Helper()
	book := excelize.NewFile()
	defer book.Close()
	w := writer{t, book, map[string]int{}}
	for i, f := range sheets {
		title, hidden := strings.CutPrefix(f.Name, "hidden ")
		title, ok := strings.CutPrefix(title, "sheet ")
		if !ok {
			t.Fatalf("%s: %q is not the name of a sheet", name, f.Name)
		}
		if i == 0 {
			w.do(book.SetSheetName("Sheet1", title))
		} else if _, err := book.NewSheet(title); err != nil {
			t.Fatal(err)
		}
		w.fill(title, string(f.Data))
		w.do(book.SetSheetVisible(title, !hidden))
	}
	var b bytes.Buffer
	w.do(book.Write(&b))
	return b.Bytes()
}

type writer struct {
	t      testing.TB
	book   *excelize.File
	styles map[string]int
}

func (w writer) do(err error) {
	w.t.Helper()
	if err != nil {
		w.t.Fatal(err)
	}
}

// fill writes the cells of a sheet, each by what it begins with.
func (w writer) fill(title, text string) {
	row := 0
	for line := range strings.Lines(text) {
		row++
		for i, cell := range strings.Split(strings.TrimSpace(line), "|") {
			cell = strings.TrimSpace(cell)
			at, err := excelize.CoordinatesToCellName(i+1, row)
			w.do(err)
			switch {
			case cell == "":
			case cell == "^", cell == "<":
				w.merge(title, i+1, row, cell)
			case cell[0] == '=':
				w.do(w.book.SetCellFormula(title, at, cell))
			case cell[0] == '@', cell[0] == '#':
				w.moment(title, at, cell)
			case cell[0] == '\'':
				w.do(w.book.SetCellStr(title, at, cell[1:]))
			default:
				if n, err := strconv.ParseFloat(cell, 64); err == nil {
					w.do(w.book.SetCellFloat(title, at, n, -1, 64))
				} else {
					w.do(w.book.SetCellStr(title, at, cell))
				}
			}
		}
	}
}

// merge joins a cell to the one above it or left of it, and to what that is merged with.
func (w writer) merge(title string, column, row int, with string) {
	upper, left := row-1, column
	if with == "<" {
		upper, left = row, column-1
	}
	from, err := excelize.CoordinatesToCellName(left, upper)
	w.do(err)
	to, err := excelize.CoordinatesToCellName(column, row)
	w.do(err)
	merged, err := w.book.GetMergeCells(title)
	w.do(err)
	for _, m := range merged {
		if m.GetEndAxis() == from {
			from = m.GetStartAxis()
			w.do(w.book.UnmergeCell(title, from, m.GetEndAxis()))
		}
	}
	w.do(w.book.MergeCell(title, from, to))
}

// moment writes a day, a time of day or a spell of time as programs keep them: as numbers of days.
func (w writer) moment(title, at, cell string) {
	formats := []struct{ layout, format string }{{time.DateOnly, "yyyy-mm-dd"}, {"15:04", "hh:mm"}, {"2006-01-02 15:04", "yyyy-mm-dd hh:mm"}}
	if cell[0] == '#' {
		formats = []struct{ layout, format string }{{"15:04", "[h]:mm"}}
	}
	for _, f := range formats {
		when, err := time.Parse(f.layout, cell[1:])
		if err != nil {
			continue
		}
		from := time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)
		if when.Year() == 0 {
			from = time.Date(0, 1, 1, 0, 0, 0, 0, time.UTC)
		}
		style, ok := w.styles[f.format]
		if !ok {
			style, err = w.book.NewStyle(&excelize.Style{CustomNumFmt: &f.format})
			w.do(err)
			w.styles[f.format] = style
		}
		w.do(w.book.SetCellFloat(title, at, when.Sub(from).Hours()/24, -1, 64))
		w.do(w.book.SetCellStyle(title, at, at, style))
		return
	}
	w.t.Fatalf("%q is no day or time", cell)
}

// Every sheet of the corpus holds what it must, or is refused or asked about by name.
func TestCorpus(t *testing.T) {
	t.Parallel()
	entries := corpus(t)
	if len(entries) < 60 {
		t.Errorf("only %d sheets", len(entries))
	}
	for _, e := range entries {
		t.Run(e.name, func(t *testing.T) {
			t.Parallel()
			s, err := sheet.Read(t.Context(), bytes.NewReader(e.file), e.name, e.options)
			switch {
			case e.refused != "":
				if text := refusal(s, err); !strings.Contains(text, e.refused) {
					t.Errorf("refused with %q, want %q in it", text, e.refused)
				}
			case err != nil:
				t.Errorf("refused: %v", err)
			case e.asked != "":
				if text := fmt.Sprint(s.Stops); !strings.Contains(text, e.asked) {
					t.Errorf("asked %q, want %q in it", text, e.asked)
				}
			default:
				if text := refusal(s, nil); text != "" || len(s.Stops) > 0 {
					t.Fatalf("not taken: %s %v", text, s.Stops)
				}
				e.compare(t, s)
			}
			for _, says := range e.says {
				if err == nil && !strings.Contains(told(s), says) {
					t.Errorf("%q is not told in:\n%s", says, told(s))
				}
			}
		})
	}
}

// refusal is why a sheet was not taken as it stands, "" if it was.
func refusal(s *sheet.Sheet, err error) string {
	if err != nil {
		return err.Error()
	}
	var lines []string
	for _, b := range s.Bad {
		lines = append(lines, b.String())
	}
	return strings.Join(lines, "\n")
}

// told is all that a sheet says of how it was read.
func told(s *sheet.Sheet) string {
	lines := slices.Concat(s.Choices, s.Warnings)
	for _, skipped := range s.Skipped {
		lines = append(lines, fmt.Sprintf("%s row %d: %s", skipped.Sheet, skipped.Row, skipped.Why))
	}
	for _, c := range s.Columns {
		line := fmt.Sprintf("%s → %s %s %s", c.Header, c.Understood, c.Unit, c.Note)
		if c.Reading != nil {
			line += c.Reading.Sentence(c.Header)
		}
		lines = append(lines, line)
	}
	return strings.Join(lines, "\n")
}

func (e entry) compare(t *testing.T, s *sheet.Sheet) {
	t.Helper()
	held, err := s.Held()
	if err != nil {
		t.Fatal(err)
	}
	got := sums(held)
	if e.want["stints"] == "" || len(e.want) < 3 {
		t.Error("too little is wanted")
	}
	for _, key := range slices.Sorted(maps.Keys(e.want)) {
		if got[key] != e.want[key] && (got[key] != "" || e.want[key] != "0") {
			t.Errorf("%s: %s, want %s", key, got[key], e.want[key])
		}
		if _, counted := kinds[key]; counted && e.want[key+" not recorded"] == "" && got[key+" not recorded"] != "" {
			t.Errorf("%s were not recorded in %s stints", key, got[key+" not recorded"])
		}
	}
	if t.Failed() {
		t.Logf("it said:\n%s", told(s))
	}
}

// kinds are what was counted, by the keys of columns.
var kinds = map[string]journal.Kind{"hookups": journal.KindHookups, "landed": journal.KindLanded, "lost": journal.KindLost, "broke_off": journal.KindBrokeOff, "foul_hookups": journal.KindHooking,
	"snags": journal.KindSnags, "tangles": journal.KindTangles, "twists": journal.KindTangleKind, "fly_changes": journal.KindChanges, "reties": journal.KindChanges}

// sums adds up stints in the words of the corpus.
func sums(held []sheet.HeldStint) map[string]string {
	n, minutes, of := map[string]int{"stints": len(held)}, 0.0, map[string]map[string]int{}
	tally := func(what, which string) {
		if of[what] == nil {
			of[what] = map[string]int{}
		}
		of[what][which]++
	}
	for _, h := range held {
		if h.Stint.Minutes == nil {
			n["minutes not noted"]++
		} else {
			minutes += *h.Stint.Minutes
		}
		for key, count := range happened(h.Stint.Events) {
			n[key] += count
		}
		for key, kind := range kinds {
			if !h.Stint.Recorded.Has(kind) {
				n[key+" not recorded"]++
			}
		}
		tally("days", h.Day.String())
		tally("anglers", h.Angler)
		tally("waters", h.Water)
		for _, p := range h.Rig.Positions {
			if p.Junction == journal.JunctionOther {
				tally("knots", p.JunctionName)
			} else if p.Junction != "" {
				tally("knots", string(p.Junction))
			}
			if p.TagLengthMM != nil {
				tally("tags", strconv.FormatFloat(*p.TagLengthMM, 'f', 0, 64)) // to the millimeter
			}
		}
	}
	text := map[string]string{"minutes": strconv.FormatFloat(minutes, 'f', -1, 64)}
	for key, count := range n {
		text[key] = strconv.Itoa(count)
	}
	for what, which := range of {
		var parts []string
		for _, key := range slices.Sorted(maps.Keys(which)) {
			parts = append(parts, fmt.Sprintf("%s %d", key, which[key]))
		}
		text[what] = strings.Join(parts, ", ")
	}
	return text
}

func happened(events []journal.Event) map[string]int {
	n := map[string]int{}
	for _, e := range events {
		switch e.Kind {
		case journal.EventHookup:
			n["hookups"] += e.Count
		case journal.EventSnag:
			n["snags"] += e.Count
		case journal.EventTangle:
			n["tangles"] += e.Count
		case journal.EventFlyChange:
			n["fly_changes"] += e.Count
		case journal.EventRetie:
			n["reties"] += e.Count
		}
		switch {
		case e.Hooking == journal.Foul:
			n["foul_hookups"] += e.Count
		case e.TangleKind == journal.Twist:
			n["twists"] += e.Count
		}
		switch e.Ending {
		case journal.Landed:
			n["landed"] += e.Count
		case journal.Lost:
			n["lost"] += e.Count
		case journal.BrokeOff:
			if e.Kind == journal.EventHookup {
				n["broke_off"] += e.Count
			}
		}
	}
	return n
}
