package pg_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

// join makes somebody a member, as the door does once an invitation was taken up.
func join(t *testing.T, conn *pgx.Conn, outfit journal.ID, name string, role journal.Role, angler *journal.ID) journal.ID {
	t.Helper()
	person := journal.NewID()
	for _, step := range []struct {
		sql  string
		args []any
	}{
		{`INSERT INTO person (id, account) VALUES ($1, $2)`, []any{person.String(), name + person.String()}},
		{`INSERT INTO member (outfit_id, person_id, name, role, angler_id) VALUES ($1, $2, $3, $4, $5)`, []any{outfit.String(), person.String(), name, string(role), text(angler)}},
	} {
		if _, err := conn.Exec(t.Context(), step.sql, step.args...); err != nil {
			t.Fatal(err)
		}
	}
	return person
}

func text(id *journal.ID) any {
	if id == nil {
		return nil
	}
	return id.String()
}

func count(t *testing.T, conn *pgx.Conn, sql string, args ...any) (n int) {
	t.Helper()
	if err := conn.QueryRow(t.Context(), sql, args...).Scan(&n); err != nil {
		t.Fatal(err)
	}
	return n
}

// Ensure that an invitation is open for seven days, that the journal keeps the hash of its secret alone (SHA-256 by
// FIPS 180-4, as Go's own library has it), and that only an owner makes, sees and withdraws one.
func TestInvitations(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := t.Context()
	conn := connect(t, b.url)
	secret, err := b.store.Invite(ctx, journal.Invitation{Name: " Jonna ", Role: journal.RoleClient})
	if err != nil {
		t.Fatal(err)
	}
	if raw, err := base64.RawURLEncoding.DecodeString(secret); err != nil || len(raw) != 32 {
		t.Errorf("the secret %q is of %d bytes, %v", secret, len(raw), err)
	}
	var hash []byte
	if err := conn.QueryRow(ctx, `SELECT secret_hash FROM invitation`).Scan(&hash); err != nil {
		t.Fatal(err)
	}
	if want := sha256.Sum256([]byte(secret)); !bytes.Equal(hash, want[:]) {
		t.Errorf("kept %x, want %x", hash, want)
	}
	made, err := b.store.AnglerByName(ctx, "Jonna")
	if err != nil || made.Kind != journal.Client {
		t.Fatalf("the angler %+v, %v", made, err)
	}
	open, err := b.store.Invitations(ctx)
	if err != nil || len(open) != 1 || open[0].Name != "Jonna" || open[0].Angler == nil || *open[0].Angler != made.ID || open[0].Person != nil {
		t.Fatalf("open: %+v, %v", open, err)
	}
	if days := open[0].ExpiresAt.Sub(open[0].CreatedAt); days != 7*24*time.Hour {
		t.Errorf("it can be used for %v", days)
	}
	// An angler of that name may be somebody else; the angler named again gets another link in the place of this one.
	if _, err := b.store.Invite(ctx, journal.Invitation{Name: "ilse", Role: journal.RoleClient}); !journal.IsInvalid(err) {
		t.Errorf("a client called like an angler: %v", err)
	}
	if _, err := b.store.Invite(ctx, journal.Invitation{Name: "Jonna", Role: journal.RoleClient, Angler: &made.ID}); err != nil {
		t.Error(err)
	}
	if again, err := b.store.Invitations(ctx); err != nil || len(again) != 1 || again[0].ID == open[0].ID {
		t.Errorf("invited again: %+v, %v", again, err)
	}
	for what, i := range map[string]journal.Invitation{
		"no name": {Role: journal.RoleGuide}, "no role": {Name: "Jonna"}, "a role that is none": {Name: "Jonna", Role: "superuser"},
		"an angler that is none": {Name: "Jonna", Role: journal.RoleGuide, Angler: new(journal.NewID())},
		"too long a name":        {Name: strings.Repeat("o", 121), Role: journal.RoleGuide},
	} {
		if _, err := b.store.Invite(ctx, i); !journal.IsInvalid(err) {
			t.Errorf("%s: %v", what, err)
		}
	}
	for _, who := range []journal.Who{{Role: journal.RoleGuide, Name: "Guide"}, {Role: journal.RoleClient, Name: "Jonna", Angler: &made.ID}} {
		s := b.store.For(who)
		_, invited := s.Invite(ctx, journal.Invitation{Name: "Mallory", Role: journal.RoleOwner})
		_, listed := s.Invitations(ctx)
		_, people := s.Members(ctx)
		_, back := s.WayBack(ctx, journal.NewID())
		for what, err := range map[string]error{"invites": invited, "lists invitations": listed, "lists people": people, "makes a way back": back,
			"withdraws": s.WithdrawInvitation(ctx, open[0].ID), "removes": s.RemoveMember(ctx, journal.NewID(), journal.RemoveKeep),
			"makes an owner": s.ChangeMember(ctx, journal.Member{Person: journal.NewID(), Name: "Mallory", Role: journal.RoleOwner})} {
			if !errors.Is(err, journal.ErrNotFound) {
				t.Errorf("a %s %s: %v", who.Role, what, err)
			}
		}
	}
	left, err := b.store.Invitations(ctx)
	if err != nil || len(left) != 1 {
		t.Fatalf("%+v, %v", left, err)
	}
	if err := errors.Join(b.store.WithdrawInvitation(ctx, left[0].ID), b.store.WithdrawInvitation(ctx, left[0].ID)); err != nil {
		t.Error(err)
	}
	if n := count(t, conn, `SELECT count(*) FROM invitation`); n != 0 {
		t.Errorf("%d invitations are left", n)
	}
}

// Ensure that an outfit keeps an owner, whoever asks for what, and that roles and angler can be changed else.
func TestTheLastOwnerStays(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := t.Context()
	conn := connect(t, b.url)
	owner := join(t, conn, b.store.OutfitID(), "Oda", journal.RoleOwner, nil)
	guide := join(t, conn, b.store.OutfitID(), "Gerrit", journal.RoleGuide, nil)
	change := func(person journal.ID, role journal.Role, angler *journal.ID) error {
		return b.store.ChangeMember(ctx, journal.Member{Person: person, Name: "Somebody", Role: role, Angler: angler})
	}
	for what, err := range map[string]error{"demoted": change(owner, journal.RoleGuide, nil), "removed": b.store.RemoveMember(ctx, owner, journal.RemoveKeep),
		"a client without an angler": change(guide, journal.RoleClient, nil), "removed no way": b.store.RemoveMember(ctx, guide, "burn")} {
		if !journal.IsInvalid(err) {
			t.Errorf("%s: %v", what, err)
		}
	}
	if err := errors.Join(change(guide, journal.RoleOwner, &b.angler.ID), change(owner, journal.RoleGuide, nil)); err != nil {
		t.Fatal(err)
	}
	if err := change(owner, journal.RoleGuide, &b.angler.ID); !journal.IsInvalid(err) || !strings.Contains(err.Error(), "a member already") {
		t.Errorf("two members are one angler: %v", err)
	}
	members, err := b.store.Members(ctx)
	if err != nil || len(members) != 2 || members[0].Person != guide || members[0].Role != journal.RoleOwner || members[0].Angler == nil || members[1].Person != owner {
		t.Errorf("%+v, %v", members, err)
	}
	if err := b.store.ChangeMember(ctx, journal.Member{Person: journal.NewID(), Name: "Nobody", Role: journal.RoleOwner}); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("who is no member: %v", err)
	}
}

// Ensure that a way back is made for who belongs here alone, and that changing what they are ends it.
func TestAWayBack(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := t.Context()
	conn := connect(t, b.url)
	guide := join(t, conn, b.store.OutfitID(), "Gerrit", journal.RoleGuide, nil)
	if _, err := b.store.WayBack(ctx, guide); err != nil {
		t.Fatal(err)
	}
	open, err := b.store.Invitations(ctx)
	if err != nil || len(open) != 1 || open[0].Person == nil || *open[0].Person != guide || open[0].Role != journal.RoleGuide {
		t.Fatalf("%+v, %v", open, err)
	}
	if err := b.store.ChangeMember(ctx, journal.Member{Person: guide, Name: "Gerrit", Role: journal.RoleOwner}); err != nil {
		t.Fatal(err)
	}
	if open, err := b.store.Invitations(ctx); err != nil || len(open) != 0 {
		t.Errorf("after another role: %+v, %v", open, err)
	}
	if _, err := b.store.WayBack(ctx, guide); err != nil {
		t.Fatal(err)
	}
	other := journal.NewID()
	if _, err := conn.Exec(ctx, `INSERT INTO outfit (id, name, time_zone) VALUES ($1, 'Another', 'UTC')`, other.String()); err != nil {
		t.Fatal(err)
	}
	secret, err := b.store.In(other, journal.Keeper()).Invite(ctx, journal.Invitation{Name: "Gerrit", Role: journal.RoleOwner})
	if err != nil {
		t.Fatal(err)
	}
	if err := b.store.Door().Join(ctx, journal.HashSecret(secret), time.Now(), journal.Newcomer{Account: journal.Account{ID: guide}, Known: true}); err != nil {
		t.Fatal(err)
	}
	if open, err := b.store.Invitations(ctx); err != nil || len(open) != 0 {
		t.Errorf("whoever holds the way back could open the outfit that was joined: %+v, %v", open, err)
	}
	someone := b.store.For(journal.Who{Role: journal.RoleOwner, Name: "Oda", Person: new(journal.NewID())})
	if _, err := someone.WayBack(ctx, guide); !journal.IsInvalid(err) {
		t.Errorf("who belongs elsewhere too gets a way back from an owner here: %v", err)
	}
	if _, err := b.store.WayBack(ctx, guide); err != nil {
		t.Errorf("at the machine that keeps all outfits: %v", err)
	}
	if _, err := b.store.WayBack(ctx, journal.NewID()); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("who is no member: %v", err)
	}
	// Removed here, they are still a person there.
	join(t, conn, b.store.OutfitID(), "Oda", journal.RoleOwner, nil)
	if err := b.store.RemoveMember(ctx, guide, journal.RemoveKeep); err != nil {
		t.Fatal(err)
	}
	if n := count(t, conn, `SELECT count(*) FROM person JOIN member ON person_id = id WHERE id = $1 AND outfit_id = $2`, guide.String(), other.String()); n != 1 {
		t.Error("removing somebody here took them out of another outfit")
	}
}

// Ensure that of a removed client the journal keeps what the owner chose, and of who belongs nowhere any more nothing to sign in with.
func TestRemovingAClient(t *testing.T) {
	t.Parallel()
	for _, how := range []journal.Removal{journal.RemoveKeep, journal.RemoveNameless, journal.RemoveDelete} {
		t.Run(string(how), func(t *testing.T) {
			t.Parallel()
			p := newParty(t)
			ctx := t.Context()
			conn := connect(t, p.bench.url)
			client := p.clients[0]
			person := join(t, conn, p.bench.store.OutfitID(), client.Name, journal.RoleClient, &client.ID)
			own := p.bench.store.For(journal.Who{Role: journal.RoleClient, Name: client.Name, Person: &person, Angler: &client.ID})
			edit := p.fished[0]
			edit.Notes = "Edited"
			edited, err := own.SaveSession(ctx, edit)
			if err != nil {
				t.Fatal(err)
			}
			unfished := twoDroppers()
			unfished.Name = "Never fished"
			if _, err := own.SaveRig(ctx, unfished); err != nil {
				t.Fatal(err)
			}
			at, device := p.bench.store.Door(), journal.HashSecret("a secret of a phone")
			phone := journal.Device{ID: journal.NewID(), Person: person, Name: "A phone", SignedIn: time.Now(), Expires: time.Now().Add(time.Hour)}
			if err := at.SignIn(ctx, phone, device, nil); err != nil {
				t.Fatal(err)
			}
			if err := p.bench.store.RemoveMember(ctx, person, how); err != nil {
				t.Fatal(err)
			}
			for _, asks := range []struct {
				secret []byte
				at     time.Time
				want   bool
			}{{device, time.Now(), true}, {device, phone.Expires, false}, {journal.HashSecret("another"), time.Now(), false}} {
				if is, err := at.Withdrawn(ctx, asks.secret, asks.at); err != nil || is != asks.want {
					t.Errorf("withdrawn: %v, %v, want %v", is, err, asks.want)
				}
			}
			if n := count(t, conn, `SELECT (SELECT count(*) FROM person) + (SELECT count(*) FROM member) + (SELECT count(*) FROM invitation)`); n != 0 {
				t.Errorf("%d rows are left to sign in with", n)
			}
			anglers, err := p.bench.store.Anglers(ctx)
			if err != nil {
				t.Fatal(err)
			}
			if named := strings.Contains(fmt.Sprint(anglers), client.Name); named != (how == journal.RemoveKeep) {
				t.Errorf("the name is there: %v, in %v", named, anglers)
			}
			if renamed := strings.Contains(fmt.Sprint(anglers), "Former client 1"); renamed != (how != journal.RemoveKeep) {
				t.Errorf("nameless: %v, in %v", renamed, anglers)
			}
			_, err = p.bench.store.SessionByID(ctx, edited.ID)
			if gone := errors.Is(err, journal.ErrNotFound); gone != (how == journal.RemoveDelete) {
				t.Errorf("the session is gone: %v, %v", gone, err)
			}
			history, err := p.bench.store.SessionHistory(ctx, edited.ID)
			if err != nil || len(history) < 2 || strings.Contains(fmt.Sprintf("%+v", history), client.Name) {
				t.Errorf("history %+v, %v", history, err)
			}
			if _, err := p.bench.store.SessionByID(ctx, p.fished[1].ID); err != nil {
				t.Errorf("another client's session: %v", err)
			}
			if how != journal.RemoveDelete {
				return
			}
			rigs := func() int {
				return count(t, conn, `SELECT (SELECT count(*) FROM rig WHERE of_angler = $1) + (SELECT count(*) FROM water WHERE of_angler = $1) + (SELECT count(*) FROM beat WHERE of_angler = $1)`, client.ID.String())
			}
			if n := rigs(); n != 3 {
				t.Errorf("%d of the client's waters, beats and rigs are left, want those that a restored session needs", n)
			}
			if err := p.bench.store.RestoreSession(ctx, edited.ID, 0); err != nil {
				t.Error(err)
			}
			if err := p.bench.store.DeleteSession(ctx, edited.ID, 0); err != nil {
				t.Error(err)
			}
			if _, err := conn.Exec(ctx, `UPDATE deleted_session SET deleted_at = now() - interval '31 days'`); err != nil {
				t.Fatal(err)
			}
			if err := p.bench.store.DeleteSession(ctx, p.fished[1].ID, 0); err != nil {
				t.Fatal(err)
			}
			if n := rigs() + count(t, conn, `SELECT count(*) FROM deleted_session WHERE angler_id = $1`, client.ID.String()); n != 0 {
				t.Errorf("after thirty days %d of the client's rows are left", n)
			}
			if anglerNamed(t, p, p.clients[1].ID) != p.clients[1].Name {
				t.Error("another client lost their name")
			}
		})
	}
}

func anglerNamed(t *testing.T, p party, id journal.ID) string {
	t.Helper()
	anglers, err := p.bench.store.Anglers(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range anglers {
		if a.ID == id {
			return a.Name
		}
	}
	return ""
}
