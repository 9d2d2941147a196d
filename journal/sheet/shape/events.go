package shape

// Events is a sheet whose rows are an event each.
type Events struct {
	Column int // of the words for events
	Count  int // of how many of them; -1: each row is one
}

// FindEvents recognizes a sheet whose rows are an event each, nil if they are not. Its
// problems are about the sheet as a whole, which tells of events in two ways.
func FindEvents(names []string, rows []Row, u Understand, event func(word string) (key string, ok bool)) (*Events, []Problem) {
	return nil, nil
}

// Gather puts the events of the same day, angler, water, session, start and rig into one
// row with a column of counts for each kind that occurs anywhere in the sheet.
func (e *Events) Gather(rows []Row) Table { return Table{} }
