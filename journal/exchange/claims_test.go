package exchange_test

import (
	"strings"
	"testing"

	"rigtally/journal"
	"rigtally/journal/exchange"
	"rigtally/journal/journaltest"
	"rigtally/journal/pg"
)

func exported(t *testing.T, store *pg.Store) string {
	t.Helper()
	var b strings.Builder
	if err := exchange.WriteBackup(t.Context(), store, &b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func board(t *testing.T, store *pg.Store) []journal.Claim {
	t.Helper()
	list, err := store.Claims(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return list
}

// withClaims is a journal whose board was used: one claim retired, one of the
// user's own.
func withClaims(t *testing.T) *pg.Store {
	t.Helper()
	store := journaltest.Store(t)
	start := board(t, store)
	if err := store.RetireClaim(t.Context(), start[1].ID, 0); err != nil {
		t.Fatal(err)
	}
	id := journal.NewID()
	_, err := store.SaveClaim(t.Context(), journal.Claim{ID: id, Words: `Loops & "rings" tangle less <here>`, Outcome: "tangles", Factor: "junction", Direction: journal.Less,
		Level: []string{"perfection loop", "tippet ring"}, Versus: []string{"blood"}, Given: []string{"angler", "tag-length:linear"}})
	if err != nil {
		t.Fatal(err)
	}
	return store
}

func readBack(t *testing.T, store *pg.Store, text string) exchange.Result {
	t.Helper()
	r, err := exchange.ReadBackup(t.Context(), store, strings.NewReader(text), nil)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// sayRead is what reading a backup says: its sentences, or its error.
func sayRead(t *testing.T, store *pg.Store, text string) string {
	t.Helper()
	r, err := exchange.ReadBackup(t.Context(), store, strings.NewReader(text), nil)
	if err != nil {
		return err.Error()
	}
	return strings.Join(r.Sentences(), "\n")
}

// Ensure that claims survive a backup to the byte, that reading one twice adds
// nothing, and that the board is not started over.
func TestBackupKeepsClaims(t *testing.T) {
	t.Parallel()
	text := exported(t, withClaims(t))
	n := len(journal.StartingClaims()) + 1
	if strings.Count(text, `{"claim":`) != n {
		t.Fatalf("the backup holds\n%s", text)
	}
	store := journaltest.Store(t)
	if r := readBack(t, store, text); len(r.NewClaims) != n {
		t.Errorf("%d claims are new, want %d", len(r.NewClaims), n)
	}
	if again := exported(t, store); again != text {
		t.Errorf("exported again:\n%s\nwant:\n%s", again, text)
	}
	if r := readBack(t, store, text); len(r.NewClaims) != 0 {
		t.Errorf("read twice, %d claims are new", len(r.NewClaims))
	}
	if list := board(t, store); len(list) != n {
		t.Errorf("the board has %d claims, want %d", len(list), n)
	}
}

// Ensure that a backup from before there were claims comes in, and leaves the
// board to start at its first use.
func TestBackupWithoutClaims(t *testing.T) {
	t.Parallel()
	text := exported(t, journaltest.Store(t))
	if strings.Contains(text, "claim") {
		t.Fatalf("a journal that never used its claims has them in its backup:\n%s", text)
	}
	store := journaltest.Store(t)
	readBack(t, store, text)
	if list := board(t, store); len(list) != len(journal.StartingClaims()) {
		t.Errorf("the board starts with %d claims", len(list))
	}
}

// Ensure that a change to a claim of the starting board meets an untouched one
// without a quarrel, in both ways, and that two changes are a conflict.
func TestBackupClaimsMeetOthers(t *testing.T) {
	t.Parallel()
	changed := withClaims(t)
	text := exported(t, changed)
	untouched := journaltest.Store(t)
	board(t, untouched)
	plain := exported(t, untouched)

	readBack(t, changed, plain)
	if exported(t, changed) != text {
		t.Error("an untouched board undid a change")
	}
	if r := readBack(t, untouched, text); len(r.NewClaims) != 1 {
		t.Errorf("new are %q", r.NewClaims)
	}
	if got := exported(t, untouched); got != text {
		t.Errorf("the change did not come in:\n%s", got)
	}

	sealed := text
	text, plain = journaltest.Unsealed(text), journaltest.Unsealed(plain)
	for name, tt := range map[string]struct{ text, want string }{
		"an own claim changed":  {strings.Replace(text, `"direction":"less","level":["tippet ring"`, `"direction":"more","level":["tippet ring"`, 1), "Left as the journal has them:\n  the claim \"Loops & \\\"rings"},
		"two in the same words": {strings.Replace(plain, `"Longer tags twist more","outcome":"twists"`, `"LOOPS & \"rings\" tangle less <here>","outcome":"tangles"`, 1), "which asks something else in the backup"},
		"no such outcome":       {strings.Replace(text, `"outcome":"foul-hook"`, `"outcome":"luck"`, 1), `outcome "luck" is not known`},
		"no such direction":     {strings.Replace(text, `"direction":"less"`, `"direction":"up"`, 1), "direction"},
		"an unknown detail":     {strings.Replace(text, `{"claim":{`, `{"claim":{"colour":"red",`, 1), `holds "colour"`},
		"a claim twice":         {strings.Replace(text, `"words":"Shorter tags tangle less"`, `"words":"Longer tags twist more"`, 1), "claim"},
	} {
		if tt.text == text || tt.text == plain {
			t.Errorf("%s: the backup was not altered", name)
		}
		if said := sayRead(t, changed, tt.text); !strings.Contains(said, tt.want) {
			t.Errorf("%s: got %s, want something with %q", name, said, tt.want)
		}
		if exported(t, changed) != sealed {
			t.Errorf("%s: the journal was changed", name)
		}
	}
}
