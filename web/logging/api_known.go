package logging

import (
	"context"
	"errors"
	"net/http"
	"net/url"
	"slices"

	"rigtally/analytics/life"
	"rigtally/analytics/plan"
	"rigtally/inquiry"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/page"
)

// knownAnswer is what a phone keeps to start a session without signal.
type knownAnswer struct {
	For     string           `json:"for"` // whose they are: the key of who asks
	Outfit  journal.Outfit   `json:"outfit"`
	Anglers []journal.Angler `json:"anglers"`
	Self    *journal.ID      `json:"self,omitempty"` // of a client: all sessions are theirs
	Waters  []journal.Water  `json:"waters"`
	Rigs    []knownRig       `json:"rigs"`                // the latest revisions, the last fished first
	Last    *journal.Session `json:"last,omitempty"`      // the session logged last: the next is often like it
	Usual   *journal.ID      `json:"usual_rig,omitempty"` // made the usual one since then: it is proposed
	WasteMM float64          `json:"waste_mm"`            // tag lost at a fly change where nothing was noted yet
	Caution cautionLimits    `json:"caution"`
	Rivers  []riverCaution   `json:"rivers"` // what gauges call for now, of the waters fished lately
	Lives   []knotLife       `json:"lives"`  // as far as the journal knows them well
	Trials  []knownTrial     `json:"trials"` // those under way
}

// knotLife is after how many pulls, of fish and snags, half of the tags on a junction had broken there.
type knotLife struct {
	Junction string  `json:"junction"`
	Pulls    float64 `json:"pulls"`
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
	a := knownAnswer{For: s.Key(), Outfit: o, Anglers: k.anglers, Self: s.self(), Waters: k.waters, WasteMM: plan.PracticeWasteMM, Caution: newCautionLimits(units.System(o.Units))}
	if a.Usual, err = s.Store.UsualRig(r.Context()); err != nil {
		return err
	}
	last, err := s.Store.LastSession(r.Context())
	switch {
	case err == nil:
		a.Last = &last
	case !errors.Is(err, journal.ErrNotFound):
		return err
	}
	a.Rigs = k.latestRigs(units.System(o.Units), a.Last)
	lines, _, err := s.Store.SessionLines(r.Context(), journal.SessionFilter{Limit: recentSessions})
	if err != nil {
		return err
	}
	proposed := ""
	if a.Last != nil {
		proposed = a.Last.WaterID.String()
	}
	if a.Rivers, err = s.riverCautions(r.Context(), s.likely(k, proposed, lines), units.System(o.Units)); err != nil {
		return err
	}
	if a.Trials, err = s.knownTrials(r.Context(), k, units.System(o.Units)); err != nil {
		return err
	}
	a.Trials = slices.DeleteFunc(a.Trials, func(t knownTrial) bool { return t.Settled })
	if a.Lives, err = s.knotLives(r.Context(), o); err != nil {
		return err
	}
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

// knotLives are the lives of knots whose middle has a lower and an upper end. Where they take
// long to find they are worked out all the same, and known the next time.
func (s *Pages) knotLives(ctx context.Context, o journal.Outfit) ([]knotLife, error) {
	list := []knotLife{}
	soon, cancel := context.WithTimeout(ctx, soonWait)
	defer cancel()
	about := inquiry.Life()
	q, _ := inquiry.Read(about.Params, url.Values{"in": {life.Loads}})
	a, err := about.Ask(soon, s.Asking(o), q)
	if err != nil {
		if soon.Err() != nil && ctx.Err() == nil {
			err = nil
		}
		return list, err
	}
	for _, g := range a.Groups {
		if g.Median != nil && g.Low != nil && g.High != nil {
			list = append(list, knotLife{g.Level.Word, *g.Median})
		}
	}
	return list, nil
}
