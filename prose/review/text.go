package review

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"rigtally/analytics/season"
	"rigtally/internal/table"
	"rigtally/internal/units"
)

// textWidth is where lines of a review are broken on a terminal.
const textWidth = 88

// Write writes a review for a terminal: what the page says, without figures.
func Write(w io.Writer, a season.Answer, sys units.System, width int) error {
	r := Of(a, sys)
	var b strings.Builder
	b.WriteString(r.Title + "\n\n")
	paragraph(&b, r.Headline, "")
	if r.Byline != "" {
		paragraph(&b, r.Byline, "")
	}
	for i, f := range r.Facts {
		if i > 0 {
			b.WriteString(", ")
		}
		b.WriteString(f.Value + " " + f.Name)
	}
	if len(r.Facts) > 0 {
		b.WriteString(".\n")
	}
	for _, s := range r.Sections {
		fmt.Fprintf(&b, "\n%s\n%s\n", s.Title, strings.Repeat("-", utf8.RuneCountInString(s.Title)))
		for _, text := range s.Text {
			paragraph(&b, text, "")
		}
		for _, item := range s.Items {
			if item.Group != "" {
				b.WriteString("\n")
				paragraph(&b, item.Group, "")
			}
			paragraph(&b, item.Head, "* ")
			for _, line := range item.Lines {
				paragraph(&b, line, "  ")
			}
		}
		for _, t := range s.Tables {
			fmt.Fprintf(&b, "\n%s\n", t.Caption)
			_, _ = table.Words("", t.Words, t.Head, t.Rows).WriteText(&b, width) // a strings.Builder never fails
		}
		for _, text := range s.After {
			paragraph(&b, text, "")
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// paragraph breaks a text into lines; a mark stands before the first one.
func paragraph(b *strings.Builder, text, mark string) {
	line, indent := mark, strings.Repeat(" ", len(mark))
	for _, word := range strings.Fields(text) {
		if utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > textWidth && strings.TrimSpace(line) != "" {
			b.WriteString(strings.TrimRight(line, " ") + "\n")
			line = indent
		}
		if strings.TrimSpace(line) != "" && !strings.HasSuffix(line, " ") {
			line += " "
		}
		line += word
	}
	b.WriteString(line + "\n")
}
