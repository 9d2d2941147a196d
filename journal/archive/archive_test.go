package archive_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"fmt"
	"io"
	"net/url"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/archive"
	"rigtally/journal/demo"
	"rigtally/journal/gauge"
	"rigtally/journal/journaltest"
	"rigtally/journal/pg"
	"rigtally/migrations"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, pg.Migrate)) }

// full is a database with two outfits in which about everything has happened.
func full(t *testing.T) string {
	t.Helper()
	address := pgtest.NewDatabase(t)
	store := openStore(t, address)
	must(t, fill(t.Context(), store, 1))
	other := got(store.AddOutfit(t.Context(), "The other outfit"))(t)
	must(t, fill(t.Context(), store.In(other, journal.Keeper()), 2))
	return address
}

func fill(ctx context.Context, store *pg.Store, seed uint64) error {
	season := demo.Generate(seed, 12)
	season.Sessions[0].Notes = "a tab\there, a line\nthere, \\N and \\. and ünïcödé \u2028"
	if _, err := demo.Fill(ctx, store, season); err != nil {
		return err
	}
	one := season.Sessions[1].ID
	stored, err := store.SessionByID(ctx, one)
	if err != nil {
		return err
	}
	if err := store.DeleteSession(ctx, one, stored.Version); err != nil {
		return err
	}
	if _, err := store.Invite(ctx, journal.Invitation{Role: journal.RoleGuide, Name: "Invented guide"}); err != nil {
		return err
	}
	if err := journaltest.Gauge(ctx, store); err != nil {
		return err
	}
	return store.SetUsualRig(ctx, season.Rigs[0].ID) // refers back from the outfit
}

// empty is a database without tables.
func empty(t *testing.T) string {
	t.Helper()
	address := pgtest.NewDatabase(t)
	run(t, pgtest.AsSuperuser(address), `DROP SCHEMA public CASCADE; CREATE SCHEMA public; ALTER SCHEMA public OWNER TO rigtally_keeper; GRANT USAGE ON SCHEMA public TO public`)
	return address
}

func prepared(t *testing.T) string {
	t.Helper()
	address := empty(t)
	must(t, archive.Prepare(t.Context(), pgtest.AsKeeper(address), address, got(migrations.Latest())(t)))
	return address
}

func openStore(t *testing.T, address string) *pg.Store {
	t.Helper()
	store := got(pg.Open(t.Context(), address))(t)
	t.Cleanup(store.Close)
	return store
}

func connect(t *testing.T, address string) *pgx.Conn {
	t.Helper()
	conn := got(pgx.Connect(t.Context(), address))(t)
	t.Cleanup(func() { _ = conn.Close(context.Background()) })
	return conn
}

func run(t *testing.T, address, sql string) {
	t.Helper()
	conn := connect(t, address)
	_, err := conn.Exec(t.Context(), sql)
	must(t, err)
	must(t, conn.Close(t.Context()))
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func got[T any](v T, err error) func(*testing.T) T {
	return func(t *testing.T) T {
		t.Helper()
		must(t, err)
		return v
	}
}

func refused(t *testing.T, err error, words ...string) {
	t.Helper()
	for _, w := range words {
		if err == nil || !strings.Contains(err.Error(), w) {
			t.Errorf("got the error %v, want one that says %q", err, w)
		}
	}
}

func sums(t *testing.T, address string) (all []archive.Sum) {
	t.Helper()
	must(t, archive.View(t.Context(), connect(t, pgtest.AsSuperuser(address)), func(tx pgx.Tx) (err error) {
		all, err = archive.Fingerprints(t.Context(), tx)
		return err
	}))
	return all
}

func dumped(t *testing.T, address string) map[string][]byte {
	t.Helper()
	files := map[string][]byte{}
	conn := connect(t, pgtest.AsSuperuser(address))
	must(t, archive.View(t.Context(), conn, func(tx pgx.Tx) error {
		for _, table := range got(archive.Tables(t.Context(), conn))(t) {
			var to bytes.Buffer
			rows, err := archive.Dump(t.Context(), tx, table, &to)
			if lines := bytes.Count(to.Bytes(), []byte("\n")); err != nil || int64(lines) != rows {
				return fmt.Errorf("%s: %d lines, %d rows: %w", table.Name, lines, rows, err)
			}
			files[table.Name] = to.Bytes()
		}
		return nil
	}))
	return files
}

func load(t *testing.T, address string, files map[string][]byte) error {
	t.Helper()
	return archive.Fill(t.Context(), connect(t, address), func(tx pgx.Tx, tables []archive.Table) error {
		for _, table := range tables {
			if _, err := archive.Load(t.Context(), tx, table, bytes.NewReader(files[table.Name])); err != nil {
				return err
			}
		}
		return nil
	})
}

// Ensure what is said of dumps and copies, of one journal that takes seconds to invent.
func TestOfAFullJournal(t *testing.T) {
	t.Parallel()
	address := full(t)
	t.Run("copy", func(t *testing.T) { copies(t, address) })
	t.Run("settings", func(t *testing.T) { dumpsWhateverTheSettings(t, address) })
	t.Run("broken", func(t *testing.T) { refusesBroken(t, dumped(t, address)) })
	t.Run("hidden", func(t *testing.T) { hidesNothing(t, address) })
	t.Run("unequal", func(t *testing.T) { seesDifferences(t, address) })
}

// copies ensures that a copy is equal in every table and in what holds the tables together, and can be worked with.
func copies(t *testing.T, from string) {
	to := prepared(t)
	a, b := connect(t, pgtest.AsSuperuser(from)), connect(t, pgtest.AsSuperuser(to))
	seen := map[string]int64{}
	read := got(archive.Copy(t.Context(), a, b, func(table string, rows int64) { seen[table] = rows }))(t)
	before, after := sums(t, from), sums(t, to)
	for _, other := range [][]archive.Sum{read, after} {
		if different := archive.Unequal(before, other); len(different) > 0 {
			t.Error(different)
		}
	}
	filled := 0
	for _, s := range before {
		if s.Rows > 0 {
			filled++
		}
		if s.Rows != seen[s.Table] {
			t.Errorf("%s has %d rows, and %d were told", s.Table, s.Rows, seen[s.Table])
		}
	}
	if filled < 18 {
		t.Errorf("only %d tables of the journal that was copied have rows", filled)
	}
	if d := archive.Differences(got(archive.Catalogue(t.Context(), a))(t), got(archive.Catalogue(t.Context(), b))(t)); len(d) > 0 {
		t.Error(d)
	}
	must(t, archive.Compare(t.Context(), a, b, read))
	// One value changed on its way, and what no longer holds the tables together.
	for _, c := range []struct{ broken, says, mended string }{
		{`UPDATE rig SET notes = notes || 'x' WHERE id = (SELECT id FROM rig LIMIT 1)`, "the table rig holds something else", `UPDATE rig SET notes = left(notes, -1) WHERE right(notes, 1) = 'x'`},
		{`ALTER INDEX session_by_angler RENAME TO other`, "session_by_angler", `ALTER INDEX other RENAME TO session_by_angler`},
		{`ALTER TABLE stint NO FORCE ROW LEVEL SECURITY`, "row security", `ALTER TABLE stint FORCE ROW LEVEL SECURITY`},
	} {
		run(t, pgtest.AsSuperuser(to), "SET session_replication_role = replica; "+c.broken)
		refused(t, archive.Compare(t.Context(), a, b, read), c.says)
		run(t, pgtest.AsSuperuser(to), "SET session_replication_role = replica; "+c.mended)
	}
	store := openStore(t, to)
	steps := got(store.Steps(t.Context(), 1))(t)
	got(store.Undo(t.Context(), steps[0].ID))(t)
	if got, want := journaltest.Contents(t, store), journaltest.Contents(t, openStore(t, from)); len(got.Sessions) != len(want.Sessions)+1 {
		t.Errorf("%d sessions after the deletion was undone, want one more than %d", len(got.Sessions), len(want.Sessions))
	}
}

// dumpsWhateverTheSettings ensures that sums and files depend on rows alone, not on how a server is set.
func dumpsWhateverTheSettings(t *testing.T, address string) {
	before, files := sums(t, address), dumped(t, address)
	u := got(url.Parse(pgtest.AsSuperuser(address)))(t)
	name := pgx.Identifier{strings.Trim(u.Path, "/")}.Sanitize()
	for _, setting := range []string{"TimeZone = 'Asia/Kathmandu'", "DateStyle = 'German'", "extra_float_digits = -3", "bytea_output = 'escape'", "IntervalStyle = 'iso_8601'", "client_encoding = 'LATIN1'"} {
		run(t, u.String(), "ALTER DATABASE "+name+" SET "+setting)
	}
	if d := archive.Unequal(before, sums(t, address)); len(d) > 0 {
		t.Error(d)
	}
	for _, s := range before {
		if s.Hash != sha256.Sum256(files[s.Table]) {
			t.Errorf("%s: the sum is not that of the file", s.Table)
		}
	}
	lines := strings.Split(strings.TrimSuffix(string(files["angler"]), "\n"), "\n")
	if !slices.IsSorted(lines) {
		t.Error("the rows are not in the order of their key")
	}
}

// seesDifferences ensures that one changed row, one too many and one too few are seen.
func seesDifferences(t *testing.T, address string) {
	before := sums(t, address)
	for _, c := range []struct{ sql, says string }{
		{`UPDATE stint SET seconds = seconds + 1 WHERE id = (SELECT min(id::text)::uuid FROM stint)`, "the table stint holds something else"},
		{`DELETE FROM session_change WHERE session_id = (SELECT session_id FROM session_change LIMIT 1)`, "the table session_change has"},
	} {
		run(t, pgtest.AsSuperuser(address), c.sql)
		after := sums(t, address)
		if d := archive.Unequal(before, after); len(d) != 1 || !strings.Contains(d[0], c.says) {
			t.Errorf("found %q, want %q", d, c.says)
		}
		before = after
	}
}

// refusesBroken ensures that what no journal could hold is refused, and nothing of it kept.
func refusesBroken(t *testing.T, files map[string][]byte) {
	to := prepared(t)
	line := func(table string) []byte { return files[table][:bytes.IndexByte(files[table], '\n')+1] }
	for _, c := range []struct {
		name, table string
		content     []byte
		says        string
	}{
		{"a fly that was fished is missing", "rig_position", files["rig_position"][len(line("rig_position")):], "rig_id_position_fkey"},
		{"an angler twice", "angler", slices.Concat(line("angler"), files["angler"]), "angler_pkey"},
		{"cut in a row", "stint", files["stint"][:len(files["stint"])-40], "stint"},
		{"no waters", "water", nil, "water"},
		{"a letter in a number", "stint", bytes.Replace(files["stint"], []byte("\t"), []byte("\tx"), 1), "stint"},
	} {
		broken := map[string][]byte{}
		for name, content := range files {
			broken[name] = content
		}
		broken[c.table] = c.content
		refused(t, load(t, pgtest.AsSuperuser(to), broken), c.says)
	}
	for _, s := range sums(t, to) {
		if s.Rows > 0 {
			t.Errorf("%d rows are in %s after a load that was refused", s.Rows, s.Table)
		}
	}
	must(t, load(t, pgtest.AsKeeper(to), files)) // who owns the tables is enough
	for name, content := range dumped(t, to) {
		if !bytes.Equal(content, files[name]) {
			t.Errorf("%s is not what was loaded", name)
		}
	}
	refused(t, load(t, pgtest.AsKeeper(to), files), "is not empty")
	refused(t, archive.Prepare(t.Context(), pgtest.AsKeeper(to), to, 1), "is not empty")
}

// hidesNothing ensures that a reader from whom policies would hide rows is told, and doesn't take less for all.
func hidesNothing(t *testing.T, address string) {
	conn := connect(t, pgtest.AsKeeper(address))
	tables := got(archive.Tables(t.Context(), conn))(t)
	refused(t, archive.View(t.Context(), conn, func(tx pgx.Tx) error {
		_, err := archive.Dump(t.Context(), tx, tables[0], io.Discard)
		return err
	}), "BYPASSRLS")
}

// Ensure that the tables are all but the migrations' own, each after what it refers to.
func TestTables(t *testing.T) {
	t.Parallel()
	conn := connect(t, pgtest.AsSuperuser(pgtest.NewDatabase(t)))
	tables := got(archive.Tables(t.Context(), conn))(t)
	place := map[string]int{}
	for i, table := range tables {
		place[table.Name] = i
	}
	var all int
	must(t, conn.QueryRow(t.Context(), `SELECT count(*) FROM pg_class WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace AND relname <> 'goose_db_version'`).Scan(&all))
	if len(tables) != all {
		t.Errorf("%d tables, want %d", len(tables), all)
	}
	for _, order := range [][]string{{"outfit", "angler", "session", "stint", "stint_position", "tag_spell"}, {"outfit", "rig", "rig_position", "stint"}, {"person", "member"}} {
		if !slices.IsSortedFunc(order, func(a, b string) int { return place[a] - place[b] }) {
			t.Errorf("the tables %q are not in this order", order)
		}
	}
}

// Ensure that what is not the journal's is named.
func TestForeign(t *testing.T) {
	t.Parallel()
	address := pgtest.AsSuperuser(pgtest.NewDatabase(t))
	conn := connect(t, address)
	if found := got(archive.Foreign(t.Context(), conn))(t); len(found) > 0 {
		t.Errorf("a journal as it is made holds %q", found)
	}
	run(t, address, `CREATE TABLE mine (id serial PRIMARY KEY); CREATE VIEW public.seen AS SELECT 1; CREATE SCHEMA "my own"; CREATE TABLE "my own".angler (id int);
		CREATE FUNCTION twice(int) RETURNS int LANGUAGE sql RETURN $1 * 2; CREATE TYPE mood AS ENUM ('good'); SELECT lo_create(4711)`)
	want := []string{"function twice", "large object 4711", "schema my own", "table mine", "table my own.angler", "type mood", "view seen"}
	if found := got(archive.Foreign(t.Context(), conn))(t); !slices.Equal(found, want) {
		t.Errorf("found %q, want %q", found, want)
	}
	if tables := got(archive.Tables(t.Context(), conn))(t); slices.ContainsFunc(tables, func(t archive.Table) bool { return t.Name == "mine" }) {
		t.Error("another's table is taken for the journal's")
	}
}

// Ensure that a journal of an earlier program can be copied as it is, and goes on from there.
func TestPrepareEarlier(t *testing.T) {
	t.Parallel()
	for _, version := range []int64{1, 16} {
		from, address := empty(t), empty(t)
		for _, one := range []string{from, address} {
			must(t, archive.Prepare(t.Context(), pgtest.AsKeeper(one), one, version))
		}
		run(t, pgtest.AsSuperuser(from), `INSERT INTO outfit (id, name) VALUES (gen_random_uuid(), 'First'); INSERT INTO angler (outfit_id, id, name, kind) SELECT id, gen_random_uuid(), 'J. Felt', 'guide' FROM outfit`)
		a, b := connect(t, pgtest.AsSuperuser(from)), connect(t, pgtest.AsSuperuser(address))
		must(t, archive.Compare(t.Context(), a, b, got(archive.Copy(t.Context(), a, b, func(string, int64) {}))(t)))
		if is := got(archive.Version(t.Context(), connect(t, pgtest.AsSuperuser(address))))(t); is != version {
			t.Errorf("the tables are of version %d, want %d", is, version)
		}
		must(t, pg.Migrate(t.Context(), pgtest.AsKeeper(address), address))
	}
	address := empty(t)
	if is := got(archive.Version(t.Context(), connect(t, pgtest.AsSuperuser(address))))(t); is != 0 {
		t.Errorf("no tables are of version %d", is)
	}
	refused(t, archive.Prepare(t.Context(), pgtest.AsKeeper(address), address, 9999), "newer rigtally")
}

// Ensure that a water's gauge as older programs kept it becomes a link, in what steps keep to take back too.
func TestGaugesOfOlderTables(t *testing.T) {
	t.Parallel()
	address := empty(t)
	must(t, archive.Prepare(t.Context(), pgtest.AsKeeper(address), address, 21))
	run(t, pgtest.AsSuperuser(address), `INSERT INTO outfit (id, name, time_zone) VALUES ('01890a5d-ac96-774b-bcce-b302099a8057', 'Alder', 'UTC'), ('01890a5d-ac96-774b-bcce-b302099a8058', 'Other', 'UTC');
		INSERT INTO water (outfit_id, id, name, kind, time_zone, gauge_provider, gauge_site) SELECT id, id, 'Alder Brook', 'other', 'UTC', ' USGS', '01234567 ' FROM outfit;
		INSERT INTO water (outfit_id, id, name, kind, time_zone) SELECT id, gen_random_uuid(), 'Hob''s Mere', 'lake', 'UTC' FROM outfit;
		INSERT INTO step (outfit_id, id, role, kind, what, content) SELECT id, id, 'owner', 'merge', 'Merged', '{"gone": [{"table": "beat", "row": {"id": 1}}, {"table": "water", "title": "x",
			"row": {"id": "x", "gauge_provider": "USGS", "gauge_site": "7"}}], "moves": [{"table": "alias", "column": "of", "from": "a", "to": "b"},
			{"table": "water", "column": "gauge_site", "key": "id", "ids": ["x"], "from": "", "to": "7"}, {"table": "water", "column": "gauge_provider", "key": "id", "ids": ["x"], "from": "", "to": "USGS"}]}' FROM outfit`)
	must(t, pg.Migrate(t.Context(), pgtest.AsKeeper(address), address))
	store := openStore(t, address)
	site := gauge.NewSite(gauge.USGS, "01234567")
	for _, outfit := range got(store.Outfits(t.Context()))(t) {
		waters := got(store.In(outfit.ID, journal.Keeper()).Waters(t.Context()))(t)
		if len(waters) != 2 || len(waters[0].Gauges) != 1 || waters[0].Gauges[0].Site != site || waters[1].Gauges != nil {
			t.Errorf("%s has %+v", outfit.Name, waters)
		}
	}
	if used := got(store.GaugesUsed(t.Context()))(t); !slices.Equal(used, []gauge.Site{site}) {
		t.Errorf("in use are %v", used)
	}
	var kept string
	must(t, connect(t, pgtest.AsSuperuser(address)).QueryRow(t.Context(), `SELECT DISTINCT content::text FROM step`).Scan(&kept))
	want := `{"gone": [{"row": {"id": 1}, "table": "beat"}, {"row": {"id": "x", "gauges": [{"number": "7", "provider": "usgs"}]}, "table": "water", "title": "x"}], ` +
		`"moves": [{"to": "b", "from": "a", "table": "alias", "column": "of"}, {"to": "[{\"number\": \"7\", \"provider\": \"usgs\"}]", "ids": ["x"], "key": "id", "from": "[]", "table": "water", "column": "gauges"}]}`
	if kept != want {
		t.Errorf("steps keep %s\nwant %s", kept, want)
	}
}
