package shape

// Kind is what stands side by side.
type Kind int

// The kinds of parts.
const (
	Rigs  Kind = iota // fished one after the other: each is a stint of the same session
	Flies             // of one rig: each is a row of the same stint, with its position
)

// Fold is how the columns of a header belong to parts that stand side by side.
type Fold struct {
	Kind  Kind
	Parts []Part
	Names []string // of the columns that unfolding gives, shared ones among them
	From  [][]int  // for each of these, the column as written by part, -1 for none; one alone for a shared column

	written []string // names of the columns as written
	keys    []string
}

// Part is one of the rigs or flies side by side.
type Part struct {
	Label    string // as first written: "Rig 1", "AM"; "1st" of repeated columns without a label
	Position string // of a fly, as a column of positions has it: "point", "1", "2"
}

// Shared reports whether a column of the fold is shared by its parts.
func (f *Fold) Shared(column int) bool { return len(f.From[column]) == 1 }

// Written is the header, as written, of a column of the fold in a part: "Rig 2 knot";
// "" where the part has no such column.
func (f *Fold) Written(column, part int) string { return "" }

// Cells are a row's cells in the columns of the fold, of one part and shared ones. Of a
// row of totals, they add up over the parts.
func (f *Fold) Cells(part int, cells []string) []string { return nil }

// Says is one sentence on what was unfolded: "Rig 1 and Rig 2 are read as …".
func (f *Fold) Says() string { return "" }

// Unfold makes a row of each part of a row that says something: a stint of the session,
// or a fly of the stint. A count or a time that the parts share belongs to a row's only
// part; where a row has several, it is a problem of that row, but for a zero, which
// each gets. Counts that flies share are those of the whole rig, and get a row of
// their own with the position rig. Columns for position and stint are added for flies.
func (f *Fold) Unfold(rows []Row) Table { return Table{} }
