package journal

import (
	"context"
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
)

// SeasonRows reads the sessions of a year, 0 for all years, and what each stint
// counts for every outcome, in one pass.
func (s *Store) SeasonRows(ctx context.Context, year int) (SeasonRows, error) {
	var r SeasonRows
	err := s.read(ctx, "read the season", func(tx pgx.Tx) error {
		r = SeasonRows{}
		at, err := s.seasonSessions(ctx, tx, year, &r)
		if err != nil {
			return err
		}
		rigs, err := s.seasonStints(ctx, tx, year, &r, at)
		if err != nil {
			return err
		}
		r.Rigs, err = s.readRigs(ctx, tx, rigs)
		return err
	})
	return r, err
}

func (s *Store) seasonSessions(ctx context.Context, tx pgx.Tx, year int, r *SeasonRows) (map[ID]int, error) {
	b := &query{}
	rows, err := tx.Query(ctx, `SELECT se.id, se.day, a.name, a.kind, w.name, w.kind, se.logged_at, se.time_zone,
			count(*) OVER (PARTITION BY se.logged_at) > 1, se.water_temp_c, se.depth_m, se.velocity_ms, se.storm
		FROM session se JOIN angler a ON a.outfit_id = se.outfit_id AND a.id = se.angler_id
		JOIN water w ON w.outfit_id = se.outfit_id AND w.id = se.water_id
		WHERE `+SessionFilter{Season: year}.where(b, s.outfit)+`
		ORDER BY se.day, se.started_at NULLS LAST, se.id`, b.args...)
	if err != nil {
		return nil, err
	}
	at := map[ID]int{}
	var se SeasonSession
	var logged time.Time
	var zone string
	_, err = pgx.ForEachRow(rows, []any{&se.ID, &se.Day, &se.Angler, &se.AnglerKind, &se.Water, &se.WaterKind, &logged, &zone, &se.Together, &se.WaterTempC, &se.DepthM, &se.VelocityMS, &se.Storm}, func() error {
		se.LoggedAfter = loggedAfter(se.Day, logged, zone)
		at[se.ID] = len(r.Sessions)
		r.Sessions = append(r.Sessions, se)
		return nil
	})
	return at, err
}

// seasonStints returns the ids of the rigs fished, never nil.
func (s *Store) seasonStints(ctx context.Context, tx pgx.Tx, year int, r *SeasonRows, at map[ID]int) ([]ID, error) {
	list := Outcomes()
	b := &query{}
	where := SessionFilter{Season: year}.where(b, s.outfit)
	rows, err := tx.Query(ctx, `SELECT c.session_id, c.rig_id, c.seconds, `+outcomeColumns(list)+`
		FROM stint c JOIN session se ON se.outfit_id = c.outfit_id AND se.id = c.session_id
		WHERE `+where+` ORDER BY c.session_id, c.ordinal`, b.args...)
	if err != nil {
		return nil, err
	}
	seen, rigs := map[ID]bool{}, []ID{}
	err = eachRow(rows, func(in *wire) {
		st := SeasonStint{Session: at[in.id()], Rig: in.id(), outcomes: make([]stintSum, len(list))}
		if m := in.number(); !math.IsNaN(m) {
			m /= 60
			st.Minutes = &m
		}
		for i, o := range list {
			st.outcomes[i] = readOutcome(in, o)
		}
		if !seen[st.Rig] {
			seen[st.Rig] = true
			rigs = append(rigs, st.Rig)
		}
		r.Stints = append(r.Stints, st)
	})
	return rigs, err
}

// outcomeColumns are the events, exposure and conditions of each outcome.
func outcomeColumns(list []Outcome) string {
	var columns []string
	for _, o := range list {
		columns = append(columns, fmt.Sprintf("(%s)::float8", o.events), fmt.Sprintf("(%s)::float8", o.exposure))
		for _, u := range o.usable {
			columns = append(columns, fmt.Sprintf("(%s) IS TRUE", u.condition))
		}
	}
	return strings.Join(columns, ", ")
}

func readOutcome(in *wire, o Outcome) stintSum {
	sum := stintSum{events: zeroIfNull(in.number()), exposure: zeroIfNull(in.number())}
	sum.happened = sum.events
	for i := range o.usable {
		if !in.truth() {
			sum.refused |= 1 << i
		}
	}
	if sum.refused != 0 || sum.exposure <= 0 {
		sum.events, sum.exposure = 0, 0
	}
	return sum
}
