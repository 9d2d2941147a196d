package pg_test

import (
	"context"
	"errors"
	"slices"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"rigtally/journal"
	"rigtally/journal/journaltest"
)

// Ensure that each write of a session says what was done by whom, that clients learn nobody's name, and that what
// is refused or changes nothing leaves no entry.
func TestEveryWriteHasAnAuthor(t *testing.T) {
	t.Parallel()
	p := newParty(t)
	ctx := t.Context()
	conn := connect(t, p.bench.url)
	owner := p.bench.store
	person := join(t, conn, owner.OutfitID(), "Gerrit", journal.RoleGuide, nil)
	self := join(t, conn, owner.OutfitID(), p.clients[0].Name, journal.RoleClient, &p.clients[0].ID)
	guide := owner.For(journal.Who{Role: journal.RoleGuide, Name: "Gerrit", Person: &person})
	client := owner.For(journal.Who{Role: journal.RoleClient, Name: p.clients[0].Name, Person: &self, Angler: &p.clients[0].ID})
	s := p.fished[0]
	write := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	s.Notes, s.WaterTempC = "Seen by the guide", new(9.5)
	s, err := guide.SaveSession(ctx, s)
	write(err)
	_, err = guide.SaveSession(ctx, s) // sent twice
	write(err)
	s.Stints = slices.Clone(s.Stints)
	s.Stints[0].Minutes = new(80.0)
	_, err = client.SaveSession(ctx, s)
	write(err)
	if _, err := client.SaveSession(ctx, s); !errors.Is(err, journal.ErrConflict) && err != nil {
		t.Fatal(err)
	}
	write(owner.DeleteSession(ctx, s.ID, 0))
	write(owner.RestoreSession(ctx, s.ID, 0))
	told := func(list []journal.Change) (lines []string) {
		for _, c := range slices.Backward(list) {
			lines = append(lines, strings.Join(append([]string{string(c.What), string(c.Role), c.Name}, c.Fields...), " "))
		}
		return lines
	}
	all, err := owner.SessionHistory(ctx, s.ID)
	write(err)
	want := []string{"logged client ", "changed guide Gerrit water_temp session_notes", "changed client " + p.clients[0].Name + " stints", "deleted owner ", "restored owner "}
	if got := told(all); !slices.Equal(got, want) {
		t.Errorf("to the owner\n%q, want\n%q", got, want)
	}
	if all[0].Version != 3 {
		t.Errorf("restored as version %d", all[0].Version)
	}
	for name, s2 := range map[string][]string{"guide": want, "client": {"logged client ", "changed guide  water_temp session_notes", "changed client " + p.clients[0].Name + " stints", "deleted owner ", "restored owner "}} {
		store := guide
		if name == "client" {
			store = client
		}
		list, err := store.SessionHistory(ctx, s.ID)
		if got := told(list); err != nil || !slices.Equal(got, s2) {
			t.Errorf("to the %s\n%q, want\n%q; %v", name, got, s2, err)
		}
	}
	if list, err := client.SessionHistory(ctx, p.fished[1].ID); err != nil || len(list) != 0 {
		t.Errorf("a client sees another's history: %+v, %v", list, err)
	}
}

// Ensure that sessions that come in bulk are noted, each once.
func TestBulkIsNoted(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := t.Context()
	var a journal.Addition
	for day := range 3 {
		a.Sessions = append(a.Sessions, b.session(t, journal.Date{Year: 2026, Month: 5, Day: day + 1}, new(60.0)))
	}
	if err := b.store.Add(ctx, a, nil); err != nil {
		t.Fatal(err)
	}
	for _, s := range a.Sessions {
		if h, err := b.store.SessionHistory(ctx, s.ID); err != nil || len(h) != 1 || h[0].What != journal.DeedImported || h[0].Version != 1 || h[0].Role != journal.RoleOwner {
			t.Errorf("%+v, %v", h, err)
		}
	}
}

// Ensure that no role of the program's work changes or drops what was noted, or notes for a client who is another.
func TestHistoryIsAppendedOnly(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	s := b.store1(t, b.session(t, journaltest.May1, new(60.0)))
	conn, err := pgx.Connect(t.Context(), b.url)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.Background())
	insert := `INSERT INTO session_change (outfit_id, session_id, version, angler_id, role, what) VALUES ('` + b.store.OutfitID().String() + `', '` + s.ID.String() + `', 9, '` + s.AnglerID.String() + `', 'owner', 'logged')`
	for _, role := range workRoles {
		for _, sql := range []string{`UPDATE session_change SET role = 'guide'`, `DELETE FROM session_change`, `TRUNCATE session_change`, insert} {
			if sql == insert && (role == "rigtally_as_owner" || role == "rigtally_as_guide") {
				continue
			}
			tx, err := conn.Begin(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			_, err = tx.Exec(t.Context(), "SET LOCAL ROLE "+role+"; SET LOCAL rigtally.outfit = '"+b.store.OutfitID().String()+"'; SET LOCAL rigtally.client = '"+journal.NewID().String()+"'; "+sql)
			var pg *pgconn.PgError
			if !errors.As(err, &pg) || pg.Code != "42501" {
				t.Errorf("%s: %s: %v", role, sql, err)
			}
			_ = tx.Rollback(context.Background())
		}
	}
}
