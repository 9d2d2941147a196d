package pg_test

import (
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"
)

// Ensure that outfits can be spread over servers by outfit_id: every primary key, foreign key and unique index begins
// with it, on both of its sides, but for what is named here; of the table outfit it is the id. What the columns mean: PostgreSQL's manual, pg_index and pg_constraint.
func TestEveryKeyBeginsWithTheOutfit(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	exempt := map[string]string{
		"goose_db_version": "numbers of migrations, the same for every outfit",
		"person":           "belongs to any number of outfits; lies on every server",
		"passkey":          "a credential of a person",
		"device":           "a person's sign-in, found by its secret before the outfit is known",
		"withdrawn_device": "the hash of a secret that is no person's any more",
		"gauge_request":    "what agencies were asked for all outfits; lies with the common readings, under the outfit zero",

		"member member_person_id_fkey":         "refers to a person, who lies on every server",
		"invitation invitation_person_id_fkey": "refers to a person, who lies on every server",
	}
	used := map[string]bool{}
	// Of an index its first column, of a foreign key the first on each side; an expression has no column.
	rows, _ := connect(t, b.url).Query(t.Context(), `WITH key AS (
			SELECT indrelid AS tab, indexrelid::regclass::text AS named, 'index' AS kind, indrelid AS other, indkey[0] AS here, NULL::smallint AS there
			FROM pg_index WHERE indisunique OR indisprimary
			UNION ALL SELECT conrelid, conname, 'foreign key', confrelid, conkey[1], confkey[1] FROM pg_constraint WHERE contype = 'f')
		SELECT c.relname, key.named, key.kind, o.relname, coalesce(h.attname, ''), coalesce(x.attname, '')
		FROM key JOIN pg_class c ON c.oid = key.tab AND c.relnamespace = 'public'::regnamespace JOIN pg_class o ON o.oid = key.other
		LEFT JOIN pg_attribute h ON h.attrelid = key.tab AND h.attnum = key.here AND key.here > 0
		LEFT JOIN pg_attribute x ON x.attrelid = key.other AND x.attnum = key.there ORDER BY 1, 2`)
	var table, named, kind, other, here, there string
	keys := 0
	if _, err := pgx.ForEachRow(rows, []any{&table, &named, &kind, &other, &here, &there}, func() error {
		keys++
		for _, name := range []string{table, table + " " + named} {
			if exempt[name] != "" {
				if used[name] = true; kind == "foreign key" && exempt[table] != "" && exempt[other] == "" {
					t.Errorf("%s of %s refers to %s, which lies with its outfit, from a table that lies on every server", named, table, other)
				}
				return nil
			}
		}
		is := func(table, column string) bool { return column == "outfit_id" || table == "outfit" && column == "id" }
		if !is(table, here) || kind == "foreign key" && !is(other, there) {
			t.Errorf("the %s %s of %s begins with %s%s", kind, named, table, here, strings.TrimSuffix(" and "+there, " and "))
		}
		return nil
	}); err != nil || keys < 80 {
		t.Fatalf("%d keys, %v", keys, err)
	}
	for name, why := range exempt {
		if !used[name] {
			t.Errorf("%s is exempt (%s), and has no key that is", name, why)
		}
	}
}

// Ensure that an outfit's rows are found by an index: every table of outfits has one that begins with outfit_id, and so has
// every foreign key by which rows go with others.
func TestEveryTableIsFoundByItsOutfit(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	rows, _ := connect(t, b.url).Query(t.Context(), `SELECT c.relname, f.conname, EXISTS (SELECT FROM pg_index i WHERE i.indrelid = c.oid AND i.indpred IS NULL
				AND (i.indkey::smallint[])[0:1] = coalesce(f.conkey[1:2], ARRAY[a.attnum])::smallint[])
			OR f.conkey IS NULL AND EXISTS (SELECT FROM pg_index i WHERE i.indrelid = c.oid AND i.indpred IS NULL AND i.indkey[0] = a.attnum)
		FROM pg_class c JOIN pg_attribute a ON a.attrelid = c.oid AND a.attname = 'outfit_id'
		LEFT JOIN LATERAL (SELECT conname, conkey FROM pg_constraint WHERE conrelid = c.oid AND contype = 'f' AND confdeltype = 'c' AND cardinality(conkey) > 1
			UNION ALL SELECT NULL, NULL) f ON true
		WHERE c.relkind = 'r' AND c.relnamespace = 'public'::regnamespace AND c.relname <> 'device'`)
	var table string
	var key *string
	var served bool
	checked := 0
	if _, err := pgx.ForEachRow(rows, []any{&table, &key, &served}, func() error {
		if checked++; !served && key == nil {
			t.Errorf("no index of %s begins with outfit_id", table)
		} else if !served {
			t.Errorf("no index of %s serves its rows' going with others by %s", table, *key)
		}
		return nil
	}); err != nil || checked < 30 {
		t.Fatalf("%d checked, %v", checked, err)
	}
}
