package pg

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

const defaultLines = 50

// query builds SQL with its arguments.
type query struct {
	args []any
}

func (b *query) arg(v any) string {
	b.args = append(b.args, v)
	return fmt.Sprintf("$%d", len(b.args))
}

// where returns the filter's conditions on the session se.
func sessionWhere(f journal.SessionFilter, b *query, outfit journal.ID) string {
	conditions := []string{"se.outfit_id = " + b.arg(outfit)}
	if f.Angler != nil {
		conditions = append(conditions, "se.angler_id = "+b.arg(*f.Angler))
	}
	if f.Water != nil {
		conditions = append(conditions, "se.water_id = "+b.arg(*f.Water))
	}
	if f.Rig != nil {
		conditions = append(conditions, "EXISTS (SELECT FROM stint x WHERE x.outfit_id = se.outfit_id AND x.session_id = se.id AND x.rig_id = "+b.arg(*f.Rig)+")")
	}
	fished := func(rig string) string {
		return "EXISTS (SELECT FROM stint x JOIN rig r ON r.outfit_id = x.outfit_id AND r.id = x.rig_id WHERE x.outfit_id = se.outfit_id AND x.session_id = se.id AND " + rig + ")"
	}
	if f.RigName != "" {
		conditions = append(conditions, fished("lower(r.name) = lower("+b.arg(f.RigName)+")"))
	}
	for _, word := range strings.Fields(f.Text) {
		holds := func(text string) string { return "strpos(lower(" + text + "), lower(" + b.arg(word) + ")) > 0" }
		conditions = append(conditions, "("+strings.Join([]string{holds("se.notes"),
			"EXISTS (SELECT FROM angler n WHERE n.outfit_id = se.outfit_id AND n.id = se.angler_id AND " + holds("n.name") + ")",
			"EXISTS (SELECT FROM water n WHERE n.outfit_id = se.outfit_id AND n.id = se.water_id AND " + holds("n.name") + ")",
			"EXISTS (SELECT FROM beat n WHERE n.outfit_id = se.outfit_id AND n.id = se.beat_id AND " + holds("n.name") + ")",
			fished(holds("r.name || ' ' || x.notes"))}, " OR ")+")")
	}
	if f.Season != 0 {
		conditions = append(conditions, "se.day BETWEEN make_date("+b.arg(f.Season)+"::integer, 1, 1) AND make_date("+b.arg(f.Season)+"::integer, 12, 31)")
	}
	return strings.Join(conditions, " AND ")
}

// SessionLines lists sessions, the latest day first, and counts those there are
// without the limit.
func (s *Store) SessionLines(ctx context.Context, f journal.SessionFilter) (lines []journal.SessionLine, total int, err error) {
	if f.Limit == 0 {
		f.Limit = defaultLines
	}
	err = s.read(ctx, "list the sessions", func(tx pgx.Tx) error {
		var b query
		where := sessionWhere(f, &b, s.outfit)
		if err := tx.QueryRow(ctx, `SELECT count(*) FROM session se WHERE `+where, b.args...).Scan(&total); err != nil {
			return err
		}
		var fished [][]journal.ID // by the line
		line := func(row pgx.CollectableRow) (l journal.SessionLine, err error) {
			var rigs []journal.ID
			err = row.Scan(&l.ID, &l.Day, &l.Angler, &l.Water, &l.Beat, &l.Stints, &l.Untimed, &l.Minutes,
				&l.Hookups.N, &l.Hookups.Kept, &l.Landed.N, &l.Landed.Kept, &l.Tangles.N, &l.Tangles.Kept, &l.Breaks.N, &l.Breaks.Kept, &rigs)
			l.Hookups.Stints, l.Landed.Stints, l.Tangles.Stints, l.Breaks.Stints = l.Stints, l.Stints, l.Stints, l.Stints
			fished = append(fished, rigs)
			return l, err
		}
		lines, err = listOf(ctx, tx, line, `SELECT se.id, se.day, a.name, w.name, coalesce(b.name, ''), n.stints, n.untimed, n.minutes, n.hookups, n.hookups_kept, n.landed, n.landed_kept, n.tangles, n.tangles_kept, n.breaks, n.breaks_kept, n.rigs
			FROM (SELECT * FROM session se WHERE `+where+` ORDER BY se.day DESC, se.id DESC LIMIT `+b.arg(f.Limit)+` OFFSET `+b.arg(f.Offset)+`) se
			JOIN angler a ON a.outfit_id = se.outfit_id AND a.id = se.angler_id
			JOIN water w ON w.outfit_id = se.outfit_id AND w.id = se.water_id
			LEFT JOIN beat b ON b.outfit_id = se.outfit_id AND b.id = se.beat_id
			CROSS JOIN LATERAL (SELECT count(*) AS stints, count(*) - count(seconds) AS untimed, coalesce(sum(seconds), 0) / 60.0::float8 AS minutes,
					sum(hookups) AS hookups, `+keptCount(journal.KindHookups)+` AS hookups_kept, sum(landed) AS landed, `+keptCount(journal.KindLanded)+` AS landed_kept,
					sum(tangles) AS tangles, `+keptCount(journal.KindTangles)+` AS tangles_kept,
					sum(broke_junction + broke_tag + broke_fly_knot + broke_point_tippet + broke_main_tippet + broke_above_sighter + place_untold) AS breaks,
					`+keptCount(journal.KindBrokeOff, journal.KindSnags)+` AS breaks_kept, array_agg(rig_id ORDER BY ordinal) AS rigs
				FROM stint st WHERE st.outfit_id = se.outfit_id AND st.session_id = se.id) n
			ORDER BY se.day DESC, se.id DESC`, b.args...)
		if err != nil {
			return err
		}
		rigs, err := s.readRigs(ctx, tx, append([]journal.ID{}, slices.Concat(fished...)...)) // none, not all
		for i := range lines {
			for at, id := range fished[i] {
				if slices.Index(fished[i], id) == at {
					lines[i].Rigs = append(lines[i].Rigs, rigs[id])
				}
			}
		}
		return err
	})
	return lines, total, err
}

// Seasons lists the years that have sessions, the latest first.
func (s *Store) Seasons(ctx context.Context) ([]int, error) {
	seasons, err := listOf(ctx, s.once(), pgx.RowTo[int], `SELECT DISTINCT extract(year FROM day)::integer AS season FROM session WHERE outfit_id = $1 ORDER BY season DESC`, s.outfit)
	return seasons, explain("list the seasons", err)
}

// keptCount counts the stints of which count was kept of all these kinds.
func keptCount(kinds ...journal.Kind) string {
	return "count(*) FILTER (WHERE " + keptSQL(kinds...) + ")"
}

// TotalsBetween adds up the sessions of the days from first to last.
func (s *Store) TotalsBetween(ctx context.Context, first, last journal.Date) (journal.Totals, error) {
	all, err := s.totals(ctx, "NULL::uuid", first, last)
	return all[journal.ID{}], err
}

// TotalsByAngler adds up the sessions of each angler who fished on the days from first to last.
func (s *Store) TotalsByAngler(ctx context.Context, first, last journal.Date) (map[journal.ID]journal.Totals, error) {
	return s.totals(ctx, "se.angler_id", first, last)
}

// totals adds sessions up by an id of theirs.
func (s *Store) totals(ctx context.Context, by string, first, last journal.Date) (map[journal.ID]journal.Totals, error) {
	counts := []journal.Count{journal.CountHookups, journal.CountLanded, journal.CountTangles, journal.CountMinutesLost}
	sums := ""
	for _, c := range counts {
		sums += ", coalesce(sum(" + c.Column() + "), 0), " + keptCount(c.Kinds()[0])
	}
	all := map[journal.ID]journal.Totals{}
	_, err := listOf(ctx, s.once(), func(row pgx.CollectableRow) (t journal.Totals, err error) {
		var of *journal.ID
		var stints int
		err = row.Scan(&of, &t.Sessions, &stints, &t.Minutes, &t.Hookups.N, &t.Hookups.Kept, &t.Landed.N, &t.Landed.Kept, &t.Tangles.N, &t.Tangles.Kept, &t.MinutesLost.N, &t.MinutesLost.Kept)
		for _, total := range []*journal.Total{&t.Hookups, &t.Landed, &t.Tangles, &t.MinutesLost} {
			total.Stints = stints
		}
		if of == nil {
			of = new(journal.ID)
		}
		all[*of] = t
		return t, err
	}, `SELECT `+by+`, count(DISTINCT se.id), count(*), coalesce(sum(st.seconds), 0) / 60.0::float8`+sums+`
		FROM session se JOIN stint st ON st.outfit_id = se.outfit_id AND st.session_id = se.id
		WHERE se.outfit_id = $1 AND se.day BETWEEN $2 AND $3 GROUP BY 1`, s.outfit, first, last)
	return all, explain("add up the sessions", err)
}

// LastSession returns the session that was logged last, or ErrNotFound when
// there is none: the next one is often like it.
func (s *Store) LastSession(ctx context.Context) (journal.Session, error) {
	var id journal.ID
	err := s.once().QueryRow(ctx, `SELECT id FROM session WHERE outfit_id = $1 ORDER BY logged_at DESC, day DESC, id DESC LIMIT 1`, s.outfit).Scan(&id)
	if err != nil {
		return journal.Session{}, explain("find the last session", err)
	}
	return s.SessionByID(ctx, id)
}
