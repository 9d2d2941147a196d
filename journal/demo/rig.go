package demo

import (
	"slices"

	"rigtally/journal"
)

func tippets() []share[int] { return []share[int]{{5, 0.2}, {6, 0.4}, {7, 0.25}, {8, 0.15}} }

func bulks() []share[journal.Bulk] {
	return []share[journal.Bulk]{{"slim", 0.45}, {"hackled", 0.3}, {"legged", 0.25}}
}

func facings() []share[journal.Facing] {
	return []share[journal.Facing]{{"down", 0.45}, {"up", 0.35}, {"side", 0.2}}
}

func props() []share[journal.Prop] {
	return []share[journal.Prop]{{"none", 0.6}, {"half-hitch", 0.25}, {"overhand", 0.15}}
}

func swivels() []share[journal.Swivel] {
	return []share[journal.Swivel]{{"none", 0.45}, {"tippet ring", 0.2}, {"micro swivel", 0.35}}
}

func materials() []share[journal.Material] {
	return []share[journal.Material]{{"nylon", 0.4}, {"fluorocarbon", 0.6}}
}

// lengths of tags as tied: 5½ to 7½ inches (common practice: 150–180 mm).
func lengths() []share[quarter] {
	return []share[quarter]{{22, 0.12}, {24, 0.26}, {26, 0.26}, {28, 0.24}, {30, 0.12}}
}

func rigShares() shares {
	var s shares
	s[ofTippet], s[ofBulk], s[ofFacing], s[ofProp] = weights(tippets()), weights(bulks()), weights(facings()), weights(props())
	s[ofSwivel], s[ofMaterial], s[ofLength] = weights(swivels()), weights(materials()), weights(lengths())
	return s
}

// tie makes the rig of a draft.
func (r draft) tie(d dice) journal.Rig {
	rig := journal.Rig{
		ID: d.id(r.created), Name: r.name, Revision: r.revision, Version: 1, CreatedAt: r.created, Swivel: swivels()[r.levels[ofSwivel]].level,
		Method: pick(d, []share[journal.Method]{{"tight-line nymph", 0.6}, {"dry-dropper", 0.2}, {"wet", 0.12}, {"streamer", 0.08}}),
		Notes:  "Invented for the demo.",
	}
	if r.family.still {
		rig.Method = "stillwater"
	}
	rig.RodLengthMM, rig.LeaderLengthMM, rig.TippetLengthMM = new(footMM(10)), new(footMM(d.between(18, 21))), new(footMM(d.between(6, 8)))
	if slices.Contains([]journal.Method{"dry-dropper", "streamer"}, rig.Method) {
		rig.RodLengthMM, rig.LeaderLengthMM = new(footMM(9)), new(footMM(d.between(10, 12)))
	} else {
		rig.SighterLengthMM = new(quarter(8 * d.between(9, 12)).mm())
	}
	rig.Positions = append(rig.Positions, r.fly(d, 0, pick(d, []share[journal.Bulk]{{"slim", 0.7}, {"hackled", 0.2}, {"legged", 0.1}})))
	for i := 1; i <= r.droppers; i++ {
		rig.Positions = append(rig.Positions, r.dropper(d, i))
	}
	return rig
}

func (r draft) dropper(d dice, position int) journal.RigPosition {
	at := r.fly(d, position, bulks()[r.levels[ofBulk]].level)
	at.Hang = r.family.hang
	at.DistanceMM = new(quarter(4 * d.between(16, 24)).mm())
	if at.Hang == journal.HangTag {
		at.Junction, at.Facing, at.Prop = r.family.junction, facings()[r.levels[ofFacing]].level, props()[r.levels[ofProp]].level
		at.TagLengthMM = new(lengths()[r.levels[ofLength]].level.mm())
	}
	return at
}

// fly ties a fly of some bulk on; the names are common ones or invented.
func (r draft) fly(d dice, position int, bulk journal.Bulk) journal.RigPosition {
	size := 2 * d.between(8, 10) // slim
	switch bulk {
	case "hackled":
		size = 2 * d.between(7, 9)
	case "legged":
		size = 2 * d.between(5, 7)
	}
	at := journal.RigPosition{Position: position, Bulk: bulk, Fly: pattern(d, bulk), HookSize: &size}
	at.TippetMM, at.Material = new(tippetMM(tippets()[r.levels[ofTippet]].level)), materials()[r.levels[ofMaterial]].level
	if d.chance(0.7) {
		at.BeadMM = new(float64(d.between(4, 8)) / 2)
	}
	return at
}

func pattern(d dice, bulk journal.Bulk) string {
	names := []string{"quill nymph", "slim perdigon", "thread midge", "olive baetis", "brown pheasant"}
	switch bulk {
	case "hackled":
		names = []string{"soft hackle", "grey spider", "hackled caddis", "palmered sedge"}
	case "legged":
		names = []string{"rubber-legged stone", "leggy hare", "big-winged caddis", "hopper nymph"}
	}
	return names[d.IntN(len(names))]
}
