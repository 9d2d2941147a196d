package pg_test

import (
	"context"
	"fmt"
	"math"
	"testing"

	"github.com/jackc/pgx/v5"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/demo"
	"rigtally/journal/facts"
	"rigtally/journal/journaltest"
	"rigtally/journal/pg"
)

// A season's rows must add up to what SQL adds up by itself, from the events where
// it can: hookups, fish landed and tangles, and the hours of the stints.
func TestSeasonRowsAddUp(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	s, err := pg.Open(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	if err := demo.Load(t.Context(), s, demo.Generate(5, 120)); err != nil {
		t.Fatal(err)
	}
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.Background())
	for _, year := range []int{0, 2025} {
		rows, err := s.SeasonRows(t.Context(), year)
		if err != nil {
			t.Fatal(err)
		}
		where := fmt.Sprintf("(%d = 0 OR extract(year FROM se.day) = %d)", year, year)
		sum := func(sql string) (v float64) {
			t.Helper()
			if err := conn.QueryRow(t.Context(), sql+" WHERE "+where).Scan(&v); err != nil {
				t.Fatal(err)
			}
			return v
		}
		const events = ` FROM event e JOIN stint st ON st.id = e.stint_id JOIN session se ON se.id = st.session_id`
		if want := sum(`SELECT count(*)::float8 FROM session se`); float64(len(rows.Sessions)) != want || want == 0 {
			t.Errorf("%d: %d sessions, SQL has %g", year, len(rows.Sessions), want)
		}
		for key, sql := range map[string]string{
			"hookups": `SELECT sum(e.count) FILTER (WHERE e.kind = 'hookup')::float8` + events,
			"landed":  `SELECT sum(e.count) FILTER (WHERE e.kind = 'hookup' AND e.ending = 'landed')::float8` + events,
			"tangles": `SELECT sum(e.count) FILTER (WHERE e.kind = 'tangle')::float8` + events,
		} {
			all, counted, hours := 0.0, 0.0, 0.0
			rows.Each(key, func(_ int, happened, events, exposure float64) {
				all += happened
				counted += events
				hours += exposure
			})
			if want := sum(sql); all != want || want == 0 {
				t.Errorf("%d: %g %s, SQL has %g", year, all, key, want)
			}
			if counted > all {
				t.Errorf("%d: %g %s counted of %g", year, counted, key, all)
			}
			kept := map[string]journal.Kind{"hookups": journal.KindHookups, "landed": journal.KindLanded, "tangles": journal.KindTangles}[key]
			if want := sum(fmt.Sprintf(`SELECT sum(st.seconds) FILTER (WHERE st.recorded = 0 OR st.recorded & %d <> 0) / 3600.0::float8 FROM stint st JOIN session se ON se.id = st.session_id`, 1<<kept)); math.Abs(hours-want) > 1e-9*want {
				t.Errorf("%d: %g hours, SQL has %g", year, hours, want)
			}
		}
	}
}

// Every outcome, by angler, must be what Store.Rows finds.
func TestSeasonRowsAreThoseOfQuestions(t *testing.T) {
	t.Parallel()
	s := journaltest.Store(t)
	if err := demo.Load(t.Context(), s, demo.Generate(6, 120)); err != nil {
		t.Fatal(err)
	}
	rows, err := s.SeasonRows(t.Context(), 0)
	if err != nil {
		t.Fatal(err)
	}
	angler, err := journal.FactorByKey("angler")
	if err != nil {
		t.Fatal(err)
	}
	for _, o := range journal.Outcomes() {
		asked, err := s.Rows(t.Context(), journal.Question{Outcome: o, By: []journal.By{{Factor: angler}}})
		if err != nil {
			t.Fatal(err)
		}
		got := rows.Of(o, angler, func(se facts.SeasonSession, _ facts.SeasonStint) (journal.Level, bool) {
			return journal.Level{Word: se.Angler}, true
		})
		if got.Stints != asked.Stints || got.Sessions != asked.Sessions || got.Untimed != asked.Untimed || fmt.Sprint(got.LeftOut) != fmt.Sprint(asked.LeftOut) {
			t.Errorf("%s: %d stints, %d sessions, %d untimed, left out %v; a question has %d, %d, %d, %v", o.Key,
				got.Stints, got.Sessions, got.Untimed, got.LeftOut, asked.Stints, asked.Sessions, asked.Untimed, asked.LeftOut)
		}
		want := map[string]journal.Sums{}
		for _, g := range asked.Groups {
			want[g.Level[0].Word] = g
		}
		for _, g := range got.Groups {
			if w := want[g.Level[0].Word]; !near(g.K, w.K) || !near(g.T, w.T) || !near(g.KK, w.KK) || !near(g.KT, w.KT) || !near(g.TT, w.TT) || !near(g.TTT, w.TTT) || g.Sessions != w.Sessions || g.Stints != w.Stints || !near(g.Hours, w.Hours) {
				t.Errorf("%s: %+v, a question has %+v", o.Key, g, w)
			}
		}
		if len(got.Groups) != len(asked.Groups) {
			t.Errorf("%s: %d groups, a question has %d", o.Key, len(got.Groups), len(asked.Groups))
		}
	}
}

func near(a, b float64) bool { return math.Abs(a-b) <= 1e-9*max(1, math.Abs(b)) }
