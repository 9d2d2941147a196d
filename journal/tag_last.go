package journal

// LastTag is how long a tag was when its rig was last put away.
type LastTag struct {
	Position int
	LengthMM float64
	Day      Date
}

func LastTags(rig Rig, st Stint, day Date) []LastTag {
	var list []LastTag
	for _, p := range rig.Droppers() {
		if p.Hang != HangTag {
			continue
		}
		if mm := lastLength(rig, st, p); mm != nil {
			list = append(list, LastTag{p.Position, *mm, day})
		}
	}
	return list
}

// lastLength is a tag's length at the end of a stint: as noted, as its cuts
// leave it, or as it began where nothing was done to it; nil when that is not known.
func lastLength(rig Rig, st Stint, p RigPosition) *float64 {
	start, end := tagEnds(st, p)
	if end != nil {
		return end
	}
	spells, err := tagSpells(rig, st, p)
	switch {
	case err == nil && len(spells) > 0:
		return &spells[len(spells)-1].TagMM
	case len(tagChanges(rig, st, p.Position)) == 0 && !retiedSomewhere(rig, st):
		return start
	}
	return nil
}
