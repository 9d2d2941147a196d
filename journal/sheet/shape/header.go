package shape

// Header is where a sheet names its columns, and how.
type Header struct {
	Top, Bottom int       // numbers of its first and last row
	After       int       // place of the first row beneath it
	Names       []string  // of each column as written, both rows' together where the upper one tells something
	Known       int       // columns that are understood
	Fold        *Fold     // how its columns belong to rigs or flies side by side, nil where there are none
	Problems    []Problem // why its columns can't be told apart

	rows [][]string
}

// Find finds the header among the first rows: the row, or the two rows of which the
// upper one holds labels over several columns, in which a column of the given key and
// the most columns are understood. Labels reach as far as they are merged, and
// without merged ranges in their row to the next label. ok is false without a header.
func Find(rows []Row, merged []Range, u Understand, key string) (h Header, ok bool) {
	return Header{}, false
}

// Again reports whether a row repeats the header, or one row of it.
func (h Header) Again(cells []string) bool { return false }
