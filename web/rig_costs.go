package web

import (
	"context"
	"math"

	"rigtally/analytics/plan"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// costs are what a budget of tag and tippet rests on, in mm.
type costs struct{ waste, least, retie, keep float64 }

// costs reads them from the form, and fills those left blank with what the
// journal or common practice says.
func (s *Server) costs(ctx context.Context, f *form, rig journal.Rig) (costs, error) {
	usual, err := s.usualCosts(ctx, rig, f.units)
	if err != nil {
		return costs{}, err
	}
	or := func(v *float64, usual plan.Assumed) float64 {
		if v == nil {
			return usual.Value
		}
		return *v
	}
	return costs{
		waste: or(f.shortLength("waste"), usual.waste), least: or(f.shortLength("least"), usual.least),
		retie: or(f.shortLength("retie"), usual.retie), keep: or(f.longLength("keep"), usual.keep),
	}, nil
}

// usualCosts are the costs where nobody says otherwise, each with its origin.
type usualCosts struct{ waste, least, retie, keep plan.Assumed }

func (s *Server) usualCosts(ctx context.Context, rig journal.Rig, sys units.System) (usualCosts, error) {
	cuts, err := s.store.TagCuts(ctx)
	if err != nil {
		return usualCosts{}, err
	}
	top := 0.0
	for _, p := range rig.Droppers() {
		if p.DistanceMM != nil {
			top += *p.DistanceMM
		}
	}
	usual := func(mm float64) plan.Assumed { return plan.PracticeLength(mm, sys) }
	return usualCosts{plan.TagWaste(cuts, sys), usual(plan.PracticeLeastTagMM), usual(plan.PracticeRetieMM), usual(math.Max(plan.PracticeLeastTippetMM, top))}, nil
}

// costFields are the costs as fields of the form, blank where the usual is taken.
func (f *form) costFields(usual usualCosts) []field {
	hint := func(a plan.Assumed, unit string) string {
		return unit + "; blank: " + units.FormatLength(a.Value, f.units) + ", " + prose.Assumed(a)
	}
	short, long := f.unit(units.Inch, units.Millimetre), f.unit(units.Foot, units.Metre)
	return []field{
		f.input("waste", "Tag lost at each fly change", hint(usual.waste, short)),
		f.input("least", "Shortest useful tag", hint(usual.least, short)),
		f.input("retie", "Tippet lost at each re-tie", hint(usual.retie, short)),
		f.input("keep", "Shortest useful tippet", hint(usual.keep, long)),
	}
}
