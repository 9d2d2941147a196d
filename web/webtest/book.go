package webtest

import (
	"encoding/json"
	"testing"

	"rigtally/journal"
)

// LastLogged returns the session stored last, which must be on the day.
func (b *Book) LastLogged(t *testing.T) journal.Session {
	t.Helper()
	s := Got(b.Store.LastSession(t.Context()))(t)
	if s.ID == b.Session.ID {
		t.Fatal("no session was stored")
	}
	return s
}

func InJSON(v any) string {
	text, err := json.Marshal(v)
	if err != nil {
		return err.Error()
	}
	return string(text)
}

// Book is a site with an invented journal: two anglers, a water with a beat, a
// rig with one dropper, one with two, and sessions.
type Book struct {
	*Site
	Angler  journal.Angler
	Water   journal.Water
	One     journal.Rig // a point fly and a dropper on a tag
	Two     journal.Rig // and another dropper above
	Session journal.Session
}

func NewBook(t testing.TB) *Book {
	t.Helper()
	b := &Book{Site: New(t)}
	ctx := t.Context()
	b.Angler = Got(b.Store.AnglerNamed(ctx, "Ilse"))(t)
	water, beat, err := b.Store.WaterNamed(ctx, "Alder Brook", "Mill Run")
	b.Must(err)
	b.Water = water
	point := journal.RigPosition{Position: 0, TippetMM: new(0.127), Fly: "jig nymph", HookSize: new(16), BeadMM: new(2.8), Bulk: "slim"}
	dropper := journal.RigPosition{Position: 1, Hang: journal.HangTag, Junction: "blood", Facing: "down", Prop: "none", TagLengthMM: new(165.1), DistanceMM: new(508.0),
		TippetMM: new(0.127), Fly: "soft hackle", HookSize: new(18), Bulk: "hackled"}
	upper := journal.RigPosition{Position: 2, Hang: journal.HangTag, Junction: journal.JunctionOther, JunctionName: "slip loop", TagLengthMM: new(120.0), DistanceMM: new(500.0)}
	b.One = Got(b.Store.SaveRig(ctx, journal.Rig{Name: "Blood 165", Method: "tight-line nymph", RodLengthMM: new(3048.0), LeaderLengthMM: new(6096.0),
		SighterLengthMM: new(508.0), Swivel: "tippet ring", TippetLengthMM: new(1828.8), Positions: []journal.RigPosition{point, dropper}}))(t)
	b.Two = Got(b.Store.SaveRig(ctx, journal.Rig{Name: "Three flies", Positions: []journal.RigPosition{point, dropper, upper}}))(t)
	b.Session = Got(b.Store.SaveSession(ctx, journal.Session{ID: NewID(t), AnglerID: b.Angler.ID, WaterID: b.Water.ID, BeatID: beat,
		Day: journal.Date{Year: 2026, Month: 5, Day: 1}, TimeZone: b.Water.TimeZone, WaterTempC: new(11.5), FlowM3S: new(4.25), FromGauge: []string{"flow_m3s"}, Notes: "Rain <at> noon",
		Stints: []journal.Stint{
			{ID: NewID(t), RigID: b.One.ID, Minutes: new(90.0), Stroke: "oval", Events: []journal.Event{
				{Kind: journal.EventTangle, Count: 2, TangleKind: journal.Twist, MinutesLost: new(7)},
				{Kind: journal.EventHookup, Count: 1, Hooking: journal.Fair, Ending: journal.Landed, Species: "brown trout", FishLengthMM: new(310.0), Minute: new(12)},
			}},
			{ID: NewID(t), RigID: b.Two.ID, Events: []journal.Event{{Kind: journal.EventCheck, Count: 2, Turns: new(5), Position: new(2)}}},
		}}))(t)
	return b
}

// WearOut logs sessions whose tag on One broke at the knot at the second to sixth pull, so that
// the journal knows how long such a knot lasts.
func (b *Book) WearOut() {
	b.T.Helper()
	for i := range 15 {
		freed := journal.Event{Kind: journal.EventSnag, Count: 1 + i%5, Minute: new(5), Ending: journal.Freed}
		broke := journal.Event{Kind: journal.EventSnag, Count: 1, Minute: new(60), Ending: journal.BrokeOff, BreakPlace: journal.BrokeJunction}
		Got(b.Store.SaveSession(b.T.Context(), journal.Session{ID: NewID(b.T), AnglerID: b.Angler.ID, WaterID: b.Water.ID, Day: journal.Date{Year: 2026, Month: 4, Day: 1 + i}, TimeZone: b.Water.TimeZone,
			Stints: []journal.Stint{{ID: NewID(b.T), RigID: b.One.ID, Minutes: new(60.0), Events: []journal.Event{freed, broke}}}}))(b.T)
	}
}
