package logging

import (
	"errors"
	"net/http"
	"slices"

	"rigtally/analytics/plan"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/page"
)

// knownAnswer is what a phone keeps to start a session without signal.
type knownAnswer struct {
	Outfit  journal.Outfit   `json:"outfit"`
	Anglers []journal.Angler `json:"anglers"`
	Waters  []journal.Water  `json:"waters"`
	Rigs    []knownRig       `json:"rigs"`           // the latest revisions, the last fished first
	Last    *journal.Session `json:"last,omitempty"` // the session logged last: the next is often like it
	WasteMM float64          `json:"waste_mm"`       // tag lost at a fly change where nothing was noted yet
	Caution cautionLimits    `json:"caution"`
}

type knownRig struct {
	journal.Rig
	Line string `json:"line"` // what tells it apart, in words
}

// apiKnown answers with the lists that a session is logged from.
func (s *Pages) apiKnown(w http.ResponseWriter, r *http.Request) error {
	o, err := s.Store.Outfit(r.Context())
	if err != nil {
		return err
	}
	k, err := s.known(r.Context())
	if err != nil {
		return err
	}
	a := knownAnswer{Outfit: o, Anglers: k.anglers, Waters: k.waters, WasteMM: plan.PracticeWasteMM, Caution: newCautionLimits(units.System(o.Units))}
	last, err := s.Store.LastSession(r.Context())
	switch {
	case err == nil:
		a.Last = &last
	case !errors.Is(err, journal.ErrNotFound):
		return err
	}
	a.Rigs = k.latestRigs(units.System(o.Units), a.Last)
	return page.SendJSON(w, http.StatusOK, a)
}

// latestRigs are the latest revisions of every rig, and those that the last session used.
func (k known) latestRigs(sys units.System, last *journal.Session) []knownRig {
	used := func(id journal.ID) bool {
		return last != nil && slices.ContainsFunc(last.Stints, func(st journal.Stint) bool { return st.RigID == id })
	}
	list := []knownRig{}
	for _, r := range k.latest(used) {
		list = append(list, knownRig{r, prose.Rig(r, sys)})
	}
	return list
}
