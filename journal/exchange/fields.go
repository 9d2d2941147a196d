package exchange

import (
	"rigtally/internal/units"
	"rigtally/journal"
)

// field is something that a column can tell.
type field struct {
	key      string         // header on export, its unit aside
	title    string         // in words, for people
	quantity units.Quantity // "" for anything but a measurement
	names    []string       // further headers, as headerKey writes them
	withUnit []string       // headers that mean this only when they name a unit
	of       *count         // the count that it tells
	counted  bool           // a plain count, which can be added up
	set      func(c *column, r *row, cell string) error
}

// fields lists everything that a column can tell.
func fields() []*field {
	var all []*field
	for _, part := range [][]*field{outingFields(), stintFields(), positionFields(), countFields()} {
		all = append(all, part...)
	}
	return all
}

// outingFields are the columns about a session. Foreign words are those for
// date, angler and water in neighbouring languages.
func outingFields() []*field {
	return []*field{
		{key: "date", title: "the day", names: []string{"day", "datum", "fecha", "data", "dato", "jour", "dia", "fishing date", "trip date", "session date"}, set: setDate},
		{key: "start", title: "the start", names: []string{"start time", "started", "begin", "from", "beginn"}, set: setClock(func(r *row) **int { return &r.start })},
		{key: "end", title: "the end", names: []string{"end time", "ended", "finish", "stop", "until", "ende"}, set: setClock(func(r *row) **int { return &r.end })},
		{key: "break_minutes", title: "the breaks, taken off the time from start to end", quantity: units.Duration, names: []string{"break time", "pause", "pauses", "pausen", "rest", "lunch break"}, set: setBreaks},
		{key: "time_zone", title: "the time zone", names: []string{"timezone", "zone", "tz"}, set: setZone},
		{key: "session", title: "the session's label", names: []string{"session id", "session label", "outing", "trip"}, set: setText(func(r *row) *string { return &r.session })},
		{key: "angler", title: "the angler", names: []string{"who", "client", "guest", "name", "fisher", "fisherman", "angler name",
			"angler in", "angler*in", "fischer", "pecheur", "pescador", "fiskare", "fisker", "sportfiskare", "lystfisker"}, set: setName(func(r *row) *string { return &r.angler })},
		{key: "guide", title: "the guide", names: []string{"guide name"}, set: setName(func(r *row) *string { return &r.guide })},
		{key: "water", title: "the water", names: []string{"river", "lake", "stream", "creek", "location", "venue", "where", "place", "fishery", "water name",
			"gewasser", "fluss", "riviere", "rio", "cours d eau", "vatten", "vattendrag", "elv", "vann", "vand"}, set: setName(func(r *row) *string { return &r.water })},
		{key: "beat", title: "the beat", names: []string{"stretch", "section", "reach", "pool", "strecke", "parcours", "tramo", "stracka"}, set: setName(func(r *row) *string { return &r.beat })},
		{key: "flow", title: "the flow", quantity: units.Flow, names: []string{"discharge", "streamflow", "abfluss", "debit"}, withUnit: []string{"water", "river", ""},
			set: setMeasure(func(r *row) **float64 { return &r.flow })},
		{key: "water_temp", title: "the water temperature", quantity: units.Temperature,
			names:    []string{"water temperature", "temp", "temperature", "wassertemperatur", "wassertemp", "temp of water"},
			withUnit: []string{"water", "river", "h2o", "wasser", ""}, set: setMeasure(func(r *row) **float64 { return &r.temp })},
		{key: "stage", title: "the stage", quantity: units.Depth, names: []string{"level", "water level", "gauge", "gauge height", "river level", "pegel"},
			set: setMeasure(func(r *row) **float64 { return &r.stage })},
		{key: "depth", title: "the depth", quantity: units.Depth, names: []string{"water depth", "tiefe"}, set: setMeasure(func(r *row) **float64 { return &r.depth })},
		{key: "velocity", title: "the water's velocity", quantity: units.Speed, names: []string{"current speed", "water speed", "water velocity"}, withUnit: []string{"current", "stromung"},
			set: setMeasure(func(r *row) **float64 { return &r.velocity })},
		{key: "storm", title: "whether there was a storm", names: []string{"thunder", "thunderstorm", "lightning", "gewitter"}, set: setYes(func(r *row) *bool { return &r.storm })},
		{key: "clarity", title: "the clarity", names: []string{"water clarity", "visibility", "vis", "water colour", "water color"},
			set: setWord(journal.Clarities(), clarityWords, func(r *row) *journal.Clarity { return &r.clarity })},
		{key: "wind", title: "the wind", set: setWord(journal.Winds(), windWords, func(r *row) *journal.Wind { return &r.wind })},
		{key: "light", title: "the light", names: []string{"sky"}, set: setWord(journal.Lights(), lightWords, func(r *row) *journal.Light { return &r.light })},
		{key: "session_notes", title: "notes on the session", names: []string{"session remarks", "day notes"}, set: setNotes(func(r *row) *string { return &r.sessionNotes })},
	}
}

// stintFields are the columns about a stint and the rig as a whole.
func stintFields() []*field {
	length := func(key, title string, at func(r *row) **float64, names ...string) *field {
		return &field{key: key, title: title, quantity: units.Length, names: names, set: setMeasure(at)}
	}
	return []*field{
		{key: "stint", title: "the stint's number", names: []string{"stint no", "stint number", "spell"}, set: setInt(1, 30000, func(r *row) **int { return &r.stint })},
		{key: "rig", title: "the rig's name", names: []string{"rig name", "leader name", "setup"}, set: setTextOf(maxName+len(" (revision 999999)"), func(r *row) *string { return &r.rig }, cleanText)},
		{key: "minutes", title: "the time fished", quantity: units.Duration, names: []string{"rod time", "time fished", "fished", "duration", "fishing time", "hours fished", "rod hours", "minutes fished", "dauer", "duree"},
			withUnit: []string{"", "rod", "time", "fishing"}, set: setFished},
		{key: "casts", title: "the casts", names: []string{"cast", "number of casts"}, set: setInt(0, 100000, func(r *row) **int { return &r.casts })},
		{key: "method", title: "the method", names: []string{"technique", "style", "methode"}, set: setWord(journal.Methods(), methodWords, func(r *row) *journal.Method { return &r.method })},
		{key: "stroke", title: "the casting stroke", names: []string{"cast type", "casting stroke", "casting"}, set: setWord(journal.Strokes(), strokeWords, func(r *row) *journal.Stroke { return &r.stroke })},
		{key: "swivel", title: "the swivel", names: []string{"sighter connection"}, set: setWord(journal.Swivels(), swivelWords, func(r *row) *journal.Swivel { return &r.swivel })},
		length("rod_length", "the rod's length", func(r *row) **float64 { return &r.rod }, "rod length"),
		length("leader_length", "the leader's length", func(r *row) **float64 { return &r.leader }, "leader"),
		length("sighter_length", "the sighter's length", func(r *row) **float64 { return &r.sighter }, "sighter"),
		length("tippet_length", "the tippet's length", func(r *row) **float64 { return &r.level }),
		{key: "notes", title: "notes on the stint", names: []string{"note", "remarks", "remark", "comment", "comments", "bemerkung", "bemerkungen", "remarques", "notas"},
			set: setNotes(func(r *row) *string { return &r.notes })},
	}
}

// positionFields are the columns about a fly on the rig and how it hangs.
func positionFields() []*field {
	length := func(key, title string, at func(r *row) **float64, names ...string) *field {
		return &field{key: key, title: title, quantity: units.Length, names: names, set: setMeasure(at)}
	}
	return []*field{
		{key: "position", title: "the position on the rig", names: []string{"pos", "fly position", "dropper", "dropper no"}, set: setPosition},
		{key: "hang", title: "the hang", names: []string{"attachment", "hung on"}, set: setWord(journal.Hangs(), hangWords, func(r *row) *journal.Hang { return &r.fly.Hang })},
		{key: "junction", title: "the junction", names: []string{"knot", "dropper knot", "junction knot", "tag knot", "knoten", "noeud", "nudo", "knop"}, set: setJunction},
		{key: "facing", title: "the facing", names: []string{"tag facing", "tag direction"}, set: setWord(journal.Facings(), facingWords, func(r *row) *journal.Facing { return &r.fly.Facing })},
		{key: "prop", title: "the prop", names: []string{"hitch"}, set: setWord(journal.Props(), propWords, func(r *row) *journal.Prop { return &r.fly.Prop })},
		length("tag_length", "the tag length as tied", func(r *row) **float64 { return &r.fly.TagLengthMM }, "tag", "dropper length", "tag as tied", "dropper tag"),
		length("tag_start", "the tag length at the start", func(r *row) **float64 { return &r.tagStart }, "tag length start", "tag at start"),
		length("tag_end", "the tag length at the end", func(r *row) **float64 { return &r.tagEnd }, "tag length end", "tag at end"),
		length("distance", "the distance to the next fly down", func(r *row) **float64 { return &r.fly.DistanceMM }, "fly distance", "spacing", "distance to point"),
		{key: "tippet", title: "the tippet", quantity: units.Tippet, names: []string{"tippet size", "tippet diameter"}, set: setTippet},
		{key: "material", title: "the tippet's material", names: []string{"tippet material"}, set: setWord(journal.Materials(), materialWords, func(r *row) *journal.Material { return &r.fly.Material })},
		{key: "fly", title: "the fly", names: []string{"flies", "pattern", "fly pattern", "fliege", "mouche", "mosca", "fluga", "flue"}, set: setText(func(r *row) *string { return &r.fly.Fly })},
		{key: "hook_size", title: "the hook size", names: []string{"hook", "fly size"}, set: setHook},
		{key: "bead", title: "the bead", quantity: units.Length, names: []string{"bead size", "bead head"}, set: setBead},
		{key: "bulk", title: "the fly's bulk", names: []string{"fly bulk", "fly type", "fly profile"}, set: setWord(journal.Bulks(), bulkWords, func(r *row) *journal.Bulk { return &r.fly.Bulk })},
	}
}

// countFields are the columns of counts.
func countFields() []*field {
	tallied := func(c count, key, title string, names ...string) *field {
		return &field{key: key, title: title, names: names, of: &c, counted: true, set: setCount(c)}
	}
	derived := func(key, title string) *field {
		return &field{key: key, title: title + ", which follows from the rest", set: func(*column, *row, string) error { return nil }}
	}
	return []*field{
		tallied(cHookups, "hookups", "fish hooked", "hooked", "hookup", "hook ups", "fish on"),
		tallied(cFoul, "foul_hookups", "fish hooked foul", "foul", "foul hooked", "foul hooks", "fouls", "snagged fish"),
		tallied(cUntold, "untold_hookups", "fish of which it was not told whether they were hooked foul"),
		derived("fair_hookups", "fish hooked that are not known to be foul"),
		tallied(cLanded, "landed", "fish landed", "to hand", "netted", "fish landed", "caught", "fish caught", "to net", "gelandet"),
		tallied(cLost, "lost", "fish lost", "fish lost", "came off", "thrown"),
		tallied(cFairLost, "fair_lost", "fish lost that are not known to be foul"),
		tallied(cBrokeOff, "broke_off", "fish broken off", "broken off", "break offs", "breakoffs", "breakoff", "broke", "bust offs"),
		tallied(cJunctionBreaks, "junction_breaks", "breaks at the junction", "junction break", "broke at knot", "broke at junction", "knot breaks", "broke at tag"),
		tallied(cSnags, "snags", "snags", "snag", "snagged", "hang ups", "hangups"),
		tallied(cTangles, "tangles", "tangles", "tangle", "tangled"),
		tallied(cTwists, "twists", "twists", "twist"),
		tallied(cWindKnots, "wind_knots", "wind knots", "wind knot"),
		tallied(cNests, "nests", "nests", "nest", "birds nests", "birdsnests"),
		tallied(cUntimed, "untimed_tangles", "tangles whose lost minutes were not noted"),
		tallied(cChecks, "checks", "checks of the tag", "check", "tag checks"),
		tallied(cTurns, "turns", "turns round the line", "tag turns"),
		tallied(cFlyChanges, "fly_changes", "fly changes", "fly change", "flies changed"),
		tallied(cReties, "reties", "re-ties", "re ties", "retie", "re tie", "retied"),
		derived("junction_loads", "fish and snags that loaded the junction"), derived("junction_failures", "breaks of the junction or its tag"),
		{key: "uncounted", title: "what happened of kinds of which no count was kept", set: setUncounted},
		{key: countsKept, title: "whether it was said of what count was kept", set: setCountsKept},
		{key: "minutes_lost", title: "the minutes lost", of: new(cMinutesLost), quantity: units.Duration, names: []string{"time lost", "lost time", "downtime", "lost minutes"},
			set: setMinutes("the minutes lost", func(r *row) **int { return &r.tally[cMinutesLost] })},
		{key: "problem", title: "what was wrong with it at an earlier import", set: func(*column, *row, string) error { return nil }},
	}
}
