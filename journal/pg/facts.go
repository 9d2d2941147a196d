package pg

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"strings"
	"sync"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
	"rigtally/journal/facts"
	"rigtally/journal/gauge"
)

// factsShelf keeps the facts last read of outfits, and of clients in them: those used last, as far as they take no more
// memory together than most.
type factsShelf struct {
	mu   sync.Mutex
	of   map[room]*factsKept
	most int // bytes
	uses int

	purged map[journal.ID]time.Time // when steps of outfits were last looked through
}

// factsKept holds the facts last read in a room.
type factsKept struct {
	mu    sync.Mutex
	facts *facts.Facts

	bytes, used int // of the shelf, under its lock
}

// leastFactsBytes is what the facts of an empty journal take, roughly.
const leastFactsBytes = 16 << 10

// in returns what is kept of a room.
func (sh *factsShelf) in(r room) *factsKept {
	sh.mu.Lock()
	defer sh.mu.Unlock()
	k, held := sh.of[r]
	if !held {
		if sh.of == nil {
			sh.of = map[room]*factsKept{}
		}
		k = &factsKept{bytes: leastFactsBytes}
		sh.of[r] = k
	}
	sh.uses++
	k.used = sh.uses
	return k
}

// keep holds facts that a room was read into, whose lock the caller has, in the place of those that were not used for
// longest. Those that are larger than all that may be kept are not.
func (sh *factsShelf) keep(k *factsKept, f *facts.Facts) {
	sh.mu.Lock()
	defer sh.mu.Unlock()
	if f.Bytes() > sh.most {
		return
	}
	k.facts, k.bytes = f, leastFactsBytes+f.Bytes()
	all := 0
	for _, other := range sh.of {
		all += other.bytes
	}
	for all > sh.most {
		var longest *factsKept // not used
		var of room
		for r, other := range sh.of {
			if other != k && (longest == nil || other.used < longest.used) {
				of, longest = r, other
			}
		}
		if longest == nil {
			return
		}
		all -= longest.bytes
		delete(sh.of, of)
	}
}

// defaultFactsBytes is enough for ten million stints or so, or for ten thousand outfits of some hundreds.
const defaultFactsBytes = 1 << 30

// KeepFacts sets how much memory the facts kept may take, of all outfits together. Those of a larger journal are read
// anew for every question.
func (s *Store) KeepFacts(bytes int) {
	s.kept.mu.Lock()
	defer s.kept.mu.Unlock()
	s.kept.most, s.kept.of = bytes, nil
}

// Facts returns the journal as it is now, in columns. They are read once and kept;
// after a change only the sessions, rigs and names that have changed are read again.
func (s *Store) Facts(ctx context.Context) (*facts.Facts, error) {
	revision, err := s.Revision(ctx)
	if err != nil {
		return nil, err
	}
	if f := s.kept.in(s.in.reader()).at(revision); f != nil {
		return f, nil
	}
	return viewWithFacts(ctx, s, "read the journal's facts", func(_ pgx.Tx, f *facts.Facts) (*facts.Facts, error) { return f, nil })
}

// viewWithFacts is view, with the journal's facts, in a role that only reads.
func viewWithFacts[T any](ctx context.Context, s *Store, doing string, f func(pgx.Tx, *facts.Facts) (T, error)) (v T, err error) {
	err = s.in.reader().begin(ctx, s.pool, toRead, func(tx pgx.Tx) error {
		facts, err := s.factsIn(ctx, tx)
		if err == nil {
			v, err = f(tx, facts)
		}
		return err
	})
	return v, explain(doing, err)
}

// at returns the facts kept if they are those of a revision.
func (k *factsKept) at(revision int64) *facts.Facts {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.facts != nil && k.facts.Revision == revision {
		return k.facts
	}
	return nil
}

// factsIn returns the facts as a transaction sees them. Whoever comes while they are being read
// waits for them, and does not read them too.
func (s *Store) factsIn(ctx context.Context, tx pgx.Tx) (*facts.Facts, error) {
	var revision int64
	if err := tx.QueryRow(ctx, `SELECT revision FROM outfit WHERE id = $1`, s.outfit).Scan(&revision); err != nil {
		return nil, err
	}
	k := s.kept.in(s.in.reader())
	k.mu.Lock()
	defer k.mu.Unlock()
	old := k.facts
	switch {
	case old != nil && old.Revision == revision:
		return old, nil
	case old != nil && old.Revision > revision: // others have read on meanwhile
		return s.readFacts(ctx, tx, nil)
	}
	k.facts = nil // a builder that fails leaves the older facts' index in disorder
	if s.who.IsClient() {
		old = nil // who does not see another's session does not see either that it was made another's
	}
	facts, err := s.readFacts(ctx, tx, old)
	if err == nil {
		s.kept.keep(k, facts)
	}
	return facts, err
}

// readFacts reads what has changed since the older facts, or everything when there are none
// or most of it has changed.
func (s *Store) readFacts(ctx context.Context, tx pgx.Tx, old *facts.Facts) (*facts.Facts, error) {
	r := factsReader{store: s, tx: tx, since: -1}
	if err := r.begin(ctx, old); err != nil {
		return nil, err
	}
	for _, read := range []func(context.Context) error{r.people, r.rigs, r.sessions, r.stints, r.flies, r.spells, r.moments} {
		if err := read(ctx); err != nil {
			return nil, err
		}
	}
	return r.build.Facts(r.revision)
}

// factsReader reads facts in one transaction.
type factsReader struct {
	store    *Store
	tx       pgx.Tx
	build    *facts.Builder
	revision int64
	since    int64        // the revision of the older facts, -1 without
	changed  []journal.ID // sessions changed since, nil without older facts
	stintsOf []journal.ID // their stints
}

// begin finds what has changed.
func (r *factsReader) begin(ctx context.Context, old *facts.Facts) error {
	if _, err := r.tx.Exec(ctx, `SELECT set_config('jit', 'off', true)`); err != nil {
		return err
	}
	var sessions, stints int
	err := r.tx.QueryRow(ctx, `SELECT revision FROM outfit WHERE id = $1`, r.store.outfit).Scan(&r.revision)
	if err != nil {
		return err
	}
	if r.store.who.IsClient() {
		// By the client's own sessions, which lead to their rows: a policy that is asked of every row of the outfit takes seconds.
		if r.changed, err = listOf(ctx, r.tx, pgx.RowTo[journal.ID], `SELECT id FROM session WHERE outfit_id = $1`, r.store.outfit); err != nil {
			return err
		}
		r.build = facts.NewBuilder(nil)
		r.build.Expect(len(r.changed), 3*len(r.changed))
		return nil
	}
	if old != nil {
		r.since = old.Revision
		if r.changed, err = listOf(ctx, r.tx, pgx.RowTo[journal.ID], `SELECT id FROM session WHERE outfit_id = $1 AND changed > $2
			UNION SELECT session_id FROM session_fill WHERE outfit_id = $1 AND changed > $2
			UNION SELECT st.session_id FROM rig r JOIN stint st ON st.outfit_id = r.outfit_id AND st.rig_id = r.id WHERE r.outfit_id = $1 AND r.changed > $2`, r.store.outfit, r.since); err != nil {
			return err
		}
		if old.Outdated(len(r.changed)) {
			old, r.since, r.changed = nil, -1, nil
		} else if r.changed == nil {
			r.changed = []journal.ID{}
		}
	}
	r.build = facts.NewBuilder(old)
	if old == nil {
		// How many stints a session has, of all outfits together, is near enough to make room by.
		err = r.tx.QueryRow(ctx, `SELECT count(*), (count(*) * (SELECT greatest(reltuples, 0) FROM pg_class WHERE oid = 'stint'::regclass)
			/ (SELECT greatest(reltuples, 1) FROM pg_class WHERE oid = 'session'::regclass))::bigint FROM session WHERE outfit_id = $1`, r.store.outfit).Scan(&sessions, &stints)
		r.build.Expect(sessions, stints)
		return err
	}
	gone, err := listOf(ctx, r.tx, pgx.RowTo[journal.ID], `SELECT session_id FROM deleted_session WHERE outfit_id = $1 AND changed > $2`, r.store.outfit, r.since)
	for _, id := range gone {
		r.build.Forget(id)
	}
	return err
}

func (r *factsReader) people(ctx context.Context) error {
	anglers, err := anglerTable.of(ctx, r.tx, r.store.outfit, "true")
	if err != nil {
		return err
	}
	waters, err := r.store.readWaters(ctx, r.tx, "id")
	r.build.People(anglers, waters)
	return err
}

func (r *factsReader) rigs(ctx context.Context) (err error) {
	var ids []journal.ID
	if r.since >= 0 {
		if ids, err = listOf(ctx, r.tx, pgx.RowTo[journal.ID], `SELECT id FROM rig WHERE outfit_id = $1 AND changed > $2`, r.store.outfit, r.since); err != nil || len(ids) == 0 {
			return err
		}
	}
	rigs, err := r.store.readRigs(ctx, r.tx, ids)
	for _, rig := range rigs {
		r.build.Rig(rig)
	}
	return err
}

// of is the condition that rows belong to the sessions to be read, or to their stints.
func (r *factsReader) of(column string, changed []journal.ID) (string, []any) {
	if r.changed == nil {
		return " WHERE outfit_id = $1", []any{r.store.outfit}
	}
	return " WHERE outfit_id = $1 AND " + column + " = ANY($2)", []any{r.store.outfit, changed}
}

// each reads rows of a table.
func (r *factsReader) each(ctx context.Context, columns, table, of string, changed []journal.ID, f func(*wire)) error {
	if r.changed != nil && len(changed) == 0 {
		return nil
	}
	where, args := r.of(of, changed)
	rows, err := queryBinary(ctx, r.tx, "SELECT "+columns+" FROM "+table+where, args)
	if err != nil {
		return err
	}
	if err := eachRow(rows, f); err != nil {
		return fmt.Errorf("read %s: %w", table, err)
	}
	return nil
}

func (r *factsReader) sessions(ctx context.Context) error {
	const columns = `id, angler_id, water_id, beat_id, day, started_at, logged_at, time_zone, flow_m3s, water_temp_c, depth_m, velocity_ms, storm`
	where, args := r.of("id", r.changed)
	var s facts.Session
	var flow, temp, depth, velocity *float64
	gauged, err := r.gauged(ctx)
	if err != nil {
		return err
	}
	return each(ctx, r.tx, []any{&s.ID, &s.Angler, &s.Water, &s.Beat, &s.Day, &s.Start, &s.Logged, &s.TimeZone, &flow, &temp, &depth, &velocity, &s.Storm}, func() {
		s.FlowM3S, s.WaterTempC, s.DepthM, s.VelocityMS = orNaN(flow), orNaN(temp), orNaN(depth), orNaN(velocity)
		s.FlowPercentile, s.TempPeakC, s.Trend6H, s.Trend24H = math.NaN(), math.NaN(), "", ""
		for _, g := range gauged[s.ID] {
			g.into(&s, flow == nil, temp == nil)
		}
		r.build.Session(s)
	}, "SELECT "+columns+" FROM session"+where, args...)
}

// gauged is what a session takes of a gauge.
type gauged struct {
	quantity                                   gauge.Quantity
	value, percentile, change6, change24, peak *float64
}

// gauged reads what sessions take of gauges, flow before stage.
func (r *factsReader) gauged(ctx context.Context) (map[journal.ID][]gauged, error) {
	of := map[journal.ID][]gauged{}
	where, args := r.of("session_id", r.changed)
	rows, err := queryBinary(ctx, r.tx, "SELECT session_id, quantity, value, percentile, change_6h, change_24h, peak FROM session_gauge"+where+" ORDER BY quantity", args)
	if err != nil {
		return nil, err
	}
	return of, eachRow(rows, func(in *wire) {
		id := in.id()
		of[id] = append(of[id], gauged{gauge.Quantity(in.text()), in.float(), in.float(), in.float(), in.float(), in.float()})
	})
}

// into puts it into a session, beside what was typed of flow and temperature.
func (g gauged) into(s *facts.Session, flow, temp bool) {
	switch g.quantity {
	case gauge.Temperature:
		if s.TempPeakC = orNaN(g.peak); temp {
			s.WaterTempC = orNaN(g.value)
		}
		return
	case gauge.Flow:
		if s.FlowPercentile = orNaN(g.percentile); flow {
			s.FlowM3S = orNaN(g.value)
		}
	}
	s.Trend6H = cmp.Or(s.Trend6H, gauge.TrendOf(g.quantity, g.change6))
	s.Trend24H = cmp.Or(s.Trend24H, gauge.TrendOf(g.quantity, g.change24))
}

func (r *factsReader) stints(ctx context.Context) error {
	var counts journal.Counts
	kept := facts.StintCounts()
	known := map[string]journal.Stroke{}
	return r.each(ctx, "id, session_id, rig_id, ordinal, seconds, recorded, stroke, "+countColumns(kept), "stint", "session_id", r.changed, func(in *wire) {
		st := facts.Stint{ID: in.id(), Session: in.id(), Rig: in.id(), Ordinal: int(in.number()), Counts: &counts}
		if seconds := in.float(); seconds != nil {
			st.Seconds = new(int(*seconds))
		}
		st.Recorded = journal.Recorded(int16(in.number()))
		word := in.text()
		stroke, ok := known[string(word)]
		if !ok {
			stroke = journal.Stroke(word)
			known[string(word)] = stroke
		}
		st.Stroke = stroke
		in.counts(kept, &counts)
		if r.changed != nil {
			r.stintsOf = append(r.stintsOf, st.ID)
		}
		r.build.Stint(st)
	})
}

func (r *factsReader) flies(ctx context.Context) error {
	var counts journal.Counts
	kept := facts.FlyCounts()
	return r.each(ctx, "stint_id, position, tag_start_mm, "+countColumns(kept), "stint_position", "stint_id", r.stintsOf, func(in *wire) {
		stint, position, tag := in.id(), int(in.number()), in.float()
		in.counts(kept, &counts)
		r.build.Fly(stint, position, tag, &counts)
	})
}

func (r *factsReader) spells(ctx context.Context) error {
	var counts journal.Counts
	kept := facts.SpellCounts()
	return r.each(ctx, "stint_id, position, ordinal, tag_mm, share, "+countColumns(kept), "tag_spell", "stint_id", r.stintsOf, func(in *wire) {
		stint, position, ordinal, tag, share := in.id(), int(in.number()), int(in.number()), in.number(), in.number()
		in.counts(kept, &counts)
		r.build.Spell(stint, position, ordinal, tag, share, &counts)
	})
}

// moments reads when something went wrong, where it was noted.
func (r *factsReader) moments(ctx context.Context) error {
	const noted = ` AND minute IS NOT NULL AND (kind = 'tangle' OR hooking = 'foul' OR ending IN ('lost', 'broke off'))`
	if r.changed != nil && len(r.stintsOf) == 0 {
		return nil
	}
	where, args := r.of("stint_id", r.stintsOf)
	rows, err := queryBinary(ctx, r.tx, "SELECT stint_id, minute, count, kind, hooking, ending, break_place, tangle_kind FROM event"+where+noted, args)
	if err != nil {
		return err
	}
	err = eachRow(rows, func(in *wire) {
		stint, minute := in.id(), int(in.number())
		r.build.Moment(stint, minute, journal.Event{Count: int(in.number()), Kind: word[journal.EventKind](in), Hooking: word[journal.Hooking](in),
			Ending: word[journal.Ending](in), BreakPlace: word[journal.BreakPlace](in), TangleKind: word[journal.TangleKind](in)})
	})
	return explain("read the moments of events", err)
}

// word is the next column, one of a vocabulary.
func word[T ~string](in *wire) T { return T(in.text()) }

func countColumns(which []journal.Count) string { return strings.Join(countNames(which), ", ") }

// countNames are the names of counts in the tables.
func countNames(which []journal.Count) []string {
	names := make([]string, len(which))
	for i, c := range which {
		names[i] = c.Column()
	}
	return names
}

// queryBinary runs a query whose rows arrive in their binary form.
func queryBinary(ctx context.Context, tx pgx.Tx, sql string, args []any) (pgx.Rows, error) {
	if !inBinary(tx) {
		args = append([]any{pgx.QueryExecModeDescribeExec}, args...)
	}
	return tx.Query(ctx, sql, args...)
}

// inBinary reports whether a connection brings values in their binary form by itself.
func inBinary(tx pgx.Tx) bool {
	switch tx.Conn().Config().DefaultQueryExecMode {
	case pgx.QueryExecModeSimpleProtocol, pgx.QueryExecModeExec: // which bring text
		return false
	}
	return true
}

// Ask returns the sufficient statistics of a question's groups.
func (s *Store) Ask(ctx context.Context, q journal.Question) (journal.Answer, error) {
	f, err := s.Facts(ctx)
	if err != nil {
		return journal.Answer{}, err
	}
	return f.Ask(q)
}

// Rows returns the rows that a question is about, from the journal as it is now.
func (s *Store) Rows(ctx context.Context, q journal.Question) (*facts.Rows, error) {
	f, err := s.Facts(ctx)
	if err != nil {
		return nil, err
	}
	return f.Rows(q)
}

// SeasonRows returns the sessions of a year, 0 for all years, with what each stint counts.
func (s *Store) SeasonRows(ctx context.Context, year int) (facts.SeasonRows, error) {
	f, err := s.Facts(ctx)
	if err != nil {
		return facts.SeasonRows{}, err
	}
	return f.Season(year), nil
}

// Stretches tells of each session how a factor kept its level through it, and what went wrong meanwhile.
func (s *Store) Stretches(ctx context.Context, o journal.Outcome, factor journal.Factor, tell func([]facts.Stretch)) error {
	f, err := s.Facts(ctx)
	if err != nil {
		return err
	}
	f.Stretches(o, factor, tell)
	return nil
}
