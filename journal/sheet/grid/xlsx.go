package grid

import (
	"errors"
	"fmt"
	"path"
	"regexp"
	"strconv"
	"strings"
)

// xlsx is what the parts of an .xlsx say beside its sheets (ECMA-376 part 1, 18).
type xlsx struct {
	*book
	date1904  bool
	recompute bool     // programs calculate every formula when they open it: what is stored may be anything
	formats   []format // of cells, by style
	shared    []string
}

// readXLSX reads the sheets of an .xlsx, visible or not.
func (b *book) readXLSX() error {
	x := &xlsx{book: b}
	part := b.workbookPart()
	targets, err := b.relations(part)
	if err != nil {
		return err
	}
	type ref struct{ name, state, id string }
	var refs []ref
	err = b.scan(part, func(s *scanner) error {
		return s.each(func(element string) error {
			switch element {
			case "workbookPr":
				x.date1904 = s.is("date1904")
			case "calcPr":
				x.recompute = s.is("fullCalcOnLoad")
			case "sheet":
				r := ref{name: s.attr("name"), state: s.attr("state"), id: s.attr("id")}
				if refs = append(refs, r); len(refs) > maxSheets {
					return errTooManySheets
				}
			}
			return nil
		})
	})
	if err != nil {
		return err
	}
	for _, t := range targets {
		switch {
		case strings.HasSuffix(t.kind, "/sharedStrings"):
			err = b.scan(t.part, x.readShared)
		case strings.HasSuffix(t.kind, "/styles"):
			err = b.scan(t.part, x.readStyles)
		}
		if err != nil {
			return err
		}
	}
	for _, r := range refs {
		t, ok := targets[r.id]
		if !ok || !b.has(t.part) {
			return damaged("sheet "+r.name, errors.New("it is not in the file"))
		}
		if !strings.HasSuffix(t.kind, "/worksheet") {
			b.note("%q is a chart or macro, not a sheet, and left out.", r.name)
			continue
		}
		table, err := b.addTable(r.name, r.state == "hidden" || r.state == "veryHidden")
		if err != nil {
			return err
		}
		reader := &sheetReader{xlsx: x, table: table}
		if err := b.scan(t.part, reader.read); err != nil {
			return err
		}
		b.noteHiddenColumns(table, reader.hidden)
	}
	b.date1904 = x.date1904
	return nil
}

// workbookPart returns the part that lists the sheets, "" if there is none.
func (a *archive) workbookPart() string {
	if targets, err := a.relations(""); err == nil {
		for _, t := range targets {
			if strings.HasSuffix(t.kind, "/officeDocument") && a.has(t.part) && workbookName.MatchString(t.part) {
				return t.part
			}
		}
	}
	if a.has("xl/workbook.xml") {
		return "xl/workbook.xml"
	}
	return ""
}

var workbookName = regexp.MustCompile(`(?i)workbook[^/]*\.xml$`)

// target is a part that another one refers to.
type target struct{ part, kind string }

const maxRelations = 10_000

// relations reads what a part refers to, by id.
func (a *archive) relations(of string) (map[string]target, error) {
	dir, file := path.Split(of)
	found := map[string]target{}
	err := a.scan(dir+"_rels/"+file+".rels", func(s *scanner) error {
		return s.each(func(element string) error {
			if element != "Relationship" || s.attr("TargetMode") == "External" {
				return nil
			}
			if len(found) >= maxRelations {
				return errXML
			}
			part := s.attr("Target")
			if !strings.HasPrefix(part, "/") {
				part = dir + part
			}
			found[s.attr("Id")] = target{strings.TrimPrefix(path.Clean("/"+part), "/"), s.attr("Type")}
			return nil
		})
	})
	return found, err
}

// readShared reads the texts that cells share.
func (x *xlsx) readShared(s *scanner) error {
	return s.each(func(element string) error {
		if element != "si" {
			return nil
		}
		t, err := x.richText(s, nil)
		if err != nil {
			return err
		}
		x.shared = append(x.shared, string(t))
		return x.addText(len(t) + 24)
	})
}

// richText reads a text in one or several runs, without the pronunciation that goes with some.
func (x *xlsx) richText(s *scanner, out []byte) ([]byte, error) {
	out = out[:0]
	for depth, within := s.depth, false; ; {
		k, err := s.next()
		switch {
		case err != nil:
			return nil, err
		case k == startElement && string(s.name) == "rPh":
			if err := s.passOver(); err != nil {
				return nil, err
			}
		case k == startElement:
			within = string(s.name) == "t"
		case k == text && within:
			if out = append(out, s.text...); len(out) > maxToken {
				return nil, errXML
			}
		case k == endElement:
			within = false
			if s.depth < depth {
				return unmark(out), nil
			}
		}
	}
}

// unmark turns _x000D_ and its like into the letter that they stand for (ECMA-376 part 1, 22.9.2.19).
func unmark(b []byte) []byte {
	s := string(b)
	if !strings.Contains(s, "_x") {
		return b
	}
	var out strings.Builder
	for {
		before, after, found := strings.Cut(s, "_x")
		out.WriteString(before)
		if !found {
			return []byte(out.String())
		}
		if len(after) >= 5 && after[4] == '_' {
			if n, err := strconv.ParseUint(after[:4], 16, 16); err == nil && n > 0 && (n < 0xd800 || n > 0xdfff) {
				out.WriteRune(rune(n))
				s = after[5:]
				continue
			}
		}
		out.WriteString("_x")
		s = after
	}
}

// readStyles reads the number formats of cells' styles.
func (x *xlsx) readStyles(s *scanner) error {
	codes := map[int]format{}
	cells := 0 // depth of cellXfs
	return s.each(func(element string) error {
		switch element {
		case "numFmt":
			if id, err := strconv.Atoi(s.attr("numFmtId")); err == nil && len(codes) < maxStyles && cells == 0 {
				codes[id] = coded(s.attr("formatCode"))
			}
		case "cellXfs":
			cells = s.depth
		case "cellStyles", "dxfs":
			cells = 0
		case "xf":
			if cells == 0 || s.depth != cells+1 {
				return nil
			}
			id, _ := strconv.Atoi(s.attr("numFmtId"))
			f, ok := codes[id]
			if !ok {
				f = builtIn(id)
			}
			if x.formats = append(x.formats, f); len(x.formats) > maxStyles {
				return errXML
			}
		}
		return nil
	})
}

// note adds a sentence for people; a workbook full of what there is to say says it a few times.
func (b *book) note(sentence string, args ...any) {
	if len(b.notes) < 20 {
		b.notes = append(b.notes, fmt.Sprintf(sentence, args...))
	}
}
