package journal_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"rigtally/journal"
	"rigtally/journal/journaltest"
)

// Each rule is broken once; the message must name what is wrong and the remedy.
func TestRulesOfARig(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		say  string
		spot func(*journal.Rig)
	}{
		{"the rig has no name; give it one", func(r *journal.Rig) { r.Name = " " }},
		{"longer than 120 characters", func(r *journal.Rig) { r.Name = strings.Repeat("x", 121) }},
		{`method "trolling" is not known; write one of: tight-line nymph`, func(r *journal.Rig) { r.Method = "trolling" }},
		{`swivel "barrel" is not known`, func(r *journal.Rig) { r.Swivel = "barrel" }},
		{"the rod's length of -3 mm can't be", func(r *journal.Rig) { r.RodLengthMM = new(-3.0) }},
		{"the leader's length of 40000 mm can't be", func(r *journal.Rig) { r.LeaderLengthMM = new(40000.0) }},
		{"the rig has no fly", func(r *journal.Rig) { r.Positions = nil }},
		{"dropper 1 appears twice", func(r *journal.Rig) { r.Positions = append(r.Positions, r.Positions[1]) }},
		{"the point fly ends the leader and has no hang", func(r *journal.Rig) { r.Positions[0].Hang = "tag" }},
		{"dropper 1 has no hang; choose tag, eye or bend", func(r *journal.Rig) { r.Positions[1].Hang = "" }},
		{"dropper 1 does not hang on a tag", func(r *journal.Rig) { r.Positions[1].Hang = "bend" }},
		{`junction of dropper 1 "granny" is not known`, func(r *journal.Rig) { r.Positions[1].Junction = "granny" }},
		{`goes with junction "other"`, func(r *journal.Rig) { r.Positions[1].Junction = "other" }},
		{`goes with junction "other"`, func(r *journal.Rig) { r.Positions[1].JunctionName = "my own" }},
		{"the tag length of dropper 1 of 0 mm can't be", func(r *journal.Rig) { r.Positions[1].TagLengthMM = new(0.0) }},
		{"the tag length of dropper 1 of NaN mm can't be", func(r *journal.Rig) { r.Positions[1].TagLengthMM = new(math.NaN()) }},
		{"the tippet of the point fly of 5 mm can't be", func(r *journal.Rig) { r.Positions[0].TippetMM = new(5.0) }},
		{"hook size 0 of dropper 1 can't be", func(r *journal.Rig) { r.Positions[1].HookSize = new(0) }},
		{"the bead of dropper 1 of 30 mm can't be", func(r *journal.Rig) { r.Positions[1].BeadMM = new(30.0) }},
		{`facing of dropper 1 "north" is not known`, func(r *journal.Rig) { r.Positions[1].Facing = "north" }},
		{`bulk of dropper 1 "huge" is not known`, func(r *journal.Rig) { r.Positions[1].Bulk = "huge" }},
		{"position 12 can't be", func(r *journal.Rig) { r.Positions[1].Position = 12 }},
	} {
		rig := journaltest.OneDropper("r")
		if err := rig.Validate(); err != nil {
			t.Fatalf("the good rig: %v", err)
		}
		tt.spot(&rig)
		refused(t, rig.Validate(), tt.say)
	}
}

func refused(t *testing.T, err error, say string) {
	t.Helper()
	if !journal.IsInvalid(err) || !strings.Contains(err.Error(), say) {
		t.Errorf("got %v\nwant %q", err, say)
	}
}

func TestRulesOfASession(t *testing.T) {
	t.Parallel()
	rig := journaltest.OneDropper("Blood 165")
	rig.ID = journaltest.NewID(t)
	at := func(h int) *time.Time { return new(time.Date(2026, 5, 1, h, 0, 0, 0, time.UTC)) }
	event := func(e journal.Event) func(*journal.Session) {
		return func(s *journal.Session) { s.Stints[0].Events = []journal.Event{e} }
	}
	for _, tt := range []struct {
		say  string
		spot func(*journal.Session)
	}{
		{"the session has no angler; say who fished", func(s *journal.Session) { s.AnglerID = journal.ID{} }},
		{"the session has no water; say where", func(s *journal.Session) { s.WaterID = journal.ID{} }},
		{"the session has no day", func(s *journal.Session) { s.Day = journal.Date{} }},
		{"the day 1026-05-01 can't be", func(s *journal.Session) { s.Day.Year = 1026 }},
		{"the time zone is missing", func(s *journal.Session) { s.TimeZone = "" }},
		{`time zone "Mars/Olympus" is not known`, func(s *journal.Session) { s.TimeZone = "Mars/Olympus" }},
		{"a velocity of 40 m/s can't be", func(s *journal.Session) { s.VelocityMS = new(40.0) }},
		{"a water temperature of 54 °C can't be", func(s *journal.Session) { s.WaterTempC = new(54.0) }},
		{"a flow of -1 m³/s can't be", func(s *journal.Session) { s.FlowM3S = new(-1.0) }},
		{`clarity "fizzy" is not known`, func(s *journal.Session) { s.Clarity = "fizzy" }},
		{`gauge condition "wind" is not known`, func(s *journal.Session) { s.FromGauge = []string{"wind"} }},
		{"the session starts on 2026-05-01 but is dated 2026-05-02", func(s *journal.Session) { s.Start, s.Day.Day = at(8), 2 }},
		{"has an end but no start", func(s *journal.Session) { s.End = at(9) }},
		{"ends before it starts", func(s *journal.Session) { s.Start, s.End = at(9), at(8) }},
		{"lasts more than a day", func(s *journal.Session) { s.Start, s.End = at(9), new(at(9).Add(25*time.Hour)) }},
		{"the stints add up to 90 minutes, but the session lasted 60", func(s *journal.Session) { s.Start, s.End = at(8), at(9) }},
		{"the session has no stint", func(s *journal.Session) { s.Stints = nil }},
		{"the rig of stint 1 is not in this journal", func(s *journal.Session) { s.Stints[0].RigID = journaltest.NewID(t) }},
		{"stint 1 lasts -30 minutes", func(s *journal.Session) { s.Stints[0].Minutes = new(-30.0) }},
		{`stroke of stint 1 "sling" is not known`, func(s *journal.Session) { s.Stints[0].Stroke = "sling" }},
		{"stint 1 has dropper 2, which is not on the rig Blood 165", func(s *journal.Session) {
			s.Stints[0].Positions = []journal.StintPosition{{Position: 2}}
		}},
		{"gives a tag length for the point fly", func(s *journal.Session) {
			s.Stints[0].Positions = []journal.StintPosition{{Position: 0, TagStartMM: new(100.0)}}
		}},
		{`event of stint 1 "party" is not known`, event(journal.Event{Kind: "party", Count: 1})},
		{"stint 1 counts 0 of one event", event(journaltest.Tangles(0))},
		{"has a tangle on dropper 2, which is not on the rig", event(on(2, journaltest.Tangles(1)))},
		{"in minute 95, outside its 90 minutes", event(journal.Event{Kind: journal.EventTangle, Count: 1, Minute: new(95)})},
		{`ending of a hookup "freed" is not known`, event(journaltest.Hookups(1, journal.Fair, journal.Freed))},
		{"a hookup that did not break off", event(journal.Event{Kind: journal.EventHookup, Count: 1, Hooking: journal.Fair, Ending: journal.Landed, BreakPlace: journal.BrokeTag})},
		{"a tangle with a hooking; these do not go together", event(journal.Event{Kind: journal.EventTangle, Count: 1, Hooking: journal.Fair})},
		{"a snag with minutes lost; these do not go together", event(journal.Event{Kind: journal.EventSnag, Count: 1, MinutesLost: new(4)})},
		{"a check without its turns", event(journal.Event{Kind: journal.EventCheck, Count: 1})},
		{"a cut of the tag of -1 mm can't be right; it must be between 0 and 2000 mm", event(cut(-1, nil))},
		{"the cuts take more off the tag of dropper 1 than its 165.1 mm", event(cut(200, nil))},
	} {
		s := journal.Session{ID: journaltest.NewID(t), AnglerID: journaltest.NewID(t), WaterID: journaltest.NewID(t), Day: journaltest.May1, TimeZone: "UTC",
			Stints: []journal.Stint{{ID: journaltest.NewID(t), RigID: rig.ID, Minutes: new(90.0)}}}
		rigs := map[journal.ID]journal.Rig{rig.ID: rig}
		if err := s.Validate(rigs); err != nil {
			t.Fatalf("the good session: %v", err)
		}
		tt.spot(&s)
		refused(t, s.Validate(rigs), tt.say)
	}
}

func TestDates(t *testing.T) {
	t.Parallel()
	for _, text := range []string{"2026-02-31", "yesterday", "", "2026-5-1"} {
		if d, err := journal.ParseDate(text); err == nil {
			t.Errorf("%q read as %s", text, d)
		}
	}
	if d, err := journal.ParseDate("2024-02-29"); err != nil || d.String() != "2024-02-29" {
		t.Errorf("%s, %v", d, err)
	}
}
