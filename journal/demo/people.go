package demo

import (
	"time"

	"rigtally/journal"
)

// The anglers' names are invented.
const (
	guide    = "Wren Tallowby"
	steady   = "Ottoline Skerrit"
	keen     = "Bastian Holloweave"
	novice   = "Fen Amberquist"
	teammate = "Juno Pellwright"
)

// angler is an angler with how much and with which junctions they fish.
type angler struct {
	journal.Angler
	share     float64 // of the sessions
	guided    bool
	junctions []share[journal.Junction]
}

// anglers lists the outfit's people. The guide has a junction of her own, which
// is the confounding that the package comment tells of.
func anglers(d dice) []angler {
	usual := []share[journal.Junction]{
		{"figure-eight", 0.52}, {"double surgeon's", 0.14}, {"triple surgeon's", 0.06}, {"blood", 0.10}, {"uni", 0.06}, {"tippet ring", 0.10}, {"perfection loop", 0.02},
	}
	hers := []share[journal.Junction]{
		{"figure-eight", 0.14}, {"double surgeon's", 0.10}, {"triple surgeon's", 0.05}, {"blood", 0.58}, {"uni", 0.05}, {"tippet ring", 0.06}, {"perfection loop", 0.02},
	}
	list := []angler{
		{Angler: journal.Angler{Name: guide, Kind: journal.AnglerOwner}, share: 0.30, junctions: hers},
		{Angler: journal.Angler{Name: steady, Kind: journal.Client}, share: 0.19, guided: true, junctions: usual},
		{Angler: journal.Angler{Name: keen, Kind: journal.Client}, share: 0.17, guided: true, junctions: usual},
		{Angler: journal.Angler{Name: novice, Kind: journal.Client}, share: 0.15, guided: true, junctions: usual},
		{Angler: journal.Angler{Name: teammate, Kind: "teammate"}, share: 0.19, junctions: usual},
	}
	for i := range list {
		list[i].ID, list[i].Active = d.id(founded.Add(time.Duration(i)*time.Minute)), true
	}
	return list
}

func (m *maker) pickAngler(d dice) angler {
	shares := make([]share[int], len(m.anglers))
	for i, a := range m.anglers {
		shares[i] = share[int]{i, a.share}
	}
	return m.anglers[pick(d, shares)]
}

// ownClaims are two arguments that the outfit has beside the usual rules of thumb. In truth neither thing makes
// any difference.
func ownClaims(d dice, first journal.Date) []journal.Claim {
	at := first.In(time.UTC)
	list := []journal.Claim{
		{Words: "A tag facing up hooks more fish than one facing down", Outcome: "hookups", Direction: journal.More, Factor: "facing", Level: []string{"up"}, Versus: []string{"down"}},
		{Words: "Nylon tangles more than fluorocarbon", Outcome: "tangles", Direction: journal.More, Factor: "material", Level: []string{"nylon"}, Versus: []string{"fluorocarbon"}},
	}
	for i := range list {
		c := &list[i]
		c.ID, c.Source, c.CreatedAt, c.StatedAt = d.id(at), journal.OwnClaim, at, &at
		c.Normalize()
	}
	return list
}
