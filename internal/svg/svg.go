// Package svg writes what all drawings are made of: numbers, escaped text, and text
// in lines that have room.
package svg

import (
	"encoding/xml"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Writer gathers a drawing.
type Writer struct{ strings.Builder }

// Put writes what a format says: see Format.
func (w *Writer) Put(format string, args ...any) { w.WriteString(Format(format, args...)) }

// Format is what a format says, with numbers as coordinates; %v takes any value.
func Format(format string, args ...any) string {
	for i, a := range args {
		if v, ok := a.(float64); ok {
			args[i] = Num(v)
		}
	}
	return fmt.Sprintf(format, args...)
}

// Percent is a place or a length across, in percent of the width.
type Percent float64

// Element writes an element. Its attributes are pairs of a name and a value; those that
// are empty or 0 are left out.
func (w *Writer) Element(name, inner string, attributes ...any) {
	w.WriteString(Element(name, inner, attributes...))
}

// Element is an element as text: see Writer.
func Element(name, inner string, attributes ...any) string {
	var b strings.Builder
	b.WriteString("<" + name)
	for i := 0; i < len(attributes); i += 2 {
		value := fmt.Sprint(attributes[i+1])
		switch v := attributes[i+1].(type) {
		case float64:
			value = Num(v)
		case Percent:
			value = Num(float64(v)) + "%"
		}
		if value != "" && value != "0" && value != "0%" {
			b.WriteString(" " + attributes[i].(string) + `="` + Escape(value) + `"`)
		}
	}
	if inner == "" {
		b.WriteString("/>")
	} else {
		b.WriteString(">" + inner + "</" + name + ">")
	}
	return b.String()
}

// Num prints a coordinate to a thousandth.
func Num(v float64) string {
	v = math.Round(v*1000) / 1000
	if v == 0 {
		return "0" // and not -0
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// Escape writes a text so that it stays text within an element or an attribute.
func Escape(s string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(s)) // a Builder takes everything
	return b.String()
}

// Width is about how wide a text is drawn, in a wide typeface.
func Width(s string, size float64) float64 {
	width := 0.0
	for _, r := range s {
		switch {
		case strings.ContainsRune("ijlt.,'/ :;|!", r):
			width += 0.34
		case strings.ContainsRune("mwMW×", r):
			width += 0.94
		case r >= 'A' && r <= 'Z':
			width += 0.72
		default:
			width += 0.62
		}
	}
	return width * size
}

// Lines breaks a text into lines of at most a width, and ends the last of most
// lines with … when there is more.
func Lines(s string, size, width float64, most int) []string {
	var list []string
	line := ""
	for _, word := range strings.Fields(s) {
		longer := strings.TrimSpace(line + " " + word)
		if line != "" && Width(longer, size) > width {
			list = append(list, line)
			longer = word
		}
		line = longer
	}
	if line != "" {
		list = append(list, line)
	}
	if len(list) > most {
		list = list[:most]
		list[most-1] += " …"
	}
	for i, line := range list {
		for Width(line, size) > width && len([]rune(line)) > 2 {
			r := []rune(strings.TrimSuffix(line, "…"))
			line = strings.TrimSpace(string(r[:len(r)-1])) + "…"
		}
		list[i] = line
	}
	return list
}
