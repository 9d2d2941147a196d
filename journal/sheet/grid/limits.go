package grid

import "fmt"

// What a workbook may hold. The import of 100,000 rows of 21 columns, near maxCells, takes 390 MB at its peak.
const (
	MaxFile      = 64 << 20  // bytes of the file
	maxDirectory = 2 << 20   // bytes of the list of its parts
	maxUnzipped  = 256 << 20 // bytes of the parts that are read, unzipped
	maxRatio     = 400       // of a part over 8 MB, unzipped to zipped: sheets reach about 100
	maxSheets    = 200
	maxColumns   = 1000
	lastColumn   = 1 << 14 // where the sheets of all programs end, and their rows
	lastRow      = 1 << 24
	maxCells     = 2_500_000 // blank ones between others count, too
	maxText      = 40 << 20  // bytes of different texts
	maxMerged    = 50_000    // of a sheet
	maxStyles    = 65_490    // cell formats, a limit of the programs, too
)

const asCSV = "save the sheet as CSV (File, Save as) and import that"

// A Refusal says why a file is not read, and what to do about it.
type Refusal struct{ What, Remedy string }

func (r *Refusal) Error() string { return r.What + "; " + r.Remedy }

func refuse(remedy, what string, args ...any) error {
	return &Refusal{What: fmt.Sprintf(what, args...), Remedy: remedy}
}

// damaged says that a part of a workbook can't be read.
func damaged(part string, err error) error {
	return refuse("open it in your spreadsheet program, save it again, or "+asCSV, "the workbook is damaged: %s can't be read (%v)", part, err)
}

// meter counts what a workbook takes, over all of its sheets.
type meter struct{ cells, text int }

func (m *meter) addCells(n int) error {
	if m.cells += n; m.cells > maxCells {
		return refuse(asCSV, "the workbook has more than %d cells, too many for a workbook here", maxCells)
	}
	return nil
}

func (m *meter) addText(n int) error {
	if m.text += n; m.text > maxText {
		return refuse(asCSV, "the workbook holds more than %d MB of text, too much for a workbook here", maxText>>20)
	}
	return nil
}

// words keeps one copy of each text, so that cells which say the same share it.
type words struct {
	kept  map[string]string
	meter *meter
}

// maxKept bounds how many different texts are looked out for.
const maxKept = 1 << 16

func (w *words) of(b []byte) (string, error) {
	if len(b) == 0 {
		return "", nil
	}
	if s, ok := w.kept[string(b)]; ok {
		return s, nil
	}
	s := string(b)
	if len(w.kept) < maxKept {
		w.kept[s] = s
	}
	return s, w.meter.addText(len(s) + 8) // what an allocation takes beside
}
