package pg_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/pg"
)

// workRoles are those that the program's transactions step down to.
var workRoles = []string{"rigtally_as_owner", "rigtally_as_guide", "rigtally_as_client", "rigtally_as_reader", "rigtally_at_door", "rigtally_at_gauges"}

// Ensure that every table has policies that hold for its owner too, or a reason not to; and that the roles of the
// program's work, and its login, own nothing and go round nothing. What the columns mean: PostgreSQL's manual, pg_class and pg_roles.
func TestEveryTableHasForcedPolicies(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	exempt := map[string]string{"goose_db_version": "numbers of migrations, the same for every outfit"}
	conn := connect(t, b.url)
	rows, _ := conn.Query(t.Context(), `SELECT relname, relrowsecurity AND relforcerowsecurity, (SELECT count(*) FROM pg_policy WHERE polrelid = c.oid)
		FROM pg_class c WHERE relkind IN ('r', 'p', 'v', 'm') AND relnamespace = 'public'::regnamespace`)
	var name string
	var forced bool
	var policies, tables int
	if _, err := pgx.ForEachRow(rows, []any{&name, &forced, &policies}, func() error {
		if tables++; (!forced || policies == 0) && exempt[name] == "" {
			t.Errorf("the table %s has no forced policies; forced %v, %d policies", name, forced, policies)
		}
		return nil
	}); err != nil || tables < 20 {
		t.Fatalf("%d tables, %v", tables, err)
	}
	var wrong []string
	if err := conn.QueryRow(t.Context(), `SELECT array_agg(rolname) FROM pg_roles r WHERE (rolname = ANY($1) OR rolname = $2)
		AND (rolsuper OR rolbypassrls OR rolcreaterole OR rolcreatedb OR rolcanlogin AND rolname <> $2
			OR EXISTS (SELECT FROM pg_class WHERE relowner = r.oid) OR EXISTS (SELECT FROM pg_proc WHERE proowner = r.oid))`, workRoles, "rigtally_app").Scan(&wrong); err != nil || len(wrong) > 0 {
		t.Errorf("roles that may more than they should, or own something: %v, %v", wrong, err)
	}
}

// Ensure that the program's login without a role, and each role without settings, with empty ones and with those of
// another outfit, reads nothing and writes nothing.
func TestNothingWithoutAnOutfit(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.store1(t, b.session(t, journal.Date{Year: 2026, Month: 5, Day: 2}, new(60.0), journal.Event{Kind: journal.EventTangle, Count: 1}))
	if _, err := b.store.Claims(t.Context()); err != nil {
		t.Fatal(err)
	}
	all, _ := connect(t, b.url).Query(t.Context(), `SELECT relname FROM pg_class WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace AND relname <> 'goose_db_version' ORDER BY 1`)
	tables, err := pgx.CollectRows(all, pgx.RowTo[string])
	if err != nil {
		t.Fatal(err)
	}
	conn, err := pgx.Connect(t.Context(), b.url)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.Background())
	// In a transaction that is taken back: what a statement did or read is told.
	try := func(enter, sql string) (int64, error) {
		tx, err := conn.Begin(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		defer func() { _ = tx.Rollback(context.Background()) }()
		if _, err := tx.Exec(t.Context(), enter); err != nil {
			t.Fatal(err)
		}
		tag, err := tx.Exec(t.Context(), sql)
		return tag.RowsAffected(), err
	}
	refused := func(err error) bool {
		var pg *pgconn.PgError
		return errors.As(err, &pg) && pg.Code == "42501"
	}
	for _, table := range tables {
		for _, sql := range []string{"SELECT * FROM " + table, "DELETE FROM " + table} {
			if n, err := try("SELECT 1", sql); !refused(err) {
				t.Errorf("the login by itself: %s: %d rows, %v", sql, n, err)
			}
		}
		for _, role := range workRoles {
			atDoor := role == "rigtally_at_door" && slices.Contains([]string{"outfit", "person", "passkey", "device", "withdrawn_device", "member", "invitation", "share"}, table)
			for _, settings := range []string{"", "SET LOCAL rigtally.outfit = ''; SET LOCAL rigtally.client = '';",
				"SET LOCAL rigtally.outfit = '01890a5d-ac96-774b-bcce-b302099a8057'; SET LOCAL rigtally.client = '01890a5d-ac96-774b-bcce-b302099a8058';"} {
				for _, sql := range []string{"SELECT FROM " + table, "DELETE FROM " + table} {
					if n, err := try("SET LOCAL ROLE "+role+"; "+settings, sql); !atDoor && (n > 0 || err != nil && !refused(err)) {
						t.Errorf("%s with %q: %s: %d rows, %v", role, settings, sql, n, err)
					}
				}
			}
		}
	}
	for _, role := range workRoles[:3] {
		sql := `INSERT INTO water (outfit_id, id, name, kind, time_zone) SELECT '` + b.store.OutfitID().String() + `', gen_random_uuid(), 'Invented Slough', 'other', 'UTC'`
		if _, err := try("SET LOCAL ROLE "+role, sql); !refused(err) {
			t.Errorf("%s without an outfit wrote a water: %v", role, err)
		}
	}
}

// party is an outfit with two clients who fished, each with names of their own.
type party struct {
	bench
	clients [2]journal.Angler
	stores  [2]*pg.Store
	fished  [2]journal.Session
}

// secretOf is a word that stands in every text of a client's.
func secretOf(i int) string { return []string{"quillwort", "marestail"}[i] }

func newParty(t *testing.T) party {
	t.Helper()
	p := party{bench: newBench(t)}
	for i := range p.clients {
		secret := secretOf(i)
		p.clients[i] = journal.Angler{ID: journal.NewID(), Name: "Client " + secret, Kind: journal.Client, Active: true}
		if err := p.bench.store.SaveAngler(t.Context(), p.clients[i]); err != nil {
			t.Fatal(err)
		}
		p.stores[i] = p.bench.store.For(journal.Who{Role: journal.RoleClient, Name: p.clients[i].Name, Angler: &p.clients[i].ID})
		rig := twoDroppers()
		rig.Name = "Rig " + secret
		day := journal.Date{Year: 2026, Month: 6, Day: 3 + i}
		d := journal.Draft{Session: journal.Session{ID: journal.NewID(), AnglerID: p.clients[i].ID, Day: day, Notes: "Note " + secret,
			Stints: []journal.Stint{{ID: journal.NewID(), Minutes: new(90.0), Notes: "Stint " + secret}}}, Confirmed: true, Water: "Water " + secret, Beat: "Beat " + secret, Rigs: map[int]journal.Rig{0: rig}}
		var err error
		if p.fished[i], err = p.stores[i].LogSession(t.Context(), d); err != nil {
			t.Fatal(err)
		}
	}
	return p
}

// Ensure that a client sees and changes what is the client's own, and nothing else, by any way of the store.
func TestAClientSeesTheClientsOwn(t *testing.T) {
	t.Parallel()
	p := newParty(t)
	ctx := t.Context()
	for i, s := range p.stores {
		other := 1 - i
		seen := func(what string, v any, err error) {
			t.Helper()
			text := fmt.Sprintf("%+v", v)
			if err != nil || strings.Contains(text, secretOf(other)) || strings.Contains(text, "Ilse") || strings.Contains(text, "Alder") {
				t.Errorf("client %d sees of others in %s: %v, %s", i, what, err, text)
			}
		}
		contents, err := s.Contents(ctx)
		seen("the whole journal", contents, err)
		if len(contents.Sessions) != 1 || len(contents.Rigs) != 1 || len(contents.Waters) != 1 || len(contents.Anglers) != 1 || len(contents.Claims) > 0 {
			t.Errorf("client %d sees %d sessions, %d rigs, %d waters, %d anglers, %d claims; want one of each and no claim",
				i, len(contents.Sessions), len(contents.Rigs), len(contents.Waters), len(contents.Anglers), len(contents.Claims))
		}
		rigs, err := s.Rigs(ctx)
		seen("rigs", rigs, err)
		lines, _, err := s.SessionLines(ctx, journal.SessionFilter{})
		seen("sessions", lines, err)
		f, err := s.Facts(ctx)
		if err != nil || f.Sessions() != 1 {
			t.Errorf("client %d: facts of %d sessions, %v; want 1", i, f.Sessions(), err)
		}
		if _, err := s.SessionByID(ctx, p.fished[other].ID); !errors.Is(err, journal.ErrNotFound) {
			t.Errorf("client %d reads another's session: %v", i, err)
		}
		if err := s.DeleteSession(ctx, p.fished[other].ID, 0); !errors.Is(err, journal.ErrNotFound) {
			t.Errorf("client %d deletes another's session: %v", i, err)
		}
		stolen := p.fished[i]
		stolen.WaterID, stolen.BeatID = p.fished[other].WaterID, nil
		if saved, err := s.SaveSession(ctx, stolen); err == nil {
			t.Errorf("client %d moved a session to a water of another's: %+v", i, saved)
		}
		stolen = p.fished[i]
		stolen.AnglerID = p.clients[other].ID
		if _, err := s.SaveSession(ctx, stolen); err == nil {
			t.Errorf("client %d made a session another's", i)
		}
		stolen = p.fished[i]
		stolen.Stints = slices.Clone(stolen.Stints)
		stolen.Stints[0].RigID = p.fished[other].Stints[0].RigID
		if _, err := s.SaveSession(ctx, stolen); err == nil {
			t.Errorf("client %d fished another's rig", i)
		}
		if err := s.SaveWater(ctx, journal.Water{ID: p.fished[other].WaterID, Name: "Taken", Kind: "other", TimeZone: "UTC"}); err == nil {
			t.Errorf("client %d renamed another's water", i)
		}
		if err := s.SetOutfit(ctx, journal.Outfit{Name: "Taken", Units: "us", TimeZone: "UTC"}); err == nil {
			t.Errorf("client %d renamed the outfit", i)
		}
		theirs, own := p.fished[other].Stints[0].RigID, p.fished[i].Stints[0].RigID
		if _, err := s.PlanTrial(ctx, journal.Trial{ID: journal.NewID(), Name: "Stolen", Outcome: "tangles", Factor: "rig", Arms: [2]journal.TrialArm{{RigID: &own}, {RigID: &theirs}},
			Unit: journal.ByStint, Block: 4, Worth: 1.5, MostHours: 60}); err == nil {
			t.Errorf("client %d planned a trial with another's rig", i)
		}
		if err := s.SetUsualRig(ctx, own); err == nil {
			t.Errorf("client %d chose the outfit's usual rig", i)
		}
		// A name that only others use is free.
		if _, _, err := s.WaterNamed(ctx, "Water "+secretOf(other), ""); err != nil {
			t.Errorf("client %d learns by a refusal that a water is there: %v", i, err)
		}
		rig := twoDroppers()
		rig.Name = "Rig " + secretOf(other)
		if saved, err := s.SaveRig(ctx, rig); err != nil || saved.Revision != 1 {
			t.Errorf("client %d learns by a refusal or a number that a rig is there: revision %d, %v", i, saved.Revision, err)
		}
	}
	guide := p.bench.store.For(journal.Who{Role: journal.RoleGuide, Name: "Guide"})
	if lines, n, err := guide.SessionLines(ctx, journal.SessionFilter{}); err != nil || n != 2 {
		t.Errorf("a guide sees %d sessions (%v), %v; want both clients'", n, lines, err)
	}
	if err := guide.SetOutfit(ctx, journal.Outfit{Name: "Taken", Units: "us", TimeZone: "UTC"}); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("a guide changes the settings: %v", err)
	}
}

// Ensure that a connection through a pooler in transaction mode carries nobody's room on.
func TestARoomEndsWithItsTransaction(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	conn, err := pgx.Connect(t.Context(), pgtest.AsSuperuser(b.url))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.Background())
	var role, outfit string
	if err := conn.QueryRow(t.Context(), `SELECT set_config('role', 'rigtally_as_owner', true), set_config('rigtally.outfit', $1, true)`, b.store.OutfitID().String()).Scan(&role, &outfit); err != nil {
		t.Fatal(err)
	}
	if err := conn.QueryRow(t.Context(), `SELECT current_user, current_setting('rigtally.outfit', true)`).Scan(&role, &outfit); err != nil || role != "rigtally" || outfit != "" {
		t.Errorf("afterwards it is %s of the outfit %q, %v", role, outfit, err)
	}
}
