package exchange

import (
	"rigtally/internal/units"
	"rigtally/journal"
	catalogue "rigtally/journal/field"
)

// field is something that a column can tell, read from a spreadsheet or written to the flat CSV.
type field struct {
	key      string                // header on export, its unit aside
	title    string                // in words, for people
	quantity units.Quantity        // "" for anything but a measurement
	names    []string              // further headers, as headerKey writes them
	withUnit []string              // headers that mean this only when they name a unit
	noted    *catalogue.Field[row] // what it is in the catalogue, if it is there
	of       *count                // the count that it tells
	counted  bool                  // a plain count, which can be added up
	set      func(c *column, r *row, cell string) error
	about    scope
	alike    func(head, r *row) bool // takes from r what head lacks, and reports whether they can stand together
	cell     func(r *row) string     // of the flat CSV; nil: it has no such column
	schemaField
}

// scope is what the rows share that have a field in common.
type scope int

const (
	ofRow scope = iota
	ofOuting
	ofStint
)

// fields lists everything that a column can tell.
func fields() []*field {
	all := outingFields()
	all = append(all, noted(catalogue.AllIn(journal.SessionFields(), func(r *row) *journal.Session { return &r.outing }), ofOuting)...)
	all = append(all,
		&field{key: "stint", title: "the stint's number", names: []string{"stint no", "stint number", "spell"}, set: setInt(1, 30000, func(r *row) **int { return &r.stint }),
			cell: func(r *row) string { return intCell(r.stint) }, schemaField: whole("Number of the stint in its session, a time fished with one rig as tied.", 1)},
		textField("rig", "the rig's name", "Name of the rig and, from the second on, its revision.", ofStint, required(), setTextOf(maxName+len(" (revision 999999)"), cleanText), func(r *row) *string { return &r.rig },
			"rig name", "leader name", "setup"))
	all = append(all, noted(catalogue.AllIn(journal.StintFields(), func(r *row) *journal.Stint { return &r.fished }), ofStint)...)
	all = append(all, noted(catalogue.AllIn(journal.RigFields(), func(r *row) *journal.Rig { return &r.leader }), ofStint)...)
	all = append(all, &field{key: "position", title: "the position on the rig", names: []string{"pos", "fly position", "dropper", "dropper no"}, set: setPosition,
		cell: func(r *row) string { return placeCell(r.place) },
		schemaField: schemaField{Type: "string", Says: "Place on the rig that the row is about: point, 1 for the dropper above it and so on up, or rig for what happened on no fly in particular.",
			Constraints: map[string]any{"required": true, "pattern": "point|rig|[1-9]"}}})
	all = append(all, noted(catalogue.AllIn(journal.FlyFields(), func(r *row) *journal.RigPosition { return &r.fly }), ofRow)...)
	all = append(all, noted(catalogue.AllIn(journal.TagFields(), func(r *row) *journal.StintPosition { return &r.tag }), ofRow)...)
	return append(all, countFields()...)
}

// flatOrder is that of the flat CSV: first what everybody wants, then what else makes it
// complete. What is new comes behind.
var flatOrder = []string{"date", "start", "angler", "water", "beat", "stint", "minutes", "casts", "method", "stroke", "position", "hang", "junction", "facing", "prop", "swivel",
	"tag_length", "tag_end", "tippet", "material", "fly", "hook_size", "bead", "bulk",
	"hookups", "foul_hookups", "fair_hookups", "landed", "lost", "fair_lost", "broke_off", "junction_breaks", "snags", "junction_loads", "junction_failures", "tangles", "twists",
	"checks", "turns", "minutes_lost", "flow", "water_temp", "depth", "clarity", "notes", "session", "end", "time_zone", "guide", "stage", "velocity", "storm", "wind", "light",
	"session_notes", "rig", "rod_length", "leader_length", "sighter_length", "tippet_length", "distance", "tag_start", "wind_knots", "nests", "untimed_tangles", "fly_changes",
	"reties", "untold_hookups", "uncounted", countsKept}

// flatColumns lists the columns of the flat CSV in order.
func flatColumns() []*field {
	var list []*field
	for _, f := range fields() {
		if f.cell != nil {
			list = append(list, f)
		}
	}
	return catalogue.Ranked(list, func(f *field) string { return f.key }, flatOrder)
}

// header is that of the column in the flat CSV.
func (f *field) header() string {
	if f.noted != nil {
		return f.noted.Column()
	}
	return f.key
}

// noted are the fields of the catalogue that spreadsheets tell of.
func noted(list []catalogue.Field[row], about scope) []*field {
	var all []*field
	junctions := junctionWords()
	for _, n := range list {
		if n.Noun == "" {
			continue
		}
		f := &field{key: n.Key, title: n.Noun, quantity: n.Quantity, names: n.Headings, withUnit: n.WithUnit, noted: &n, about: about, set: setNoted(n)}
		if n.Key == "junction" {
			f.set = setJunction
		}
		if about != ofRow && n.Kind != catalogue.Text {
			f.alike = func(head, r *row) bool {
				if !n.Noted(head) {
					n.Take(head, r)
				}
				return !n.Noted(r) || n.Same(head, r)
			}
		}
		if n.Says != "" {
			f.cell, f.schemaField = n.String, describe(n)
			switch {
			case n.Key == "junction":
				f.cell, f.Constraints = func(r *row) string { return junctionCell(r.fly, junctions) }, nil
			case n.Kind == catalogue.Text || n.Kind == catalogue.Chosen:
				f.cell = func(r *row) string { return escapeText(n.String(r)) }
			}
		}
		all = append(all, f)
	}
	return all
}

// describe says for programs what a field of the catalogue is.
func describe(n catalogue.Field[row]) schemaField {
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
		return schemaField{Type: "string", Says: n.Says, Constraints: map[string]any{"enum": n.List()}}
	}
	return schemaField{Type: "string", Says: n.Says}
}

func whole(says string, least int) schemaField {
	return schemaField{Type: "integer", Says: says, Constraints: map[string]any{"minimum": least}}
}

// textField is a name or label that the catalogue does not have.
func textField(key, title, says string, about scope, constraints map[string]any, set func(at func(*row) *string) func(*column, *row, string) error, at func(r *row) *string, names ...string) *field {
	return &field{key: key, title: title, names: names, about: about, set: set(at), alike: alike(at),
		cell: func(r *row) string { return escapeText(*at(r)) }, schemaField: schemaField{Type: "string", Says: says, Constraints: constraints}}
}

// alike compares what rows share.
func alike[T comparable](at func(r *row) *T) func(head, r *row) bool {
	return func(head, r *row) bool {
		var none T
		to, from := at(head), at(r)
		if *to == none {
			*to = *from
		}
		return *from == none || *from == *to
	}
}

// outingFields are the columns about a session that the catalogue does not have. Foreign words
// are those for date, angler and water in neighbouring languages.
func outingFields() []*field {
	clock := func(key, title, says string, at func(r *row) **int, names ...string) *field {
		return &field{key: key, title: title, names: names, about: ofOuting, set: setClock(at), cell: func(r *row) string { return clockCell(*at(r)) },
			alike: func(head, r *row) bool {
				to, from := at(head), at(r)
				if *to == nil {
					*to = *from
				}
				return *from == nil || **from == **to
			}, schemaField: schemaField{Type: "time", Says: says}}
	}
	name, label := setTextOf(maxName, cleanName), setTextOf(maxName, cleanText)
	day := &field{key: "date", title: "the day", names: []string{"day", "datum", "fecha", "data", "dato", "jour", "dia", "fishing date", "trip date", "session date"}, about: ofOuting,
		set: setDate, alike: alike(func(r *row) *journal.Date { return &r.day }), cell: func(r *row) string { return r.day.String() },
		schemaField: schemaField{Type: "date", Title: "Day", Says: "Day of the session on the water's calendar.", Constraints: required()}}
	session := textField("session", "the session's label", "Id of the session, one outing of one angler on one water.", ofOuting, required(), label, func(r *row) *string { return &r.session },
		"session id", "session label", "outing", "trip")
	session.Format = "uuid"
	session.cell = func(r *row) string { return r.session }
	zone := textField("time_zone", "the time zone", "Time zone of the water, by its IANA name.", ofOuting, required(), label, func(r *row) *string { return &r.zone }, "timezone", "zone", "tz")
	zone.set = setZone
	return []*field{day, session,
		textField("angler", "the angler", "Name of who fished.", ofOuting, required(), name, func(r *row) *string { return &r.angler }, "who", "client", "guest", "name", "fisher", "fisherman", "angler name",
			"angler in", "angler*in", "fischer", "pecheur", "pescador", "fiskare", "fisker", "sportfiskare", "lystfisker"),
		textField("water", "the water", "Name of the river or lake.", ofOuting, required(), name, func(r *row) *string { return &r.water }, "river", "lake", "stream", "creek", "location", "venue", "where",
			"place", "fishery", "water name", "gewasser", "fluss", "riviere", "rio", "cours d eau", "vatten", "vattendrag", "elv", "vann", "vand"),
		textField("guide", "the guide", "Name of the guide.", ofOuting, nil, name, func(r *row) *string { return &r.guide }, "guide name"),
		textField("beat", "the beat", "Name of the stretch of the water.", ofOuting, nil, name, func(r *row) *string { return &r.beat }, "stretch", "section", "reach", "pool", "strecke", "parcours",
			"tramo", "stracka"),
		zone,
		clock("start", "the start", "Time of day at which the session began, in its time zone.", func(r *row) **int { return &r.start }, "start time", "started", "begin", "from", "beginn"),
		clock("end", "the end", "Time of day at which the session ended, the next day's if it is not after the start.", func(r *row) **int { return &r.end }, "end time", "ended", "finish", "stop",
			"until", "ende"),
		{key: "break_minutes", title: "the breaks, taken off the time from start to end", quantity: units.Duration, set: setBreaks,
			names: []string{"break time", "pause", "pauses", "pausen", "rest", "lunch break"}},
	}
}

// countFields are the columns of counts.
func countFields() []*field {
	tallied := func(c count, key, unit, title, says string, names ...string) *field {
		f := &field{key: key, title: title, names: names, of: &c, counted: true, set: setCount(c), cell: func(r *row) string { return intCell(r.tally[c]) }, schemaField: whole(says, 0)}
		f.Unit = unit
		return f
	}
	derived := func(key, unit, title, says string, at func(r *row) *int) *field {
		f := &field{key: key, title: title + ", which follows from the rest", set: ignore, cell: func(r *row) string { return intCell(at(r)) }, schemaField: whole(says, 0)}
		f.Unit = unit
		return f
	}
	lost := tallied(cMinutesLost, "minutes_lost", "min", "the minutes lost", "Minutes lost to tangles and re-ties, as far as noted; empty where no tangle's were.",
		"time lost", "lost time", "downtime", "lost minutes")
	lost.counted, lost.quantity, lost.set = false, units.Duration, setMinutes("the minutes lost", func(r *row) **int { return &r.tally[cMinutesLost] })
	return []*field{
		tallied(cHookups, "hookups", "fish", "fish hooked", "Fish hooked on this fly.", "hooked", "hookup", "hook ups", "fish on"),
		tallied(cFoul, "foul_hookups", "fish", "fish hooked foul", "Fish, of those hooked, that were hooked outside the mouth.", "foul", "foul hooked", "foul hooks", "fouls", "snagged fish"),
		tallied(cUntold, "untold_hookups", "fish", "fish of which it was not told whether they were hooked foul", "Fish, of those hooked, of which it was not told whether they were foul."),
		derived("fair_hookups", "fish", "fish hooked that are not known to be foul", "Fish, of those hooked, that are not known to be foul.", func(r *row) *int { return r.fairHookups }),
		tallied(cLanded, "landed", "fish", "fish landed", "Fish landed.", "to hand", "netted", "fish landed", "caught", "fish caught", "to net", "gelandet"),
		tallied(cLost, "lost", "fish", "fish lost", "Fish whose hook came out.", "fish lost", "came off", "thrown"),
		tallied(cFairLost, "fair_lost", "fish", "fish lost that are not known to be foul", "Fish, of those lost, that are not known to be foul."),
		tallied(cBrokeOff, "broke_off", "fish", "fish broken off", "Fish broken off, at any place.", "broken off", "break offs", "breakoffs", "breakoff", "broke", "bust offs"),
		tallied(cJunctionBreaks, "junction_breaks", "breaks", "breaks at the junction", "Breaks at a junction or in its tag by the fish and snags of this row, wherever that junction is.",
			"junction break", "broke at knot", "broke at junction", "knot breaks", "broke at tag"),
		tallied(cSnags, "snags", "snags", "snags", "Snags on the bottom or in trees.", "snag", "snagged", "hang ups", "hangups"),
		tallied(cTangles, "tangles", "tangles", "tangles", "Tangles of any kind, of this fly's tag.", "tangle", "tangled"),
		tallied(cTwists, "twists", "tangles", "twists", "Tangles that were a tag twisted round the line.", "twist"),
		tallied(cWindKnots, "wind_knots", "tangles", "wind knots", "Tangles that were a wind knot.", "wind knot"),
		tallied(cNests, "nests", "tangles", "nests", "Tangles that were a bird's nest.", "nest", "birds nests", "birdsnests"),
		tallied(cUntimed, "untimed_tangles", "tangles", "tangles whose lost minutes were not noted", "Tangles whose minutes lost were not noted."),
		tallied(cChecks, "checks", "checks", "checks of the tag", "Looks at the tag for turns round the line.", "check", "tag checks"),
		tallied(cTurns, "turns", "turns", "turns round the line", "Turns of the tag round the line seen at these checks together; empty without a check.", "tag turns"),
		tallied(cFlyChanges, "fly_changes", "changes", "fly changes", "Times the fly was changed.", "fly change", "flies changed"),
		tallied(cReties, "reties", "re-ties", "re-ties", "Times the junction or tag was tied anew.", "re ties", "retie", "re tie", "retied"),
		derived("junction_loads", "loads", "fish and snags that loaded the junction", "Fish and snags that loaded this dropper's junction: those on it and on every fly below it.",
			func(r *row) *int { return r.loads }),
		derived("junction_failures", "breaks", "breaks of the junction or its tag", "Breaks of this dropper's own junction or tag, wherever the fish or snag was.", func(r *row) *int { return r.failures }),
		{key: "uncounted", title: "what happened of kinds of which no count was kept", set: setUncounted, cell: uncountedCell,
			schemaField: schemaField{Type: "string", Says: "What happened of kinds of which no count was kept, as in tangles 1; twists 1: the counts are not complete, and belong in no rate."}},
		{key: countsKept, title: "whether it was said of what count was kept", set: setCountsKept, cell: keptCell, schemaField: schemaField{Type: "string",
			Says:        "Whether it was noted of what count was kept, or is assumed of everything, as in stints from before it was asked for.",
			Constraints: map[string]any{"required": true, "enum": []string{keptNoted, keptAssumed}}}},
		lost,
		problemField(),
	}
}

// problemField is the column of a file of rows that an earlier import refused.
func problemField() *field {
	return &field{key: "problem", title: "what was wrong with it at an earlier import", set: ignore}
}

func ignore(*column, *row, string) error { return nil }
