package archive

import (
	"bytes"
	"context"
	"errors"
	"flag"
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

var long = flag.Bool("long", false, "try every kind of damage a thousand times")

// server is the server of a test's database.
type server struct{ program string } // its address

func (s server) name() string {
	path, _, _ := strings.Cut(s.program, "?")
	return path[strings.LastIndex(path, "/")+1:]
}

func (s server) ProgramURL(database string) string {
	return strings.Replace(s.program, "/"+s.name()+"?", "/"+database+"?", 1)
}
func (s server) KeeperURL(database string) string { return pgtest.AsKeeper(s.ProgramURL(database)) }
func (s server) URL(database string) string       { return pgtest.AsSuperuser(s.ProgramURL(database)) }

func (s server) EnsureDatabase(ctx context.Context, name string) error {
	conn, err := pgx.Connect(ctx, s.URL("postgres"))
	if err != nil {
		return err
	}
	defer conn.Close(ctx)
	_, err = conn.Exec(ctx, "CREATE DATABASE "+name+" OWNER rigtally_keeper TEMPLATE template0")
	return err
}

func connect(t testing.TB, url string) *pgx.Conn {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close(context.WithoutCancel(t.Context())) })
	return conn
}

// world is an invented journal of two outfits, with people, history, steps, the deleted and a trial that runs.
func world(t testing.TB, sessions int) (server, *pg.Store) {
	t.Helper()
	ctx := t.Context()
	s := server{pgtest.NewDatabase(t)}
	store, err := pg.Open(ctx, s.program)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(store.Close)
	season := demo.Generate(demo.Seed, sessions)
	if _, err := demo.Fill(ctx, store, season); err != nil {
		t.Fatal(err)
	}
	if err := journaltest.Gauge(ctx, store); err != nil {
		t.Fatal(err)
	}
	id, err := store.AddOutfit(ctx, "Alder\tGuides \\ of\nthe north")
	if err != nil {
		t.Fatal(err)
	}
	other := store.In(id, journal.Keeper())
	angler, err := other.AnglerNamed(ctx, "Ilse")
	if err != nil {
		t.Fatal(err)
	}
	water, _, err := other.WaterNamed(ctx, "Alder Brook", "Mill Run")
	if err != nil {
		t.Fatal(err)
	}
	rig, err := other.SaveRig(ctx, journaltest.OneDropper("Blood 165"))
	if err != nil {
		t.Fatal(err)
	}
	for range 3 {
		_, err := other.SaveSession(ctx, journal.Session{ID: journaltest.NewID(t), AnglerID: angler.ID, WaterID: water.ID, Day: journaltest.May1, TimeZone: "UTC", WaterTempC: new(0.1),
			Notes: "tab\tand \\ and\r\nline", Stints: []journal.Stint{{ID: journaltest.NewID(t), RigID: rig.ID, Minutes: new(61.5), Events: []journal.Event{journaltest.Tangles(2)}}}})
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := errors.Join(store.DeleteSession(ctx, season.Sessions[0].ID, 0), store.DeleteSession(ctx, season.Sessions[1].ID, 0)); err != nil {
		t.Fatal(err)
	}
	if _, err := other.Rename(ctx, journal.Thing{Kind: journal.ThingWater, ID: water.ID}, "Alder Burn"); err != nil {
		t.Fatal(err)
	}
	if _, err := store.Invite(ctx, journal.Invitation{Name: "Jonna", Role: journal.RoleClient}); err != nil {
		t.Fatal(err)
	}
	_, err = connect(t, s.URL(s.name())).Exec(ctx, `WITH p AS (INSERT INTO person (id, account, passphrase) VALUES (gen_random_uuid(), 'jonna 12', '$argon2id$x') RETURNING id),
		k AS (INSERT INTO passkey (id, person_id, name, credential) SELECT '\x00ff5c', id, 'phone', '{"a": 1.50}' FROM p),
		d AS (INSERT INTO device (id, person_id, secret_hash, name, expires_at) SELECT gen_random_uuid(), id, '\x01', 'phone', 'infinity' FROM p)
		INSERT INTO member (outfit_id, person_id, name, role) SELECT o.id, p.id, 'Jonna', 'owner' FROM outfit o, p`)
	if err != nil {
		t.Fatal(err)
	}
	return s, store
}

func head() Head {
	return Head{MadeAt: time.Date(2026, 11, 29, 17, 23, 5, 0, time.UTC), Why: ByHand, Program: "of a test"}
}

// written is a backup of what a server's database holds.
func written(t testing.TB, s server, passphrase string) ([]byte, Written) {
	t.Helper()
	var file bytes.Buffer
	w, err := write(t.Context(), connect(t, s.URL(s.name())), &file, head(), sealedBy(passphrase, 10))
	if err != nil {
		t.Fatal(err)
	}
	return file.Bytes(), w
}

func phrase(text string) Passphrase { return func() (string, error) { return text, nil } }

func fingerprints(t testing.TB, url string) (sums []Sum) {
	t.Helper()
	conn := connect(t, url)
	defer conn.Close(t.Context())
	err := View(t.Context(), conn, func(tx pgx.Tx) (err error) { sums, err = Fingerprints(t.Context(), tx); return err })
	if err != nil {
		t.Fatal(err)
	}
	return sums
}

// restored restores a backup into a scratch database, and hands it to use.
func restored(t testing.TB, s server, file []byte, passphrase string, use func(ctx context.Context, database string)) (p Proof, err error) {
	t.Helper()
	err = InScratch(t.Context(), s, func(ctx context.Context, database string) (err error) {
		if p, err = Restore(ctx, s, database, bytes.NewReader(file), phrase(passphrase), nil); err == nil && use != nil {
			use(ctx, database)
		}
		return err
	})
	return p, err
}

// Ensure that everything comes back as it was, of every outfit and of people, by PostgreSQL's own text of each row, but for the
// seed of a trial that runs, which is nowhere in the file.
func TestBackAsItWas(t *testing.T) {
	t.Parallel()
	s, store := world(t, 60)
	ctx := t.Context()
	conn := connect(t, s.URL(s.name()))
	var seed string
	if err := conn.QueryRow(ctx, `SELECT seed FROM trial WHERE ended_at IS NULL`).Scan(&seed); err != nil || len(seed) != 64 {
		t.Fatalf("no trial runs: %q, %v", seed, err)
	}
	before := fingerprints(t, s.URL(s.name()))
	for _, sum := range before {
		if sum.Rows == 0 && !strings.Contains("withdrawn_device share comparison reading rule_set", sum.Table) && (!strings.HasPrefix(sum.Table, "gauge_block_") || sum.Table == "gauge_block_2020") {
			t.Errorf("the world has nothing in %s", sum.Table)
		}
	}
	for _, passphrase := range []string{"", "of three invented words"} {
		file, w := written(t, s, passphrase)
		checked, err := Check(bytes.NewReader(file))
		if err != nil || checked.Hash != w.Hash || checked.Size != int64(len(file)) || checked.Head != w.Head || w.Head.Encrypted != (passphrase != "") {
			t.Fatalf("checked %+v, %v; written %+v", checked, err, w.Head)
		}
		p, err := restored(t, s, file, passphrase, func(ctx context.Context, database string) {
			back := connect(t, s.URL(database))
			tag, err := back.Exec(ctx, `SET session_replication_role = replica`)
			if err == nil {
				tag, err = back.Exec(ctx, `UPDATE trial SET seed = $1, order_cut = false WHERE order_cut AND seed = ''`, seed)
			}
			if err != nil || tag.RowsAffected() != 1 {
				t.Errorf("the trial that runs: %v, %v", tag, err)
			}
			if unlike := Unequal(before, fingerprints(t, s.URL(database))); len(unlike) > 0 {
				t.Errorf("back, it is otherwise: %q", unlike)
			}
			back.Close(ctx)
		})
		if err != nil || p.Wrong != 0 || p.Recounted == 0 || p.Hash != w.Hash {
			t.Fatalf("%+v, %v", p, err)
		}
		if n, err := store.Outfits(ctx); err != nil || len(p.End.Outfits) != len(n) || p.End.Sessions() != 60-2+demo.TrialSessions+3 {
			t.Errorf("%+v, %v", p.End.Outfits, err)
		}
		for _, secret := range []string{seed, "Jonna", "Mill Run"} {
			if passphrase != "" && bytes.Contains(file, []byte(secret)) {
				t.Errorf("%q can be read in the encrypted file", secret)
			}
		}
		if text := unpacked(t, file, passphrase); bytes.Contains(text, []byte(seed)) || !bytes.Contains(text, []byte("Mill Run")) {
			t.Error("the seed is in the file, or nothing is")
		}
		_, err = restored(t, s, file, "not "+passphrase, nil)
		if (passphrase == "") != (err == nil) || passphrase != "" && !errors.Is(err, ErrPassphrase) {
			t.Errorf("another passphrase: %v", err)
		}
	}
	var left int
	if err := conn.QueryRow(ctx, `SELECT count(*) FROM pg_database WHERE starts_with(datname, $1)`, ScratchPrefix).Scan(&left); err != nil || left > 2 { // those of tests beside it
		t.Errorf("%d scratch databases are left, %v", left, err)
	}
}

// unpacked is all that a backup holds, as text.
func unpacked(t testing.TB, file []byte, passphrase string) (text []byte) {
	t.Helper()
	r, err := newReader(bytes.NewReader(file), phrase(passphrase))
	for err == nil {
		var p part
		p, err = r.next()
		text = append(text, p.data...)
	}
	return text
}

// Ensure that a backup made of a journal that four others write to is of one moment: what it holds is whole, and counts agree.
func TestWhileOthersWrite(t *testing.T) {
	t.Parallel()
	s, store := world(t, 20)
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	rig, angler, water := first(t, store)
	wrote, ended := make(chan struct{}, 1000), make(chan error, 4)
	for range 4 {
		go func() {
			for ctx.Err() == nil {
				_, err := store.SaveSession(ctx, journal.Session{ID: journal.NewID(), AnglerID: angler, WaterID: water, Day: journaltest.May1, TimeZone: "UTC",
					Stints: []journal.Stint{{ID: journal.NewID(), RigID: rig, Minutes: new(30.0), Events: []journal.Event{journaltest.Tangles(1)}}}})
				if err != nil && ctx.Err() == nil {
					ended <- err
					return
				}
				select {
				case wrote <- struct{}{}:
				default:
				}
			}
			ended <- nil
		}()
	}
	for range 8 {
		<-wrote
	}
	for range 3 {
		file, w := written(t, s, "")
		if p, err := restored(t, s, file, "", nil); err != nil || p.Wrong != 0 || p.End.Sessions() != w.End.Sessions() {
			t.Errorf("%+v, %v", p, err)
		}
	}
	stop()
	for range 4 {
		if err := <-ended; err != nil {
			t.Error(err)
		}
	}
}

func first(t testing.TB, store *pg.Store) (rig, angler, water journal.ID) {
	t.Helper()
	c, err := store.Directory(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range c.Rigs {
		if len(r.Positions) == 2 {
			rig = r.ID
		}
	}
	return rig, c.Anglers[0].ID, c.Waters[0].ID
}

// Ensure that what a killed run left is dropped by the next, and what another run uses is not.
func TestScratchLeftBehind(t *testing.T) {
	t.Parallel()
	s := server{pgtest.NewDatabase(t)}
	ctx := t.Context()
	left := ScratchPrefix + "left" + s.name()
	if err := s.EnsureDatabase(ctx, left); err != nil {
		t.Fatal(err)
	}
	there := func(name string) (found bool) {
		if err := connect(t, s.URL("postgres")).QueryRow(ctx, `SELECT EXISTS (SELECT FROM pg_database WHERE datname = $1)`, name).Scan(&found); err != nil {
			t.Fatal(err)
		}
		return found
	}
	var one, two string
	err := InScratch(ctx, s, func(ctx context.Context, database string) error {
		one = database
		return InScratch(ctx, s, func(ctx context.Context, database string) error {
			two = database
			if there(left) || !there(one) || !there(two) {
				t.Errorf("left %v, in use %v and %v", there(left), there(one), there(two))
			}
			return errors.New("it failed")
		})
	})
	if err == nil || there(one) || there(two) {
		t.Errorf("%v; still there: %v %v", err, there(one), there(two))
	}
}

// Ensure that an empty journal gives its place to what was restored, whole, and one that is not empty, or is open, does not.
func TestTakePlace(t *testing.T) {
	t.Parallel()
	s, store := world(t, 20)
	ctx := t.Context()
	file, w := written(t, s, "")
	live := "live_" + s.name()
	if err := errors.Join(s.EnsureDatabase(ctx, live), pg.Migrate(ctx, s.KeeperURL(live), s.ProgramURL(live))); err != nil {
		t.Fatal(err)
	}
	defer connect(t, s.URL("postgres")).Exec(context.WithoutCancel(ctx), "DROP DATABASE IF EXISTS "+live+" WITH (FORCE)")
	take := func(name string) error {
		return InScratch(ctx, s, func(ctx context.Context, database string) error {
			if _, err := Restore(ctx, s, database, bytes.NewReader(file), nil, nil); err != nil {
				return err
			}
			return TakePlace(ctx, s, database, name)
		})
	}
	open, err := pg.Open(ctx, s.ProgramURL(live))
	if err != nil {
		t.Fatal(err)
	}
	if err := take(live); !errors.Is(err, ErrInUse) {
		t.Errorf("while it is open: %v", err)
	}
	open.Close()
	if err := take(live); err != nil {
		t.Fatal(err)
	}
	if unlike := Unequal(w.End.Tables, fingerprints(t, s.URL(live))); len(unlike) > 0 {
		t.Errorf("%q", unlike)
	}
	store.Close()
	full := "full_" + s.name()
	if _, err := connect(t, s.URL("postgres")).Exec(ctx, "ALTER DATABASE "+live+" RENAME TO "+full); err != nil {
		t.Fatal(err)
	}
	defer connect(t, s.URL("postgres")).Exec(context.WithoutCancel(ctx), "DROP DATABASE IF EXISTS "+full+" WITH (FORCE)")
	if err := take(full); !errors.Is(err, ErrNotEmpty) {
		t.Errorf("a journal in use: %v", err)
	}
	if unlike := Unequal(w.End.Tables, fingerprints(t, s.URL(full))); len(unlike) > 0 {
		t.Errorf("it was changed: %q", unlike)
	}
}
