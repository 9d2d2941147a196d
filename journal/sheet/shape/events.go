package shape

import (
	"fmt"

	"rigtally/internal/units"
)

// Events is a sheet whose rows are an event each.
type Events struct {
	Column int // of the words for events
	Count  int // of how many of them; -1: each row is one

	names []string
	keys  []string // by column, "" where it isn't understood
	event func(word string) (key string, ok bool)
}

// FindEvents recognizes a sheet whose rows are an event each, nil if they are not. Its
// problems are about the sheet as a whole, which tells of events in two ways. event
// says of a word which column counts it, "" for nothing that happened.
func FindEvents(names []string, rows []Row, u Understand, event func(word string) (key string, ok bool)) (*Events, []Problem) {
	e := &Events{Column: -1, Count: -1, names: names, event: event}
	for i, n := range names {
		key := u(n)
		left := key == LeftOut
		if left {
			key = ""
		}
		e.keys = append(e.keys, key)
		heading := labelWords().event[plain(n)]
		if left || key != "" && !heading || e.Column >= 0 || !e.holdsEvents(i, rows, heading) {
			if !left && key == "" && labelWords().howMany[plain(n)] {
				e.Count = i
			}
			continue
		}
		e.Column = i
	}
	if e.Column < 0 {
		return nil, nil
	}
	e.keys[e.Column] = ""
	for i, key := range e.keys {
		if natures[key].is(count) && key != "minutes_lost" {
			return nil, []Problem{{Header: names[e.Column], What: fmt.Sprintf("tells what happened row by row, and “%s” counts it", names[i]), Remedy: "leave one of them out by name"}}
		}
	}
	return e, nil
}

// enoughRows show what a column holds.
const enoughRows = 1000

// holdsEvents reports whether most cells of a column are words for events. A column that
// isn't headed so must hold hardly anything else, and more than one kind.
func (e *Events) holdsEvents(column int, rows []Row, heading bool) bool {
	said, understood := 0, 0
	kinds := map[string]bool{}
	for _, r := range rows[:min(len(rows), enoughRows)] {
		if cell := r.cell(column); !units.IsBlank(cell) {
			said++
			if key, ok := e.event(cell); ok {
				understood++
				kinds[key] = true
			}
		}
	}
	if heading {
		return understood > 0 && understood*2 >= said
	}
	return len(kinds) > 1 && understood >= 4 && understood*10 >= said*9
}
