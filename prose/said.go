package prose

import (
	"fmt"
	"io"
	"rigtally/internal/table"
	"rigtally/journal"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Said is an answer in words and numbers, as pages and terminals show it.
type Said struct {
	Title    string
	Sentence string   // the answer
	Remedy   string   // what to do where there is none for want of a gauge; may be empty
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
				b.WriteString(table.FoldLines(line+"\n", width))
			}
		}
	}
	paragraph(s.Sentence, s.Bet)
	if s.Remedy != "" {
		paragraph(s.Remedy, "  rigtally gauges link WATER SITE", "  rigtally gauges fill")
	}
	paragraph(s.More...)
	for _, t := range s.Tables {
		b.WriteString("\n")
		if t.Title != "" {
			b.WriteString(table.FoldLines(strings.ReplaceAll(t.Title+":", "?:", "?")+"\n", width))
		}
		_ = t.WriteText(&b, width) // a strings.Builder never fails
	}
	if len(s.Tables) > 0 {
		b.WriteString("\n")
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

// Capital starts a text with a capital letter.
func Capital(s string) string { return begun(s, unicode.ToUpper) }

// Lower begins a sentence's words as after a colon.
func Lower(s string) string { return begun(s, unicode.ToLower) }

func begun(s string, letter func(rune) rune) string {
	first, size := utf8.DecodeRuneInString(s)
	if size == 0 {
		return ""
	}
	return string(letter(first)) + s[size:]
}

// Plural is a count with its noun: 1 stint, 2 stints.
func Plural(n int, one, many string) string { return strconv.Itoa(n) + " " + Verb(n, one, many) }

// Several is Plural of a noun that is regular.
func Several(n int, what string) string { return Plural(n, what, what+"s") }

// Have is Several with its verb: "1 stint has", "2 stints have".
func Have(n int, what string) string { return Several(n, what) + Verb(n, " has", " have") }

// Verb chooses the word for one or for many.
func Verb(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

// Listed lists things in a sentence: "a, b and c".
func Listed(names []string) string {
	if n := len(names); n > 1 {
		return strings.Join(names[:n-1], ", ") + " and " + names[n-1]
	}
	return strings.Join(names, "")
}

var numbers = []string{"no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"}

// Number is a small number as a word.
func Number(n int) string {
	if n >= 0 && n < len(numbers) {
		return numbers[n]
	}
	return strconv.Itoa(n)
}

// each words every one of a list.
func each[T any](list []T, word func(T) string) []string {
	texts := make([]string, len(list))
	for i, t := range list {
		texts[i] = word(t)
	}
	return texts
}

// worded is each without those of which nothing is said.
func worded[T any](list []T, word func(T) string) []string {
	return slices.DeleteFunc(each(list, word), func(text string) bool { return text == "" })
}

// titled are the titles of factors within a sentence.
func titled(factors []journal.Factor) []string {
	return each(factors, func(f journal.Factor) string { return strings.ToLower(f.Title) })
}

func byTitles(by []journal.By) []string {
	return each(by, func(b journal.By) string { return strings.ToLower(b.Factor.Title) })
}
