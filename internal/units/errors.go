package units

import (
	"strings"
	"unicode"
)

// Error says why a text was not understood as a quantity, in words for the
// person who wrote it.
type Error struct {
	Value   string // as written, with the assumed unit if none was written; quoted if it is no quantity at all; "" if nothing was written
	Problem string // continues the value: "is below zero"
	Remedy  string // "write how long it was fished, for example 45 min or 1h30"
}

// Error joins value, problem and remedy into a sentence.
func (e *Error) Error() string {
	return strings.TrimPrefix(e.Value+" "+e.Problem+"; "+e.Remedy, " ")
}

const clipAt = 40 // runes of a value shown in a message

// shown makes a value safe and short enough for a message.
func shown(s string) string {
	clean := strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) {
			return ' '
		}
		if !unicode.IsPrint(r) {
			return unicode.ReplacementChar
		}
		return r
	}, strings.TrimSpace(s))
	if runes := []rune(clean); len(runes) > clipAt {
		return string(runes[:clipAt]) + "…"
	}
	return clean
}

func quoted(s string) string { return "“" + shown(s) + "”" }

// notOne is the error for text that is not a quantity of this kind at all.
func (s *spec) notOne(text string) *Error {
	if strings.TrimSpace(text) == "" {
		return &Error{"", "no " + s.noun + " is given", s.remedy}
	}
	return &Error{quoted(text), "is not a " + s.noun, s.remedy}
}
