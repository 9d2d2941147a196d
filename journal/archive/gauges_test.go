package archive

import (
	"errors"
	"testing"

	"github.com/jackc/pgx/v5/stdlib"
	"github.com/pressly/goose/v3"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal/pg"
	"rigtally/migrations"
)

// Ensure that a water keeps the gauge that an earlier program had noted, also where it waits in a step to be put back, and
// that the way back keeps it.
func TestGaugesOfAnEarlierProgram(t *testing.T) {
	t.Parallel()
	s := server{pgtest.NewDatabase(t)}
	ctx := t.Context()
	old := connect(t, s.URL(s.name()))
	_, err := old.Exec(ctx, `DROP SCHEMA public CASCADE; CREATE SCHEMA public; ALTER SCHEMA public OWNER TO rigtally_keeper; GRANT USAGE ON SCHEMA public TO public`)
	if err = errors.Join(err, Prepare(ctx, s.KeeperURL(s.name()), s.ProgramURL(s.name()), 21)); err != nil {
		t.Fatal(err)
	}
	_, err = old.Exec(ctx, `INSERT INTO outfit (id, name, time_zone) VALUES ('00000000-0000-0000-0000-00000000000a', 'A', 'UTC'), ('00000000-0000-0000-0000-00000000000b', 'B', 'UTC');
		INSERT INTO water (outfit_id, id, name, kind, time_zone, gauge_provider, gauge_site) VALUES
		('00000000-0000-0000-0000-00000000000a', gen_random_uuid(), 'Alder Brook', 'other', 'UTC', ' USGS', '01234567 '),
		('00000000-0000-0000-0000-00000000000b', gen_random_uuid(), 'Beech Run', 'other', 'UTC', 'River watch: north', '7'),
		('00000000-0000-0000-0000-00000000000b', gen_random_uuid(), 'Cedar Creek', 'other', 'UTC', '', '');
		INSERT INTO step (outfit_id, id, role, kind, content) VALUES ('00000000-0000-0000-0000-00000000000a', gen_random_uuid(), 'owner', 'merge',
		'{"gone": [{"table": "beat", "row": {"name": "Upper"}}, {"table": "water", "row": {"name": "Alder Bk", "gauge_provider": "USGS", "gauge_site": "01234567"}}],
		  "moves": [{"table": "water", "column": "gauge_site", "key": "id", "ids": [], "from": "", "to": "01234567"}, {"table": "water", "column": "gauge_provider", "key": "id", "ids": [], "from": "", "to": "USGS"},
			{"table": "alias", "column": "of", "key": "id", "ids": [], "from": "x", "to": "y"}]}')`)
	if err = errors.Join(err, pg.MigrateTo(ctx, s.KeeperURL(s.name()), s.ProgramURL(s.name()), 22)); err != nil {
		t.Fatal(err)
	}
	is := func(query, want string) {
		t.Helper()
		var got string
		if err := old.QueryRow(ctx, query).Scan(&got); err != nil || got != want {
			t.Errorf("%s: %s, %v, want %s", query, got, err, want)
		}
	}
	const link = `[{"number": "01234567", "provider": "usgs"}]`
	is(`SELECT gauges::text FROM water WHERE name = 'Alder Brook'`, link)
	is(`SELECT gauges::text FROM water WHERE name = 'Beech Run'`, `[{"number": "7", "provider": "river watch north"}]`)
	is(`SELECT gauges::text FROM water WHERE name = 'Cedar Creek'`, `[]`)
	is(`SELECT string_agg(provider || ':' || number, ' ' ORDER BY number) FROM gauge_use`, "usgs:01234567 river watch north:7")
	is(`SELECT (content #> '{gone,1,row}')::text FROM step`, `{"name": "Alder Bk", "gauges": `+link+`}`)
	is(`SELECT (content #> '{gone,0,row}')::text FROM step`, `{"name": "Upper"}`)
	is(`SELECT jsonb_path_query_array(content, '$.moves[*].column')::text FROM step`, `["gauges", "of"]`)
	is(`SELECT content #>> '{moves,0,to}' FROM step`, link)
	is(`SELECT content #>> '{moves,0,from}' FROM step`, `[]`)

	db := stdlib.OpenDB(*connect(t, s.KeeperURL(s.name())).Config())
	defer db.Close()
	p, err := goose.NewProvider(goose.DialectPostgres, db, migrations.Files)
	if err == nil {
		_, err = p.DownTo(ctx, 21)
	}
	if err != nil {
		t.Fatal(err)
	}
	is(`SELECT string_agg(name || ' ' || gauge_provider || ':' || gauge_site, ', ' ORDER BY name) FROM water`, "Alder Brook usgs:01234567, Beech Run river watch north:7, Cedar Creek :")
}
