package pg_test

import (
	"context"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/demo"
	"rigtally/journal/journaltest"
	"rigtally/journal/pg"
)

// tamperedStore opens a journal that the demo fills, with a second connection to
// its tables.
func tamperedStore(t *testing.T, sessions int) (*pg.Store, *pgx.Conn) {
	t.Helper()
	ctx := context.Background()
	url := pgtest.NewDatabase(t)
	s, err := pg.Open(ctx, url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	if err := demo.Load(ctx, s, demo.Generate(3, sessions)); err != nil {
		t.Fatal(err)
	}
	conn, err := pgx.Connect(ctx, pgtest.AsSuperuser(url))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = conn.Close(ctx) })
	return s, conn
}

func recount(t *testing.T, s *pg.Store, repair bool) journal.Recount {
	t.Helper()
	r, err := s.Recount(context.Background(), repair, nil)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// What the store wrote itself, one by one and in bulk, must be right by itself.
func TestRecountAgreesWithTheStore(t *testing.T) {
	t.Parallel()
	s, _ := tamperedStore(t, 300)
	var done, total int64
	r, err := s.Recount(context.Background(), false, func(d, n int64) { done, total = d, n })
	if err != nil {
		t.Fatal(err)
	}
	if r.Stints == 0 || r.Wrong != 0 || r.Uncounted != 0 || len(r.First) != 0 || r.Impossible.Count != 0 {
		t.Errorf("%+v", r)
	}
	if done != total || int(total) != r.Stints {
		t.Errorf("progress ended at %d of %d, counted %d", done, total, r.Stints)
	}
	b := newBench(t)
	b.store1(t, b.session(t, journaltest.May1, new(90.0), journaltest.Hookups(3, journal.Fair, journal.Lost), journaltest.Tangles(2), cut(20, new(60))))
	if r := recount(t, b.store, false); r.Stints != 1 || r.Wrong != 0 {
		t.Errorf("%+v", r)
	}
}

func TestTamperedCountsAreFoundAndRepaired(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	s, conn := tamperedStore(t, 120)
	before := dump(t, conn)
	const spell = `(SELECT stint_id FROM tag_spell ORDER BY stint_id LIMIT 1)`
	for _, sql := range []string{
		`UPDATE stint SET tangles = tangles + 7 WHERE id = (SELECT id FROM stint ORDER BY id LIMIT 1 OFFSET 5)`,
		`UPDATE stint_position SET seconds = 17, checks = checks + 1 WHERE position = 1 AND stint_id = (SELECT id FROM stint ORDER BY id LIMIT 1 OFFSET 9)`,
		`UPDATE stint_position SET session_id = (SELECT id FROM session ORDER BY id DESC LIMIT 1) WHERE stint_id = (SELECT id FROM stint ORDER BY id LIMIT 1 OFFSET 12)`,
		`UPDATE tag_spell SET share = share / 2, tag_mm = tag_mm + 1 WHERE ordinal = 0 AND stint_id = ` + spell,
		`DELETE FROM tag_spell WHERE ordinal = 1 AND stint_id = ` + spell,
		`UPDATE stint_position SET tag_changed = NOT tag_changed WHERE stint_id = (SELECT id FROM stint ORDER BY id LIMIT 1 OFFSET 15) AND position = 1`,
	} {
		tag, err := conn.Exec(ctx, sql)
		if err != nil || tag.RowsAffected() == 0 {
			t.Fatalf("%s: %v, %v", sql, tag, err)
		}
	}
	found := recount(t, s, false)
	columns := map[string]int{}
	for _, d := range found.First {
		columns[d.Column]++
		if d.Session.IsZero() || d.Day.IsZero() || d.Stint < 1 {
			t.Errorf("a difference without its place: %+v", d)
		}
		if d.Column == "tangles" && *d.Kept != *d.Counted+7 {
			t.Errorf("tangles kept %g, counted %g", *d.Kept, *d.Counted)
		}
	}
	for _, c := range []string{"tangles", "seconds", "checks", "session", "share", "tag_mm", "row", "tag_changed"} {
		if columns[c] == 0 {
			t.Errorf("nothing found in column %s: %v", c, columns)
		}
	}
	if found.Wrong != 5 || found.Repaired || found.Uncounted != 0 {
		t.Errorf("%d stints wrong, want 5: %+v", found.Wrong, found.First)
	}
	repaired := recount(t, s, true)
	if !repaired.Repaired || repaired.Differences != found.Differences {
		t.Errorf("repaired %+v, found %+v", repaired, found)
	}
	if again := recount(t, s, true); again.Wrong != 0 || again.Repaired {
		t.Errorf("after the repair: %+v", again.First)
	}
	if after := dump(t, conn); after != before {
		t.Error("the repair left the tables different from what the store wrote")
	}
}

// dump returns everything that a repair may touch, and the events, as text.
func dump(t *testing.T, conn *pgx.Conn) string {
	t.Helper()
	var text string
	err := conn.QueryRow(context.Background(), `SELECT concat(
		(SELECT string_agg(r::text, E'\n' ORDER BY id) FROM stint r),
		(SELECT string_agg(r::text, E'\n' ORDER BY stint_id, position) FROM stint_position r),
		(SELECT string_agg(r::text, E'\n' ORDER BY stint_id, position, ordinal) FROM tag_spell r),
		(SELECT string_agg(r::text, E'\n' ORDER BY stint_id, ordinal) FROM event r))`).Scan(&text)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// Events that contradict the rig or each other are told, and their counts left alone.
func TestWhatCannotBeIsToldAndLeftAlone(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := newBench(t)
	saved := b.store1(t, b.session(t, journaltest.May1, new(90.0), on(1, cut(20, new(60)))))
	b.store1(t, b.session(t, journaltest.May1, new(30.0), journal.Event{Kind: journal.EventTangle, Count: 2, MinutesLost: new(45)}))
	conn, err := pgx.Connect(ctx, pgtest.AsSuperuser(b.url))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(ctx)
	if _, err := conn.Exec(ctx, `UPDATE event SET cut_mm = 500 WHERE kind = 'fly change'`); err != nil {
		t.Fatal(err)
	}
	r := recount(t, b.store, true)
	if r.Uncounted != 1 || r.Wrong != 0 || r.Impossible.Count != 2 {
		t.Fatalf("%+v", r)
	}
	var problems []string
	for _, p := range r.Impossible.First {
		problems = append(problems, p.Problem)
		if strings.Contains(p.Problem, "cuts take more") && p.Session != saved.ID {
			t.Errorf("wrong session: %+v", p)
		}
	}
	all := strings.Join(problems, "\n")
	for _, want := range []string{"the cuts take more off the tag of dropper 1 than its 165.1 mm", "stint 1 lost 45 minutes of its 30"} {
		if !strings.Contains(all, want) {
			t.Errorf("%q is not told in %q", want, all)
		}
	}
}

func TestQuality(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := newBench(t)
	noTag := journaltest.OneDropper("No length")
	noTag.Positions[1].TagLengthMM = nil
	noTag = b.save(t, noTag)
	may := func(day int) journal.Date { return journal.Date{Year: 2026, Month: time.May, Day: day} }
	store := func(day int, logged time.Time, minutes *float64, rig journal.ID, events ...journal.Event) journal.Session {
		s := b.session(t, may(day), minutes, events...)
		s.LoggedAt = logged
		s.Stints[0].RigID = rig
		return b.store1(t, s)
	}
	noon := func(day int) time.Time { return time.Date(2026, 5, day, 12, 0, 0, 0, time.UTC) }
	store(1, noon(8), new(90.0), b.rig.ID, journaltest.Tangles(2), journaltest.Hookups(2, journal.Foul, journal.Landed))   // a week: not late
	late := store(1, noon(9), new(90.0), b.rig.ID)                                                                         // a day more
	store(2, noon(20), nil, noTag.ID, journaltest.Tangles(1))                                                              // later still, as an import
	store(3, noon(20), new(60.0), noTag.ID)                                                                                // would: together
	store(4, noon(1), new(60.0), b.rig.ID, journaltest.Hookups(3, journal.Fair, journal.BrokeOff), journaltest.Tangles(1)) // logged before it was fished
	q, err := b.store.Quality(ctx)
	if err != nil {
		t.Fatal(err)
	}
	if q.Sessions != 5 || q.Stints != 5 || q.Late.Count != 3 || q.Imported != 2 || q.UntimedStints != 1 || q.Untimed.Count != 1 {
		t.Errorf("%+v", q)
	}
	if first := q.Late.First[len(q.Late.First)-1]; first.ID != late.ID || first.Angler != "Ilse" {
		t.Errorf("late: %+v", q.Late.First)
	}
	if len(q.Untagged) != 1 || q.Untagged[0].Title != "No length" || q.Untagged[0].Stints != 2 {
		t.Errorf("untagged: %+v", q.Untagged)
	}
	if q.Impossible.Count != 1 || !strings.Contains(q.Impossible.First[0].Problem, "dated 2026-05-04 but was logged before that, on 2026-05-01") {
		t.Errorf("impossible: %+v", q.Impossible)
	}
	bad := 0.0
	for _, o := range q.Outings {
		bad += o.Bad
	}
	if len(q.Outings) != 4 || bad != 2+2+3+1 {
		t.Errorf("outings: %+v", q.Outings)
	}
	if len(q.TagLengths) != 1 || q.TagLengths[0] != (journal.Written{Value: 165.1, Times: 1}) || len(q.Minutes) != 2 {
		t.Errorf("written: %+v, %+v", q.TagLengths, q.Minutes)
	}
}
