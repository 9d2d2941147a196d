package journal

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"
)

// TrialCandidate is something that may have been fished in a unit of a trial: a
// stint or, where sessions alternate, a session.
type TrialCandidate struct {
	Attachment
	Day     Date
	Angler  string
	Water   string
	Number  int      // of the stint in its session, from 1; 0 for a session
	Rig     string   // titles, joined
	Minutes *float64 // nil when not noted
	Arm     Arm      // that of the rig; "" for neither
}

// mostCandidates keep the choice short.
const mostCandidates = 24

// TrialCandidates lists what may have been fished in a unit and is attached to no
// other of its trial, from the day before its start to a week after, the day of
// the start first.
func (s *Store) TrialCandidates(ctx context.Context, t Trial, ordinal int) ([]TrialCandidate, error) {
	u, ok := t.StartedUnit(ordinal)
	if !ok {
		return nil, errNoUnit(ordinal)
	}
	var list []TrialCandidate
	err := s.read(ctx, "find what may have been fished", func(tx pgx.Tx) error {
		day := DateOf(u.StartedAt.UTC())
		rows, err := tx.Query(ctx, `SELECT s.id, a.name, w.name FROM session s JOIN angler a ON a.outfit_id = s.outfit_id AND a.id = s.angler_id
			JOIN water w ON w.outfit_id = s.outfit_id AND w.id = s.water_id
			WHERE s.outfit_id = $1 AND s.day BETWEEN $2::date - 1 AND $2::date + 7 ORDER BY abs(s.day - $2::date), s.started_at, s.id LIMIT 12`, s.outfit, day)
		if err != nil {
			return err
		}
		type where struct{ angler, water string }
		names := map[ID]where{}
		var ids []ID
		var id ID
		var at where
		if _, err := pgx.ForEachRow(rows, []any{&id, &at.angler, &at.water}, func() error {
			names[id], ids = at, append(ids, id)
			return nil
		}); err != nil || len(ids) == 0 {
			return err
		}
		sessions, err := s.readSessions(ctx, tx, ids)
		if err != nil {
			return err
		}
		rigs, err := s.trialRigs(ctx, tx, t, sessions)
		if err != nil {
			return err
		}
		byID := map[ID]Session{}
		for _, session := range sessions {
			byID[session.ID] = session
		}
		for _, id := range ids {
			for _, c := range t.candidates(byID[id], rigs) {
				c.Ordinal, c.Angler, c.Water = ordinal, names[id].angler, names[id].water
				if len(list) < mostCandidates && !t.attached(c.Attachment) {
					list = append(list, c)
				}
			}
		}
		return nil
	})
	return list, err
}

// candidates are the stints of a session, or the session itself.
func (t Trial) candidates(session Session, rigs map[ID]Rig) []TrialCandidate {
	whole := TrialCandidate{Attachment: Attachment{SessionID: session.ID}, Day: session.Day, Arm: t.sessionArm(session, rigs), Minutes: new(float64)}
	var list []TrialCandidate
	for i, st := range session.Stints {
		title := rigs[st.RigID].Title()
		list = append(list, TrialCandidate{Attachment: Attachment{SessionID: session.ID, StintID: new(st.ID)}, Day: session.Day, Number: i + 1, Rig: title, Minutes: st.Minutes, Arm: t.armOf(rigs, st)})
		if i > 0 {
			whole.Rig += ", "
		}
		whole.Rig += title
		if st.Minutes == nil {
			whole.Minutes = nil
		} else if whole.Minutes != nil {
			*whole.Minutes += *st.Minutes
		}
	}
	if t.Unit == BySession {
		return []TrialCandidate{whole}
	}
	return list
}

// attached reports whether something is attached to a unit already, but the one
// it may be for.
func (t Trial) attached(a Attachment) bool {
	for _, u := range t.Units {
		if u.Ordinal == a.Ordinal || u.SessionID == nil || *u.SessionID != a.SessionID {
			continue
		}
		if (u.StintID == nil) == (a.StintID == nil) && (u.StintID == nil || *u.StintID == *a.StintID) {
			return true
		}
	}
	return false
}

// StartedDay is the day of a unit's start in a time zone.
func (u TrialUnit) StartedDay(loc *time.Location) Date { return DateOf(u.StartedAt.In(loc)) }
