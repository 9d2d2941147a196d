package exchange

import (
	"context"
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"rigtally/journal"
	"rigtally/journal/pg"
)

// WriteCSV writes the journal as a flat CSV in SI units, a row for each stint and
// position of its rig, and one for the whole rig where something happened on no
// fly in particular; in such a row minutes and casts are empty. Counts are
// totals: what a row can't hold (species, the minute of an event, …) only a
// backup keeps. A count that was not kept is empty; what happened of its kind all
// the same stands in the column uncounted. Schema describes every column. Texts that a spreadsheet program would take for a formula are
// marked with an apostrophe. Read back into an empty journal and written again,
// it is the same.
func WriteCSV(ctx context.Context, store *pg.Store, w io.Writer) error {
	c, err := store.Contents(ctx)
	if err != nil {
		return err
	}
	out := csv.NewWriter(w)
	columns := flatColumns()
	cells := make([]string, len(columns))
	for i, col := range columns {
		cells[i] = col.header()
	}
	if err := out.Write(cells); err != nil {
		return fmt.Errorf("write the CSV: %w", err)
	}
	n := newNames(c)
	for _, s := range c.Sessions {
		for _, r := range n.flatten(s) {
			for i, col := range columns {
				cells[i] = col.cell(r)
			}
			if err := out.Write(cells); err != nil {
				return fmt.Errorf("write the CSV: %w", err)
			}
		}
	}
	out.Flush()
	if err := out.Error(); err != nil {
		return fmt.Errorf("write the CSV: %w", err)
	}
	return nil
}

func intCell(v *int) string {
	if v == nil {
		return ""
	}
	return strconv.Itoa(*v)
}

func clockCell(seconds *int) string {
	if seconds == nil {
		return ""
	}
	return time.Unix(int64(*seconds), 0).UTC().Format(time.TimeOnly)
}

func placeCell(p place) string {
	switch position := p.position(); {
	case position == nil:
		return "rig"
	case *position == 0:
		return "point"
	default:
		return strconv.Itoa(*position)
	}
}

// junctionCell writes a junction by its own name, in a way that is read back as it was.
func junctionCell(p journal.RigPosition, known map[string]journal.Junction) string {
	if p.Junction != journal.JunctionOther {
		return string(p.Junction)
	}
	name := strings.TrimSpace(p.JunctionName)
	_, taken := known[compactKnot(name)]
	if taken || blank(name) || compact(name) == string(journal.JunctionOther) || strings.HasPrefix(plain(name), otherPrefix) {
		return otherPrefix + " " + name
	}
	return escapeText(name)
}

// uncountedCell writes what happened of kinds of which no count was kept.
func uncountedCell(r *row) string {
	if len(r.uncounted) == 0 {
		return ""
	}
	var list []string
	for _, f := range countFields() {
		if f.of == nil {
			continue
		}
		if n, ok := r.uncounted[*f.of]; ok {
			list = append(list, fmt.Sprintf("%s %d", f.key, n))
		}
	}
	return strings.Join(list, "; ")
}

func keptCell(r *row) string {
	if r.fished.Recorded.Assumed() {
		return keptAssumed
	}
	return keptNoted
}
