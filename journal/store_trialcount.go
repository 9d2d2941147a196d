package journal

import (
	"context"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"
)

// TrialCount is what the journal holds of a unit of a trial that was attached.
type TrialCount struct {
	Unit     TrialUnit
	Found    bool     // the journal still holds what was attached
	Session  ID       // the session it was in
	Day      Date     //
	Rigs     []string // titles of the rigs it was fished with
	Fished   Arm      // the arm that the rigs are; "" for neither, or both
	K, T     float64  // events and exposure of the trial's outcome, as far as usable
	Hours    float64  // fished, as far as noted
	Unusable string   // why nothing can be counted; "" when it can
}

// TrialCounts reads what was fished in each unit of a trial, in their order, with
// the outcome's events and exposure counted for the whole rig.
func (s *Store) TrialCounts(ctx context.Context, t Trial) ([]TrialCount, error) {
	outcome, err := OutcomeByKey(t.Outcome)
	if err != nil {
		return nil, err
	}
	var ids []ID
	for _, u := range t.Units {
		if u.SessionID != nil {
			ids = append(ids, *u.SessionID)
		}
	}
	var list []TrialCount
	err = s.read(ctx, "count what was fished in the trial", func(tx pgx.Tx) error {
		sessions := map[ID]Session{}
		if len(ids) > 0 {
			read, err := s.readSessions(ctx, tx, ids)
			if err != nil {
				return err
			}
			for _, session := range read {
				sessions[session.ID] = session
			}
		}
		var all []Session
		for _, session := range sessions {
			all = append(all, session)
		}
		rigs, err := s.trialRigs(ctx, tx, t, all)
		if err != nil {
			return err
		}
		counts, err := s.stintCounts(ctx, tx, outcome, all)
		if err != nil {
			return err
		}
		for _, u := range t.Units {
			c := TrialCount{Unit: u}
			if u.SessionID != nil {
				c.fill(t, outcome, sessions[*u.SessionID], rigs, counts)
			}
			list = append(list, c)
		}
		return nil
	})
	return list, err
}

type counted struct{ k, t float64 }

// stintCounts counts an outcome in the stints of sessions, where it can be.
func (s *Store) stintCounts(ctx context.Context, tx pgx.Tx, o Outcome, sessions []Session) (map[ID]counted, error) {
	var ids []ID
	for _, session := range sessions {
		for _, st := range session.Stints {
			ids = append(ids, st.ID)
		}
	}
	rows, err := tx.Query(ctx, fmt.Sprintf(`SELECT c.stint_id, (%s)::float8, (%s)::float8 FROM %s c WHERE c.outfit_id = $1 AND c.stint_id = ANY($2) AND %s`,
		o.events, o.exposure, stintRows, o.counts()), s.outfit, ids)
	if err != nil {
		return nil, err
	}
	list := map[ID]counted{}
	var id ID
	var c counted
	_, err = pgx.ForEachRow(rows, []any{&id, &c.k, &c.t}, func() error {
		list[id] = c
		return nil
	})
	return list, err
}

// fill counts a unit. Of a session only the stints of the arm it was fished with
// count, unless it was fished with both, when all do.
func (c *TrialCount) fill(t Trial, o Outcome, session Session, rigs map[ID]Rig, counts map[ID]counted) {
	arm, found := t.fished(c.Unit, session, rigs)
	if c.Found = found && !session.ID.IsZero(); !c.Found {
		return
	}
	c.Session, c.Day, c.Fished = session.ID, session.Day, arm
	seen := map[string]bool{}
	unknown := 0
	for _, st := range session.Stints {
		if c.Unit.StintID != nil && st.ID != *c.Unit.StintID || c.Unit.StintID == nil && arm != "" && t.armOf(rigs, st) != arm {
			continue
		}
		if title := rigs[st.RigID].Title(); !seen[title] {
			seen[title] = true
			c.Rigs = append(c.Rigs, title)
		}
		if st.Minutes != nil {
			c.Hours += *st.Minutes / 60
		} else {
			unknown++
		}
		n := counts[st.ID]
		c.K, c.T = c.K+n.k, c.T+n.t
	}
	switch {
	case o.Exposure == "hours" && unknown > 0:
		c.K, c.T, c.Unusable = 0, 0, "its minutes were not noted"
	case c.T == 0:
		c.Unusable = "it had no " + strings.ToLower(o.Exposure)
	}
}
