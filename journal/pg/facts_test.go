package pg_test

import (
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

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
			s.Stints[0].Events = append(s.Stints[0].Events, journal.Event{Kind: journal.EventTangle, Count: 1 + rand.IntN(400)})
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
