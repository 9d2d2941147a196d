package logging

import (
	"context"
	"fmt"
	"time"

	"rigtally/analytics/trial"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/page"
)

// knownTrial is a trial under way, and what is fished in it next. Its order is sealed, and only a
// start, which the trial keeps count of, tells an arm: none is known of a unit that was not started.
type knownTrial struct {
	ID        journal.ID         `json:"id"`
	Name      string             `json:"name"`
	Unit      journal.TrialScale `json:"unit"`
	Number    int                `json:"number"`
	Arm       string             `json:"arm,omitempty"` // to tie, in words; "" as long as the unit is not started
	StartedAt *time.Time         `json:"started_at,omitempty"`
	RigID     *journal.ID        `json:"rig_id,omitempty"` // the latest rig that is of the arm
	Settled   bool               `json:"-"`                // nothing is left to fish for
}

// knownTrials are the trials under way.
func (s *Pages) knownTrials(ctx context.Context, k known, sys units.System) ([]knownTrial, error) {
	running, err := s.Store.RunningTrials(ctx)
	if err != nil {
		return nil, err
	}
	rigs := map[journal.ID]journal.Rig{}
	for _, r := range k.rigs {
		rigs[r.ID] = r
	}
	list := []knownTrial{}
	for _, t := range running {
		known := knownTrial{ID: t.ID, Name: t.Name, Unit: t.Unit, Number: len(t.Units) + 1}
		if n := len(t.Units); n > 0 && t.Units[n-1].Status == journal.UnitOpen {
			u := t.Units[n-1]
			known.Number, known.StartedAt = n, &u.StartedAt
			if known.Arm, err = armWords(t, u.Arm, rigs, sys); err != nil {
				return nil, err
			}
			isArm := func(r journal.Rig) bool { return t.ArmOf(rigs, journal.Stint{RigID: r.ID}) == u.Arm }
			if r, ok := first(k.latest(func(journal.ID) bool { return false }), isArm); ok {
				known.RigID = &r.ID
			}
		}
		if known.StartedAt == nil {
			a, err := page.Ask(ctx, s.Desk, t.ID, func(ctx context.Context) (trial.Answer, error) { return trial.Follow(ctx, s.Store, t.ID) })
			if err != nil {
				return nil, err
			}
			known.Settled = a.Settled > 0
		}
		list = append(list, known)
	}
	return list, nil
}

// armWords says what to tie for an arm.
func armWords(t journal.Trial, arm journal.Arm, rigs map[journal.ID]journal.Rig, sys units.System) (string, error) {
	f, err := journal.FactorByKey(t.Factor)
	if err != nil {
		return "", err
	}
	a := trial.Answer{Trial: t, Factor: f}
	for i, arm := range t.Arms {
		if arm.RigID != nil {
			a.Rigs[i] = rigs[*arm.RigID].Name
		}
	}
	return prose.TrialArm(a, arm.Index(), sys), nil
}

// trialLinks lead to the trials under way from where fishing begins.
func trialLinks(trials []knownTrial) []page.Link {
	var links []page.Link
	for _, t := range trials {
		text := fmt.Sprintf("%s, %s %d is next", t.Name, t.Unit, t.Number)
		switch {
		case t.Settled:
			text = t.Name + " is settled: end it"
		case t.Arm != "":
			text = fmt.Sprintf("%s, this %s is %s", t.Name, t.Unit, t.Arm)
		}
		links = append(links, page.Link{Href: "/trials/" + t.ID.String(), Text: text})
	}
	return links
}
