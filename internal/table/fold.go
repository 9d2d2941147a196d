package table

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// Fold breaks a text between words so that each line keeps to a width, in characters. A number stays with its unit, and
// a longer word stands alone.
func Fold(text string, width int) []string {
	if utf8.RuneCountInString(text) <= width {
		return []string{text}
	}
	var lines []string
	for _, word := range words(text) {
		last := len(lines) - 1
		if last >= 0 && utf8.RuneCountInString(lines[last])+1+utf8.RuneCountInString(word) <= width {
			lines[last] += " " + word
			continue
		}
		lines = append(lines, word)
	}
	return lines
}

// cut is Fold that breaks a word that is longer than the width, too.
func cut(text string, width int) []string {
	var lines []string
	for _, line := range Fold(text, width) {
		letters := []rune(line)
		for ; len(letters) > width; letters = letters[width:] {
			lines = append(lines, string(letters[:width]))
		}
		lines = append(lines, string(letters))
	}
	return lines
}

// FoldLines folds each line of a text that is longer than a width, and begins what goes on below where its text began:
// behind its indent, and behind what stands in front of a gap.
func FoldLines(text string, width int) string {
	if width < 1 {
		return text
	}
	var b strings.Builder
	for line := range strings.Lines(text) {
		body, end := strings.CutSuffix(line, "\n")
		if command := strings.TrimLeft(body, " "); command != body && strings.HasPrefix(command, "rigtally ") {
			b.WriteString(foldCommand(command, len(body)-len(command), width))
			if end {
				b.WriteString("\n")
			}
			continue
		}
		hang := hanging(body, width/2)
		letters := []rune(body)
		for n, part := range Fold(string(letters[hang:]), width-hang) {
			if n > 0 {
				b.WriteString("\n" + strings.Repeat(" ", hang))
			} else {
				b.WriteString(string(letters[:hang]))
			}
			b.WriteString(part)
		}
		if end {
			b.WriteString("\n")
		}
	}
	return b.String()
}

// hanging is where the text of a line begins, no farther in than most.
func hanging(line string, most int) int {
	letters := []rune(line)
	from := 0
	for from < len(letters) && letters[from] == ' ' {
		from++
	}
	hang := from
	if mark := string(letters[from:min(from+2, len(letters))]); mark == "- " || mark == "* " {
		hang += 2
	}
	for i := from + 2; i < len(letters) && i <= most; i++ {
		if letters[i-1] == ' ' && letters[i-2] == ' ' && letters[i] != ' ' {
			hang = i
		}
	}
	if hang > most {
		return 0
	}
	return hang
}

// foldCommand folds a command so that a shell still takes it as one.
func foldCommand(command string, indent, width int) string {
	var parts []string
	quote, from := rune(0), 0
	for i, r := range command {
		switch {
		case quote == 0 && (r == '"' || r == '\''):
			quote = r
		case r == quote:
			quote = 0
		case r == ' ' && quote == 0:
			parts, from = append(parts, command[from:i]), i+1
		}
	}
	parts = append(parts, command[from:])
	for i := len(parts) - 1; i > 0; i-- { // a flag keeps its value
		if strings.HasPrefix(parts[i-1], "--") && !strings.HasPrefix(parts[i], "-") {
			parts[i-1] += " " + parts[i]
			parts = append(parts[:i], parts[i+1:]...)
		}
	}
	const on = " \\"
	var lines []string
	line := strings.Repeat(" ", indent) + parts[0]
	for i, part := range parts[1:] {
		long := utf8.RuneCountInString(line + " " + part)
		if i < len(parts)-2 {
			long += len(on) // unless it ends here
		}
		if long > width {
			lines, line = append(lines, line+on), strings.Repeat(" ", indent+2)+part
			continue
		}
		line += " " + part
	}
	return strings.Join(append(lines, line), "\n")
}

// words are what a text may be broken between: a number and the short word after it, such as a unit, are one.
func words(text string) []string {
	var list []string
	for word := range strings.FieldsSeq(text) {
		last := len(list) - 1
		if last >= 0 && isNumber(list[last]) && utf8.RuneCountInString(word) <= 5 {
			list[last] += " " + word
			continue
		}
		list = append(list, word)
	}
	return list
}

// isNumber reports whether a word, or one with what is glued to it, ends in a figure and holds nothing but a number.
func isNumber(word string) bool {
	figures := false
	for _, r := range word {
		switch {
		case unicode.IsNumber(r):
			figures = true
		case !strings.ContainsRune(" .,/–-+±", r):
			return false
		}
	}
	return figures && !strings.HasSuffix(word, ",") && !strings.HasSuffix(word, ".")
}
