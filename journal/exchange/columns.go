package exchange

import (
	"rigtally/internal/units"
	"rigtally/journal"
	catalogue "rigtally/journal/field"
	"rigtally/journal/words"
)

// Column is something that a column can tell, of the flat CSV or of a spreadsheet.
type Column struct {
	Key      string                // header on export, its unit aside
	Title    string                // in words, for people
	Quantity units.Quantity        // "" for anything but a measurement
	Noted    *catalogue.Field[Row] // what it is in the catalogue, if it is there
	Of       *journal.Count        // the count that it tells
	Counted  bool                  // a plain count, which can be added up
	Gauge    bool                  // what a gauge told, which is written alone
	About    Scope
	Alike    func(head, r *Row) bool // takes from r what head lacks, and reports whether they can stand together
	Cell     func(r *Row) string     // of the flat CSV; nil: it has no such column
	schemaField
}

// Scope is what the rows share that have a column in common.
type Scope int

// What a column can be about.
const (
	OfRow Scope = iota
	OfOuting
	OfStint
)

// Columns lists everything that a column can tell of what was fished.
func Columns() []*Column {
	all := outingColumns()
	all = append(all, noted(catalogue.AllIn(journal.SessionFields(), func(r *Row) *journal.Session { return r.Outing }), OfOuting)...)
	all = append(all,
		&Column{Key: "stint", Title: "the stint's number",
			Cell: func(r *Row) string { return intCell(r.Stint) }, schemaField: whole("Number of the stint in its session, a time fished with one rig as tied.", 1)},
		text("rig", "the rig's name", "Name of the rig and, from the second on, its revision.", OfStint, required(), func(r *Row) *string { return &r.Rig }))
	all = append(all, noted(catalogue.AllIn(journal.StintFields(), func(r *Row) *journal.Stint { return r.Fished }), OfStint)...)
	all = append(all, noted(catalogue.AllIn(journal.RigFields(), func(r *Row) *journal.Rig { return r.Leader }), OfStint)...)
	all = append(all, &Column{Key: "position", Title: "the position on the rig",
		Cell: func(r *Row) string { return placeCell(r.Place) },
		schemaField: schemaField{Type: "string", Says: "Place on the rig that the row is about: point, 1 for the dropper above it and so on up, or rig for what happened on no fly in particular.",
			Constraints: map[string]any{"required": true, "pattern": "point|rig|[1-9]"}}})
	all = append(all, noted(catalogue.AllIn(journal.FlyFields(), func(r *Row) *journal.RigPosition { return r.Fly }), OfRow)...)
	all = append(all, noted(catalogue.AllIn(journal.TagFields(), func(r *Row) *journal.StintPosition { return r.Tag }), OfRow)...)
	return append(append(all, countColumns()...), gaugeColumns()...)
}

// PullColumns lists what a column can tell of a bench pull.
func PullColumns() []*Column {
	all := noted(catalogue.AllIn(journal.PullFields(), func(r *Row) *journal.BenchPull { return r.Pull }), OfRow)
	for _, c := range outingColumns() {
		switch c.Key {
		case "date":
			all = append(all, c)
		case "angler":
			c.Title = "who tied it"
			all = append(all, c)
		}
	}
	return all
}

// flatOrder is that of the flat CSV: first what everybody wants, then what else makes it
// complete. What is new comes behind.
var flatOrder = []string{"date", "start", "angler", "water", "beat", "stint", "minutes", "casts", "method", "stroke", "position", "hang", "junction", "facing", "prop", "swivel",
	"tag_length", "tag_end", "tippet", "material", "fly", "hook_size", "bead", "bulk",
	"hookups", "foul_hookups", "fair_hookups", "landed", "lost", "fair_lost", "broke_off", "junction_breaks", "snags", "junction_loads", "junction_failures", "tangles", "twists",
	"checks", "turns", "minutes_lost", "flow", "water_temp", "depth", "clarity", "notes", "session", "end", "time_zone", "guide", "stage", "velocity", "storm", "wind", "light",
	"session_notes", "rig", "rod_length", "leader_length", "sighter_length", "tippet_length", "distance", "tag_start", "wind_knots", "nests", "untimed_tangles", "fly_changes",
	"reties", "untold_hookups", "uncounted", CountsKept,
	"gauge_flow_m3s", "gauge_flow_percentile", "gauge_trend_6h", "gauge_trend_24h", "gauge_stage_m", "gauge_water_temp_c", "gauge_water_temp_peak_c", "gauge_provisional", "gauge_site"}

// FlatColumns lists the columns of the flat CSV in order.
func FlatColumns() []*Column {
	var list []*Column
	for _, f := range Columns() {
		if f.Cell != nil {
			list = append(list, f)
		}
	}
	return catalogue.Ranked(list, func(f *Column) string { return f.Key }, flatOrder)
}

// Header is that of the column in the flat CSV.
func (f *Column) Header() string {
	if f.Noted != nil {
		return f.Noted.Column()
	}
	return f.Key
}

// noted are the fields of the catalogue that spreadsheets tell of.
func noted(list []catalogue.Field[Row], about Scope) []*Column {
	var all []*Column
	for _, n := range list {
		if n.Noun == "" {
			continue
		}
		f := &Column{Key: n.Key, Title: n.Noun, Quantity: n.Quantity, Noted: &n, About: about}
		if about != OfRow && n.Kind != catalogue.Text {
			f.Alike = func(head, r *Row) bool {
				if !n.Noted(head) {
					n.Take(head, r)
				}
				return !n.Noted(r) || n.Same(head, r)
			}
		}
		if n.Says != "" {
			f.Cell, f.schemaField = n.String, describe(n)
			switch {
			case n.Key == "junction":
				junctions := JunctionWords(words.Built())
				f.Cell, f.Constraints = func(r *Row) string { return junctionCell(*r.Fly, junctions) }, nil
			case n.Kind == catalogue.Text || n.Kind == catalogue.Chosen:
				f.Cell = func(r *Row) string { return escapeText(n.String(r)) }
			}
		}
		all = append(all, f)
	}
	return all
}

// describe says for programs what a field of the catalogue is.
func describe(n catalogue.Field[Row]) schemaField {
	switch n.Kind {
	case catalogue.Truth:
		return schemaField{Type: "boolean", Says: n.Says, TrueValues: []string{"yes"}, FalseValues: []string{"no"}}
	case catalogue.Whole:
		return whole(n.Says, int(n.Low))
	case catalogue.Number:
		f := schemaField{Type: "number", Says: n.Says, Unit: units.Kept(n.Quantity).Symbol()}
		if n.Low >= 0 {
			f.Constraints = map[string]any{"minimum": 0}
		}
		return f
	case catalogue.Chosen:
		return schemaField{Type: "string", Says: n.Says, Constraints: map[string]any{"enum": n.Words}}
	}
	return schemaField{Type: "string", Says: n.Says}
}

func whole(says string, least int) schemaField {
	return schemaField{Type: "integer", Says: says, Constraints: map[string]any{"minimum": least}}
}

// text is a name or label that the catalogue does not have.
func text(key, title, says string, about Scope, constraints map[string]any, at func(r *Row) *string) *Column {
	return &Column{Key: key, Title: title, About: about, Alike: alike(at),
		Cell: func(r *Row) string { return escapeText(*at(r)) }, schemaField: schemaField{Type: "string", Says: says, Constraints: constraints}}
}

// alike compares what rows share.
func alike[T comparable](at func(r *Row) *T) func(head, r *Row) bool {
	return func(head, r *Row) bool {
		var none T
		to, from := at(head), at(r)
		if *to == none {
			*to = *from
		}
		return *from == none || *from == *to
	}
}

// outingColumns are the columns about a session that the catalogue does not have.
func outingColumns() []*Column {
	clock := func(key, title, says string, at func(r *Row) **int) *Column {
		return &Column{Key: key, Title: title, About: OfOuting, Cell: func(r *Row) string { return clockCell(*at(r)) },
			Alike: func(head, r *Row) bool {
				to, from := at(head), at(r)
				if *to == nil {
					*to = *from
				}
				return *from == nil || **from == **to
			}, schemaField: schemaField{Type: "time", Says: says}}
	}
	day := &Column{Key: "date", Title: "the day", About: OfOuting,
		Alike: alike(func(r *Row) *journal.Date { return &r.Day }), Cell: func(r *Row) string { return r.Day.String() },
		schemaField: schemaField{Type: "date", Title: "Day", Says: "Day of the session on the water's calendar.", Constraints: required()}}
	session := text("session", "the session's label", "Id of the session, one outing of one angler on one water.", OfOuting, required(), func(r *Row) *string { return &r.Session })
	session.Format, session.Cell = "uuid", func(r *Row) string { return r.Session }
	return []*Column{day, session,
		text("angler", "the angler", "Name of who fished.", OfOuting, required(), func(r *Row) *string { return &r.Angler }),
		text("water", "the water", "Name of the river or lake.", OfOuting, required(), func(r *Row) *string { return &r.Water }),
		text("guide", "the guide", "Name of the guide.", OfOuting, nil, func(r *Row) *string { return &r.Guide }),
		text("beat", "the beat", "Name of the stretch of the water.", OfOuting, nil, func(r *Row) *string { return &r.Beat }),
		text("time_zone", "the time zone", "Time zone of the water, by its IANA name.", OfOuting, required(), func(r *Row) *string { return &r.Zone }),
		clock("start", "the start", "Time of day at which the session began, in its time zone.", func(r *Row) **int { return &r.Start }),
		clock("end", "the end", "Time of day at which the session ended, the next day's if it is not after the start.", func(r *Row) **int { return &r.End }),
	}
}

// countColumns are the columns of counts.
func countColumns() []*Column {
	tallied := func(c journal.Count, key, unit, title, says string) *Column {
		f := &Column{Key: key, Title: title, Of: &c, Counted: true, Cell: func(r *Row) string { return intCell(r.Tally[c]) }, schemaField: whole(says, 0)}
		f.Unit = unit
		return f
	}
	derived := func(key, unit, title, says string, at func(r *Row) *int) *Column {
		f := &Column{Key: key, Title: title + ", which follows from the rest", Cell: func(r *Row) string { return intCell(at(r)) }, schemaField: whole(says, 0)}
		f.Unit = unit
		return f
	}
	lost := tallied(journal.CountMinutesLost, "minutes_lost", "min", "the minutes lost", "Minutes lost to tangles and re-ties, as far as noted; empty where no tangle's were.")
	lost.Counted, lost.Quantity = false, units.Duration
	return []*Column{
		tallied(journal.CountHookups, "hookups", "fish", "fish hooked", "Fish hooked on this fly."),
		tallied(journal.CountFoul, "foul_hookups", "fish", "fish hooked foul", "Fish, of those hooked, that were hooked outside the mouth."),
		tallied(journal.CountHookingUntold, "untold_hookups", "fish", "fish not noted as fair or foul", "Fish, of those hooked, not noted as fair or foul."),
		derived("fair_hookups", "fish", "fish hooked that are not known to be foul", "Fish, of those hooked, that are not known to be foul.", func(r *Row) *int { return r.fairHookups }),
		tallied(journal.CountLanded, "landed", "fish", "fish landed", "Fish landed."),
		tallied(journal.CountLost, "lost", "fish", "fish lost", "Fish whose hook came out."),
		tallied(journal.CountFairLost, "fair_lost", "fish", "fish lost that are not known to be foul", "Fish, of those lost, that are not known to be foul."),
		tallied(journal.CountBrokeOff, "broke_off", "fish", "fish broken off", "Fish broken off, at any place."),
		tallied(journal.CountBrokeJunction, "junction_breaks", "breaks", "breaks at the junction", "Breaks at a junction or in its tag by the fish and snags of this row, wherever that junction is."),
		tallied(journal.CountSnags, "snags", "snags", "snags", "Snags on the bottom or in trees."),
		tallied(journal.CountTangles, "tangles", "tangles", "tangles", "Tangles of any kind, of this fly's tag."),
		tallied(journal.CountTwists, "twists", "tangles", "twists", "Tangles that were a tag twisted round the line."),
		tallied(journal.CountWindKnots, "wind_knots", "tangles", "wind knots", "Tangles that were a wind knot."),
		tallied(journal.CountNests, "nests", "tangles", "nests", "Tangles that were a bird's nest."),
		tallied(journal.CountUntimed, "untimed_tangles", "tangles", "tangles whose lost minutes were not noted", "Tangles whose minutes lost were not noted."),
		tallied(journal.CountChecks, "checks", "checks", "checks of the tag", "Looks at the tag for turns around the line."),
		tallied(journal.CountTurns, "turns", "turns", "turns around the line", "Turns of the tag round the line seen at these checks together; empty without a check."),
		tallied(journal.CountFlyChanges, "fly_changes", "changes", "fly changes", "Times the fly was changed."),
		tallied(journal.CountReties, "reties", "re-ties", "re-ties", "Times the junction or tag was tied anew."),
		derived("junction_loads", "loads", "fish and snags that loaded the junction", "Fish and snags that loaded this dropper's junction: those on it and on every fly below it.",
			func(r *Row) *int { return r.loads }),
		derived("junction_failures", "breaks", "breaks of the junction or its tag", "Breaks of this dropper's own junction or tag, wherever the fish or snag was.", func(r *Row) *int { return r.failures }),
		{Key: "uncounted", Title: "what happened of kinds of which no count was kept", Cell: uncountedCell,
			schemaField: schemaField{Type: "string", Says: "What happened of kinds of which no count was kept, as in tangles 1; twists 1: the counts are not complete, and belong in no rate."}},
		{Key: CountsKept, Title: "whether it was said of what count was kept", Cell: keptCell, schemaField: schemaField{Type: "string",
			Says:        "Whether it was noted of what count was kept, or is assumed of everything, as in stints from before it was asked for.",
			Constraints: map[string]any{"required": true, "enum": []string{KeptNoted, KeptAssumed}}}},
		lost,
	}
}
