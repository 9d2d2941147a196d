package pg

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

// LogSession stores a session with all that it needs, in one transaction: people,
// water, beat and rigs that it names are found or made, the session is stored with
// its stints, events and counts, and what it fished in trials is attached. It
// returns the session as stored. A refusal leaves nothing behind.
//
// Version 0 is a new session; storing the same one again changes nothing, and
// another one under its id is a Conflict. A version above 0 replaces that version,
// and is a Conflict when the journal holds another. A session with something that
// is likelier a slip is Doubtful unless the draft is confirmed.
func (s *Store) LogSession(ctx context.Context, d journal.Draft) (journal.Session, error) {
	d.Normalize()
	var session journal.Session
	err := s.write(ctx, "save the session of "+d.Session.Day.String(), func(tx pgx.Tx) error {
		session = d.Session
		session.Stints = slices.Clone(session.Stints)
		refused := d.CheckNames()
		rigs, err := s.settle(ctx, tx, d, &session)
		switch {
		case refused != nil && err != nil:
			return refused // which is why
		case err != nil:
			return err
		}
		if err := journal.JoinInvalid(refused, session.Validate(rigs)); err != nil {
			return err
		}
		if err := s.saveSession(ctx, tx, &session, rigs, d.Confirmed); err != nil {
			return err
		}
		_, err = s.matchTrials(ctx, tx)
		return err
	})
	return session, err
}

// settle puts ids in the place of a draft's names and makes what is new. It
// returns the rigs that the session was fished with, as far as there are any.
func (s *Store) settle(ctx context.Context, tx pgx.Tx, d journal.Draft, session *journal.Session) (map[journal.ID]journal.Rig, error) {
	if d.Angler != "" {
		id, err := s.takeAngler(ctx, tx, d.Angler, journal.Client)
		if err != nil {
			return nil, err
		}
		session.AnglerID = id
	}
	if d.Guide != "" {
		id, err := s.takeAngler(ctx, tx, d.Guide, journal.Guiding)
		if err != nil {
			return nil, err
		}
		session.GuideID = &id
	}
	if err := s.settlePlace(ctx, tx, d, session); err != nil {
		return nil, err
	}
	for _, i := range d.NamedRigs() {
		rig, err := s.takeRig(ctx, tx, d.Rigs[i])
		var invalid *journal.Invalid
		if errors.As(err, &invalid) {
			return nil, &journal.Invalid{Problems: invalid.Problems, Fields: []string{fmt.Sprintf("stints[%d].rig_id", i)}}
		}
		if err != nil {
			return nil, err
		}
		session.Stints[i].RigID = rig
	}
	return s.readRigs(ctx, tx, session.RigIDs())
}

// settlePlace finds or makes water and beat. A session without a time zone has
// the water's.
func (s *Store) settlePlace(ctx context.Context, tx pgx.Tx, d journal.Draft, session *journal.Session) error {
	if d.Water != "" {
		id, err := s.takeWater(ctx, tx, d.Water, session.TimeZone)
		if err != nil {
			return err
		}
		session.WaterID = id
	}
	if d.Beat != "" && !session.WaterID.IsZero() {
		id, err := s.takeBeat(ctx, tx, session.WaterID, d.Beat)
		if err != nil {
			return err
		}
		session.BeatID = &id
	}
	if session.TimeZone != "" {
		return nil
	}
	return tx.QueryRow(ctx, `SELECT coalesce((SELECT time_zone FROM water WHERE outfit_id = o.id AND id = $2), o.time_zone) FROM outfit o WHERE o.id = $1`,
		s.outfit, session.WaterID).Scan(&session.TimeZone)
}

// takeRig finds the rig that a draft names, or makes the one that it describes.
func (s *Store) takeRig(ctx context.Context, tx pgx.Tx, rig journal.Rig) (journal.ID, error) {
	rows, err := tx.Query(ctx, `SELECT id FROM rig WHERE outfit_id = $1 AND lower(name) = lower($2) ORDER BY revision DESC`, s.outfit, rig.Name)
	if err != nil {
		return journal.ID{}, err
	}
	ids, err := pgx.CollectRows(rows, pgx.RowTo[journal.ID])
	if err != nil {
		return journal.ID{}, err
	}
	switch described := len(rig.Positions) > 0; {
	case len(ids) > 0 && !described:
		return ids[0], nil
	case !described:
		return journal.ID{}, &journal.Invalid{Problems: []string{fmt.Sprintf("the journal knows no rig %q; name one of its own, or say how this one is tied", rig.Name)}}
	case len(ids) > 0:
		known, err := s.readRigs(ctx, tx, ids)
		if err != nil {
			return journal.ID{}, err
		}
		for _, id := range ids {
			if rig.TiedLike(known[id]) {
				return id, nil
			}
		}
		return journal.ID{}, &journal.Invalid{Problems: []string{fmt.Sprintf("a rig called %s is in the journal already, tied otherwise; choose another name", rig.Name)}}
	}
	rig.Revision = 1
	err = s.insertRig(ctx, tx, &rig)
	return rig.ID, err
}
