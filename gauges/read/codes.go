package read

import (
	"strings"

	"rigtally/journal/gauge"
)

// meaning is what a code or word beside a value, or in place of one, says of it.
func meaning(text string) (gauge.Flags, bool) {
	text = strings.ToLower(text)
	var f gauge.Flags
	for _, k := range []struct {
		words string
		flag  gauge.Flags
	}{
		{"provisional|subject to revision|preliminary|unchecked|unverified|not quality assured|brute|unapproved|not approved|in review|non valid|not valid|unvalid", gauge.Provisional},
		{"estimate|edited|estimée|reconstitu|forcée", gauge.Estimated},
		{"interpolat", gauge.Interpolated},
		{"censor|less than|greater than|below detection|above detection|belowdetection|abovedetection|below range|above range|belowrange|aboverange|exceeds", gauge.Censored},
		{"suspect|doubtful|douteu|questionable|erroneous|rejected|poor|backwater|invalid|unreliable|incorrect|incertain", gauge.Suspect},
		{"equipment|malfunction|temporarily unavailable|flood damage|maintenance|out of order|out of service", gauge.Equipment},
		{"zero flow|no flow|dry", gauge.Dry},
		{"missing|not determined|seasonal|discontinued|under development|partial-record|unavailable|unknown|withheld|inapplicable", gauge.Missing},
	} {
		for word := range strings.SplitSeq(k.words, "|") {
			if strings.Contains(text, word) {
				f |= k.flag
				break
			}
		}
	}
	for _, word := range strings.FieldsFunc(text, notLetter) {
		switch word {
		case "ice", "frozen":
			f |= gauge.Ice
		case "bad", "fail", "failed":
			f |= gauge.Suspect
		}
	}
	if f&gauge.Equipment != 0 {
		f &^= gauge.Missing // "temporarily unavailable" says both
	}
	if f != 0 {
		return f, true
	}
	for _, word := range []string{"approved", "accepted", "good", "valid", "bonne", "qualifi", "reliable", "neutre", "correct"} {
		if strings.Contains(text, word) {
			return 0, true
		}
	}
	return 0, false
}

func notLetter(r rune) bool { return (r < 'a' || r > 'z') && (r < 'A' || r > 'Z') }

// usgsCodes are the codes of the U.S. Geological Survey, for files that don't explain theirs: its list of data-value
// qualification codes.
var usgsCodes = map[string]gauge.Flags{
	"p": gauge.Provisional, "a": 0, "r": 0, "e": gauge.Estimated,
	"<": gauge.Censored, ">": gauge.Censored, "~": gauge.Interpolated, "&": gauge.Suspect,
	"ice": gauge.Ice, "eqp": gauge.Equipment, "***": gauge.Equipment, "mnt": gauge.Equipment, "fld": gauge.Equipment, "dry": gauge.Dry, "zfl": gauge.Dry,
	"--": gauge.Missing, "ssn": gauge.Missing, "dis": gauge.Missing, "nd": gauge.Missing, "pr": gauge.Missing, "rat": gauge.Missing,
	"bkw": gauge.Suspect, "ssd": gauge.Missing, "unk": gauge.Missing, "equip": gauge.Equipment, "maint": gauge.Equipment, "debris": gauge.Suspect, "revised": 0, "flood": 0,
}

// codes are those that a file explains, first, and those of its provider.
type codes struct {
	own   map[string]gauge.Flags
	cache map[string]gauge.Flags // of whole cells as they stand
}

func newCodes() *codes {
	return &codes{map[string]gauge.Flags{}, map[string]gauge.Flags{}}
}

// explain takes what the file says about a code. Words that mean nothing here leave the code to the provider's list.
func (c *codes) explain(code, words string) {
	if f, ok := meaning(words); ok {
		c.own[strings.ToLower(code)] = f
		clear(c.cache)
	}
}

// one is what a single code means.
func (c *codes) one(code string) (gauge.Flags, bool) {
	if f, ok := c.own[strings.ToLower(code)]; ok {
		return f, true
	}
	f, ok := usgsCodes[strings.ToLower(code)]
	return f, ok
}

// cell is what the codes in one cell say together: P, A:e, P:[91], P e.
func (c *codes) cell(b *book, cell []byte) gauge.Flags {
	if f, ok := c.cache[string(cell)]; ok {
		return f
	}
	text := string(cell)
	var f gauge.Flags
	for _, code := range strings.FieldsFunc(text, func(r rune) bool { return r == ':' || r == ',' || r == ';' || r == ' ' || r == '|' }) {
		if strings.HasPrefix(code, "[") {
			continue // the grade of an approval, or the way it was estimated
		}
		if is, ok := c.one(code); ok {
			f |= is
			continue
		}
		if is, ok := meaning(code); ok {
			f |= is
			continue
		}
		b.unexplained(code)
	}
	if len(c.cache) < 1000 {
		c.cache[text] = f
	}
	return f
}

// instead is what a text in place of a value says: why there is none.
func (c *codes) instead(text string) (gauge.Flags, bool) {
	// Some cells have the number that the code stands beside, others a second code: 1_Ice, Eqp_R.
	for _, code := range strings.FieldsFunc(text, func(r rune) bool { return r == '_' || r == ' ' }) {
		if f, ok := c.one(code); ok && f&noValue != 0 {
			return f, true
		}
	}
	f, ok := meaning(text)
	return f & noValue, ok && f&noValue != 0
}
