package sheet

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal/exchange"
	catalogue "rigtally/journal/field"
	"rigtally/journal/near"
	"rigtally/journal/words"
)

// Stop is something that somebody must decide about before anything is written: a
// column, by a rule of Options.Columns, or that one is missing.
type Stop struct {
	Header  string   // "": the file has no column that tells something that it must
	Why     string   // continues the header: "holds small whole numbers, and its header is not understood"
	Samples []string // the first different values
	Likely  []string // keys that it may mean, the likeliest first
}

// Stopped is the error of a sheet with columns or names that must be decided about first.
type Stopped struct {
	Name  string
	Stops []Stop
	Names []New
}

func (e *Stopped) Error() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: nothing was written, since somebody must decide first:", e.Name)
	for _, stop := range e.Stops {
		b.WriteString("\n  " + stop.String())
	}
	for _, n := range e.Names {
		same, isNew := n.Flags()
		fmt.Fprintf(&b, "\n  %s Say %s or %s", n, same, isNew)
	}
	return b.String()
}

func (s Stop) String() string {
	if s.Header == "" {
		return s.Why
	}
	text, order := fmt.Sprintf("“%s” %s", shown(s.Header), s.Why), slices.Contains(s.Likely, keyDayFirst)
	if len(s.Samples) > 0 && !order {
		text += " (it holds " + strings.Join(s.Samples, ", ") + ")"
	}
	var flags []string
	for _, key := range append(slices.Clone(s.Likely[:min(3, len(s.Likely))]), "") {
		switch {
		case key == keyDayFirst || key == keyMonthFirst:
			flags = append(flags, strings.Replace(key, "date.", "--dates ", 1))
		case key != "" || !order:
			flags = append(flags, fmt.Sprintf("--column %q", ColumnRule{s.Header, key}.String()))
		}
	}
	return text + "; say " + strings.Join(flags, " or ")
}

// stop notes that somebody must decide about a column, and takes it for nothing.
func (s *Sheet) stop(c *column, why string, likely ...string) {
	c.drop("to be decided: " + why)
	s.Stops = append(s.Stops, Stop{Header: c.Header, Why: why, Likely: likely})
	c.stopped = true
}

// miss notes that the file lacks a column without which no row can be taken.
func (s *Sheet) miss(why string, key string) {
	s.Stops = append(s.Stops, Stop{Why: why, Likely: []string{key}})
	s.lacking = true
}

// Keys of what a header may mean that only the other columns, or its cells, can tell.
const (
	keyFish  = "fish"  // hooked, or landed
	keyTime  = "time"  // of day, or fished
	keyBites = "bites" // not kept, or hooked
)

// pending reports whether it must still be settled what a field is.
func (f *field) pending() bool { return f.Key == keyFish || f.Key == keyTime || f.Key == keyBites }

// pendingFields are those of headers that may mean several things.
func pendingFields() []*field {
	return []*field{
		{&exchange.Column{Key: keyFish, Title: "fish, hooked or landed"}, ignore},
		{&exchange.Column{Key: keyTime, Title: "a time of day, or the time fished"}, ignore},
		{&exchange.Column{Key: keyBites, Title: "bites"}, ignore},
	}
}

// settlePending decides what columns of fish, of times and of bites are.
func (s *Sheet) settlePending() {
	for i, c := range s.columns {
		if c.field == nil {
			continue
		}
		switch c.field.Key {
		case keyFish:
			s.settleFish(c)
		case keyTime:
			if s.spelledTimes(i) {
				c.take(s.field("minutes"), "read as the time fished, since all its values are spells of time")
				continue
			}
			s.stop(c, "could be the start, or the time fished", "start", keyHours, "minutes")
		}
	}
	for _, c := range s.columns {
		if c.field != nil && c.field.Key == keyBites {
			s.settleBites(c)
		}
	}
}

// settleBites leaves bites out where fish hooked have a column of their own: a bite is no fish hooked.
func (s *Sheet) settleBites(c *column) {
	if !s.has("hookups") {
		s.stop(c, "counts bites, which are not kept: leave it out, unless only fish hooked were counted", "hookups")
		return
	}
	c.left = true
	c.drop("bites; not kept")
	s.warn("“%s” counts bites, which are not kept.", shown(c.Header))
}

// settleFish takes fish for those landed, or for those hooked where others are landed.
func (s *Sheet) settleFish(c *column) {
	for _, as := range []struct{ key, other string }{{"landed", "hookups"}, {"hookups", "landed"}} {
		if !s.has(as.key) {
			f := s.field(as.key)
			c.take(f, fmt.Sprintf("read as %s; if they are %s, say --column %q", f.Title, s.field(as.other).Title, ColumnRule{c.Header, as.other}.String()))
			return
		}
	}
	s.stop(c, "counts fish beside those hooked and landed", "lost", "broke_off", "foul_hookups")
}

// spelledTimes reports whether all cells of a column are times with a unit.
func (s *Sheet) spelledTimes(at int) bool {
	n := 0
	for cell := range s.cells(at) {
		if _, err := s.columns[at].parser.Minutes(cell, ""); err != nil || strings.Contains(cell, ":") {
			return false
		}
		n++
	}
	return n > 0
}

// field finds a field by its key.
func (s *Sheet) field(key string) *field {
	return s.reader.fields[slices.IndexFunc(s.reader.fields, func(f *field) bool { return f.Key == key })]
}

// askAbout stops at columns that are not understood and may tell what happened.
func (s *Sheet) askAbout() {
	for i, c := range s.columns {
		if c.field != nil || c.left || c.stopped {
			continue
		}
		n := s.numbersIn(i)
		if n.filled == 0 {
			continue
		}
		key := s.resembles(c.Header)
		switch {
		case n.running() && key == "":
			c.Note = "a running number; ignored"
		case key != "":
			s.stop(c, "resembles a header of what happened, and is not understood", s.likely(key)...)
		case n.clocks == n.filled && !s.has("minutes") && !(s.has("start") && s.has("end")):
			s.stop(c, "holds times, and its header is not understood", "start", "end", "minutes")
		case namesMeasure(c.Header):
			c.Note = "not understood, and left out"
			s.warn("“%s” is not understood, and left out; if it tells something, say what.", shown(c.Header))
		case n.small == n.filled || n.small >= 3 && 2*n.small >= n.filled:
			s.stop(c, "holds small whole numbers, and its header is not understood", s.likely("")...)
		}
	}
}

// namesMeasure reports whether a header names a unit of something measured, which is no count.
func namesMeasure(header string) bool {
	for _, quantity := range []units.Quantity{units.Length, units.Depth, units.Temperature, units.Flow, units.Speed} {
		if headerUnit(header, &field{Column: &exchange.Column{Quantity: quantity}}) != "" {
			return true
		}
	}
	return false
}

// askAboutKnots stops at a column of knots that holds numbers: in many languages its
// header may also count tangles.
func (s *Sheet) askAboutKnots() {
	at, c := s.find("junction")
	if c == nil || c.chosen {
		return
	}
	filled, numbers, knots := 0, 0, s.words.Knots()
	for cell := range s.cells(at) {
		filled++
		if smallNumber.MatchString(strings.TrimSpace(cell)) && knots[words.CompactKnot(cell)] == "" {
			numbers++
		}
	}
	if numbers > 0 && 2*numbers >= filled {
		s.stop(c, "holds numbers, which are no knots", s.likely("tangles")...)
	}
}

// numbers are what the cells of a column hold that is not understood.
type numbers struct {
	filled, small int // cells, and those with a whole number below 100
	clocks        int // those with a time as 7:30
	next          int // of a running number
	runs, rises   bool
}

var (
	smallNumber = regexp.MustCompile(`^\d{1,2}(?:[.,]0+)?$`)
	clockTime   = regexp.MustCompile(`(?i)^\d{1,2}(?::\d\d){1,2}(?: ?[ap]\.?m\.?)?$`)
)

func (s *Sheet) numbersIn(at int) numbers {
	n := numbers{runs: true, rises: true}
	for cell := range s.cells(at) {
		cell = strings.TrimSpace(cell)
		n.filled++
		if smallNumber.MatchString(cell) {
			n.small++
		}
		if clockTime.MatchString(cell) {
			n.clocks++
		}
		number := atoi(cell)
		n.runs = n.runs && number > 0 && (n.filled == 1 || number == n.next)
		n.rises = n.rises && number >= n.next
		n.next = number + 1
	}
	return n
}

// running reports whether the cells number the rows: 1, 2, 3, …, with gaps in a long list.
func (n numbers) running() bool { return n.runs && n.filled >= 3 || n.rises && n.filled >= 6 }

// stems are beginnings of words for what happens, for the time and for knots. Headers
// that hold one are asked about.
var stems = []struct{ stem, key string }{
	{"tangl", "tangles"}, {"twist", "twists"}, {"snag", "snags"}, {"lost", "lost"}, {"land", "landed"}, {"hooked", "hookups"}, {"hookup", "hookups"}, {"fish", "landed"},
	{"break off", "broke_off"}, {"broke", "broke_off"}, {"knot", "junction"}, {"minute", "minutes"}, {"hour", keyHours}, {"tag", "tag_length"},
	{"verwick", "tangles"}, {"verlor", "lost"}, {"gehakt", "hookups"}, {"hanger", "snags"}, {"fisch", "landed"}, {"knoten", "junction"}, {"minuten", "minutes"}, {"stunden", keyHours},
	{"emmel", "tangles"}, {"perdu", "lost"}, {"poisson", "landed"}, {"noeud", "junction"}, {"enred", "tangles"}, {"perdid", "lost"}, {"garbugl", "tangles"}, {"pers", "lost"}, {"nudo", "junction"}, {"nodo", "junction"},
}

// resembles is the key that a header's words come near to, "" if none.
func (s *Sheet) resembles(header string) string {
	words := strings.Fields(headerKey(header))
	for _, stem := range stems {
		for at := range words {
			if strings.HasPrefix(strings.Join(words[at:], " "), stem.stem) {
				return stem.key
			}
		}
	}
	if len(catalogue.Compact(header)) < 4 {
		return ""
	}
	if name, ok := s.reader.eventNames().Near(headerKey(header)); ok {
		f, _ := s.reader.understand(name)
		return f.Key
	}
	return ""
}

// eventNames are the headers of what happens, for finding misspelt ones.
func (r *reader) eventNames() *near.Names {
	if r.events != nil {
		return r.events
	}
	var names []string
	for _, f := range r.fields {
		if f.Of != nil || f.Key == "minutes" || f.Key == "junction" || f.Key == keyFish || f.Key == keyTime {
			names = append(append(names, headerKey(f.Key)), r.words.Headings(f.Key)...)
		}
	}
	r.events = near.Of(slices.DeleteFunc(names, func(name string) bool { f, _ := r.understand(name); return f == nil }))
	return r.events
}

// likely lists what a column may be: a key, then counts that no other column tells.
func (s *Sheet) likely(first string) []string {
	switch first { // keys of which somebody must say more
	case keyFish:
		first = "landed"
	case keyTime:
		first = "start"
	}
	var list []string
	for _, key := range []string{first, "tangles", "landed", "hookups", "snags", "lost"} {
		if key != "" && !slices.Contains(list, key) && (key == keyHours || !s.has(key)) {
			list = append(list, key)
		}
	}
	return list
}

// stoppedSamples gives stops examples of what stands in their columns.
func (s *Sheet) stoppedSamples() {
	for i, stop := range s.Stops {
		for _, c := range s.Columns {
			if c.Header == stop.Header && stop.Header != "" {
				s.Stops[i].Samples = c.Samples
			}
		}
	}
}
