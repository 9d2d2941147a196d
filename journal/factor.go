package journal

import (
	"fmt"
	"strings"
)

// Quantity says what a continuous factor measures, and so its unit.
type Quantity string

// The quantities of continuous factors, in storage units.
const (
	Words       Quantity = ""            // not a number
	Length      Quantity = "length"      // mm
	Diameter    Quantity = "diameter"    // mm
	Flow        Quantity = "flow"        // m³/s
	Temperature Quantity = "temperature" // °C
	Number      Quantity = "number"      // a plain number, such as a hook size or a month
)

// Factor is something that may make a difference to an outcome.
type Factor struct {
	Key      string   // as in commands and addresses
	Title    string   // for people
	Quantity Quantity // Words for a category
	Missing  string   // what is said of stints where it was not noted

	of        Scope
	ofTag     bool // only droppers on a tag have it
	ofDropper bool // only droppers have it
	word      func(*Setting) string
	number    func(*Setting) *float64
}

// Scope says what a factor is noted of, the widest first.
type Scope int

// The scopes.
const (
	OfSession Scope = iota
	OfRig
	OfStint
	OfFly   // a position of the rig
	OfSpell // a position, and may change within a stint
)

// Setting is where and how something was fished, as far as factors go by it.
// Of the parts only those need be set that the factor is noted of.
type Setting struct {
	Angler, Water, Beat string // the beat is "" when not noted
	Day                 Date
	FlowM3S, WaterTempC *float64 // nil when not noted
	Rig                 *Rig
	Stroke              Stroke
	Fly                 *RigPosition
	TagMM               *float64 // length of its tag at the time; nil: as tied
}

// Word is the factor's word in a setting, "" where it is a number or was not noted.
func (f Factor) Word(s *Setting) string {
	if f.word == nil {
		return ""
	}
	return f.word(s)
}

// NumberIn is the factor's number in a setting, in the storage unit, nil where it is a word
// or was not noted.
func (f Factor) NumberIn(s *Setting) *float64 {
	if f.number == nil {
		return nil
	}
	return f.number(s)
}

// Scope is what the factor is noted of.
func (f Factor) Scope() Scope { return f.of }

// ByPosition reports whether the factor belongs to a position of the rig, not to the whole stint.
func (f Factor) ByPosition() bool { return f.of >= OfFly }

// tagLength is the factor whose value may change within a stint.
const tagLength = "tag-length"

// Factors lists every factor a question can ask by.
func Factors() []Factor {
	list := []Factor{
		{Key: "hang", Title: "Hang", of: OfFly, ofDropper: true, word: func(s *Setting) string { return string(s.Fly.Hang) }},
		{Key: "junction", Title: "Junction", of: OfFly, ofTag: true, word: func(s *Setting) string { return s.Fly.JunctionWord() }},
		{Key: tagLength, Title: "Tag length", Quantity: Length, of: OfSpell, ofTag: true, number: func(s *Setting) *float64 {
			if s.TagMM != nil {
				return s.TagMM
			}
			return s.Fly.TagLengthMM
		}},
		{Key: "facing", Title: "Facing", of: OfFly, ofTag: true, word: func(s *Setting) string { return string(s.Fly.Facing) }},
		{Key: "prop", Title: "Prop", of: OfFly, ofTag: true, word: func(s *Setting) string { return string(s.Fly.Prop) }},
		{Key: "swivel", Title: "Swivel", of: OfRig, word: func(s *Setting) string { return string(s.Rig.Swivel) }},
		{Key: "tippet", Title: "Tippet", Quantity: Diameter, of: OfFly, number: func(s *Setting) *float64 { return s.Fly.TippetMM }},
		{Key: "material", Title: "Material", of: OfFly, word: func(s *Setting) string { return string(s.Fly.Material) }},
		{Key: "bulk", Title: "Bulk", of: OfFly, word: func(s *Setting) string { return string(s.Fly.Bulk) }},
		{Key: "hook-size", Title: "Hook size", Quantity: Number, of: OfFly, number: func(s *Setting) *float64 {
			if s.Fly.HookSize == nil {
				return nil
			}
			return new(float64(*s.Fly.HookSize))
		}},
		{Key: "stroke", Title: "Stroke", of: OfStint, word: func(s *Setting) string { return string(s.Stroke) }},
		{Key: "method", Title: "Method", of: OfRig, word: func(s *Setting) string { return string(s.Rig.Method) }},
		{Key: "angler", Title: "Angler", word: func(s *Setting) string { return s.Angler }},
		{Key: "water", Title: "Water", word: func(s *Setting) string { return s.Water }},
		{Key: "beat", Title: "Beat", word: func(s *Setting) string {
			if s.Beat == "" {
				return ""
			}
			return s.Water + ", " + s.Beat
		}},
		{Key: "flow", Title: "Flow", Quantity: Flow, number: func(s *Setting) *float64 { return s.FlowM3S }},
		{Key: "temperature", Title: "Water temperature", Quantity: Temperature, number: func(s *Setting) *float64 { return s.WaterTempC }},
		{Key: "month", Title: "Month", Quantity: Number, number: func(s *Setting) *float64 { return new(float64(s.Day.Month)) }},
		{Key: "season", Title: "Season", Quantity: Number, number: func(s *Setting) *float64 { return new(float64(s.Day.Year)) }},
		{Key: "rig", Title: "Rig", of: OfRig, word: func(s *Setting) string { return s.Rig.Title() }},
	}
	for i := range list {
		f := &list[i]
		whose := "stints"
		if f.ByPosition() {
			whose = "flies"
		}
		if f.ofTag || f.ofDropper {
			whose = "droppers"
		}
		f.Missing = whose + " with no " + strings.ToLower(f.Title) + " noted"
	}
	return list
}

// FactorByKey finds a factor; its error lists those there are.
func FactorByKey(key string) (Factor, error) {
	var keys []string
	for _, f := range Factors() {
		if f.Key == key {
			return f, nil
		}
		keys = append(keys, f.Key)
	}
	return Factor{}, &Invalid{Problems: []string{fmt.Sprintf("factor %q is not known; ask by one of: %s", key, strings.Join(keys, ", "))}}
}

// Vocabulary returns the words that a factor's level may be, in their natural
// order, or nil when the journal itself names them.
func (f Factor) Vocabulary() []string {
	switch f.Key {
	case "hang":
		return words(Hangs())
	case "junction":
		return words(Junctions()[:len(Junctions())-1])
	case "facing":
		return words(Facings())
	case "prop":
		return words(Props())
	case "swivel":
		return words(Swivels())
	case "material":
		return words(Materials())
	case "bulk":
		return words(Bulks())
	case "stroke":
		return words(Strokes())
	case "method":
		return words(Methods())
	}
	return nil
}

func words[T ~string](list []T) []string {
	out := make([]string, len(list))
	for i, w := range list {
		out[i] = string(w)
	}
	return out
}
