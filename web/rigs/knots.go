package rigs

import (
	"context"
	"slices"

	"rigtally/journal"
	"rigtally/web/form"
)

// askKnots takes names of knots for what they mean: a word of the journal, a knot that was named before, or a new one.
func (s *pages) askKnots(ctx context.Context, f *form.Form, rig *journal.Rig) error {
	if !slices.ContainsFunc(rig.Positions, func(p journal.RigPosition) bool { return p.JunctionName != "" }) {
		return nil
	}
	tied, err := s.Store.Rigs(ctx)
	if err != nil {
		return err
	}
	var known []string
	for _, j := range journal.Junctions() {
		if j != journal.JunctionOther {
			known = append(known, string(j))
		}
	}
	for _, r := range tied {
		for _, p := range r.Positions {
			if p.JunctionName != "" && !slices.Contains(known, p.JunctionName) {
				known = append(known, p.JunctionName)
			}
		}
	}
	for i := range rig.Positions {
		if rig.Positions[i].JunctionName == "" {
			continue
		}
		means := f.Meant(flyName(i, "junction-name"), known)
		if j := journal.Junction(means); j != journal.JunctionOther && slices.Contains(journal.Junctions(), j) {
			f.Set(flyName(i, "junction"), means)
			f.Set(flyName(i, "junction-name"), "")
			rig.Positions[i].Junction, means = j, ""
		}
		rig.Positions[i].JunctionName = means
	}
	return nil
}
