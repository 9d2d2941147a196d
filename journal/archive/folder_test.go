package archive

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/pg"
)

// Ensure that of two years of days those of 7 days, 5 weeks and 12 months stay, and the last five before a migration and an import;
// that nothing goes before its time, and that what was made by hand stays.
func TestRotationOverTwoYears(t *testing.T) {
	t.Parallel()
	var kept []File // the newest first
	add := func(at time.Time, why Why) {
		kept = slices.Insert(kept, 0, File{Name: at.Format("2006-01-02T1504Z-") + string(why), Head: Head{MadeAt: at, Why: why}})
		gone := expired(kept)
		kept = slices.DeleteFunc(kept, func(f File) bool {
			return slices.ContainsFunc(gone, func(g File) bool { return g.Name == f.Name })
		})
		if kept[0].Head.MadeAt != at {
			t.Fatalf("the one just made, of %s, went", at)
		}
	}
	start := time.Date(2024, 12, 2, 20, 0, 0, 0, time.UTC) // a Monday
	for day := range 731 {
		at := start.AddDate(0, 0, day)
		if day == 3 {
			add(at.Add(time.Hour), ByHand)
		}
		add(at, Daily)
		if day%90 == 45 {
			add(at.Add(time.Minute), BeforeMigration)
		}
		if day%30 == 5 {
			add(at.Add(2*time.Minute), BeforeImport)
		}
		has := func(daysAgo int) bool {
			return slices.ContainsFunc(kept, func(f File) bool { return f.Head.Why == Daily && f.Head.MadeAt.Equal(at.AddDate(0, 0, -daysAgo)) })
		}
		for ago := range min(7, day+1) {
			if !has(ago) {
				t.Fatalf("on day %d the backup of %d days ago is gone", day, ago)
			}
		}
		sunday := int(at.Weekday()) // days since the last one
		for week := range 4 {
			if ago := sunday + 7*week; ago <= day && !has(ago) {
				t.Fatalf("on day %d that of the Sunday %d days ago is gone", day, ago)
			}
		}
		for month := 1; month < 12; month++ {
			last := time.Date(at.Year(), at.Month()-time.Month(month)+1, 0, 20, 0, 0, 0, time.UTC)
			if ago := int(at.Sub(last).Hours() / 24); ago <= day && !has(ago) {
				t.Fatalf("on day %d that of the end of the month %d days ago is gone", day, ago)
			}
		}
	}
	count := map[Why]int{}
	for _, f := range kept {
		count[f.Head.Why]++
	}
	if count[Daily] > 7+5+12 || count[Daily] < 7+3+8 || count[BeforeMigration] != 5 || count[BeforeImport] != 5 || count[ByHand] != 1 {
		t.Errorf("in the end: %v", count)
	}
}

// Ensure that the folder keeps backups to their owner, under names of their own, and what is not its own.
func TestFolder(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	store, err := pg.Open(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	conn := connect(t, pgtest.AsSuperuser(url))
	f := Folder{filepath.Join(t.TempDir(), "backups")}
	now := head().MadeAt
	put := func(at time.Time, why Why) File {
		t.Helper()
		made, _, err := f.make(t.Context(), conn, Head{MadeAt: at, Why: why, Program: "of a test"}, nil)
		if err != nil {
			t.Fatal(err)
		}
		return made
	}
	one, two := put(now, Daily), put(now, Daily)
	if one.Name != "2026-11-29T1723Z-daily.rigtally" || two.Name != "2026-11-29T1723Z-daily-2.rigtally" {
		t.Errorf("called %s and %s", one.Name, two.Name)
	}
	dir, err := os.Stat(f.Dir)
	file, failed := os.Stat(filepath.Join(f.Dir, two.Name))
	if err != nil || failed != nil || dir.Mode().Perm() != 0o700 || file.Mode().Perm() != 0o600 {
		t.Error(dir.Mode(), file.Mode())
	}
	// One of another journal, one of the same name that is none, and one that a person has renamed stay.
	theirs := filepath.Join(f.Dir, "2020-01-01T0000Z-daily.rigtally")
	renamed := filepath.Join(f.Dir, "my-own.rigtally")
	text, err := os.ReadFile(filepath.Join(f.Dir, two.Name))
	if err = errors.Join(err, os.WriteFile(theirs, []byte("not ours"), 0o600), os.WriteFile(renamed, text, 0o600)); err != nil {
		t.Fatal(err)
	}
	left := filepath.Join(f.Dir, ".part-1"+Extension)
	if err := os.WriteFile(left, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	for day := 1; day < 12; day++ {
		put(now.AddDate(0, 0, day), Daily)
	}
	all, unreadable, err := f.List()
	names := fmt.Sprint(all, unreadable)
	if err != nil || strings.Contains(names, one.Name) || !strings.Contains(names, "my-own") || !strings.Contains(names, "2020-01-01") || len(unreadable) != 1 {
		t.Errorf("%s, %v", names, err)
	}
	if _, err := os.Stat(left); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("what a killed run left: %v", err)
	}
	// Due is decided by what was written, and by the age of the last of a day.
	state, err := State(t.Context(), conn)
	first, failed := First(t.Context(), conn)
	if err != nil || failed != nil || state == "" {
		t.Fatal(state, err, failed)
	}
	if _, err := store.AnglerNamed(t.Context(), "Ilse"); err != nil {
		t.Fatal(err)
	}
	later, err := State(t.Context(), conn)
	if err != nil || later == state {
		t.Fatalf("the state after a write is %q, as before; %v", later, err)
	}
	for _, c := range []struct {
		hours int
		of    journal.ID
		state string
		want  bool
	}{{30, first, state, false}, {30, first, later, true}, {2, first, later, false}, {30, journal.NewID(), state, true}} {
		due, err := f.Due(now.AddDate(0, 0, 11).Add(time.Duration(c.hours)*time.Hour), c.of, c.state)
		if err != nil || due != c.want {
			t.Errorf("due after %d hours: %v, %v", c.hours, due, err)
		}
	}
}

// Ensure that a disk that is full in the middle leaves nothing behind and is said, and that a name that is taken is left as it is.
func TestNothingHalfWritten(t *testing.T) {
	t.Parallel()
	f := Folder{t.TempDir()}
	full, err := os.OpenFile("/dev/full", os.O_WRONLY, 0)
	if err != nil {
		t.Skip("no /dev/full here")
	}
	defer full.Close()
	_, err = f.place("x", func(to *os.File) error {
		if _, err := to.WriteString("half"); err != nil {
			return err
		}
		_, err := full.WriteString("more than there is room for")
		return err
	})
	if err = f.explain(err); err == nil || !strings.Contains(err.Error(), "is full") || !strings.Contains(err.Error(), "backup_dir") {
		t.Errorf("said %v", err)
	}
	if left, err := os.ReadDir(f.Dir); err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
	// One that is not whole when it is read again gets no name.
	if _, err := f.place("x", func(to *os.File) error { _, err := to.Write(sample(t, 1, "")[:400]); return err }); err == nil {
		t.Error("a cut one was kept")
	}
	taken := filepath.Join(f.Dir, "mine"+Extension)
	if err := os.WriteFile(taken, []byte("mine"), 0o600); err != nil {
		t.Fatal(err)
	}
	url := pgtest.NewDatabase(t)
	store, err := pg.Open(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	store.Close()
	_, err = WriteFile(t.Context(), connect(t, pgtest.AsSuperuser(url)), taken, head(), "")
	if text, _ := os.ReadFile(taken); err == nil || string(text) != "mine" {
		t.Errorf("%v, and it holds %q", err, text)
	}
	if left, err := os.ReadDir(f.Dir); err != nil || len(left) != 1 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

// Ensure that who sees one outfit at a time is refused, and is not given a backup of nothing.
func TestPoliciesHideNothing(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	store, err := pg.Open(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	store.Close()
	conn, err := pgx.Connect(t.Context(), pgtest.AsKeeper(url))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(t.Context())
	f := Folder{t.TempDir()}
	if _, _, err := f.make(t.Context(), conn, head(), nil); err == nil || !strings.Contains(err.Error(), "row-level security") {
		t.Errorf("said %v", err)
	}
}

// Ensure that a journal of the tables of an earlier program is kept as it was, and comes back under those of today.
func TestOfAnEarlierProgram(t *testing.T) {
	t.Parallel()
	s := server{pgtest.NewDatabase(t)}
	ctx := t.Context()
	old := connect(t, s.URL(s.name()))
	_, err := old.Exec(ctx, `DROP SCHEMA public CASCADE; CREATE SCHEMA public; ALTER SCHEMA public OWNER TO rigtally_keeper; GRANT USAGE ON SCHEMA public TO public`)
	if err = errors.Join(err, Prepare(ctx, s.KeeperURL(s.name()), s.ProgramURL(s.name()), 17)); err != nil {
		t.Fatal(err)
	}
	_, err = old.Exec(ctx, `WITH o AS (INSERT INTO outfit (id, name, time_zone) VALUES (gen_random_uuid(), 'Of long ago', 'UTC') RETURNING id),
		a AS (INSERT INTO angler (outfit_id, id, name, kind) SELECT id, gen_random_uuid(), 'Ilse', 'self' FROM o RETURNING outfit_id, id),
		w AS (INSERT INTO water (outfit_id, id, name, kind, time_zone) SELECT id, gen_random_uuid(), 'Alder Brook', 'other', 'UTC' FROM o RETURNING outfit_id, id)
		INSERT INTO session (outfit_id, id, angler_id, water_id, day, time_zone, logged_at, version, fingerprint)
		SELECT a.outfit_id, gen_random_uuid(), a.id, w.id, '2025-05-01', 'UTC', now(), 1, 0 FROM a, w`)
	if err != nil {
		t.Fatal(err)
	}
	before := fingerprints(t, s.URL(s.name()))
	file, w := written(t, s, "")
	if unlike := Unequal(w.End.Tables, before); w.Head.Schema != 17 || len(unlike) > 0 {
		t.Errorf("schema %d, %q", w.Head.Schema, unlike)
	}
	if p, err := restored(t, s, file, "", nil); err != nil || p.End.Sessions() != 1 {
		t.Errorf("%+v, %v", p, err)
	}
}
