package door_test

import (
	"net/http"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/web/door"
	"rigtally/web/webtest"
)

// atOnce does something several times at once, and counts how often it succeeded.
func atOnce(times int, do func(i int) bool) (succeeded int64) {
	var all sync.WaitGroup
	var n atomic.Int64
	for i := range times {
		all.Go(func() {
			if do(i) {
				n.Add(1)
			}
		})
	}
	all.Wait()
	return n.Load()
}

// Of many who send one invitation's form at the same time one joins, and one key opens once, however many use it.
func TestOneOfManyAtOnce(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	link := h.invite("Tamsin", journal.RoleGuide)
	guests := make([]*guest, 8)
	for i := range guests {
		guests[i] = h.guest()
	}
	if joined := atOnce(len(guests), func(i int) bool {
		return guests[i].post(link, "word", "tamsin", "passphrase", good).Status == http.StatusSeeOther
	}); joined != 1 {
		t.Errorf("%d joined", joined)
	}
	if m := webtest.Got(h.store.Members(t.Context()))(t); len(m) != 1 {
		t.Errorf("%d members", len(m))
	}
	store := webtest.Got(pg.Open(t.Context(), pgtest.NewDatabase(t)))(t)
	t.Cleanup(store.Close)
	ring := webtest.Got(door.NewRing(t.TempDir()))(t)
	ts := alone(t, store, ring)
	path := webtest.Got(ring.NewKey())(t)
	if opened := atOnce(16, func(int) bool {
		res, err := browser(t).Get(ts.URL + path)
		if err == nil {
			res.Body.Close()
		}
		return err == nil && res.StatusCode == http.StatusOK
	}); opened != 1 {
		t.Errorf("the key opened %d times", opened)
	}
}

// Of a person's passkeys one stays, also when all are removed at the same time.
func TestOnePasskeyStays(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	d, ctx := h.store.Door(), t.Context()
	secret := webtest.Got(h.store.Invite(ctx, journal.Invitation{Name: "Tamsin", Role: journal.RoleOwner}))(t)
	person := journal.NewID()
	key := func(i int) journal.Passkey {
		return journal.Passkey{ID: []byte{byte(i), 1}, Name: "a phone", Credential: []byte("{}"), Since: time.Now()}
	}
	first := key(0)
	webtest.Got(0, d.Join(ctx, journal.HashSecret(secret), time.Now(), journal.Newcomer{Account: journal.Account{ID: person, Name: "tamsin0001"}, Passkey: &first}))(t)
	for i := 1; i < 6; i++ {
		webtest.Got(0, d.AddPasskey(ctx, person, key(i)))(t)
	}
	if removed := atOnce(6, func(i int) bool { return d.RemovePasskey(ctx, person, key(i).ID) == nil }); removed != 5 {
		t.Errorf("%d of 6 were removed", removed)
	}
	if left := webtest.Got(d.Passkeys(ctx, person))(t); len(left) != 1 {
		t.Errorf("%d are left", len(left))
	}
	if err := d.AddPasskey(ctx, journal.NewID(), key(9)); err == nil {
		t.Error("a passkey of nobody is kept")
	}
}

func BenchmarkHash(b *testing.B) {
	for b.Loop() {
		_, _ = door.Check("password", "$argon2id$v=19$m=19456,t=2,p=1$c29tZXNhbHRzb21lc2FsdA$nf65EOgLrQMR/uIPnA4rEsF5h7TKyQwu9U1bMCHGi/4")
	}
}
