package door_test

import (
	"fmt"
	"net/http"
	"net/netip"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"rigtally/journal"
	"rigtally/web/door"
	"rigtally/web/webtest"
)

// An account that there is not costs one hash, as one that there is, and is answered alike.
func TestNobodyLearnsWhoHasAnAccount(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	account := h.guest().joins(h.invite("Orrin", journal.RoleOwner), "orrin", good)
	byPasskey := h.guest().joins(h.invite("Tamsin", journal.RoleGuide), "tamsin", good)
	if _, err := h.superuser().Exec(t.Context(), `UPDATE person SET passphrase = '' WHERE account = $1`, byPasskey); err != nil {
		t.Fatal(err)
	}
	var hashes atomic.Int64
	h.door.OnHash(func() { hashes.Add(1) })
	var answers []string
	for _, tried := range []string{account, "nobody0000", byPasskey, strings.Repeat("x", 500), ""} {
		before := hashes.Load()
		got := h.guest().signsIn(tried, "not the passphrase of anyone")
		if hashes.Load()-before != 1 || got.Status != http.StatusUnauthorized || len(got.Header.Values("Set-Cookie")) > 0 {
			t.Errorf("%q: %d hashes, status %d, %v", tried, hashes.Load()-before, got.Status, got.Header)
		}
		answers = append(answers, strings.ReplaceAll(got.Body, `value="`+tried+`"`, `value=""`))
	}
	for i, a := range answers {
		if a != answers[0] {
			t.Errorf("answer %d differs:\n%s\n%s", i, answers[0], a)
		}
	}
	if got := h.guest().signsIn(byPasskey, ""); got.Status != http.StatusUnauthorized {
		t.Errorf("an empty passphrase of somebody who has none: status %d", got.Status)
	}
}

// A stranger who guesses is kept waiting, and so is everybody new to the account, but not the browser that its owner
// signed in with before.
func TestGuessesWait(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	own, stranger := h.guest(), h.guest()
	account := own.joins(h.invite("Orrin", journal.RoleOwner), "orrin", good)
	own.wants("sign out", own.post("/sign-out"), http.StatusSeeOther)
	refused := 0
	for i := range 12 {
		h.comesFrom(fmt.Sprintf("198.51.100.%d", i)) // each from an address of its own
		if got := stranger.signsIn(account, fmt.Sprintf("a guess that is wrong, %d", i)); got.Status == http.StatusTooManyRequests {
			if refused++; got.Header.Get("Retry-After") == "" || !strings.Contains(got.Body, "Wait ") {
				t.Errorf("refused without saying for how long: %v", got.Header)
			}
		}
	}
	if refused < 6 {
		t.Errorf("%d of 12 guesses were made to wait", refused)
	}
	stranger.wants("the right one, too soon", stranger.signsIn(account, good), http.StatusTooManyRequests)
	own.wants("the browser of before", own.signsIn(account, good), http.StatusSeeOther)
	h.wait(16 * time.Minute)
	stranger.wants("after a quarter of an hour", stranger.signsIn(account, good), http.StatusSeeOther)
}

// One address that tries many accounts waits too, even if one of them is its own.
func TestAnAddressWaits(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	own := h.guest()
	account := own.joins(h.invite("Orrin", journal.RoleOwner), "orrin", good)
	h.comesFrom("2001:db8:1:2::1")
	g := h.guest()
	waits := 0
	for i := range 45 {
		if i%10 == 0 {
			g.client.Jar = h.guest().client.Jar // forgets that it is known
			g.signsIn(account, good)
		}
		h.comesFrom(fmt.Sprintf("2001:db8:1:2::%x", i)) // one household
		if got := g.signsIn(fmt.Sprintf("somebody%04d", i), good); got.Status == http.StatusTooManyRequests {
			waits++
		}
	}
	if waits < 10 {
		t.Errorf("%d of 45 waited", waits)
	}
	h.comesFrom("2001:db8:1:3::1")
	g.wants("a neighbor", g.signsIn("nobody0000", good), http.StatusUnauthorized)
}

// The wait doubles up to a quarter of an hour, many tries at once gain nothing, and names that are made up fill no memory.
func TestAttempts(t *testing.T) {
	t.Parallel()
	now := time.Now()
	a := door.NewAttempts(3, func() time.Time { return now })
	for i, want := range []time.Duration{0, 0, 0, 1, 2, 4, 8, 16, 32, 64, 128, 256, 512, 900, 900} {
		if got := a.Begin("one"); i > 0 && i <= 3 && got > time.Second || i >= 4 && got != 0 {
			t.Errorf("try %d waits %v", i, got)
		}
		if again := a.Begin("one"); i >= 3 && again != want*time.Second {
			t.Errorf("after try %d the wait is %v, want %v", i, again, want*time.Second)
		}
		now = now.Add(want * time.Second)
	}
	a.Forget("one")
	if got := a.Begin("one"); got != 0 {
		t.Errorf("after one that succeeded: %v", got)
	}
	for i := range 30_000 {
		a.Begin(fmt.Sprint(i))
	}
	if a.Len() > 10_000 {
		t.Errorf("%d names are kept", a.Len())
	}
	for text, want := range map[string]string{"2001:db8:1:2:3::4": "2001:db8:1:2::/64", "::ffff:192.0.2.7": "192.0.2.7", "fe80::1%eth0": "fe80::/64"} {
		if got := door.AddressName(netip.MustParseAddr(text)); got != want {
			t.Errorf("%s counts as %s", text, got)
		}
	}
}

// When too many sign in at once the next is told when to come again, and pages are answered as ever.
func TestACrowdAtTheDoor(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	g := h.guest()
	account := g.joins(h.invite("Orrin", journal.RoleOwner), "orrin", good)
	link := h.invite("Tamsin", journal.RoleGuide)
	empty := h.door.Crowd()
	for what, got := range map[string]webtest.Answer{
		"sign in":    h.guest().signsIn(account, good),
		"join":       h.guest().post(link, "word", "tamsin", "passphrase", good),
		"passphrase": g.post("/account/passphrase", "passphrase", "lantern otter viaduct semolina"),
	} {
		if got.Status != http.StatusTooManyRequests || got.Header.Get("Retry-After") == "" {
			t.Errorf("%s: status %d, %v", what, got.Status, got.Header)
		}
	}
	g.wants("a page", g.get("/"), http.StatusOK)
	empty()
	g.wants("the invitation is not used up", h.guest().get(link), http.StatusOK)
	g.wants("sign in", h.guest().signsIn(account, good), http.StatusSeeOther)
}
