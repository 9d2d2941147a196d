package main

import (
	"context"
	"regexp"
	"strings"
	"testing"
	"time"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/pg"
)

// The owner's sign-in is made at the machine, and made anew when it is lost: the account stays, devices are signed out.
func TestPeopleRecover(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	const good = "gravel kettle borrowed moonlight"
	got := dialogueIn(t, url, []string{"too short", "passwordpassword", good}, "people", "recover", "--name", "Orrin Dale")
	account := regexp.MustCompile(`orrin\d{4}`).FindString(got.out)
	if got.status != 0 || account == "" || !strings.Contains(got.errors, "15 or more") || !strings.Contains(got.errors, "used most") || strings.Contains(got.out+got.errors, good) {
		t.Fatalf("the first sign-in: %+v", got)
	}
	store, err := pg.Open(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(store.Close)
	d := store.Door()
	first, err := d.AccountNamed(t.Context(), account)
	if err != nil || first.Passphrase == "" {
		t.Fatalf("the account: %+v, %v", first, err)
	}
	now := time.Now()
	if err := d.SignIn(t.Context(), journal.Device{ID: journal.NewID(), Person: first.ID, Name: "a phone", SignedIn: now, Expires: now.Add(time.Hour)}, []byte("secret"), nil); err != nil {
		t.Fatal(err)
	}
	link := dialogueIn(t, url, nil, "people", "recover", "--address", "https://journal.example.org/")
	secret, ours := strings.CutPrefix(strings.TrimSpace(link.out), "https://journal.example.org/join/")
	if link.status != 0 || !ours {
		t.Fatalf("the link: %+v", link)
	}
	if j, err := d.Joining(context.Background(), journal.HashSecret(secret), now); err != nil || j.Account != account || j.Role != journal.RoleOwner {
		t.Errorf("it offers %+v, %v", j, err)
	}
	if devices, err := d.Devices(t.Context(), first.ID, now); err != nil || len(devices) != 1 {
		t.Errorf("a link alone signs out: %v, %v", devices, err)
	}
	if got := dialogueIn(t, url, []string{"lantern otter viaduct semolina"}, "people", "recover"); got.status != 0 || !strings.Contains(got.out, account) {
		t.Errorf("another sign-in: %+v", got)
	}
	again, err := d.AccountNamed(t.Context(), account)
	if err != nil || again.ID != first.ID || again.Passphrase == first.Passphrase {
		t.Errorf("the account then: %+v, %v", again, err)
	}
	if devices, err := d.Devices(t.Context(), first.ID, now); err != nil || len(devices) != 0 {
		t.Errorf("devices then: %v, %v", devices, err)
	}
	for _, wrong := range [][]string{{"people", "recover", "--name", "Nobody"}, {"people", "recover"}} {
		if got := dialogueIn(t, url, nil, wrong...); got.status != 2 {
			t.Errorf("%v: %+v", wrong, got)
		}
	}
}

// Who may come in is listed, and who is invited.
func TestPeopleList(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	if got := runIn(t, url, "people", "list"); got.status != 0 || !strings.Contains(got.out, "Nobody has an account") {
		t.Errorf("before anybody: %+v", got)
	}
	dialogueIn(t, url, []string{"gravel kettle borrowed moonlight"}, "people", "recover", "--name", "Orrin Dale")
	store, err := pg.Open(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(store.Close)
	if _, err := store.Invite(t.Context(), journal.Invitation{Name: "Jonna", Role: journal.RoleClient}); err != nil {
		t.Fatal(err)
	}
	got := runIn(t, url, "people", "list")
	for _, want := range []string{"Orrin Dale", "owner", "since ", "Jonna", "client", "invited until "} {
		if got.status != 0 || !strings.Contains(got.out, want) {
			t.Errorf("without %q: %+v", want, got)
		}
	}
}
