package exchange

import (
	"context"
	"encoding/csv"
	"fmt"
	"io"
	"strconv"

	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/journal/words"
)

// WriteCSV writes the journal as a flat CSV in SI units, a row for each stint and
// position of its rig, and one for the whole rig where something happened on no
// fly in particular; in such a row minutes and casts are empty. Counts are
// totals: what a row can't hold (species, the minute of an event, …) only a
// backup keeps. A count that was not kept is empty; what happened of its kind all
// the same stands in the column uncounted. Schema describes every column. Texts that a spreadsheet program would take for a formula are
// marked with an apostrophe. Read back into an empty journal and written again,
// it is the same but for what sessions took of gauges, which is passed over.
func WriteCSV(ctx context.Context, store *pg.Store, w io.Writer) error {
	c, err := store.Contents(ctx)
	if err != nil {
		return err
	}
	out := csv.NewWriter(w)
	columns := FlatColumns()
	cells := make([]string, len(columns))
	for i, col := range columns {
		cells[i] = col.Header()
	}
	if err := out.Write(cells); err != nil {
		return fmt.Errorf("write the CSV: %w", err)
	}
	n := NewNames(c)
	n.tell(c.Taken)
	for _, s := range c.Sessions {
		for _, r := range n.Flatten(s) {
			for i, col := range columns {
				cells[i] = col.Cell(r)
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

// WriteBenchCSV writes the journal's pulls as CSV, forces in N and diameters in
// mm as stored. Read back, it adds nothing.
func WriteBenchCSV(ctx context.Context, store *pg.Store, w io.Writer) error {
	pulls, err := store.BenchPulls(ctx)
	if err != nil {
		return err
	}
	anglers, err := store.Anglers(ctx)
	if err != nil {
		return err
	}
	names := map[journal.ID]string{}
	for _, a := range anglers {
		names[a.ID] = a.Name
	}
	junctions := JunctionWords(words.Built())
	rows := [][]string{{"id", "date", "junction", "facing", "prop", "tippet_mm", "material", "pulled_on", "wet", "force_n", "ending", "broke_at", "angler", "label", "note"}}
	for _, p := range pulls {
		knot, tier := "unknotted", ""
		if p.Knotted() {
			knot = junctionCell(journal.RigPosition{Junction: p.Junction, JunctionName: p.JunctionName}, junctions)
		}
		if p.AnglerID != nil {
			tier = names[*p.AnglerID]
		}
		number := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
		rows = append(rows, []string{p.ID.String(), p.Day.String(), knot, string(p.Facing), string(p.Prop), number(p.TippetMM), string(p.Material), string(p.PulledOn), string(p.Wetness),
			number(p.ForceN), string(p.Ending), string(p.BrokeAt), escapeText(tier), escapeText(p.Label), escapeText(p.Note)})
	}
	out := csv.NewWriter(w)
	if err := out.WriteAll(rows); err != nil {
		return fmt.Errorf("write the CSV of the bench: %w", err)
	}
	return nil
}
