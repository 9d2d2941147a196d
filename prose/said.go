package prose

import (
	"fmt"
	"io"
	"rigtally/internal/table"
	"strings"
	"unicode/utf8"
)

// Said is an answer in words and numbers, as pages and terminals show it.
type Said struct {
	Title    string
	Sentence string   // the answer
	Bet      string   // a choice, not a finding; may be empty
	BetHow   string   // how its chance was computed
	More     []string // what belongs to it, a sentence each
	Tables   []table.Table
	After    []string // what stands below the tables
	InAll    string   // how much is behind it all
	LeftOut  []string // what could not be used, and why
	Notes    []string // what the reader must know, a sentence each
}

// Text writes the answer for a terminal of so many characters; 0 is without end.
func (s Said) Text(width int) string {
	var b strings.Builder
	paragraph := func(lines ...string) {
		for _, line := range lines {
			if line != "" {
				b.WriteString(line + "\n")
			}
		}
	}
	paragraph(s.Sentence, s.Bet)
	paragraph(s.More...)
	var away []string
	for _, t := range s.Tables {
		b.WriteString("\n")
		if t.Title != "" {
			b.WriteString(t.Title + ":\n")
		}
		gone, _ := t.WriteText(&b, width) // a strings.Builder never fails
		away = append(away, gone...)
	}
	if len(s.Tables) > 0 {
		b.WriteString("\n")
	}
	if len(away) > 0 {
		paragraph("Not shown, to fit the width: " + Listed(away) + ".")
	}
	paragraph(s.After...)
	paragraph(s.InAll)
	if len(s.LeftOut) > 0 {
		paragraph("Left out: " + strings.Join(s.LeftOut, "; ") + ".")
	}
	paragraph(s.Notes...)
	return b.String()
}

// Paragraph writes a text in lines of so many letters: the first after a mark, the others below its text.
func Paragraph(w io.Writer, mark, text string, width int) {
	indent := strings.Repeat(" ", utf8.RuneCountInString(mark))
	line := ""
	for _, word := range strings.Fields(text) {
		if line != "" && utf8.RuneCountInString(indent+line+" "+word) > width {
			fmt.Fprintln(w, mark+line)
			mark, line = indent, ""
		}
		line = strings.TrimSpace(line + " " + word)
	}
	fmt.Fprintln(w, mark+line)
}
