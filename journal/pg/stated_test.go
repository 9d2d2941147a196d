package pg_test

import (
	"context"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/journaltest"
	"rigtally/journal/pg"
	"rigtally/migrations"
)

// A claim was stated when it began to ask what it asks: new words leave that as it was, another direction does not.
func TestWhenAClaimWasStated(t *testing.T) {
	t.Parallel()
	s := journaltest.Store(t)
	c := ownClaim(t)
	c.StatedAt = new(time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC))
	c = saveClaim(t, s, c)
	if c.StatedAt.Month() != time.March {
		t.Fatalf("stated %v", c.StatedAt)
	}
	c.Words, c.StatedAt = "Loops are trouble", nil
	if c = saveClaim(t, s, c); c.StatedAt == nil || c.StatedAt.Month() != time.March {
		t.Errorf("in other words: stated %v", c.StatedAt)
	}
	c.Direction = journal.Less
	if c = saveClaim(t, s, c); time.Since(*c.StatedAt) > time.Hour {
		t.Errorf("turned round: stated %v", c.StatedAt)
	}
	start := claims(t, s)[0]
	if start.StatedAt != nil {
		t.Errorf("a claim of the starting board was stated %v", start.StatedAt)
	}
	start.Direction = journal.Less
	if start = saveClaim(t, s, start); start.StatedAt == nil {
		t.Error("a starting claim turned round was never stated")
	}
}

// A claim of the starting board as it was kept before its givens went is renewed, one that was edited is not.
func TestStartingClaimsAreRenewed(t *testing.T) {
	t.Parallel()
	former := journal.StartingClaims()[3]
	former.Given = []string{"angler", "junction", "tippet"}
	former.Normalize()
	edited := former
	edited.Given = []string{"angler"}
	former.Renew()
	edited.Renew()
	if former.Given != nil || !former.Equal(journal.StartingClaims()[3]) || edited.Given == nil {
		t.Errorf("renewed %v, edited %v", former.Given, edited.Given)
	}
	none := journal.StartingClaims()[3]
	none.Given = []string{"None"}
	none.Normalize()
	if err := none.Validate(); err != nil || none.Given[0] != journal.NoGiven {
		t.Errorf("%v: %v", none.Given, err)
	}
	none.Given = []string{"none", "angler"}
	if err := none.Validate(); !journal.IsInvalid(err) {
		t.Errorf("none and the angler: %v", err)
	}
}

// The migration empties the givens of starting claims that are as they were, and leaves those edited alone.
func TestStartingClaimsMigrate(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	s, err := pg.Open(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	givens := [][]string{{"angler", "water", "bulk"}, {"angler"}}
	for i, c := range claims(t, s)[:2] {
		c.Given = givens[i]
		saveClaim(t, s, c)
	}
	text, err := migrations.Files.ReadFile("00015_claims_stated.sql")
	if err != nil {
		t.Fatal(err)
	}
	_, update, _ := strings.Cut(string(text), "UPDATE claim")
	update, _, _ = strings.Cut(update, ";")
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.Background())
	if _, err := conn.Exec(t.Context(), "UPDATE claim"+update); err != nil {
		t.Fatal(err)
	}
	if list := claims(t, s); list[0].Given != nil || !slices.Equal(list[1].Given, givens[1]) {
		t.Errorf("left with %v and %v", list[0].Given, list[1].Given)
	}
}
