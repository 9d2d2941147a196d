package grid

import (
	"bytes"
	"errors"
	"math"
	"strconv"
	"strings"
)

// readCell reads a cell's text (OpenDocument 1.3, part 3, 9.1.4 <table:table-cell>).
func (o *ods) readCell(s *scanner, row, column int) (string, error) {
	kind := s.attr("value-type")
	formula := len(s.attrBytes("formula")) > 0
	failed := o.isError(s)
	var value string
	switch kind {
	case "float", "percentage", "currency":
		value = s.attr("value")
	case "date":
		value = s.attr("date-value")
	case "time":
		value = s.attr("time-value")
	case "boolean":
		value = s.attr("boolean-value")
	case "string":
		value = s.attr("string-value")
	}
	style := ""
	if kind != "" && kind != "string" {
		style = o.styleOf(s.attr("style-name"), column)
	}
	text, err := o.paragraphs(s)
	if err != nil {
		return "", err
	}
	shown := strings.TrimSpace(text)
	switch {
	case failed || formula && strings.HasPrefix(shown, "Err:"):
		return o.words.of([]byte(shown))
	case kind == "" && formula && shown == "":
		o.noteFormula(row, column)
		return NotComputed, nil
	case kind == "string" && value != "":
		return o.words.of([]byte(value))
	case kind == "" || kind == "string":
		return o.words.of([]byte(text))
	case kind == "boolean":
		return yesNo(value == "true"), nil
	}
	cell, ok := o.typed(kind, value, o.format(style))
	if !ok {
		return "", errors.New("a cell's value is none: " + value[:min(len(value), 30)])
	}
	return o.words.of([]byte(cell))
}

// isError reports whether a cell shows an error: OpenDocument has no type for it, so that programs write one of their own.
func (o *ods) isError(s *scanner) bool {
	for _, a := range s.attrs {
		if string(a.name) == "value-type" && string(a.prefix) == "calcext" && string(a.value) == "error" {
			return true
		}
	}
	return false
}

// typed writes a number, date or time as its style shows it.
func (o *ods) typed(kind, value string, f format) (string, bool) {
	switch kind {
	case "date":
		return f.moment(value)
	case "time":
		seconds, ok := duration(value)
		if !ok {
			return "", false
		}
		if f.date || f.percent {
			f = format{}
		}
		f.time = !f.elapsed
		return f.serial(seconds / day), true
	}
	v, err := strconv.ParseFloat(value, 64)
	if err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
		return "", false
	}
	if kind == "percentage" {
		f = format{percent: true}
	}
	return f.show(v), true
}

// duration reads PT06H30M00S into seconds (XML Schema part 2, 3.2.6).
func duration(s string) (seconds float64, ok bool) {
	sign := 1.0
	if strings.HasPrefix(s, "-") {
		sign, s = -1, s[1:]
	}
	s, ok = strings.CutPrefix(s, "P")
	if !ok {
		return 0, false
	}
	days, clock, _ := strings.Cut(s, "T")
	for _, part := range []struct {
		of, units string
		seconds   []float64
	}{{days, "D", []float64{day}}, {clock, "HMS", []float64{3600, 60, 1}}} {
		rest := part.of
		for i, unit := range part.units {
			n, after, found := strings.Cut(rest, string(unit))
			if !found {
				continue
			}
			v, err := strconv.ParseFloat(strings.Replace(n, ",", ".", 1), 64)
			if err != nil || v < 0 || v > 1e10 {
				return 0, false
			}
			seconds += v * part.seconds[i]
			rest = after
		}
		if rest != "" {
			return 0, false
		}
	}
	return sign * seconds, true
}

// paragraphs reads the text of a cell: its paragraphs, each on a line, without notes and drawings.
func (o *ods) paragraphs(s *scanner) (string, error) {
	var out []byte
	lines, within := 0, 0 // paragraphs begun; depth of the one at hand
	for depth := s.depth; ; {
		k, err := s.next()
		if err != nil {
			return "", err
		}
		switch k {
		case endElement:
			if s.depth < within {
				within = 0
			}
			if s.depth < depth {
				return string(out), nil
			}
		case text:
			if within > 0 {
				out = append(out, bytes.ReplaceAll(s.text, []byte("\n"), []byte(" "))...)
			}
		case startElement:
			switch name := string(s.name); {
			case name == "p" && within == 0:
				if lines++; lines > 1 {
					out = append(out, '\n')
				}
				within = s.depth
			case within == 0, name == "annotation", name == "note", name == "frame", name == "ruby-text":
				if err := s.passOver(); err != nil {
					return "", err
				}
			case name == "s":
				n, err := repeated(s, "c")
				if err != nil || n > maxToken {
					return "", errPlace
				}
				out = append(out, bytes.Repeat([]byte(" "), n)...)
			case name == "tab":
				out = append(out, '\t')
			case name == "line-break":
				out = append(out, '\n')
			}
		}
		if len(out) > maxToken {
			return "", errXML
		}
	}
}
