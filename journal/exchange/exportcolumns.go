package exchange

import (
	"strconv"

	"rigtally/journal"
)

// exportColumn is a column of the flat CSV.
type exportColumn struct {
	key    string // of the field that it is read back as
	header string
	outing bool // about the session
	cell   func(r *row) string
	schemaField
}

// exportColumns lists the columns in order: first those that everybody wants,
// then what else makes it complete.
func exportColumns() []exportColumn {
	junctions := junctionWords()
	all := []exportColumn{
		{"date", "date", true, func(r *row) string { return r.day.String() }, schemaField{Type: "date", Title: "Day", Says: "Day of the session on the water's calendar.", Constraints: required()}},
		{"start", "start", true, func(r *row) string { return clockCell(r.start) }, schemaField{Type: "time", Title: "Start", Says: "Time of day at which the session began, in its time zone."}},
		textColumn("angler", true, "Name of who fished.", required(), func(r *row) string { return r.angler }),
		textColumn("water", true, "Name of the river or lake.", required(), func(r *row) string { return r.water }),
		textColumn("beat", true, "Name of the stretch of the water.", nil, func(r *row) string { return r.beat }),
		intColumn("stint", "Number of the stint in its session, a time fished with one rig as tied.", 1, func(r *row) *int { return r.stint }),
		floatColumn("minutes", "", "min", false, "Time fished in the stint, kept to the second; it stands in each row of a fly and not in that of the whole rig.", func(r *row) *float64 { return r.minutes }),
		intColumn("casts", "Casts made in the stint; they stand in each row of a fly and not in that of the whole rig.", 0, func(r *row) *int { return r.casts }),
		wordColumn("method", false, "Way of fishing of the rig.", journal.Methods(), func(r *row) journal.Method { return r.method }),
		wordColumn("stroke", false, "Casting stroke of the stint.", journal.Strokes(), func(r *row) journal.Stroke { return r.stroke }),
		{"position", "position", false, func(r *row) string { return placeCell(r.place) }, schemaField{Type: "string", Title: "Position",
			Says: "Place on the rig that the row is about: point, 1 for the dropper above it and so on up, or rig for what happened on no fly in particular.", Constraints: map[string]any{"required": true, "pattern": "point|rig|[1-9]"}}},
		wordColumn("hang", false, "How the dropper fly hangs; empty for the point.", journal.Hangs(), func(r *row) journal.Hang { return r.fly.Hang }),
		{"junction", "junction", false, func(r *row) string { return junctionCell(r.fly, junctions) }, schemaField{Type: "string", Title: "Junction",
			Says: "Knot or ring that the dropper's tag leaves the leader at; one that is not known by name stands under its own."}},
		wordColumn("facing", false, "Which way the tag faces.", journal.Facings(), func(r *row) journal.Facing { return r.fly.Facing }),
		wordColumn("prop", false, "What props the tag off the leader.", journal.Props(), func(r *row) journal.Prop { return r.fly.Prop }),
		wordColumn("swivel", false, "Swivel or ring above the droppers.", journal.Swivels(), func(r *row) journal.Swivel { return r.swivel }),
		floatColumn("tag_length", "_mm", "mm", false, "Length of the tag as tied, from junction to fly.", func(r *row) *float64 { return r.fly.TagLengthMM }),
		floatColumn("tag_end", "_mm", "mm", false, "Length of the tag at the end of the stint, as noted or as its cuts leave it.", func(r *row) *float64 { return r.tagEnd }),
		floatColumn("tippet", "_mm", "mm", false, "Diameter of the tippet that the fly hangs on.", func(r *row) *float64 { return r.fly.TippetMM }),
		wordColumn("material", false, "Material of that tippet.", journal.Materials(), func(r *row) journal.Material { return r.fly.Material }),
		textColumn("fly", false, "Name of the fly.", nil, func(r *row) string { return r.fly.Fly }),
		intColumn("hook_size", "Size of the hook, by the trade's numbers, which fall as hooks grow.", 1, func(r *row) *int { return r.fly.HookSize }),
		floatColumn("bead", "_mm", "mm", false, "Diameter of the bead.", func(r *row) *float64 { return r.fly.BeadMM }),
		wordColumn("bulk", false, "Bulk of the fly.", journal.Bulks(), func(r *row) journal.Bulk { return r.fly.Bulk }),
	}
	all = append(all, countColumns()...)
	all = append(all, conditionColumns()...)
	return append(all, furtherColumns()...)
}

// countColumns are the counts that everybody wants, and what outcomes need besides.
func countColumns() []exportColumn {
	derived := func(key, says, unit string, get func(r *row) *int) exportColumn {
		c := intColumn(key, says, 0, get)
		c.Unit = unit
		return c
	}
	return []exportColumn{
		countColumn("hookups", cHookups, "fish", "Fish hooked on this fly."),
		countColumn("foul_hookups", cFoul, "fish", "Fish, of those hooked, that were hooked outside the mouth."),
		derived("fair_hookups", "Fish, of those hooked, that are not known to be foul.", "fish", func(r *row) *int { return r.fairHookups }),
		countColumn("landed", cLanded, "fish", "Fish landed."),
		countColumn("lost", cLost, "fish", "Fish whose hook came out."),
		countColumn("fair_lost", cFairLost, "fish", "Fish, of those lost, that are not known to be foul."),
		countColumn("broke_off", cBrokeOff, "fish", "Fish broken off, at any place."),
		countColumn("junction_breaks", cJunctionBreaks, "breaks", "Breaks at a junction or in its tag by the fish and snags of this row, wherever that junction is."),
		countColumn("snags", cSnags, "snags", "Snags on the bottom or in trees."),
		derived("junction_loads", "Fish and snags that loaded this dropper's junction: those on it and on every fly below it.", "loads", func(r *row) *int { return r.loads }),
		derived("junction_failures", "Breaks of this dropper's own junction or tag, wherever the fish or snag was.", "breaks", func(r *row) *int { return r.failures }),
		countColumn("tangles", cTangles, "tangles", "Tangles of any kind, of this fly's tag."),
		countColumn("twists", cTwists, "tangles", "Tangles that were a tag twisted round the line."),
		countColumn("checks", cChecks, "checks", "Looks at the tag for turns round the line."),
		countColumn("turns", cTurns, "turns", "Turns of the tag round the line seen at these checks together; empty without a check."),
		countColumn("minutes_lost", cMinutesLost, "min", "Minutes lost to tangles and re-ties, as far as noted; empty where no tangle's were."),
	}
}

func conditionColumns() []exportColumn {
	return []exportColumn{
		floatColumn("flow", "_m3s", "m³/s", true, "Flow of the water.", func(r *row) *float64 { return r.flow }),
		signedColumn("water_temp", "_c", "°C", "Temperature of the water.", func(r *row) *float64 { return r.temp }),
		floatColumn("depth", "_m", "m", true, "Depth of the water fished.", func(r *row) *float64 { return r.depth }),
		wordColumn("clarity", true, "Clarity of the water.", journal.Clarities(), func(r *row) journal.Clarity { return r.clarity }),
		textColumn("notes", false, "Notes on the stint, in its first row.", nil, func(r *row) string { return r.notes }),
	}
}

// furtherColumns are what makes the rest of a session, its rig and its counts.
func furtherColumns() []exportColumn {
	return []exportColumn{
		{"session", "session", true, func(r *row) string { return r.session }, schemaField{Type: "string", Format: "uuid", Title: "Session", Says: "Id of the session, one outing of one angler on one water.", Constraints: required()}},
		{"end", "end", true, func(r *row) string { return clockCell(r.end) }, schemaField{Type: "time", Title: "End", Says: "Time of day at which the session ended, the next day's if it is not after the start."}},
		textColumn("time_zone", true, "Time zone of the water, by its IANA name.", required(), func(r *row) string { return r.zone }),
		textColumn("guide", true, "Name of the guide.", nil, func(r *row) string { return r.guide }),
		signedColumn("stage", "_m", "m", "Height of the water on its gauge.", func(r *row) *float64 { return r.stage }),
		floatColumn("velocity", "_ms", "m/s", true, "Velocity of the water where it was waded.", func(r *row) *float64 { return r.velocity }),
		{"storm", "storm", true, func(r *row) string { return yesCell(r.storm) }, schemaField{Type: "boolean", Title: "Storm", Says: "Whether thunder or lightning was noted; empty if not.", TrueValues: []string{"yes"}, FalseValues: []string{"no"}}},
		wordColumn("wind", true, "Strength of the wind.", journal.Winds(), func(r *row) journal.Wind { return r.wind }),
		wordColumn("light", true, "Light on the water.", journal.Lights(), func(r *row) journal.Light { return r.light }),
		textColumn("session_notes", true, "Notes on the session.", nil, func(r *row) string { return r.sessionNotes }),
		textColumn("rig", false, "Name of the rig and, from the second on, its revision.", required(), func(r *row) string { return r.rig }),
		floatColumn("rod_length", "_mm", "mm", false, "Length of the rod.", func(r *row) *float64 { return r.rod }),
		floatColumn("leader_length", "_mm", "mm", false, "Length of the leader.", func(r *row) *float64 { return r.leader }),
		floatColumn("sighter_length", "_mm", "mm", false, "Length of the sighter.", func(r *row) *float64 { return r.sighter }),
		floatColumn("tippet_length", "_mm", "mm", false, "Length of the tippet section.", func(r *row) *float64 { return r.level }),
		floatColumn("distance", "_mm", "mm", false, "Distance from this fly to the next one down.", func(r *row) *float64 { return r.fly.DistanceMM }),
		floatColumn("tag_start", "_mm", "mm", false, "Length of the tag at the start of the stint, where it was not as tied.", func(r *row) *float64 { return r.tagStart }),
		countColumn("wind_knots", cWindKnots, "tangles", "Tangles that were a wind knot."),
		countColumn("nests", cNests, "tangles", "Tangles that were a bird's nest."),
		countColumn("untimed_tangles", cUntimed, "tangles", "Tangles whose minutes lost were not noted."),
		countColumn("fly_changes", cFlyChanges, "changes", "Times the fly was changed."),
		countColumn("reties", cReties, "re-ties", "Times the junction or tag was tied anew."),
		countColumn("untold_hookups", cUntold, "fish", "Fish, of those hooked, of which it was not told whether they were foul."),
		{"uncounted", "uncounted", false, uncountedCell, schemaField{Type: "string", Title: "Uncounted", Says: "What happened of kinds of which no count was kept, as in tangles 1; twists 1: the counts are not complete, and belong in no rate."}},
		{countsKept, countsKept, false, keptCell, schemaField{Type: "string", Title: "Counts kept",
			Says:        "Whether it was noted of what count was kept, or is assumed of everything, as in stints from before it was asked for.",
			Constraints: map[string]any{"required": true, "enum": []string{keptNoted, keptAssumed}}}},
	}
}

func textColumn(key string, outing bool, says string, constraints map[string]any, get func(r *row) string) exportColumn {
	return exportColumn{key, key, outing, func(r *row) string { return escapeText(get(r)) }, schemaField{Type: "string", Title: titleOf(key), Says: says, Constraints: constraints}}
}

func wordColumn[T ~string](key string, outing bool, says string, words []T, get func(r *row) T) exportColumn {
	list := make([]string, len(words))
	for i, w := range words {
		list[i] = string(w)
	}
	return textColumn(key, outing, says, map[string]any{"enum": list}, func(r *row) string { return string(get(r)) })
}

func intColumn(key, says string, least int, get func(r *row) *int) exportColumn {
	return exportColumn{key, key, false, func(r *row) string { return intCell(get(r)) }, schemaField{Type: "integer", Title: titleOf(key), Says: says, Constraints: map[string]any{"minimum": least}}}
}

func countColumn(key string, c count, unit, says string) exportColumn {
	col := intColumn(key, says, 0, func(r *row) *int { return r.tally[c] })
	col.Unit = unit
	return col
}

func floatColumn(key, ending, unit string, outing bool, says string, get func(r *row) *float64) exportColumn {
	return exportColumn{key, key + ending, outing, func(r *row) string {
		if v := get(r); v != nil {
			return strconv.FormatFloat(*v, 'f', -1, 64)
		}
		return ""
	}, schemaField{Type: "number", Title: titleOf(key), Says: says, Unit: unit, Constraints: map[string]any{"minimum": 0}}}
}

// signedColumn is one of the session whose numbers may be below zero.
func signedColumn(key, ending, unit, says string, get func(r *row) *float64) exportColumn {
	c := floatColumn(key, ending, unit, true, says, get)
	c.Constraints = nil
	return c
}
