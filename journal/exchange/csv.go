package exchange

import (
	"context"
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"

	"rigtally/journal"
)

// exportColumn is a column of the flat CSV.
type exportColumn struct {
	key    string // of the field that it is read back as
	header string
	outing bool // about the session
	cell   func(r *row) string
}

// WriteCSV writes the journal as a flat CSV in SI units, a row for each stint and
// position of its rig, and one for the whole rig where something happened on no
// fly in particular; in such a row minutes and casts are empty. Counts are
// totals: what a row can't hold (species, the minute of an event, …) only a
// backup keeps. Texts that a spreadsheet program would take for a formula are
// marked with an apostrophe. Read back into an empty journal and written again,
// it is the same.
func WriteCSV(ctx context.Context, store *journal.Store, w io.Writer) error {
	c, err := store.Contents(ctx)
	if err != nil {
		return err
	}
	out := csv.NewWriter(w)
	columns := exportColumns()
	cells := make([]string, len(columns))
	for i, col := range columns {
		cells[i] = col.header
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

// exportColumns lists the columns in order: first those that everybody wants,
// then what else makes it complete.
func exportColumns() []exportColumn {
	junctions := junctionWords()
	return []exportColumn{
		{"date", "date", true, func(r *row) string { return r.day.String() }},
		{"start", "start", true, func(r *row) string { return clockCell(r.start) }},
		textColumn("angler", true, func(r *row) string { return r.angler }),
		textColumn("water", true, func(r *row) string { return r.water }),
		textColumn("beat", true, func(r *row) string { return r.beat }),
		intColumn("stint", func(r *row) *int { return r.stint }),
		floatColumn("minutes", "", false, func(r *row) *float64 { return r.minutes }),
		intColumn("casts", func(r *row) *int { return r.casts }),
		textColumn("method", false, func(r *row) string { return string(r.method) }),
		textColumn("stroke", false, func(r *row) string { return string(r.stroke) }),
		{"position", "position", false, func(r *row) string { return placeCell(r.place) }},
		textColumn("hang", false, func(r *row) string { return string(r.fly.Hang) }),
		{"junction", "junction", false, func(r *row) string { return junctionCell(r.fly, junctions) }},
		textColumn("facing", false, func(r *row) string { return string(r.fly.Facing) }),
		textColumn("prop", false, func(r *row) string { return string(r.fly.Prop) }),
		textColumn("swivel", false, func(r *row) string { return string(r.swivel) }),
		floatColumn("tag_length", "_mm", false, func(r *row) *float64 { return r.fly.TagLengthMM }),
		floatColumn("tag_end", "_mm", false, func(r *row) *float64 { return r.tagEnd }),
		floatColumn("tippet", "_mm", false, func(r *row) *float64 { return r.fly.TippetMM }),
		textColumn("material", false, func(r *row) string { return string(r.fly.Material) }),
		textColumn("fly", false, func(r *row) string { return r.fly.Fly }),
		intColumn("hook_size", func(r *row) *int { return r.fly.HookSize }),
		floatColumn("bead", "_mm", false, func(r *row) *float64 { return r.fly.BeadMM }),
		textColumn("bulk", false, func(r *row) string { return string(r.fly.Bulk) }),
		countColumn("hookups", cHookups), countColumn("foul_hookups", cFoul), countColumn("landed", cLanded), countColumn("lost", cLost),
		countColumn("broke_off", cBrokeOff), countColumn("junction_breaks", cJunctionBreaks), countColumn("snags", cSnags),
		countColumn("tangles", cTangles), countColumn("twists", cTwists), countColumn("checks", cChecks), countColumn("turns", cTurns),
		countColumn("minutes_lost", cMinutesLost),
		floatColumn("flow", "_m3s", true, func(r *row) *float64 { return r.flow }),
		floatColumn("water_temp", "_c", true, func(r *row) *float64 { return r.temp }),
		floatColumn("depth", "_m", true, func(r *row) *float64 { return r.depth }),
		textColumn("clarity", true, func(r *row) string { return string(r.clarity) }),
		textColumn("notes", false, func(r *row) string { return r.notes }),

		{"session", "session", true, func(r *row) string { return r.session }},
		{"end", "end", true, func(r *row) string { return clockCell(r.end) }},
		textColumn("time_zone", true, func(r *row) string { return r.zone }),
		textColumn("guide", true, func(r *row) string { return r.guide }),
		floatColumn("stage", "_m", true, func(r *row) *float64 { return r.stage }),
		floatColumn("velocity", "_ms", true, func(r *row) *float64 { return r.velocity }),
		textColumn("storm", true, func(r *row) string { return yesCell(r.storm) }),
		textColumn("wind", true, func(r *row) string { return string(r.wind) }),
		textColumn("light", true, func(r *row) string { return string(r.light) }),
		textColumn("session_notes", true, func(r *row) string { return r.sessionNotes }),
		textColumn("rig", false, func(r *row) string { return r.rig }),
		floatColumn("rod_length", "_mm", false, func(r *row) *float64 { return r.rod }),
		floatColumn("leader_length", "_mm", false, func(r *row) *float64 { return r.leader }),
		floatColumn("sighter_length", "_mm", false, func(r *row) *float64 { return r.sighter }),
		floatColumn("tippet_length", "_mm", false, func(r *row) *float64 { return r.level }),
		floatColumn("distance", "_mm", false, func(r *row) *float64 { return r.fly.DistanceMM }),
		floatColumn("tag_start", "_mm", false, func(r *row) *float64 { return r.tagStart }),
		countColumn("wind_knots", cWindKnots), countColumn("nests", cNests), countColumn("untimed_tangles", cUntimed),
		countColumn("fly_changes", cFlyChanges), countColumn("reties", cReties),
	}
}

func textColumn(key string, outing bool, get func(r *row) string) exportColumn {
	return exportColumn{key, key, outing, func(r *row) string { return escapeText(get(r)) }}
}

func intColumn(key string, get func(r *row) *int) exportColumn {
	return exportColumn{key, key, false, func(r *row) string { return intCell(get(r)) }}
}

func countColumn(key string, c count) exportColumn {
	return exportColumn{key, key, false, func(r *row) string { return intCell(r.tally[c]) }}
}

func floatColumn(key, unit string, outing bool, get func(r *row) *float64) exportColumn {
	return exportColumn{key, key + unit, outing, func(r *row) string {
		if v := get(r); v != nil {
			return strconv.FormatFloat(*v, 'f', -1, 64)
		}
		return ""
	}}
}

func intCell(v *int) string {
	if v == nil {
		return ""
	}
	return strconv.Itoa(*v)
}

func yesCell(yes bool) string {
	if yes {
		return "yes"
	}
	return ""
}

func clockCell(seconds *int) string {
	if seconds == nil {
		return ""
	}
	return clockText(*seconds)
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
