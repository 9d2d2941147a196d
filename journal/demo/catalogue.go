package demo

import (
	"bytes"
	"slices"
	"time"

	"rigtally/journal"
)

// catalogue holds the rigs, by what hangs the dropper and where they are fished.
type catalogue struct {
	all   []journal.Rig
	names map[family][]named
}

// family is what an angler chooses between: a junction, or a hang in line.
type family struct {
	hang     journal.Hang
	junction journal.Junction
	still    bool // for lakes
}

// named is a rig with its revisions, oldest first.
type named []tied

// tied is a rig with what the truth says of its positions.
type tied struct {
	journal.Rig
	positions []odds
}

// odds are the products of effects that come with a position of a rig.
type odds struct{ tangles, turns, breaks, otherBreaks, fouls, losses float64 }

// stock is how many rigs of a family there are for rivers and for lakes.
type stock struct {
	hang          journal.Hang
	junction      journal.Junction
	short         string
	rivers, lakes int
}

func stocks() []stock {
	return []stock{
		{journal.HangTag, "figure-eight", "fig-8", 10, 3},
		{journal.HangTag, "double surgeon's", "surgeon", 5, 2},
		{journal.HangTag, "triple surgeon's", "triple", 3, 1},
		{journal.HangTag, "blood", "blood", 9, 3},
		{journal.HangTag, "uni", "uni", 3, 1},
		{journal.HangTag, "tippet ring", "ring", 4, 1},
		{journal.HangTag, "perfection loop", "loop", 1, 1},
		{journal.HangEye, "", "eye", 3, 1},
		{journal.HangBend, "", "bend", 4, 1},
	}
}

// draft is a revision of a rig before it is tied.
type draft struct {
	design
	family   family
	name     string
	revision int
	droppers int
	created  time.Time
}

// newCatalogue ties every rig of the seasons. use gives a family's part of the
// time fished.
func newCatalogue(d dice, truth truth, days []fishingDay, use func(family) float64) catalogue {
	c := catalogue{names: map[family][]named{}}
	drafts := draw(d, days, use)
	designs := make([]*design, len(drafts))
	for i := range drafts {
		designs[i] = &drafts[i].design
	}
	even(d, designs, rigShares())
	for _, draft := range drafts {
		rig := draft.tie(d)
		c.all = append(c.all, rig)
		list := c.names[draft.family]
		if draft.revision == 1 {
			list = append(list, nil)
		}
		last := &list[len(list)-1]
		*last = append(*last, tied{rig, truth.rig(rig)})
		c.names[draft.family] = list
	}
	slices.SortFunc(c.all, func(a, b journal.Rig) int { return bytes.Compare(a.ID[:], b.ID[:]) })
	return c
}

// draw names the rigs of all families and says when each is revised.
func draw(d dice, days []fishingDay, use func(family) float64) []draft {
	var drafts []draft
	words := nameWords()
	next := 0
	for kind, s := range stocks() {
		n := s.rivers + s.lakes
		revisions := deal(d, n, []share[int]{{1, 0.35}, {2, 0.4}, {3, 0.25}})
		droppers := deal(d, n, []share[int]{{1, 0.83}, {2, 0.17}})
		for i := range n {
			rig := draft{family: family{s.hang, s.junction, i >= s.rivers}, name: words[next%len(words)] + " " + s.short, droppers: droppers[i]}
			next++
			rivals := s.rivers
			if rig.family.still {
				rivals = s.lakes
			}
			if s.hang != journal.HangTag {
				rig.droppers = 1
				rig.levels[ofFacing], rig.levels[ofProp], rig.levels[ofLength] = -1, -1, -1
			}
			rig.levels[ofFamily], rig.levels[ofCount] = kind, rig.droppers-1
			rig.weight = use(rig.family) / float64(rivals) * float64(rig.droppers)
			drafts = append(drafts, rig.revised(d, days, revisions[i])...)
		}
	}
	return drafts
}

// revised spreads a rig's revisions over the seasons.
func (r draft) revised(d dice, days []fishingDay, n int) []draft {
	list := make([]draft, n)
	edges := make([]float64, n+1)
	for i := range list {
		list[i] = r
		list[i].revision = i + 1
		list[i].created = founded.Add(time.Duration(d.between(60, 300)) * time.Minute)
		if i > 0 {
			edges[i] = (float64(i) + 0.3*(d.Float64()-0.5)) / float64(n)
			list[i].created = dayAt(days, edges[i]).In(time.UTC).Add(time.Duration(d.between(0, 600)) * time.Minute)
		}
	}
	edges[n] = 1
	for i := range list {
		list[i].weight *= edges[i+1] - edges[i]
	}
	return list
}

// choose picks one of a family's rigs, in the revision of the day.
func (c catalogue) choose(d dice, f family, at time.Time) tied {
	names := c.names[f]
	revisions := names[d.IntN(len(names))]
	for i := len(revisions) - 1; i > 0; i-- {
		if !revisions[i].CreatedAt.After(at) {
			return revisions[i]
		}
	}
	return revisions[0]
}

// use is a family's part of the time fished, all anglers and waters together.
func (m *maker) use(f family) float64 {
	still := 0.0
	for _, w := range m.waters {
		if w.Kind == "lake" {
			still += w.share
		}
	}
	if !f.still {
		still = 1 - still
	}
	part := 0.0
	for _, s := range hangs() {
		if s.level == f.hang {
			part = s.weight
		}
	}
	if f.hang != journal.HangTag {
		return still * part
	}
	chosen := 0.0
	for _, a := range m.anglers {
		for _, s := range a.junctions {
			if s.level == f.junction {
				chosen += a.share * s.weight
			}
		}
	}
	return still * part * chosen
}

// nameWords are what the guide calls her rigs by.
func nameWords() []string {
	return []string{
		"Alder", "Aspen", "Bramble", "Burdock", "Campion", "Cedar", "Chicory", "Clover", "Comfrey", "Cress", "Currant", "Dock", "Elder", "Fennel", "Fern",
		"Foxglove", "Gorse", "Hawthorn", "Hazel", "Heather", "Hemlock", "Horsetail", "Juniper", "Larch", "Lichen", "Linden", "Lupine", "Mallow", "Maple", "Marigold",
		"Medlar", "Mint", "Moss", "Mullein", "Nettle", "Oak", "Osier", "Pine", "Plantain", "Poplar", "Quince", "Reed", "Rowan", "Rush", "Sage",
		"Sedge", "Sorrel", "Spruce", "Tansy", "Teasel", "Thistle", "Thyme", "Vetch", "Willow", "Yarrow", "Yew",
	}
}
