package pg

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

// ListKind is a kind of thing that lists show with its id.
type ListKind string

// What is found by the beginning of its id.
const (
	ListSessions ListKind = "session"
	ListDeleted  ListKind = "deleted session"
	ListRigs     ListKind = "rig"
	ListClaims   ListKind = "claim"
	ListTrials   ListKind = "trial"
	ListPulls    ListKind = "bench pull" // deleted or not
	ListSteps    ListKind = "step"
	ListAnglers  ListKind = "angler"
	ListWaters   ListKind = "water"
	ListRules    ListKind = "rule set"
)

// listings say where ids of a kind are, and what a thing of it is called beside its id.
var listings = map[ListKind]struct{ table, id, title string }{
	ListSessions: {"session", "id", `day || coalesce(', ' || (SELECT a.name FROM angler a WHERE a.outfit_id = x.outfit_id AND a.id = x.angler_id), '') || coalesce(' on ' || (SELECT w.name FROM water w WHERE w.outfit_id = x.outfit_id AND w.id = x.water_id), '')`},
	ListDeleted:  {"deleted_session", "session_id", `day || coalesce(', ' || (SELECT a.name FROM angler a WHERE a.outfit_id = x.outfit_id AND a.id = x.angler_id), '')`},
	ListRigs:     {"rig", "id", `name || CASE WHEN revision > 1 THEN ' (revision ' || revision || ')' ELSE '' END`},
	ListClaims:   {"claim", "id", "words"},
	ListTrials:   {"trial", "id", "name"},
	ListPulls:    {"bench_pull", "id", "day || ', ' || coalesce(nullif(junction_name, ''), nullif(junction, ''), 'line without a knot')"},
	ListSteps:    {"step", "id", "coalesce(nullif(what, ''), kind) || ', ' || at::date"},
	ListAnglers:  {"angler", "id", "name"},
	ListWaters:   {"water", "id", "name"},
	ListRules:    {"rule_set", "id", "name"},
}

const (
	leastBeginning = 4 // characters
	mostBeginnings = 5 // that an answer lists
)

// FindID finds the one thing of a kind whose id begins so, with at least 4 characters; a whole id is one too. Nothing
// is ErrNotFound, and a beginning of several is Invalid and lists what it may be.
func (s *Store) FindID(ctx context.Context, kind ListKind, beginning string) (journal.ID, error) {
	at, ok := listings[kind]
	if !ok {
		return journal.ID{}, fmt.Errorf("nothing is listed as %q", kind)
	}
	beginning = strings.ToLower(strings.TrimSpace(beginning))
	first, last, err := idsFrom(beginning)
	if err != nil {
		return journal.ID{}, err
	}
	var id journal.ID
	var title string
	var ids []journal.ID
	titles := map[journal.ID]string{}
	err = each(ctx, s.once(), []any{&id, &title}, func() { ids, titles[id] = append(ids, id), title },
		fmt.Sprintf(`SELECT %[2]s, %[3]s FROM %[1]s x WHERE outfit_id = $1 AND %[2]s >= $2 AND %[2]s <= $3 ORDER BY %[2]s LIMIT $4`, at.table, at.id, at.title), s.outfit, first, last, mostBeginnings+1)
	switch {
	case err != nil:
		return journal.ID{}, explain("find the "+string(kind), err)
	case len(ids) == 0:
		return journal.ID{}, fmt.Errorf("no %s has an id that begins with %s: %w", kind, beginning, journal.ErrNotFound)
	case len(ids) == 1:
		return ids[0], nil
	}
	more := ""
	if len(ids) > mostBeginnings {
		ids, more = ids[:mostBeginnings], ", and more"
	}
	short, err := s.Beginnings(ctx, kind, ids)
	if err != nil {
		return journal.ID{}, err
	}
	var list []string
	for _, id := range ids {
		list = append(list, fmt.Sprintf("%s (%s)", short[id], titles[id]))
	}
	return journal.ID{}, journal.Invalidf("%s begins the ids of several: %s%s; write one of these", beginning, strings.Join(list, ", "), more)
}

// idsFrom are the first and the last id that begin so.
func idsFrom(beginning string) (first, last journal.ID, err error) {
	digits := strings.ReplaceAll(beginning, "-", "")
	_, wrong := hex.DecodeString(digits + strings.Repeat("0", len(digits)%2))
	switch whole := 2 * len(first); {
	case wrong != nil || len(digits) > whole:
		return first, last, journal.Invalidf("%q is not the beginning of an id; copy it from a list", beginning)
	case len(beginning) < leastBeginning:
		return first, last, journal.Invalidf("%q is too short for the beginning of an id; write at least %d characters", beginning, leastBeginning)
	default:
		_, errFirst := hex.Decode(first[:], []byte(digits+strings.Repeat("0", whole-len(digits))))
		_, errLast := hex.Decode(last[:], []byte(digits+strings.Repeat("f", whole-len(digits))))
		return first, last, errors.Join(errFirst, errLast)
	}
}

// Beginnings gives for each id the shortest beginning, of at least 4 characters, that no other thing of the kind has.
func (s *Store) Beginnings(ctx context.Context, kind ListKind, ids []journal.ID) (map[journal.ID]string, error) {
	at, ok := listings[kind]
	if !ok {
		return nil, fmt.Errorf("nothing is listed as %q", kind)
	}
	short := make(map[journal.ID]string, len(ids))
	var id journal.ID
	var before, after *journal.ID
	err := each(ctx, s.once(), []any{&id, &before, &after}, func() {
		text := id.String()
		n := leastBeginning
		for _, other := range []*journal.ID{before, after} { // its neighbors have the most in common with it
			if other != nil {
				n = max(n, inCommon(text, other.String())+1)
			}
		}
		short[id] = text[:n]
	}, fmt.Sprintf(`SELECT asked.id, (SELECT %[2]s FROM %[1]s WHERE outfit_id = $1 AND %[2]s < asked.id ORDER BY %[2]s DESC LIMIT 1), (SELECT %[2]s FROM %[1]s WHERE outfit_id = $1 AND %[2]s > asked.id ORDER BY %[2]s LIMIT 1)
		FROM unnest($2::uuid[]) AS asked (id)`, at.table, at.id), s.outfit, ids)
	return short, explain("shorten the ids", err)
}

// inCommon is how many characters two texts begin with alike.
func inCommon(a, b string) int {
	for i := range min(len(a), len(b)) {
		if a[i] != b[i] {
			return i
		}
	}
	return min(len(a), len(b))
}

// headersHash is what a reading is kept by: the headers in their order, whatever their case.
func headersHash(headers []string) []byte {
	var b strings.Builder
	for _, h := range headers {
		b.WriteString(strings.ToLower(strings.TrimSpace(h)))
		b.WriteByte(0)
	}
	sum := sha256.Sum256([]byte(b.String()))
	return sum[:]
}

// Reading is what was chosen for a sheet of these headers the last time, as JSON that the caller understands.
func (s *Store) Reading(ctx context.Context, headers []string) (rules []byte, known bool, err error) {
	if s.who.IsClient() {
		return nil, false, nil
	}
	err = s.once().QueryRow(ctx, `SELECT rules FROM reading WHERE outfit_id = $1 AND headers = $2`, s.outfit, headersHash(headers)).Scan(&rules)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil, false, nil
	}
	return rules, err == nil, explain("look for how such a sheet was read", err)
}

// KeepReading remembers what was chosen for sheets of these headers, in the place of what was.
func (s *Store) KeepReading(ctx context.Context, headers []string, rules []byte) error {
	return s.write(ctx, "remember how the sheet is read", func(tx pgx.Tx) error {
		_, err := tx.Exec(ctx, `INSERT INTO reading (outfit_id, headers, rules) VALUES ($1, $2, $3) ON CONFLICT (outfit_id, headers) DO UPDATE SET rules = excluded.rules, at = now()`,
			s.outfit, headersHash(headers), rules)
		return err
	})
}

// ForgetReading forgets what was chosen for sheets of these headers.
func (s *Store) ForgetReading(ctx context.Context, headers []string) error {
	return s.write(ctx, "forget how the sheet is read", func(tx pgx.Tx) error {
		tag, err := tx.Exec(ctx, `DELETE FROM reading WHERE outfit_id = $1 AND headers = $2`, s.outfit, headersHash(headers))
		if err == nil && tag.RowsAffected() == 0 {
			err = errUnchanged
		}
		return err
	})
}

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
