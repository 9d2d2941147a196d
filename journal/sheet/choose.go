package sheet

import (
	"fmt"
	"strings"

	"rigtally/internal/units"
)

// FieldChoice is something that a column can be chosen as.
type FieldChoice struct {
	Key   string   // of a ColumnRule
	Title string   // in words: "the tag length as tied"
	Group string   // under which it is shown
	Units []string // that may stand behind the key: in of tag_length_in; the unit of bare numbers
}

// Stop is a column that somebody must decide about before anything is written, by a
// rule of Options.Columns.
type Stop struct {
	Header  string
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
	what := "what a column tells"
	if len(e.Stops) == 0 {
		what = "who or what a name means"
	}
	fmt.Fprintf(&b, "%s: nothing was written, since %s must be said first:", e.Name, what)
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
	text := fmt.Sprintf("“%s” %s", shown(s.Header), s.Why)
	if len(s.Samples) > 0 {
		text += " (such as " + strings.Join(s.Samples, ", ") + ")"
	}
	var flags []string
	for _, key := range append(s.Likely[:len(s.Likely):len(s.Likely)], "") {
		flags = append(flags, fmt.Sprintf("--column %q", ColumnRule{s.Header, key}))
	}
	return text + "; say " + strings.Join(flags, " or ")
}

// Headers are those of the columns as written, in order: what a reading is known by.
func (s *Sheet) Headers() []string {
	headers := make([]string, len(s.Columns))
	for i, c := range s.Columns {
		headers[i] = c.Header
	}
	return headers
}

// Fields lists what a column can be chosen as.
func Fields() []FieldChoice {
	var list []FieldChoice
	for _, f := range fields() {
		choice := FieldChoice{Key: f.Key, Title: f.Title, Group: f.group()}
		for _, u := range units.Of(f.Quantity) {
			choice.Units = append(choice.Units, string(u))
		}
		list = append(list, choice)
	}
	return list
}

// group is the heading under which a field is offered.
func (f *field) group() string {
	switch {
	case f.Of != nil:
		return "What happened"
	case f.Key == "minutes" || f.Key == "start" || f.Key == "end" || f.Key == "casts" || f.Key == "stint":
		return "Time"
	case f.Noted == nil && f.Key != "rig" && f.Key != "position":
		return "Who, where and when"
	}
	return "Rig and conditions"
}
