package journal

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal/field"
	"rigtally/journal/gauge"
)

// Quantity says what a continuous factor measures.
type Quantity = units.Quantity

// The quantities of continuous factors.
const (
	Words       Quantity = "" // not a number
	Length               = units.Length
	Diameter             = units.Tippet
	Flow                 = units.Flow
	Temperature          = units.Temperature
	Percent              = units.Percent
	Number      Quantity = "number" // a plain number, such as a hook size or a month
)

// Factor is something that may make a difference to an outcome.
type Factor struct {
	Key      string   // as in commands and addresses
	Title    string   // for people
	Quantity Quantity // Words for a category
	Missing  string   // what is said of stints where it was not noted
	Gauge    string   // what a gauge tells by it, "" for what people note

	of     Scope
	on     hung
	word   func(*Setting) string
	number func(*Setting) *float64
	words  []string // that it may be, nil when the journal itself names them
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

// hung says which flies a factor is noted of.
type hung int

const (
	anywhere hung = iota
	onDropper
	onTag
)

// Setting is where and how something was fished, as far as factors go by it.
// Of the parts only those need be set that the factor is noted of.
type Setting struct {
	Angler, Water, Beat string // the beat is "" when not noted
	Day                 Date
	FlowM3S, WaterTempC *float64 // nil when not noted
	FlowPercentile      *float64 // of the flow for the day of the year, nil when no gauge tells
	TempPeakC           *float64 // the warmest water of the day, as above
	Trend6H, Trend24H   gauge.Trend
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

// catalogued is a factor that is noted of a part of a setting as the catalogue has it.
func catalogued[T any](of Scope, key string, list []field.Field[T], in func(*Setting) *T) Factor {
	noted := field.By(list, key)
	f := Factor{Key: strings.ReplaceAll(key, "_", "-"), Title: noted.Label, Quantity: noted.Quantity, of: of}
	switch noted.Kind {
	case field.Number:
		f.number = func(s *Setting) *float64 {
			if v, ok := noted.Get(in(s)).(float64); ok {
				return &v
			}
			return nil
		}
	case field.Whole:
		f.Quantity = Number
		f.number = func(s *Setting) *float64 {
			if v, ok := noted.Get(in(s)).(int); ok {
				return new(float64(v))
			}
			return nil
		}
	default:
		f.words = noted.Words
		f.word = func(s *Setting) string { return noted.String(in(s)) }
	}
	return f
}

// Factors lists every factor a question can ask by.
func Factors() []Factor { return slices.Clone(factors) }

var factors = allFactors()

func allFactors() []Factor {
	fly := func(key string, on hung) Factor {
		f := catalogued(OfFly, key, flyFields, func(s *Setting) *RigPosition { return s.Fly })
		f.on = on
		return f
	}
	rig := func(key string) Factor {
		return catalogued(OfRig, key, rigFields, func(s *Setting) *Rig { return s.Rig })
	}
	trend := func(key, title string, of func(*Setting) gauge.Trend) Factor {
		var words []string
		for _, t := range gauge.Trends() {
			words = append(words, string(t))
		}
		return Factor{Key: key, Title: title, words: words, Gauge: "whether the water rose or fell", word: func(s *Setting) string { return string(of(s)) }}
	}
	junction, length, swivel := fly("junction", onTag), fly("tag_length", onTag), rig("swivel")
	junction.word, junction.words = func(s *Setting) string { return s.Fly.JunctionWord() }, junction.words[:len(junction.words)-1]
	tied := length.number
	length.of, length.number = OfSpell, func(s *Setting) *float64 { return cmp.Or(s.TagMM, tied(s)) }
	swivel.Title = "Swivel"
	list := []Factor{
		fly("hang", onDropper), junction, length, fly("facing", onTag), fly("prop", onTag), swivel,
		fly("tippet", anywhere), fly("material", anywhere), fly("bulk", anywhere), fly("hook_size", anywhere),
		{Key: "stroke", Title: "Stroke", of: OfStint, words: field.By(stintFields, "stroke").Words, word: func(s *Setting) string { return string(s.Stroke) }},
		rig("method"),
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
		{Key: "flow-percentile", Title: "Flow for the time of year", Quantity: Percent, Gauge: "the usual flow of the day", number: func(s *Setting) *float64 { return s.FlowPercentile }},
		{Key: "temperature-peak", Title: "Warmest water of the day", Quantity: Temperature, Gauge: "the warmest water of the day", number: func(s *Setting) *float64 { return s.TempPeakC }},
		trend("trend-6h", "Water trend over 6 hours", func(s *Setting) gauge.Trend { return s.Trend6H }),
		trend("trend-24h", "Water trend over 24 hours", func(s *Setting) gauge.Trend { return s.Trend24H }),
		{Key: "month", Title: "Month", Quantity: Number, number: func(s *Setting) *float64 { return new(float64(s.Day.Month)) }},
		{Key: "season", Title: "Season", Quantity: Number, number: func(s *Setting) *float64 { return new(float64(s.Day.Year)) }},
		{Key: "rig", Title: "Rig", of: OfRig, word: func(s *Setting) string { return s.Rig.Title() }},
	}
	for i := range list {
		f := &list[i]
		if f.Gauge != "" {
			f.Missing = "stints with no gauge that tells " + f.Gauge
			continue
		}
		whose := "stints"
		if f.ByPosition() {
			whose = "flies"
		}
		if f.on != anywhere {
			whose = "droppers"
		}
		f.Missing = whose + " with no " + strings.ToLower(f.Title) + " noted"
	}
	return list
}

// UntoldByGauge finds a factor for want of which something was left out, since no gauge told it.
func UntoldByGauge(leftOut map[string]int) (Factor, bool) {
	i := slices.IndexFunc(factors, func(f Factor) bool { return f.Gauge != "" && leftOut[f.Missing] > 0 })
	if i < 0 {
		return Factor{}, false
	}
	return factors[i], true
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
func (f Factor) Vocabulary() []string { return f.words }
