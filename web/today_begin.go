package web

import (
	"context"
	"errors"

	"rigtally/internal/units"
	"rigtally/journal"
)

// beginForm starts a session as last time. Without script it leads to the plain form.
type beginForm struct{ Angler, Water, Rig, Beat choice }

func (s *Server) beginForm(ctx context.Context, k known, sys units.System) (beginForm, error) {
	f := newForm(sys)
	last, err := s.store.LastSession(ctx)
	switch {
	case err == nil:
		f.set("angler", last.AnglerID.String())
		f.set("water", last.WaterID.String())
		if n := len(last.Stints); n > 0 {
			f.set("rig", last.Stints[n-1].RigID.String())
		}
	case !errors.Is(err, journal.ErrNotFound):
		return beginForm{}, err
	}
	var anglers, waters []option
	for _, a := range k.anglers {
		if a.Active || a.ID == last.AnglerID {
			anglers = append(anglers, option{Value: a.ID.String(), Text: a.Name})
		}
	}
	for _, w := range k.waters {
		waters = append(waters, option{Value: w.ID.String(), Text: w.Name})
	}
	rig := f.id("rig")
	rigs := k.rigOptions(orZero(rig), f.units)[1:] // without the one that says to choose
	var beats []option
	if w, _ := k.water(last.WaterID); len(w.Beats) > 0 {
		beats = []option{{Text: "No beat"}}
		for _, b := range w.Beats {
			beats = append(beats, option{Value: b.Name, Text: b.Name})
			if last.BeatID != nil && *last.BeatID == b.ID {
				f.set("beat", b.Name)
			}
		}
	}
	return beginForm{f.choose("angler", "Who fished", "", anglers), f.choose("water", "Water", "", waters), f.choose("rig", "Rig", "", rigs), f.choose("beat", "Beat", "", beats)}, nil
}
