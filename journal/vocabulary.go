package journal

import (
	"fmt"
	"slices"
	"strings"
)

// The journal's words. Each is stored as its own text, and an empty value means
// that it was not noted.
type (
	// Method is a way of fishing.
	Method string
	// Swivel is what joins sighter and tippet.
	Swivel string
	// Hang is how a dropper's fly is attached.
	Hang string
	// Junction is the knot or hardware a tag leaves from.
	Junction string
	// Facing is the way a tag leaves its junction.
	Facing string
	// Prop is a hitch added to hold the tag off the line.
	Prop string
	// Material is what a tippet is made of.
	Material string
	// Bulk is what a fly offers to the current.
	Bulk string
	// Stroke is the casting stroke.
	Stroke string
	// Clarity is how far one sees into the water.
	Clarity string
	// Wind is the wind as felt on the bank.
	Wind string
	// Light is the light on the water.
	Light string
	// EventKind is what sort of thing happened.
	EventKind string
	// Hooking is where a fish was hooked: fair in the mouth, foul outside it.
	Hooking string
	// Ending is how a hookup or snag ended.
	Ending string
	// BreakPlace is where a break-off happened.
	BreakPlace string
	// TangleKind is what sort of tangle it was.
	TangleKind string
)

// Words that the rules refer to.
const (
	HangTag  Hang = "tag"
	HangEye  Hang = "eye"
	HangBend Hang = "bend"

	JunctionOther Junction = "other"

	EventHookup    EventKind = "hookup"
	EventSnag      EventKind = "snag"
	EventTangle    EventKind = "tangle"
	EventCheck     EventKind = "check"
	EventFlyChange EventKind = "fly change"
	EventRetie     EventKind = "re-tie"

	Fair Hooking = "fair"
	Foul Hooking = "foul"

	Landed   Ending = "landed"
	Lost     Ending = "lost"
	Freed    Ending = "freed"
	BrokeOff Ending = "broke off"

	BrokeJunction     BreakPlace = "junction"
	BrokeTag          BreakPlace = "tag"
	BrokeFlyKnot      BreakPlace = "fly knot"
	BrokePointTippet  BreakPlace = "point tippet"
	BrokeMainTippet   BreakPlace = "main tippet"
	BrokeAboveSighter BreakPlace = "above the sighter"

	Twist    TangleKind = "twist"
	WindKnot TangleKind = "wind knot"
	Nest     TangleKind = "nest"

	WaterOther  WaterKind  = "other"
	AnglerOwner AnglerKind = "self"
	Client      AnglerKind = "client"
	Guiding     AnglerKind = "guide"
)

// Methods lists the ways of fishing.
func Methods() []Method {
	return []Method{"tight-line nymph", "dry-dropper", "wet", "streamer", "stillwater"}
}

// Swivels lists what may join sighter and tippet.
func Swivels() []Swivel { return []Swivel{"none", "tippet ring", "micro swivel"} }

// Hangs lists the ways to attach a dropper's fly.
func Hangs() []Hang { return []Hang{HangTag, HangEye, HangBend} }

// Junctions lists the knots and hardware a tag may leave from.
func Junctions() []Junction {
	return []Junction{"figure-eight", "double surgeon's", "triple surgeon's", "blood", "uni", "tippet ring", "perfection loop", JunctionOther}
}

// Facings lists the ways a tag may leave its junction.
func Facings() []Facing { return []Facing{"down", "up", "side"} }

// Props lists the hitches that hold a tag off the line.
func Props() []Prop { return []Prop{"none", "half-hitch", "overhand"} }

// Materials lists what tippet is made of.
func Materials() []Material { return []Material{"nylon", "fluorocarbon"} }

// Bulks lists what flies offer to the current, least first.
func Bulks() []Bulk { return []Bulk{"slim", "hackled", "legged"} }

// Strokes lists the casting strokes.
func Strokes() []Stroke { return []Stroke{"oval", "sidearm", "overhead", "roll", "lob"} }

// Clarities lists how clear water is, clearest first.
func Clarities() []Clarity { return []Clarity{"clear", "tinged", "coloured", "muddy"} }

// Winds lists winds, weakest first.
func Winds() []Wind { return []Wind{"calm", "light", "moderate", "strong"} }

// Lights lists light on the water, brightest first.
func Lights() []Light { return []Light{"bright", "mixed", "overcast", "low"} }

// EventKinds lists what may happen in a stint.
func EventKinds() []EventKind {
	return []EventKind{EventHookup, EventSnag, EventTangle, EventCheck, EventFlyChange, EventRetie}
}

// Hookings lists where a fish may be hooked.
func Hookings() []Hooking { return []Hooking{Fair, Foul} }

// HookupEndings lists how a hookup may end.
func HookupEndings() []Ending { return []Ending{Landed, Lost, BrokeOff} }

// SnagEndings lists how a snag may end.
func SnagEndings() []Ending { return []Ending{Freed, BrokeOff} }

// BreakPlaces lists where a rig may break, from the fly upward.
func BreakPlaces() []BreakPlace {
	return []BreakPlace{BrokeFlyKnot, BrokePointTippet, BrokeTag, BrokeJunction, BrokeMainTippet, BrokeAboveSighter}
}

// TangleKinds lists sorts of tangle.
func TangleKinds() []TangleKind { return []TangleKind{Twist, WindKnot, Nest} }

// WaterKinds lists sorts of water.
func WaterKinds() []WaterKind {
	return []WaterKind{"freestone", "tailwater", "spring creek", "lake", WaterOther}
}

// AnglerKinds lists what an angler may be to the outfit.
func AnglerKinds() []AnglerKind { return []AnglerKind{AnglerOwner, Client, "teammate", Guiding} }

// GaugeConditions lists the conditions that a gauge may supply.
func GaugeConditions() []string { return []string{"water_temp_c", "flow_m3s", "stage_m"} }

// oneOf checks an optional word against its list.
func oneOf[T ~string](what string, word T, words []T) error {
	if word == "" || slices.Contains(words, word) {
		return nil
	}
	list := make([]string, len(words))
	for i, w := range words {
		list[i] = string(w)
	}
	return fmt.Errorf("%s %q is not known; write one of: %s", what, word, strings.Join(list, ", "))
}
