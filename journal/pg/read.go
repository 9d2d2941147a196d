package pg

import (
	"context"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

// readSessions returns whole sessions, by day and id; nil ids means all.
func (s *Store) readSessions(ctx context.Context, tx pgx.Tx, ids []journal.ID) ([]journal.Session, error) {
	sessions, err := sessionTable.of(ctx, tx, s.outfit, "($2::uuid[] IS NULL OR id = ANY($2)) ORDER BY day, id", ids)
	if err != nil {
		return nil, err
	}
	stints, err := s.readStints(ctx, tx, ids)
	for i := range sessions {
		se := &sessions[i]
		if len(se.FromGauge) == 0 {
			se.FromGauge = nil
		}
		se.Normalize()
		se.Stints = stints[se.ID]
	}
	return sessions, err
}

func sessionsByID(list []journal.Session) map[journal.ID]journal.Session {
	byID := make(map[journal.ID]journal.Session, len(list))
	for _, session := range list {
		byID[session.ID] = session
	}
	return byID
}

// readStints returns the stints of each session in order, with positions and events.
func (s *Store) readStints(ctx context.Context, tx pgx.Tx, sessions []journal.ID) (map[journal.ID][]journal.Stint, error) {
	events, err := s.readEvents(ctx, tx, sessions)
	if err != nil {
		return nil, err
	}
	positions, err := s.readPositions(ctx, tx, sessions)
	if err != nil {
		return nil, err
	}
	stints := map[journal.ID][]journal.Stint{}
	var session journal.ID
	err = stintTable.each(ctx, tx, []any{&session}, func(st journal.Stint) {
		st.Positions, st.Events = positions[st.ID], events[st.ID]
		stints[session] = append(stints[session], st)
	}, `SELECT st.session_id, `+stintTable.list("st")+` FROM stint st
		WHERE st.outfit_id = $1 AND ($2::uuid[] IS NULL OR st.session_id = ANY($2)) ORDER BY st.session_id, st.ordinal`, s.outfit, sessions)
	return stints, err
}

func (s *Store) readPositions(ctx context.Context, tx pgx.Tx, sessions []journal.ID) (map[journal.ID][]journal.StintPosition, error) {
	// By way of the stints, which are found by session: positions are found by stint only.
	positions := map[journal.ID][]journal.StintPosition{}
	var stint journal.ID
	err := stintPositionTable.each(ctx, tx, []any{&stint}, func(p journal.StintPosition) { positions[stint] = append(positions[stint], p) },
		`SELECT p.stint_id, `+stintPositionTable.list("p")+` FROM stint_position p JOIN stint st ON st.outfit_id = p.outfit_id AND st.id = p.stint_id
		WHERE p.outfit_id = $1 AND ($2::uuid[] IS NULL OR st.session_id = ANY($2)) AND (p.tag_start_mm IS NOT NULL OR p.tag_end_mm IS NOT NULL OR p.fly <> '')
		ORDER BY p.stint_id, p.position`, s.outfit, sessions)
	return positions, err
}

func (s *Store) readEvents(ctx context.Context, tx pgx.Tx, sessions []journal.ID) (map[journal.ID][]journal.Event, error) {
	return collectEvents(ctx, tx, `FROM event e JOIN stint st ON st.outfit_id = e.outfit_id AND st.id = e.stint_id
		WHERE e.outfit_id = $1 AND ($2::uuid[] IS NULL OR st.session_id = ANY($2))`, s.outfit, sessions)
}

// collectEvents gathers events by stint, in order.
func collectEvents(ctx context.Context, tx pgx.Tx, from string, args ...any) (map[journal.ID][]journal.Event, error) {
	events := map[journal.ID][]journal.Event{}
	var stint journal.ID
	err := eventTable.each(ctx, tx, []any{&stint}, func(e journal.Event) { events[stint] = append(events[stint], e) },
		`SELECT e.stint_id, `+eventTable.list("e")+` `+from+` ORDER BY e.stint_id, e.ordinal`, args...)
	return events, err
}

// Contents reads the whole journal.
func (s *Store) Contents(ctx context.Context) (journal.Contents, error) {
	return view(ctx, s, "read the whole journal", func(tx pgx.Tx) (journal.Contents, error) {
		c, err := s.readDirectory(ctx, tx)
		if err != nil {
			return c, err
		}
		if c.Sessions, err = s.readSessions(ctx, tx, nil); err != nil {
			return c, err
		}
		if c.Taken, err = s.readTaken(ctx, tx); err != nil {
			return c, err
		}
		c.Deleted, err = s.readDeleted(ctx, tx, "session_id")
		if s.who.IsClient() { // they don't see their guide, whom the sessions name
			for i := range c.Sessions {
				c.Sessions[i].GuideID = nil
			}
			for i := range c.Deleted {
				c.Deleted[i].GuideID = nil
			}
		}
		return c, err
	})
}

// Directory reads the journal without its sessions: whom and what they refer to.
func (s *Store) Directory(ctx context.Context) (journal.Contents, error) {
	return view(ctx, s, "read the journal's names", func(tx pgx.Tx) (journal.Contents, error) { return s.readDirectory(ctx, tx) })
}

func (s *Store) readDirectory(ctx context.Context, tx pgx.Tx) (journal.Contents, error) {
	var c journal.Contents
	var usual *journal.ID
	var since *time.Time
	usualRig := "usual_rig_id, usual_rig_at"
	if s.who.IsClient() {
		usualRig = "NULL::uuid, NULL::timestamptz" // it is the outfit's
	}
	err := tx.QueryRow(ctx, `SELECT name, units, time_zone, prior_sd, `+usualRig+` FROM outfit WHERE id = $1`, s.outfit).
		Scan(&c.Outfit.Name, &c.Outfit.Units, &c.Outfit.TimeZone, &c.Outfit.PriorSD, &usual, &since)
	if err != nil {
		return c, err
	}
	if usual != nil && since != nil {
		c.Usual = &journal.UsualRig{RigID: *usual, Since: since.UTC()}
	}
	if c.Anglers, err = anglerTable.of(ctx, tx, s.outfit, "true ORDER BY id"); err != nil {
		return c, err
	}
	if c.Waters, err = s.readWaters(ctx, tx, "id"); err != nil {
		return c, err
	}
	if c.Claims, err = claims.read(ctx, s, tx, "true ORDER BY id"); err != nil {
		return c, err
	}
	if c.Trials, err = s.readTrials(ctx, tx, `true ORDER BY id`); err != nil {
		return c, err
	}
	c.Trials = sealed(c.Trials)
	if c.Pulls, err = pulls.read(ctx, s, tx, "true ORDER BY id"); err != nil {
		return c, err
	}
	if c.RuleSets, err = ruleSets.read(ctx, s, tx, "true ORDER BY id"); err != nil {
		return c, err
	}
	if c.Aliases, err = s.readAliases(ctx, tx); err != nil {
		return c, err
	}
	rigs, err := s.readRigs(ctx, tx, nil)
	for _, rig := range rigs {
		c.Rigs = append(c.Rigs, rig)
	}
	slices.SortFunc(c.Rigs, func(a, b journal.Rig) int { return strings.Compare(a.ID.String(), b.ID.String()) })
	return c, err
}

// readWaters lists waters and the beats of each in an order.
func (s *Store) readWaters(ctx context.Context, from querier, order string) ([]journal.Water, error) {
	beats := map[journal.ID][]journal.Beat{}
	var water journal.ID
	err := beatTable.each(ctx, from, []any{&water}, func(b journal.Beat) { beats[water] = append(beats[water], b) },
		`SELECT b.water_id, `+beatTable.list("b")+` FROM beat b WHERE b.outfit_id = $1 ORDER BY `+order, s.outfit)
	if err != nil {
		return nil, err
	}
	waters, err := waterTable.of(ctx, from, s.outfit, "true ORDER BY "+order)
	for i := range waters {
		waters[i].Beats = beats[waters[i].ID]
	}
	return waters, err
}

func (s *Store) readDeleted(ctx context.Context, from querier, order string) ([]journal.DeletedSession, error) {
	return listOf(ctx, from, func(row pgx.CollectableRow) (d journal.DeletedSession, err error) {
		err = row.Scan(&d.Session, &d.DeletedAt)
		d.DeletedAt = d.DeletedAt.UTC()
		return d, err
	}, `SELECT content, deleted_at FROM deleted_session WHERE outfit_id = $1 AND `+kept+` ORDER BY `+order, s.outfit)
}

// SessionsByID returns those of the sessions that the journal holds, by day and id.
func (s *Store) SessionsByID(ctx context.Context, ids []journal.ID) ([]journal.Session, error) {
	if len(ids) == 0 {
		return nil, nil
	}
	return view(ctx, s, "read the sessions", func(tx pgx.Tx) ([]journal.Session, error) { return s.readSessions(ctx, tx, ids) })
}

// Standings tells for each session what the journal holds under its id.
func (s *Store) Standings(ctx context.Context, sessions []journal.Session) ([]journal.Standing, error) {
	list := make([]journal.Standing, len(sessions))
	err := s.read(ctx, "look for the sessions", func(tx pgx.Tx) error {
		held, waiting, err := s.underIDs(ctx, tx, sessions)
		if err != nil {
			return err
		}
		var unlike []journal.ID
		for i, session := range sessions {
			session.Normalize()
			own, err := session.Fingerprint()
			if err != nil {
				return err
			}
			switch fingerprint, live := held[session.ID]; {
			case live && fingerprint == own:
				list[i] = journal.Same
			case live:
				list[i], unlike = journal.Different, append(unlike, session.ID)
			case waiting[session.ID]:
				list[i] = journal.Waiting
			}
		}
		return s.sameAfterAll(ctx, tx, sessions, unlike, list)
	})
	return list, err
}

// underIDs returns the fingerprints of the sessions that are in the journal, and
// which ones are deleted.
func (s *Store) underIDs(ctx context.Context, tx pgx.Tx, sessions []journal.Session) (held map[journal.ID]int64, waiting map[journal.ID]bool, err error) {
	ids := make([]journal.ID, len(sessions))
	for i := range sessions {
		ids[i] = sessions[i].ID
	}
	held, waiting = map[journal.ID]int64{}, map[journal.ID]bool{}
	var id journal.ID
	var fingerprint int64
	var deleted bool
	err = each(ctx, tx, []any{&id, &fingerprint, &deleted}, func() {
		if deleted {
			waiting[id] = true
		} else {
			held[id] = fingerprint
		}
	}, `SELECT id, fingerprint, false FROM session WHERE outfit_id = $1 AND id = ANY($2)
		UNION ALL SELECT session_id, 0, true FROM deleted_session WHERE outfit_id = $1 AND session_id = ANY($2) AND `+kept, s.outfit, ids)
	return held, waiting, err
}

// sameAfterAll reads the sessions whose fingerprint is another, since an older
// program's may be in another form, and marks those that say the same.
func (s *Store) sameAfterAll(ctx context.Context, tx pgx.Tx, sessions []journal.Session, unlike []journal.ID, list []journal.Standing) error {
	if len(unlike) == 0 {
		return nil
	}
	held, err := s.readSessions(ctx, tx, unlike)
	if err != nil {
		return err
	}
	byID := sessionsByID(held)
	for i, session := range sessions {
		session.Normalize()
		if list[i] == journal.Different && session.SaysWhat(byID[session.ID]) {
			list[i] = journal.Same
		}
	}
	return nil
}
