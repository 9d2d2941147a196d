package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"regexp"
	"testing"

	"github.com/jackc/pgx/v5"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/demo"
	"rigtally/journal/pg"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, pg.Migrate)) }

// Ensure that an outfit of many is row by row what the program makes of the same season, and that its counts are those of its events.
func TestManyOutfitsAreAsTheProgramMakesThem(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	url := pgtest.NewDatabase(t)
	store, err := pg.Open(ctx, url)
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	const outfits, stints = 2, 30
	if err := inventOutfits(ctx, store, pgtest.AsSuperuser(url), outfits, stints, func(int) {}); err != nil {
		t.Fatal(err)
	}
	conn, err := pgx.Connect(ctx, pgtest.AsSuperuser(url))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.Background())
	for n, template := range map[int]int{1: 0, 2: 1} {
		one := store.In(nthOutfit(n), journal.Keeper())
		recount, err := one.Recount(ctx, false, nil)
		if err != nil || recount.Stints != stints || recount.Differences > 0 {
			t.Errorf("outfit %d recounted: %+v, %v", n, recount, err)
		}
		id, err := store.AddOutfit(ctx, fmt.Sprintf("By the program %d", n))
		if err != nil {
			t.Fatal(err)
		}
		season := movedSeason(t, outfitSeason(uint64(template+1), stints), n)
		if err := demo.Load(ctx, store.In(id, journal.Keeper()), season); err != nil {
			t.Fatal(err)
		}
		sameRows(t, conn, nthOutfit(n), id)
	}
}

var anyID = regexp.MustCompile(`[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[0-9a-f]{4}-[0-9a-f]{12}`)

// movedSeason is a season under ids of a copy's own, by a way of its own.
func movedSeason(t *testing.T, s demo.Season, copy int) demo.Season {
	t.Helper()
	claims := s.Claims
	text, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	text = anyID.ReplaceAllFunc(text, func(id []byte) []byte {
		return bytes.Join([][]byte{id[:19], fmt.Appendf(nil, "%04x", 0x8000|copy), id[23:]}, nil)
	})
	var moved demo.Season
	if err := json.Unmarshal(text, &moved); err != nil {
		t.Fatal(err)
	}
	moved.Claims = claims
	return moved
}

// sameRows holds the rows of two outfits against each other: all but whose they are, when they were written down, hashes of
// ids, and the owner, whom the copied one has alone.
func sameRows(t *testing.T, conn *pgx.Conn, one, other journal.ID) {
	t.Helper()
	rows, _ := conn.Query(t.Context(), `SELECT relname FROM pg_class c JOIN pg_attribute a ON a.attrelid = c.oid AND a.attname = 'outfit_id'
		WHERE c.relkind = 'r' AND c.relnamespace = 'public'::regnamespace AND relname NOT IN ('device', 'member')`)
	tables, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		t.Fatal(err)
	}
	filled := 0
	for _, table := range append(tables, "outfit") {
		key, timed := "outfit_id", ""
		switch table {
		case "outfit":
			key, timed = "id", "created_at"
		case "session_change":
			timed = "at"
		case "session":
			timed = "fingerprint" // a hash of ids too, asked by imports alone
		}
		var n, differ int
		sql := fmt.Sprintf(`WITH held AS (SELECT %[2]s AS of, to_jsonb(x) - ARRAY['%[2]s', '%[3]s', CASE WHEN '%[1]s' = 'outfit' THEN 'name' ELSE '' END] AS row FROM %[1]s x WHERE %[2]s IN ($1, $2)),
			one AS (SELECT row FROM held WHERE of = $1), other AS (SELECT row FROM held WHERE of = $2)
			SELECT (SELECT count(*) FROM one), (SELECT count(*) FROM ((TABLE one EXCEPT ALL TABLE other) UNION ALL (TABLE other EXCEPT ALL TABLE one)) x)`, table, key, timed)
		if err := conn.QueryRow(t.Context(), sql, one.String(), other.String()).Scan(&n, &differ); err != nil || differ > 0 {
			t.Errorf("%s: %d of %d rows differ, %v", table, differ, n, err)
		}
		if n > 0 {
			filled++
		}
	}
	if filled < 12 {
		t.Errorf("only %d tables hold anything", filled)
	}
}
