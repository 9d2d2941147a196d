package journal

import (
	"fmt"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal/field"
)

// What can be noted of rigs, flies, sessions, stints and pulls, each once. A new field is an
// entry here, a field of the struct, and a column by a migration: rules, questions, sheets,
// flags and forms follow. Limits are wide: their purpose is to catch a slip of the unit, not
// to judge. The same stand in the tables' constraints. Common practice, no source.

// RigFields are what is noted of a leader as a whole. As with the lists beside it, nobody may change them.
func RigFields() []field.Field[Rig] { return rigFields }

// FlyFields are what is noted of a fly on the leader and how it hangs.
func FlyFields() []field.Field[RigPosition] { return flyFields }

// SessionFields are the conditions of a session, and its notes.
func SessionFields() []field.Field[Session] { return sessionFields }

// StintFields are what is noted of a stint, beside its rig and what happened.
func StintFields() []field.Field[Stint] { return stintFields }

// TagFields are what is noted of a fly through a stint.
func TagFields() []field.Field[StintPosition] { return tagFields }

// PullFields are what is noted of a bench pull.
func PullFields() []field.Field[BenchPull] { return pullFields }

// CheckMerge reports why a rig can't be made one with another, which then tells how both were tied: what both say must be
// the same, and nothing that this one says may be lost.
func (r Rig) CheckMerge(into Rig, sys units.System) error {
	var differ, lost []string
	compare := func(what, is, of string) {
		switch {
		case is == of || is == "":
		case of == "":
			lost = append(lost, fmt.Sprintf("%s (%s)", what, is))
		default:
			differ = append(differ, fmt.Sprintf("%s: %s and %s", what, is, of))
		}
	}
	for _, f := range rigFields {
		if f.Key != "notes" {
			compare(f.Label, f.Show(&r, sys), f.Show(&into, sys))
		}
	}
	compare("flies", places(r), places(into))
	for _, p := range r.Positions {
		on, ok := into.At(p.Position)
		for _, f := range flyFields {
			if at := PositionTitle(p.Position) + ", " + f.Label; ok && f.Key == "junction" {
				compare(at, p.JunctionWord(), on.JunctionWord())
			} else if ok {
				compare(at, f.Show(&p, sys), f.Show(&on, sys))
			}
		}
	}
	switch {
	case len(differ) > 0:
		return Invalidf("%s and %s are tied differently, so they are two rigs: %s", r.Title(), into.Title(), strings.Join(differ, "; "))
	case len(lost) > 0:
		return Invalidf("%s says what %s does not: %s. Merge %[2]s into %[1]s instead or, where each says something, save a revision that says all and merge both into that", r.Title(), into.Title(), strings.Join(lost, ", "))
	}
	return nil
}

// places lists where on a rig flies hang.
func places(r Rig) string {
	var list []string
	for _, p := range r.Positions {
		list = append(list, PositionTitle(p.Position))
	}
	return strings.Join(list, " and ")
}

var rigFields = []field.Field[Rig]{
	field.Of(func(r *Rig) any { return &r.Method }, field.Description{Key: "method", Asked: true, Noun: "the method",
		Words: field.Words(Methods()),
		Says:  "Way of fishing of the rig.", Label: "Method", Hint: "fills in what is usual for it", Usage: "`word` for the way of fishing", Told: "%s"}),
	field.Of(func(r *Rig) any { return &r.RodLengthMM }, field.Description{Key: "rod_length", Quantity: units.Length, High: maxLeaderMM, Noun: "the rod's length",
		Says: "Length of the rod.", Label: "Rod", Form: "rod", Long: true, Told: "rod %s"}),
	field.Of(func(r *Rig) any { return &r.LeaderLengthMM }, field.Description{Key: "leader_length", Quantity: units.Length, High: maxLeaderMM, Noun: "the leader's length",
		Says: "Length of the leader.", Label: "Leader", Asks: "Whole leader", Form: "leader", Long: true, Told: "leader %s"}),
	field.Of(func(r *Rig) any { return &r.SighterLengthMM }, field.Description{Key: "sighter_length", Quantity: units.Length, High: maxLeaderMM, Noun: "the sighter's length",
		Says: "Length of the sighter.", Label: "Sighter", Form: "sighter", Told: "sighter %s"}),
	field.Of(func(r *Rig) any { return &r.Swivel }, field.Description{Key: "swivel", Asked: true, Noun: "the swivel",
		Words: field.Words(Swivels()),
		Says:  "Swivel or ring above the droppers.", Label: "Between sighter and tippet", Usage: "`word` for what joins sighter and tippet", Told: "with a %s"}),
	field.Of(func(r *Rig) any { return &r.TippetLengthMM }, field.Description{Key: "tippet_length", Quantity: units.Length, High: maxLeaderMM, Noun: "the tippet's length",
		Says: "Length of the tippet section.", Label: "Tippet", Asks: "Tippet, to the point fly", Form: "tippet", Long: true, Told: "tippet %s"}),
	field.Of(func(r *Rig) any { return &r.Notes }, field.Description{Key: "notes", High: maxTextLen, Subject: "the rig's notes", Label: "Notes on the rig"}),
}

var flyFields = []field.Field[RigPosition]{
	field.Of(func(p *RigPosition) any { return &p.Hang }, field.Description{Key: "hang", Asked: true, Noun: "the hang",
		Words: field.Words(Hangs()),
		Says:  "How the dropper fly hangs; empty for the point.", Label: "Hang", Asks: "Hangs", Usage: "`word` for how the fly hangs (default tag)", Told: "in line at the %s"}),
	field.Of(func(p *RigPosition) any { return &p.Junction }, junctionField()),
	field.Of(func(p *RigPosition) any { return &p.JunctionName }, junctionNameField()),
	field.Of(func(p *RigPosition) any { return &p.TagLengthMM }, field.Description{Key: "tag_length", Asked: true, Quantity: units.Length, High: maxTagMM, Subject: "the tag length",
		Noun: "the tag length as tied",
		Says: "Length of the tag as tied, from junction to fly.", Label: "Tag length", Hint: ", as tied", Form: "tag", Flag: "tag", Usage: "`length` of the tag: 6 1/2 in, 16.5 cm", Told: "tag %s"}),
	field.Of(func(p *RigPosition) any { return &p.Facing }, facingField()),
	field.Of(func(p *RigPosition) any { return &p.Prop }, propField()),
	field.Of(func(p *RigPosition) any { return &p.DistanceMM }, field.Description{Key: "distance", Quantity: units.Length, High: maxLeaderMM, Subject: "the distance below %s",
		Noun: "the distance to the next fly down",
		Says: "Distance from this fly to the next one down.", Label: "To the next fly down", Asks: "Distance to the next fly down", Told: "above the next by %s"}),
	field.Of(func(p *RigPosition) any { return &p.TippetMM }, tippetField()),
	field.Of(func(p *RigPosition) any { return &p.Material }, materialField()),
	field.Of(func(p *RigPosition) any { return &p.Fly }, field.Description{Key: "fly", High: maxNameLen, Subject: "the fly's name", Noun: "the fly",
		Says: "Name of the fly.", Label: "Fly", Usage: "`pattern` of the fly", Told: "%s"}),
	field.Of(func(p *RigPosition) any { return &p.HookSize }, field.Description{Key: "hook_size", Asked: true, Low: 1, High: 36, Wrong: "hook size %[1]d of %[2]s can't be right; write a number from 1 to 36",
		Noun: "the hook size",
		Says: "Size of the hook, by the trade's numbers, which fall as hooks grow.", Label: "Hook size", Form: "hook", Usage: "`size` of its hook: 16", Told: "hook %s"}),
	field.Of(func(p *RigPosition) any { return &p.BeadMM }, field.Description{Key: "bead", Quantity: units.Length, Zero: true, High: 20, Noun: "the bead",
		Says: "Diameter of the bead.", Label: "Bead", Hint: "mm", Usage: "`diameter` of its bead: 2.5 mm", Fixed: units.Millimetre, Told: "bead %s"}),
	field.Of(func(p *RigPosition) any { return &p.Bulk }, field.Description{Key: "bulk", Asked: true, Noun: "the fly's bulk",
		Words: field.Words(Bulks()),
		Says:  "Bulk of the fly.", Label: "Bulk", Usage: "`word` for what the fly offers to the current", Told: "%s"}),
}

// A knot and its line are noted of flies and of pulls.

func junctionField() field.Description {
	return field.Description{Key: "junction", Asked: true, Noun: "the junction",
		Words: field.Words(Junctions()),
		Says:  "Knot or ring that the dropper's tag leaves the leader at; one that rigtally does not know keeps its own name.", Label: "Junction", Told: "%s"}
}

func junctionNameField() field.Description {
	return field.Description{Key: "junction_name", High: maxNameLen, Subject: "the junction's name", Label: "Its name, if other"}
}

func facingField() field.Description {
	return field.Description{Key: "facing", Asked: true, Noun: "the facing",
		Words: field.Words(Facings()),
		Says:  "Which way the tag faces.", Label: "Facing", Asks: "Tag faces", Hint: "down is toward the point", Usage: "`way` the tag leaves the junction", Told: "facing %s"}
}

func propField() field.Description {
	return field.Description{Key: "prop", Asked: true, Noun: "the prop",
		Words: field.Words(Props()),
		Says:  "What props the tag off the leader.", Label: "Prop", Hint: "a hitch that holds the tag off the line", Usage: "`hitch` that holds the tag off the line", Told: "propped by a %s"}
}

func tippetField() field.Description {
	return field.Description{Key: "tippet", Asked: true, Quantity: units.Tippet, High: maxTippetMM, Noun: "the tippet",
		Says: "Diameter of the tippet that the fly hangs on.", Label: "Tippet", Hint: "6X, or mm", Usage: "`size` of the tag's tippet: 6X, 0.127 mm", Told: "%s"}
}

func materialField() field.Description {
	return field.Description{Key: "material", Asked: true, Noun: "the tippet's material",
		Words: field.Words(Materials()),
		Says:  "Material of that tippet.", Label: "Material", Usage: "`word` for what the tippet is made of", Told: "%s"}
}

var sessionFields = []field.Field[Session]{
	field.Of(func(s *Session) any { return &s.WaterTempC }, field.Description{Key: "water_temp", Quantity: units.Temperature, Low: -1, High: 45, Subject: "a water temperature",
		Noun: "the water temperature",
		Says: "Temperature of the water.", Label: "Water temperature", Form: "temp", Usage: "`temperature` of the water: 54F, 12.5 C", Told: "water %s"}),
	field.Of(func(s *Session) any { return &s.FlowM3S }, field.Description{Key: "flow", Quantity: units.Flow, High: maxFlowM3S, Subject: "a flow", Noun: "the flow",
		Says: "Flow of the water.", Label: "Flow", Usage: "`flow` of the water: 540 cfs, 15.3 m³/s", Told: "flow %s"}),
	field.Of(func(s *Session) any { return &s.StageM }, field.Description{Key: "stage", Quantity: units.Depth, Low: -50, High: 100, Subject: "a stage", Noun: "the stage",
		Says: "Height of the water on its gauge.", Label: "Stage", Asks: "Stage at the gauge", Told: "stage %s"}),
	field.Of(func(s *Session) any { return &s.DepthM }, field.Description{Key: "depth", Quantity: units.Depth, High: 500, Subject: "a depth", Noun: "the depth",
		Says: "Depth of the water fished.", Label: "Depth", Asks: "Depth fished", Usage: "`depth` fished: 2.5 ft, 80 cm", Told: "depth %s"}),
	field.Of(func(s *Session) any { return &s.VelocityMS }, field.Description{Key: "velocity", Quantity: units.Speed, High: 15, Subject: "a velocity", Noun: "the water's velocity",
		Says: "Velocity of the water where it was waded.", Label: "Water speed", Usage: "`speed` of the water where you waded: 2 ft/s, 0.6 m/s", Told: "water running %s"}),
	field.Of(func(s *Session) any { return &s.Storm }, field.Description{Key: "storm", Noun: "whether there was a storm",
		Says: "Whether thunder or lightning was noted; empty if not.", Label: "Thunder or lightning", Usage: "`yes` when there was thunder or lightning, else no", Told: "storm"}),
	field.Of(func(s *Session) any { return &s.Clarity }, field.Description{Key: "clarity", Noun: "the clarity",
		Words: field.Words(Clarities()),
		Says:  "Clarity of the water.", Label: "Clarity", Usage: "`word` for how clear the water was", Told: "%s water"}),
	field.Of(func(s *Session) any { return &s.Wind }, field.Description{Key: "wind", Noun: "the wind",
		Words: field.Words(Winds()),
		Says:  "Strength of the wind.", Label: "Wind", Usage: "`word` for the wind", Told: "%s wind"}),
	field.Of(func(s *Session) any { return &s.Light }, field.Description{Key: "light", Noun: "the light",
		Words: field.Words(Lights()),
		Says:  "Light on the water.", Label: "Light", Usage: "`word` for the light", Told: "%s light"}),
	field.Of(func(s *Session) any { return &s.Notes }, field.Description{Key: "session_notes", JSON: "notes", High: maxTextLen, Subject: "the session's notes", Noun: "notes on the session",
		Says: "Notes on the session.", Label: "Notes on the session", Form: "notes", Flag: "notes", Usage: "`text` on the session"}),
}

var stintFields = []field.Field[Stint]{
	field.Of(func(st *Stint) any { return &st.Minutes }, field.Description{Key: "minutes", Quantity: units.Duration, High: maxMinutes,
		Wrong: "%[2]s lasts %.4[1]g minutes; write more than 0 and at most 1440, or leave it out if not noted",
		Noun:  "the time fished",
		Says:  "Time fished in the stint, kept to the second; it is in each row of a fly and not in the row of the whole rig.",
		Label: "Time fished", Hint: "minutes, or 1h30; blank: start to end", Usage: "`time` fished: 90, 1h30, 1.5 h"}),
	field.Of(func(st *Stint) any { return &st.Casts }, field.Description{Key: "casts", High: 100000, Wrong: "%[2]s has %[1]d casts; write between 0 and 100000", Noun: "the casts",
		Says: "Casts made in the stint; they are in each row of a fly and not in the row of the whole rig.", Label: "Casts", Hint: "if counted", Usage: "`number` of casts"}),
	field.Of(func(st *Stint) any { return &st.Stroke }, field.Description{Key: "stroke", Asked: true, Noun: "the casting stroke",
		Words: field.Words(Strokes()),
		Says:  "Casting stroke of the stint.", Label: "Stroke", Usage: "casting `stroke`", Told: "%s stroke"}),
	field.Of(func(st *Stint) any { return &st.FlySpeedMS }, field.Description{Key: "fly_speed", Quantity: units.Speed, High: 15, Subject: "a current speed at the fly",
		Noun: "the current speed at the fly",
		Says: "Speed of the current at the fly.", Label: "Current at the fly", Usage: "`speed` of the current at the fly: 1.5 ft/s, 0.4 m/s", Told: "current at the fly %s"}),
	field.Of(func(st *Stint) any { return &st.Notes }, field.Description{Key: "notes", High: maxTextLen, Subject: "the notes of %s", Noun: "notes on the stint",
		Says: "Notes on the stint, in its first row.", Label: "Notes on the stint", Flag: "note", Usage: "`text` on the stint"}),
}

var tagFields = []field.Field[StintPosition]{
	field.Of(func(p *StintPosition) any { return &p.TagStartMM }, field.Description{Key: "tag_start", Quantity: units.Length, High: maxTagMM, Noun: "the tag length at the start", Says: "Length of the tag at the start of the stint, where it was not as tied.", Form: "start"}),
	field.Of(func(p *StintPosition) any { return &p.TagEndMM }, field.Description{Key: "tag_end", Quantity: units.Length, High: maxTagMM, Noun: "the tag length at the end", Says: "Length of the tag at the end of the stint, as noted or as its cuts leave it.", Form: "end",
		Usage: "`length` of the tag when the stint ended, if it was cut"}),
	field.Of(func(p *StintPosition) any { return &p.Fly }, field.Description{Key: "fly", High: maxNameLen, Subject: "the fly's name"}),
}

var pullFields = []field.Field[BenchPull]{
	field.Of(func(p *BenchPull) any { return &p.Junction }, junctionField()),
	field.Of(func(p *BenchPull) any { return &p.JunctionName }, junctionNameField()),
	field.Of(func(p *BenchPull) any { return &p.Facing }, facingField()),
	field.Of(func(p *BenchPull) any { return &p.Prop }, propField()),
	field.Of(func(p *BenchPull) any { return &p.TippetMM }, tippetField()),
	field.Of(func(p *BenchPull) any { return &p.Material }, materialField()),
	field.Of(func(p *BenchPull) any { return &p.PulledOn }, field.Description{Key: "pulled_on", Subject: "part pulled on", Noun: "the part pulled on",
		Words: field.Words(PulledOns())}),
	field.Of(func(p *BenchPull) any { return &p.Wetness }, field.Description{Key: "wet", JSON: "wetness", Subject: "wet or dry", Noun: "wet or dry", Words: field.Words(Wetnesses())}),
	field.Of(func(p *BenchPull) any { return &p.ForceN }, field.Description{Key: "force", Quantity: units.Force, High: maxForceN, Wrong: "a force of %[1]g N can't be right; it must be above 0 and at most 2000 N", Noun: "the force"}),
	field.Of(func(p *BenchPull) any { return &p.Ending }, field.Description{Key: "ending", Subject: "end of the pull", Noun: "how it ended",
		Words: field.Words(PullEndings())}),
	field.Of(func(p *BenchPull) any { return &p.BrokeAt }, field.Description{Key: "broke_at", Subject: "place of the break", Noun: "where it broke",
		Words: field.Words(PullBreaks())}),
	field.Of(func(p *BenchPull) any { return &p.Label }, field.Description{Key: "label", High: maxNameLen, Subject: "the label", Noun: "the label"}),
	field.Of(func(p *BenchPull) any { return &p.Note }, field.Description{Key: "note", High: maxTextLen, Subject: "the note", Noun: "a note"}),
}
