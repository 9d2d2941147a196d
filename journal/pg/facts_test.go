package pg_test

import (
	"context"
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/jackc/pgx/v5"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/demo"
	"rigtally/journal/facts"
	"rigtally/journal/journaltest"
	"rigtally/journal/pg"
)

// Facts that followed every change must answer as those read anew do, whatever was
// saved, edited, deleted and brought back in between.
func TestFactsFollowTheJournal(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	url := pgtest.NewDatabase(t)
	kept, err := pg.Open(ctx, url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(kept.Close)
	season := demo.Generate(3, 60)
	if err := demo.Load(ctx, kept, season); err != nil {
		t.Fatal(err)
	}
	rand := rand.New(rand.NewPCG(1, 9))
	sessions := season.Sessions
	deleted := map[int]bool{}
	for round := range 12 {
		for range 1 + rand.IntN(4) {
			i := rand.IntN(len(sessions))
			s, err := kept.SessionByID(ctx, sessions[i].ID)
			switch {
			case deleted[i]:
				if err := kept.RestoreSession(ctx, sessions[i].ID, 0); err != nil {
					t.Fatal(err)
				}
				deleted[i] = false
				continue
			case err != nil:
				t.Fatal(err)
			case rand.IntN(3) == 0:
				if err := kept.DeleteSession(ctx, s.ID, s.Version); err != nil {
					t.Fatal(err)
				}
				deleted[i] = true
				continue
			}
			s.Stints[0].Events = append(s.Stints[0].Events, journal.Event{Kind: journal.EventTangle, Count: 1 + rand.IntN(400)}, tangle(new(rand.IntN(5))))
			s.Stints[0].Recorded = s.Stints[0].Recorded.Without(journal.Kind(rand.IntN(4)))
			if rand.IntN(2) == 0 { // a session of its own
				s.ID, s.Stints[0].ID, s.Version, s.Stints = journaltest.NewID(t), journaltest.NewID(t), 0, s.Stints[:1]
			}
			if _, err := kept.SaveSession(ctx, s); err != nil {
				t.Fatal(err)
			}
		}
		fresh, err := pg.Open(ctx, url)
		if err != nil {
			t.Fatal(err)
		}
		a, err := kept.Facts(ctx)
		if err != nil {
			t.Fatal(err)
		}
		b, err := fresh.Facts(ctx)
		fresh.Close()
		if err != nil {
			t.Fatal(err)
		}
		if a.Revision != b.Revision || a.Sessions() != b.Sessions() || a.Stints() != b.Stints() {
			t.Fatalf("round %d: revision %d with %d sessions and %d stints, read anew %d, %d and %d", round, a.Revision, a.Sessions(), a.Stints(), b.Revision, b.Sessions(), b.Stints())
		}
		for _, o := range journal.Outcomes() {
			for _, key := range []string{"junction", "tag-length", "angler", "stroke", "rig", "flow", "month"} {
				q := journal.Question{Outcome: o, By: []journal.By{{Factor: factor(t, key)}}}
				if what := differs(t, a, b, q); what != "" {
					t.Errorf("round %d, %s by %s: %s", round, o.Key, key, what)
				}
				if x, y := stretches(a, o, factor(t, key)), stretches(b, o, factor(t, key)); !slices.Equal(x, y) {
					t.Errorf("round %d, %s by %s: stretches differ", round, o.Key, key)
				}
			}
		}
	}
}

// differs says where two facts answer a question differently; each must also add up to the same
// with its rows kept as without.
func differs(t *testing.T, a, b *facts.Facts, q journal.Question) string {
	t.Helper()
	x, err1 := a.Ask(q)
	y, err2 := b.Ask(q)
	rows, err3 := b.Rows(q)
	if err1 != nil || err2 != nil || err3 != nil {
		t.Fatal(err1, err2, err3)
	}
	for _, other := range []journal.Answer{y, rows.Answer} {
		if x.Stints != other.Stints || x.Sessions != other.Sessions || x.Told != other.Told || x.Unplaced != other.Unplaced || !maps.Equal(x.LeftOut, other.LeftOut) {
			return fmt.Sprintf("%d stints, %d sessions, %+v, left out %v; or %d, %d, %+v, %v", x.Stints, x.Sessions, x.Told, x.LeftOut, other.Stints, other.Sessions, other.Told, other.LeftOut)
		}
		if len(x.Groups) != len(other.Groups) {
			return fmt.Sprintf("%d groups, or %d", len(x.Groups), len(other.Groups))
		}
		for _, g := range x.Groups {
			i := slices.IndexFunc(other.Groups, func(o journal.Sums) bool { return o.Level[0] == g.Level[0] })
			if i < 0 {
				return fmt.Sprintf("no group %+v", g.Level)
			}
			o := other.Groups[i]
			for _, pair := range [][2]float64{{g.K, o.K}, {g.T, o.T}, {g.KK, o.KK}, {g.KT, o.KT}, {g.TT, o.TT}, {g.TTT, o.TTT}, {g.Hours, o.Hours}} {
				if math.Abs(pair[0]-pair[1]) > 1e-9*max(1, math.Abs(pair[1])) {
					return fmt.Sprintf("%+v, or %+v", g, o)
				}
			}
			if g.Stints != o.Stints || g.Sessions != o.Sessions {
				return fmt.Sprintf("%+v, or %+v", g, o)
			}
		}
	}
	return ""
}

// Facts larger than may be kept are read anew for every question, and answer the same.
func TestFactsBeyondTheLimitAreNotKept(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.store1(t, b.session(t, journaltest.May1, new(60.0), journaltest.Tangles(3)))
	q := journal.Question{Outcome: outcome(t, "tangles")}
	kept, err := b.store.Facts(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if again, err := b.store.Facts(t.Context()); err != nil || again != kept {
		t.Errorf("facts were not kept: %v", err)
	}
	b.store.KeepFacts(1)
	anew, err := b.store.Facts(t.Context())
	if err != nil || anew == kept {
		t.Fatalf("facts beyond the limit were kept: %v", err)
	}
	if what := differs(t, kept, anew, journal.Question{Outcome: q.Outcome, By: []journal.By{by(t, "junction")}}); what != "" {
		t.Error(what)
	}
}

func outcome(t *testing.T, key string) journal.Outcome {
	t.Helper()
	o, err := journal.OutcomeByKey(key)
	if err != nil {
		t.Fatal(err)
	}
	return o
}

// Older facts are read while newer ones are made of them, which shares their memory: the race detector looks on.
func TestOlderFactsStayAsTheyWere(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	for range 3 {
		b.store1(t, b.session(t, journaltest.May1, new(60.0), journaltest.Tangles(3), journaltest.Hookups(40, journal.Fair, journal.Lost)))
	}
	older, err := b.store.Facts(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	q := journal.Question{Outcome: outcome(t, "tangles"), By: []journal.By{by(t, "junction")}}
	want, err := older.Ask(q)
	if err != nil {
		t.Fatal(err)
	}
	done := make(chan struct{})
	go func() {
		defer close(done)
		for range 200 {
			if a, err := older.Ask(q); err != nil || a.Groups[0].K != want.Groups[0].K || a.Groups[0].T != want.Groups[0].T || a.Stints != want.Stints {
				t.Errorf("older facts say %+v (%v), before %+v", a, err, want)
				return
			}
		}
	}()
	for i := range 8 {
		b.store1(t, b.session(t, journaltest.May1, new(60.0), journaltest.Tangles(i+1)))
		if newer, err := b.store.Facts(t.Context()); err != nil || newer.Stints() != 4+i {
			t.Errorf("%d stints, want %d (%v)", newer.Stints(), 4+i, err)
		}
	}
	<-done
}

func rowsOf(t *testing.T, b bench, outcome string, given []string, keys ...string) *facts.Rows {
	t.Helper()
	o, err := journal.OutcomeByKey(outcome)
	if err != nil {
		t.Fatal(err)
	}
	q := journal.Question{Outcome: o}
	for _, key := range keys {
		q.By = append(q.By, by(t, key))
	}
	for _, key := range given {
		q.Given = append(q.Given, factor(t, key))
	}
	r, err := b.store.Rows(context.Background(), q)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// A tag cut after 60 of 90 minutes gives a row for each length, but is one stint.
func TestRowsBySpell(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.store1(t, b.session(t, journaltest.May1, new(90.0), journaltest.Tangles(3), cut(20, new(60))))
	b.store1(t, b.session(t, journaltest.May1, nil, journaltest.Tangles(1)))
	r := rowsOf(t, b, "tangles", []string{"tag-length", "angler", "flow"}, "junction")
	if len(r.Cell) != 2 || len(r.Groups) != 1 || r.Groups[0].Stints != 1 || r.Sessions != 1 || r.LeftOut["stints with no minutes noted"] != 1 {
		t.Fatalf("%+v", r)
	}
	hours := map[float64]float64{}
	for row, cell := range r.Cell {
		tag := r.Given[0].Levels[r.Given[0].Of[cell]].Number
		hours[tag] += r.Exposure[row]
		if angler := r.Given[1].Levels[r.Given[1].Of[cell]].Word; angler != "Ilse" {
			t.Errorf("angler %q", angler)
		}
	}
	if math.Abs(hours[165.1]-1) > 1e-12 || math.Abs(hours[145.1]-0.5) > 1e-12 {
		t.Errorf("hours by length %v, want 1 at 165.1 and half at 145.1", hours)
	}
	if g := r.Groups[0]; math.Abs(g.K-3) > 1e-12 || math.Abs(g.T-1.5) > 1e-12 || g.Sessions != 1 {
		t.Errorf("sums %+v", g)
	}
}

// A row without a given factor is left out, with the reason, from everything.
func TestRowsNeedEveryGiven(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.store1(t, b.session(t, journaltest.May1, new(60.0), journaltest.Tangles(1)))
	r := rowsOf(t, b, "tangles", []string{"bulk", "swivel"}, "junction")
	if len(r.Groups) != 0 || len(r.Cell) != 0 || r.Sessions != 0 || r.LeftOut["stints with no swivel noted"] != 1 {
		t.Errorf("%+v", r)
	}
}

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
	conn, err := pgx.Connect(t.Context(), pgtest.AsSuperuser(url))
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
		got := rows.Of(o, angler, nil, func(se facts.SeasonSession, _ facts.SeasonStint) (journal.Level, bool) {
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
