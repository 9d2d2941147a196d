package journal

import (
	"bytes"
	"slices"
	"time"
)

// Deed is what was done to a session.
type Deed string

// The deeds.
const (
	DeedLogged   Deed = "logged"
	DeedChanged  Deed = "changed"
	DeedDeleted  Deed = "deleted"
	DeedRestored Deed = "restored"
	DeedImported Deed = "imported"
	DeedMerged   Deed = "merged"     // what the session names was merged into something else
	DeedUndone   Deed = "taken back" // the step was that had written the session
)

// Change is something that was done to a session.
type Change struct {
	At      time.Time
	What    Deed
	Version int // of the session from then on
	Role    Role
	Person  *ID    // who did it; nil at the machine that keeps the journal
	Name    string // of the member who did it; empty for who is none any more, or is not to be named
	Fields  []string
}

// changeWords name what of a session can change beside the fields of the catalogue.
var changeWords = []struct {
	key, words string
	says       func(*canon, *Session)
}{
	{"angler", "the angler", func(c *canon, s *Session) { c.id(s.AnglerID) }},
	{"guide", "the guide", func(c *canon, s *Session) { c.maybeID(s.GuideID) }},
	{"water", "the water", func(c *canon, s *Session) { c.id(s.WaterID) }},
	{"beat", "the beat", func(c *canon, s *Session) { c.maybeID(s.BeatID) }},
	{"day", "the day", func(c *canon, s *Session) { c.text(s.Day.String()) }},
	{"start", "when it began", func(c *canon, s *Session) { c.time(s.Start) }},
	{"end", "when it ended", func(c *canon, s *Session) { c.time(s.End) }},
	{"time_zone", "the time zone", func(c *canon, s *Session) { c.text(s.TimeZone) }},
	{"from_gauge", "what was read from a gauge", func(c *canon, s *Session) {
		for _, g := range s.FromGauge {
			c.text(g)
		}
	}},
	{"stints", "stints and what happened", func(c *canon, s *Session) {
		for _, st := range s.Stints {
			c.stint(st)
		}
	}},
}

// Changes lists what two normalized sessions do not say alike: keys of the catalogue, or of what else a session has.
func (s Session) Changes(before Session) []string {
	fields := []string{}
	for _, w := range changeWords {
		var is, was canon
		w.says(&is, &s)
		w.says(&was, &before)
		if !bytes.Equal(is, was) {
			fields = append(fields, w.key)
		}
	}
	for i := range sessionFields {
		if f := &sessionFields[i]; !f.Same(&s, &before) {
			fields = append(fields, f.Key)
		}
	}
	return fields
}

// ChangeWords names in words what was changed of a session.
func ChangeWords(fields []string) []string {
	var words []string
	for _, w := range changeWords {
		if slices.Contains(fields, w.key) {
			words = append(words, w.words)
		}
	}
	for i := range sessionFields {
		if f := &sessionFields[i]; slices.Contains(fields, f.Key) {
			words = append(words, f.Noun)
		}
	}
	return words
}

// StepKind is what kind of deed a step is.
type StepKind string

// The kinds of steps.
const (
	StepLog     StepKind = "log"
	StepEdit    StepKind = "edit"
	StepDelete  StepKind = "delete"
	StepRestore StepKind = "restore"
	StepImport  StepKind = "import"
	StepRename  StepKind = "rename"
	StepMerge   StepKind = "merge"
)

// Step is one deed of a person that can be taken back, for UndoDays.
type Step struct {
	ID       ID
	At       time.Time
	Kind     StepKind
	What     string // a sentence, such as "Imported season.csv: 40 sessions"
	Sessions int    // how many sessions it wrote
	By       string // of the member who did it; empty for who is none any more, and for the owner at the terminal
	Role     Role
	Mine     bool       // it was the asker
	UndoneAt *time.Time // nil: it stands
}

// Undone is what became of a step that was taken back.
type Undone struct {
	Step     Step
	Sessions int      // that went back
	Gone     []string // what the step had added and nothing uses any more, such as "the angler Jon Felt"
	Left     []string // what was left as it is, and why
}
