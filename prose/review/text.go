package review

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"rigtally/analytics/season"
	"rigtally/internal/table"
	"rigtally/internal/units"
	"rigtally/prose"
)

// textWidth is where lines of a review are broken on a terminal.
const textWidth = 88

// Write writes a review for a terminal: what the page says, without figures.
func Write(w io.Writer, a season.Answer, sys units.System, width int) error {
	r := Of(a, sys)
	var b strings.Builder
	paragraph := func(text, mark string) { prose.Paragraph(&b, mark, text, textWidth) }
	b.WriteString(r.Title + "\n\n")
	paragraph(r.Headline, "")
	if r.Byline != "" {
		paragraph(r.Byline, "")
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
			paragraph(text, "")
		}
		for _, item := range s.Items {
			if item.Group != "" {
				b.WriteString("\n")
				paragraph(item.Group, "")
			}
			paragraph(item.Head, "* ")
			for _, line := range item.Lines {
				paragraph(line, "  ")
			}
		}
		for _, t := range s.Tables {
			fmt.Fprintf(&b, "\n%s\n", t.Caption)
			_, _ = table.Words("", t.Words, t.Head, t.Rows).WriteText(&b, width) // a strings.Builder never fails
		}
		for _, text := range s.After {
			paragraph(text, "")
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}
