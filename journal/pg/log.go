package pg

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

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
	err := s.store(ctx, "save the session of "+d.Session.Day.String(), func(tx pgx.Tx) error {
		session = d.Session
		session.Stints = slices.Clone(session.Stints)
		refused, step := d.CheckNames(), &deed{}
		rigs, err := s.settle(ctx, tx, d, &session, step)
		switch {
		case refused != nil && err != nil:
			return refused // which is why
		case err != nil:
			return err
		}
		if err := journal.JoinInvalid(refused, session.Validate(rigs)); err != nil {
			return err
		}
		if err := s.saveSession(ctx, tx, &session, rigs, d.Confirmed, step); err != nil {
			return err
		}
		_, err = s.matchTrials(ctx, tx)
		return err
	})
	return session, err
}

// settle puts ids in the place of a draft's names and makes what is new. It
// returns the rigs that the session was fished with, as far as there are any.
func (s *Store) settle(ctx context.Context, tx pgx.Tx, d journal.Draft, session *journal.Session, step *deed) (map[journal.ID]journal.Rig, error) {
	held, err := s.mergedInto(ctx, tx, slices.Collect(session.Names()))
	if err != nil {
		return nil, err
	}
	*session = session.Refer(held)
	if s.who.IsClient() && d.Angler == "" && session.AnglerID.IsZero() {
		session.AnglerID = s.in.client
	}
	if d.Angler != "" {
		session.AnglerID, err = s.takeAngler(ctx, tx, d.Angler, journal.Client, step)
	}
	if d.Guide != "" && err == nil {
		session.GuideID = new(journal.ID)
		*session.GuideID, err = s.takeAngler(ctx, tx, d.Guide, journal.Guiding, step)
	}
	if err == nil {
		err = s.settlePlace(ctx, tx, d, session, step)
	}
	if err == nil && s.who.IsClient() {
		err = s.keepToOwn(ctx, tx, session)
	}
	if err != nil {
		return nil, err
	}
	for _, i := range d.NamedRigs() {
		rig, err := s.takeRig(ctx, tx, d.Rigs[i], step)
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

// keepToOwn refuses a client's session where the client does not see the water, and leaves its guide as it was, whom
// clients don't see either. Keys between tables look past policies, so they would take any id.
func (s *Store) keepToOwn(ctx context.Context, tx pgx.Tx, session *journal.Session) error {
	held, _, err := s.heldSession(ctx, tx, session.ID)
	if err != nil {
		return err
	}
	if session.AnglerID != s.in.client {
		return journal.ErrNotFound // be they in the journal or not
	}
	if session.GuideID = nil; held != nil {
		session.GuideID = held.GuideID
	}
	var water, beat bool
	err = tx.QueryRow(ctx, `SELECT EXISTS (SELECT FROM water WHERE outfit_id = $1 AND id = $2), $3::uuid IS NULL OR EXISTS (SELECT FROM beat WHERE outfit_id = $1 AND water_id = $2 AND id = $3)`,
		s.outfit, session.WaterID, session.BeatID).Scan(&water, &beat)
	switch {
	case err != nil:
		return err
	case !session.WaterID.IsZero() && !water:
		return journal.Invalidf("%s", constraintMessage("session_outfit_id_water_id_fkey"))
	case !beat:
		return journal.Invalidf("%s", constraintMessage("session_outfit_id_water_id_beat_id_fkey"))
	}
	return nil
}

// settlePlace finds or makes water and beat. A session without a time zone has
// the water's.
func (s *Store) settlePlace(ctx context.Context, tx pgx.Tx, d journal.Draft, session *journal.Session, step *deed) error {
	if d.Water != "" {
		id, err := s.takeWater(ctx, tx, d.Water, session.TimeZone, step)
		if err != nil {
			return err
		}
		session.WaterID = id
	}
	if d.Beat != "" && !session.WaterID.IsZero() {
		id, err := s.takeBeat(ctx, tx, session.WaterID, d.Beat, step)
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
func (s *Store) takeRig(ctx context.Context, tx pgx.Tx, rig journal.Rig, step *deed) (journal.ID, error) {
	if err := s.nameKnots(ctx, tx, &rig); err != nil {
		return journal.ID{}, err
	}
	ids, err := listOf(ctx, tx, pgx.RowTo[journal.ID], `SELECT id FROM rig WHERE outfit_id = $1 AND lower(name) = lower($2) ORDER BY revision DESC`, s.outfit, rig.Name)
	if err == nil && len(ids) == 0 {
		ids, err = listOf(ctx, tx, pgx.RowTo[journal.ID], `SELECT r.id FROM rig a JOIN rig r ON r.outfit_id = a.outfit_id AND lower(r.name) = lower(a.name)
			WHERE a.outfit_id = $1 AND a.id = (SELECT alias_of('rig', $2, NULL)) ORDER BY r.id = a.id DESC, r.revision DESC`, s.outfit, rig.Name)
	}
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
	step.made("rig", rig.ID)
	return rig.ID, err
}

// SetUp prepares a journal for its first session, all of it or nothing. What has one of the ids
// already is changed. Once something was logged, it is refused.
func (s *Store) SetUp(ctx context.Context, u journal.Setup) error {
	u.Rig.Normalize()
	if err := u.Validate(); err != nil {
		return err
	}
	return s.write(ctx, "set the journal up", func(tx pgx.Tx) error {
		if logged, err := s.logged(ctx, tx); err != nil || logged {
			return cmp.Or(err, error(&journal.Invalid{Problems: []string{"a session is logged already; change units and names under Settings, and the rig under Rigs"}}))
		}
		if err := s.updateOutfit(ctx, tx, u.Outfit); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, anglerTable.upsert("outfit_id, id"), anglerTable.row(&u.Angler, s.outfit)...); err != nil {
			return err
		}
		if err := s.withLinks(ctx, tx, &u.Water); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, waterTable.upsert("outfit_id, id"), waterTable.row(&u.Water, s.outfit)...); err != nil {
			return err
		}
		known, err := s.readRigs(ctx, tx, []journal.ID{u.Rig.ID})
		old, held := known[u.Rig.ID]
		switch {
		case err != nil || held && u.Rig.SameAs(old):
			return err
		case held:
			u.Rig.Version = old.Version
			return s.reviseRig(ctx, tx, old, &u.Rig)
		}
		u.Rig.Revision = 1
		return s.insertRig(ctx, tx, &u.Rig)
	})
}

// Logged reports whether anything was ever logged, be it deleted again.
func (s *Store) Logged(ctx context.Context) (bool, error) {
	logged, err := s.logged(ctx, s.once())
	return logged, explain("look for sessions", err)
}

func (s *Store) logged(ctx context.Context, from querier) (bool, error) {
	found, err := listOf(ctx, from, pgx.RowTo[bool], `SELECT EXISTS (SELECT FROM session WHERE outfit_id = $1) OR EXISTS (SELECT FROM deleted_session WHERE outfit_id = $1)`, s.outfit)
	return len(found) > 0 && found[0], err
}

// Anglers lists the outfit's anglers by name.
func (s *Store) Anglers(ctx context.Context) ([]journal.Angler, error) {
	list, err := anglerTable.of(ctx, s.once(), s.outfit, "true ORDER BY lower(name)")
	return list, explain("list the anglers", err)
}

// SaveAngler adds an angler, or changes the one of the same id. Another name is a step, as Rename makes one.
func (s *Store) SaveAngler(ctx context.Context, a journal.Angler) error {
	if err := a.Validate(); err != nil {
		return err
	}
	return s.write(ctx, "save the angler "+a.Name, func(tx pgx.Tx) error {
		if err := s.renameHeld(ctx, tx, journal.Thing{Kind: journal.ThingAngler, ID: a.ID}, a.Name); err != nil {
			return err
		}
		_, err := tx.Exec(ctx, anglerTable.upsert("outfit_id, id"), anglerTable.row(&a, s.outfit)...)
		return err
	})
}

// Waters lists the outfit's waters by name, each with its beats.
func (s *Store) Waters(ctx context.Context) ([]journal.Water, error) {
	waters, err := s.readWaters(ctx, s.once(), "lower(name), id")
	return waters, explain("list the waters", err)
}

// SaveWater adds a water with its beats, or changes the one of the same id.
// Beats that it does not name are kept, and so are its links to gauges where it has nil.
func (s *Store) SaveWater(ctx context.Context, w journal.Water) error {
	if err := w.Validate(); err != nil {
		return err
	}
	return s.write(ctx, "save the water "+w.Name, func(tx pgx.Tx) error {
		for _, b := range w.Beats {
			if err := s.renameHeld(ctx, tx, journal.Thing{Kind: journal.ThingBeat, ID: b.ID}, b.Name); err != nil {
				return err
			}
		}
		if err := s.renameHeld(ctx, tx, journal.Thing{Kind: journal.ThingWater, ID: w.ID}, w.Name); err != nil {
			return err
		}
		if err := s.withLinks(ctx, tx, &w); err != nil {
			return err
		}
		batch := &pgx.Batch{}
		batch.Queue(waterTable.upsert("outfit_id, id"), waterTable.row(&w, s.outfit)...)
		for i := range w.Beats {
			batch.Queue(beatTable.insert()+` ON CONFLICT (outfit_id, id) DO UPDATE SET name = excluded.name`, beatTable.row(&w.Beats[i], s.outfit, w.ID)...)
		}
		return tx.SendBatch(ctx, batch).Close()
	})
}

// AnglerByName finds an angler without regard to case, by a former name too, or ErrNotFound.
func (s *Store) AnglerByName(ctx context.Context, name string) (journal.Angler, error) {
	list, err := anglerTable.of(ctx, s.once(), s.outfit, called("angler", "$2"), strings.TrimSpace(name))
	if err == nil && len(list) == 0 {
		err = pgx.ErrNoRows
	}
	if err != nil {
		return journal.Angler{}, explain("find the angler "+name, err)
	}
	return list[0], nil
}

// WaterByName finds a water as AnglerByName does an angler.
func (s *Store) WaterByName(ctx context.Context, name string) (journal.Water, error) {
	waters, err := s.Waters(ctx)
	if err != nil {
		return journal.Water{}, err
	}
	var id journal.ID
	if err := s.once().QueryRow(ctx, `SELECT id FROM water WHERE outfit_id = $1 AND `+called("water", "$2"), s.outfit, strings.TrimSpace(name)).Scan(&id); err != nil {
		return journal.Water{}, explain("find the water "+name, err)
	}
	at := slices.IndexFunc(waters, func(w journal.Water) bool { return w.ID == id })
	if at < 0 {
		return journal.Water{}, explain("find the water "+name, pgx.ErrNoRows)
	}
	return waters[at], nil
}

// AnglerNamed finds an angler or adds a client of that name.
func (s *Store) AnglerNamed(ctx context.Context, name string) (journal.Angler, error) {
	err := s.taking(ctx, journal.Draft{Angler: name}, func(tx pgx.Tx, d journal.Draft) error {
		_, err := s.takeAngler(ctx, tx, d.Angler, journal.Client, nil)
		return err
	})
	if err != nil {
		return journal.Angler{}, err
	}
	return s.AnglerByName(ctx, name)
}

// WaterNamed finds a water or adds one of that name, of kind other, in the
// outfit's time zone. A beat, unless empty, is found or added in the same way.
func (s *Store) WaterNamed(ctx context.Context, name, beat string) (journal.Water, *journal.ID, error) {
	var session journal.Session
	err := s.taking(ctx, journal.Draft{Water: name, Beat: beat}, func(tx pgx.Tx, d journal.Draft) error {
		return s.settlePlace(ctx, tx, d, &session, nil)
	})
	if err != nil {
		return journal.Water{}, nil, err
	}
	w, err := s.WaterByName(ctx, name)
	return w, session.BeatID, err
}

// taking runs f, which finds or makes what a draft names.
func (s *Store) taking(ctx context.Context, d journal.Draft, f func(pgx.Tx, journal.Draft) error) error {
	d.Normalize()
	if err := d.CheckNames(); err != nil {
		return err
	}
	return s.write(ctx, "add a name to the journal", func(tx pgx.Tx) error { return f(tx, d) })
}

// takeAngler finds an angler, by a former name too, or makes one.
func (s *Store) takeAngler(ctx context.Context, tx pgx.Tx, name string, kind journal.AnglerKind, step *deed) (journal.ID, error) {
	fresh, id := journal.NewID(), journal.ID{}
	err := tx.QueryRow(ctx, `SELECT id FROM angler WHERE outfit_id = $1 AND `+called("angler", "$2"), s.outfit, name).Scan(&id)
	if errors.Is(err, pgx.ErrNoRows) {
		id = fresh
		step.made("angler", id)
		_, err = tx.Exec(ctx, `INSERT INTO angler (outfit_id, id, name, kind) VALUES ($1, $2, $3, $4)`, s.outfit, id, name, kind)
	}
	return id, err
}

// called is the condition that a thing has a name, or had it and nothing has it now, and the order of the likeliest first.
func called(table, name string) string {
	return fmt.Sprintf(`(lower(name) = lower(%[2]s) OR id = (SELECT alias_of('%[1]s', %[2]s, NULL))) ORDER BY lower(name) = lower(%[2]s) DESC LIMIT 1`, table, name)
}

// takeWater finds a water, the outfit's own first, by a former name too, or makes one of kind other, in the outfit's time
// zone unless another is given.
func (s *Store) takeWater(ctx context.Context, tx pgx.Tx, name, timeZone string, step *deed) (journal.ID, error) {
	fresh, id := journal.NewID(), journal.ID{}
	err := tx.QueryRow(ctx, `WITH found AS (SELECT id FROM water WHERE outfit_id = $1 AND (lower(name) = lower($3) OR id = (SELECT alias_of('water', $3, NULL))) ORDER BY lower(name) = lower($3) DESC, of_angler IS NOT NULL LIMIT 1),
		made AS (INSERT INTO water (outfit_id, id, name, kind, time_zone)
			SELECT $1::uuid, $2::uuid, $3::text, $4::text, coalesce(nullif($5, ''), time_zone) FROM outfit WHERE id = $1 AND NOT EXISTS (SELECT FROM found) RETURNING id)
		SELECT id FROM found UNION ALL SELECT id FROM made`, s.outfit, fresh, name, journal.WaterOther, timeZone).Scan(&id)
	if id == fresh {
		step.made("water", id)
	}
	return id, err
}

func (s *Store) takeBeat(ctx context.Context, tx pgx.Tx, water journal.ID, name string, step *deed) (journal.ID, error) {
	fresh, id := journal.NewID(), journal.ID{}
	err := tx.QueryRow(ctx, `WITH found AS (SELECT id FROM beat WHERE outfit_id = $1 AND water_id = $3 AND (lower(name) = lower($4) OR id = (SELECT alias_of('beat', $4, $3))) ORDER BY lower(name) = lower($4) DESC, of_angler IS NOT NULL LIMIT 1),
		made AS (INSERT INTO beat (outfit_id, id, water_id, name)
			SELECT $1::uuid, $2::uuid, $3::uuid, $4::text WHERE NOT EXISTS (SELECT FROM found) RETURNING id)
		SELECT id FROM found UNION ALL SELECT id FROM made`, s.outfit, fresh, water, name).Scan(&id)
	if id == fresh {
		step.made("beat", id)
	}
	return id, err
}
