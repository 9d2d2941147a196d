package plan

import (
	"rigtally/internal/units"
	"rigtally/journal"
)

// usual are lengths of a rig as commonly tied, in a system's round numbers: in
// feet and inches, or in mm.
type usual struct {
	rod, leader, sighter, tippet float64 // ft, ft, in, ft; or mm
	tag, apart                   float64 // in, in; or mm
	size                         string  // of the tippet
	swivel                       journal.Swivel
	junction                     journal.Junction
}

// UsualRig is a rig for a method as it is commonly tied, for a form to begin
// with: common practice, no source. It has a point fly and so many droppers on
// tags. A method that is not known gives a rig of which nothing is noted. What
// differs by taste, such as flies and facing, is left out.
func UsualRig(m journal.Method, droppers int, sys units.System) journal.Rig {
	rig := journal.Rig{Method: m}
	u, us := usualOf(m)
	if sys == units.US {
		u = us
	}
	known := u.rod > 0
	if known {
		rig.RodLengthMM, rig.LeaderLengthMM, rig.SighterLengthMM, rig.TippetLengthMM, rig.Swivel = above0(u.rod), above0(u.leader), above0(u.sighter), above0(u.tippet), u.swivel
	}
	for i := range droppers + 1 {
		p := journal.RigPosition{Position: i}
		if i > 0 {
			p.Hang = journal.HangTag
		}
		if known {
			if mm, err := units.Parse(units.Tippet, u.size, ""); err == nil {
				p.TippetMM = &mm
			}
		}
		if known && i > 0 {
			p.Junction, p.Prop, p.TagLengthMM, p.DistanceMM = u.junction, "none", above0(u.tag), above0(u.apart)
		}
		rig.Positions = append(rig.Positions, p)
	}
	return rig
}

func above0(v float64) *float64 {
	if v == 0 {
		return nil
	}
	return &v
}

func usualOf(m journal.Method) (metric, us usual) {
	const in, ft = 25.4, 304.8
	switch m {
	case "tight-line nymph":
		return usual{3050, 6000, 500, 2100, 165, 500, "6X", "tippet ring", "figure-eight"},
			usual{10 * ft, 20 * ft, 20 * in, 7 * ft, 6.5 * in, 20 * in, "6X", "tippet ring", "figure-eight"}
	case "dry-dropper":
		return usual{2740, 3400, 0, 1200, 100, 600, "5X", "none", "double surgeon's"},
			usual{9 * ft, 11 * ft, 0, 4 * ft, 4 * in, 24 * in, "5X", "none", "double surgeon's"}
	case "wet":
		return usual{3050, 3700, 0, 1800, 140, 600, "5X", "tippet ring", "double surgeon's"},
			usual{10 * ft, 12 * ft, 0, 6 * ft, 5.5 * in, 24 * in, "5X", "tippet ring", "double surgeon's"}
	case "streamer":
		return usual{2740, 2800, 0, 1200, 130, 500, "3X", "none", "double surgeon's"},
			usual{9 * ft, 9 * ft, 0, 4 * ft, 5 * in, 20 * in, "3X", "none", "double surgeon's"}
	case "stillwater":
		return usual{3050, 5500, 0, 3600, 200, 1500, "5X", "none", "figure-eight"},
			usual{10 * ft, 18 * ft, 0, 12 * ft, 8 * in, 5 * ft, "5X", "none", "figure-eight"}
	}
	return usual{}, usual{}
}
