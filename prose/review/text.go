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
	wide := textWidth
	if width > 0 {
		wide = min(wide, width)
	}
	paragraph := func(text, mark string) {
		if text != "" {
			prose.Paragraph(&b, mark, text, wide)
		}
	}
	title := func(text string) {
		fmt.Fprintf(&b, "\n%s%s\n", table.FoldLines(text+"\n", width), strings.Repeat("-", min(wide, utf8.RuneCountInString(text))))
	}
	written := func(t Table) {
		if len(t.Rows) > 0 {
			_ = table.Words("", t.Words, t.Head, t.Rows).WriteText(&b, width) // a strings.Builder never fails
		}
	}
	b.WriteString(r.Title + "\n\n")
	paragraph(r.Headline+said(r.Sure), "")
	paragraph(r.Lead, "")
	paragraph(r.Byline, "")
	if len(r.Advice) > 0 {
		title("What to change")
	}
	for _, x := range r.Advice {
		paragraph(prose.Capital(x.Change)+"."+said(x.Sure), "* ")
		for _, text := range x.Says {
			paragraph(text, "  ")
		}
	}
	if len(r.Beside.Rows) > 0 {
		title(r.Beside.Caption)
		written(r.Beside)
		paragraph(r.Besides, "")
	}
	if r.Open != "" {
		title("Still open")
		paragraph(r.Open+" "+r.FindOut, "")
	}
	if r.Same != "" {
		title("No difference that matters")
		paragraph(r.Same, "")
	}
	if r.Care != "" {
		title("Take care")
		paragraph(r.Care, "")
	}
	for _, s := range r.Record {
		title(s.Title)
		written(s.Table)
		for _, text := range s.Text {
			paragraph(text, "")
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// said is a word of sureness after a sentence.
func said(s prose.Sureness) string {
	if s == "" {
		return ""
	}
	return " " + prose.Capital(string(s)) + "."
}
