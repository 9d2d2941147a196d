package door_test

import (
	"context"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/web/door"
	"rigtally/web/webtest"
)

func TestNobodyComesInUnasked(t *testing.T) {
	t.Parallel()
	g := newHouse(t).guest()
	g.wants("a page", g.get("/sessions?season=2026"), http.StatusSeeOther, "/sign-in?to=%2Fsessions%3Fseason%3D2026")
	g.wants("a form", g.post("/settings", "name", "mine"), http.StatusUnauthorized, "is not saved")
	g.wants("a program", g.get("/api/known"), http.StatusUnauthorized, `"error":"signed-out"`)
	g.wants("a script", g.do(http.MethodGet, "/sessions", nil, "Accept", "application/json"), http.StatusUnauthorized, `"status":401`)
	g.wants("a part of a page", g.do(http.MethodGet, "/sessions", nil, "Accept", "*/*", "Sec-Fetch-Mode", "cors"), http.StatusUnauthorized)
	g.wants("the account", g.get("/account"), http.StatusSeeOther, "/sign-in?to=%2Faccount")
	g.wants("an invitation that there is not", g.get("/join/"+journal.NewSecret()), http.StatusNotFound, "This invitation is over")
	// The template "signin".
	page := g.wants("the sign-in", g.get("/sign-in?to=/sessions"), http.StatusOK, `name="to" value="/sessions"`, "autocomplete=\"current-password\"")
	if strings.Contains(page.Body, "data-passkey") { // the origin of the test is a bare address
		t.Error("a passkey is offered at an address that can't have any")
	}
	webtest.CheckPage(t, "/sign-in", page.Body)
}

// An invitation is good once. Who took it up signs out, and in again with the account that was given.
func TestJoinSignOutSignIn(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	link := h.invite("Tamsin Vale", journal.RoleGuide)
	g := h.guest()
	webtest.CheckPage(t, "/join", g.wants("the invitation", g.get(link), http.StatusOK, "Tamsin Vale", "a guide", `value="tamsinvale"`).Body)
	g.wants("a short passphrase", g.post(link, "word", "tamsin", "passphrase", "short"), http.StatusUnprocessableEntity, "15 or more")
	g.wants("no word", g.post(link, "word", "?", "passphrase", good), http.StatusUnprocessableEntity, "2 to 24 letters")
	account := g.joins(link, "Tamsin", good)
	if !regexp.MustCompile(`^tamsin\d{4}$`).MatchString(account) {
		t.Errorf("the account is %q", account)
	}
	g.wants("the first page", g.get("/"), http.StatusOK, `href="/account"`)
	g.wants("the account", g.get("/account?done=joined"), http.StatusOK, "note it down", "Chrome on Android", "This one.")
	other := h.guest()
	g.wants("the link again", other.get(link), http.StatusNotFound)
	g.wants("the link again", other.post(link, "word", "other", "passphrase", good), http.StatusNotFound)
	before := g.secret(door.DeviceCookie)
	out := g.wants("sign out", g.post("/sign-out"), http.StatusSeeOther, "/sign-in")
	if c := strings.Join(out.Header.Values("Set-Cookie"), "\n"); !strings.Contains(c, "__Host-rigtally=;") || !strings.Contains(c, "Max-Age=0") {
		t.Errorf("signed out with %s", c)
	}
	thief := h.guest()
	g.wants("the old cookie", thief.do(http.MethodGet, "/", nil, "Cookie", door.DeviceCookie+"="+before), http.StatusSeeOther, "/sign-in")
	g.wants("out", g.get("/"), http.StatusSeeOther, "/sign-in")
	in := g.wants("sign in", g.post("/sign-in", "account", " "+strings.ToUpper(account)+" ", "passphrase", good, "to", "/sessions"), http.StatusSeeOther, "/sessions")
	// RFC 6265bis, 4.1.3.2: what __Host- demands; and OWASP's Session Management Cheat Sheet.
	for _, part := range []string{"; Secure", "; HttpOnly", "; SameSite=Lax", "; Path=/", "Max-Age=7776000"} {
		if c := in.Header.Values("Set-Cookie")[0]; !strings.Contains(c, part) || strings.Contains(c, "Domain") {
			t.Errorf("the cookie %s has no %s", c, part)
		}
	}
	g.wants("in", g.get("/sessions"), http.StatusOK)
}

// The secret is another one after each sign-in, and is stored as a hash alone.
func TestSecretsRotateAndAreHashed(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	g := h.guest()
	account := g.joins(h.invite("Orrin", journal.RoleOwner), "orrin", good)
	first := g.secret(door.DeviceCookie)
	g.wants("sign in again", g.signsIn(account, good), http.StatusSeeOther)
	second := g.secret(door.DeviceCookie)
	if first == second || len(second) < 43 { // 256 bits in base64
		t.Errorf("secrets %q and %q", first, second)
	}
	thief := h.guest()
	g.wants("the secret before", thief.do(http.MethodGet, "/", nil, "Cookie", door.DeviceCookie+"="+first), http.StatusSeeOther, "/sign-in")
	conn := h.superuser()
	var devices, plain int
	if err := conn.QueryRow(t.Context(), `SELECT count(*), count(*) FILTER (WHERE position(convert_to($1, 'UTF8') IN secret_hash) > 0) FROM device`, second).Scan(&devices, &plain); err != nil || devices != 1 || plain != 0 {
		t.Errorf("%d devices, %d secrets in plain, %v", devices, plain, err)
	}
	var kept string
	if err := conn.QueryRow(t.Context(), `SELECT passphrase FROM person`).Scan(&kept); err != nil || !strings.HasPrefix(kept, "$argon2id$v=19$m=19456,t=2,p=1$") {
		t.Errorf("the passphrase is kept as %q, %v", kept, err)
	}
}

// The log says who signed in from where and who was refused, and nothing of what they typed or hold.
func TestSignInsAreNoted(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	g := h.guest()
	account := g.joins(h.invite("Orrin", journal.RoleOwner), "orrin", good)
	person := webtest.Got(h.store.Members(t.Context()))(t)[0].Person
	h.comesFrom("198.51.100.7")
	g.wants("the passphrase in the wrong field", g.signsIn(good, account), http.StatusUnauthorized)
	g.wants("sign in", g.signsIn(account, good), http.StatusSeeOther)
	noted := h.log.String()
	for _, text := range []string{`msg="somebody signed in" person=` + person.String() + " from=192.0.2.1", `msg="a sign-in was refused" from=198.51.100.7`, "person=" + person.String() + " from=198.51.100.7"} {
		if !strings.Contains(noted, text) {
			t.Errorf("the log has no %s:\n%s", text, noted)
		}
	}
	for _, text := range []string{good, account, g.secret(door.DeviceCookie)} {
		if strings.Contains(noted, text) {
			t.Errorf("the log holds %s:\n%s", text, noted)
		}
	}
}

// Ninety days of use, from the last; noted once a day. A year after the sign-in it ends, however much it was used.
func TestADeviceStaysSignedInWhileItIsUsed(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	g := h.guest()
	account := g.joins(h.invite("Orrin", journal.RoleOwner), "orrin", good)
	for range 6 {
		h.wait(60 * 24 * time.Hour)
		if got := g.wants("used", g.get("/"), http.StatusOK); len(got.Header.Values("Set-Cookie")) != 1 {
			t.Errorf("the cookie is not renewed: %v", got.Header)
		}
		if got := g.get("/"); len(got.Header.Values("Set-Cookie")) != 0 {
			t.Error("it is renewed twice a day")
		}
	}
	h.wait(5*24*time.Hour + time.Minute)
	g.wants("signed in a year ago", g.get("/"), http.StatusSeeOther, "/sign-in")
	g.wants("sign in again", g.signsIn(account, good), http.StatusSeeOther)
	h.wait(89 * 24 * time.Hour)
	g.wants("used after 89 days", g.get("/"), http.StatusOK)
	h.wait(91 * 24 * time.Hour)
	g.wants("unused for 91 days", g.get("/"), http.StatusSeeOther, "/sign-in")
}

// Who is removed is out at the next request, and what a phone sends then is refused in words that keep it in the queue.
func TestARemovedMemberIsOutAtOnce(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	owner, g := h.guest(), h.guest()
	owner.joins(h.invite("Orrin", journal.RoleOwner), "orrin", good)
	g.joins(h.invite("Tamsin", journal.RoleClient), "tamsin", good)
	g.wants("a member", g.get("/"), http.StatusOK)
	for _, m := range webtest.Got(h.store.Members(t.Context()))(t) {
		if m.Name == "Tamsin" {
			webtest.Got(0, h.store.RemoveMember(t.Context(), m.Person, journal.RemoveDelete))(t)
		}
	}
	g.wants("removed", g.get("/"), http.StatusUnauthorized, "don’t belong to a journal here any more")
	g.wants("removed, a program", g.do(http.MethodPut, "/api/sessions/"+journal.NewID().String(), nil), http.StatusUnauthorized, `"error":"withdrawn"`)
	g.wants("removed, the account", g.get("/account"), http.StatusUnauthorized, "don’t belong")
	owner.wants("the owner", owner.get("/"), http.StatusOK)
	g.joins(h.invite("Tamsin", journal.RoleGuide), "tamsin", good)
	g.wants("invited again", g.get("/"), http.StatusOK)
}

// An owner signs somebody out everywhere, who may sign in again; but not for another outfit too.
func TestAnOwnerSignsSomebodyOut(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	owner, g := h.guest(), h.guest()
	owner.joins(h.invite("Orrin", journal.RoleOwner), "orrin", good)
	account := g.joins(h.invite("Tamsin", journal.RoleGuide), "tamsin", good)
	guide := webtest.Got(h.store.Members(t.Context()))(t)[1]
	out := "/people/" + guide.Person.String() + "/sign-out"
	g.wants("a guide signs nobody out", g.post(out), http.StatusNotFound)
	owner.wants("the way there", owner.get("/people/"+guide.Person.String()), http.StatusOK, `action="`+out+`"`)
	owner.wants("signed out", owner.post(out), http.StatusSeeOther, "/people")
	g.wants("the next request", g.get("/"), http.StatusSeeOther, "/sign-in")
	owner.wants("the owner", owner.get("/"), http.StatusOK)
	g.wants("in again", g.signsIn(account, good), http.StatusSeeOther)
	other := webtest.Got(h.store.AddOutfit(t.Context(), "Another outfit"))(t)
	if _, err := h.superuser().Exec(t.Context(), `INSERT INTO member (outfit_id, person_id, name, role) VALUES ($1, $2, 'Tamsin', 'guide')`, other, guide.Person); err != nil {
		t.Fatal(err)
	}
	owner.wants("who belongs elsewhere too", owner.post(out), http.StatusUnprocessableEntity, "belongs to another outfit too")
	g.wants("is still in", g.get("/"), http.StatusOK)
}

// An invitation ends after seven days, also for a form that was opened before.
func TestAnInvitationEnds(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	link := h.invite("Tamsin", journal.RoleGuide)
	g := h.guest()
	h.wait(6*24*time.Hour + 23*time.Hour)
	g.wants("in time", g.get(link), http.StatusOK)
	h.wait(2 * time.Hour)
	g.wants("too late", g.get(link), http.StatusNotFound, "Ask whoever sent it")
	g.wants("too late", g.post(link, "word", "tamsin", "passphrase", good), http.StatusNotFound)
	g.wants("too late", g.post(link+"/known"), http.StatusNotFound)
}

// A way back sets a new passphrase under the same account, and ends every device and the passphrase before.
func TestAWayBack(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	g, other := h.guest(), h.guest()
	account := g.joins(h.invite("Orrin", journal.RoleOwner), "orrin", good)
	members := webtest.Got(h.store.Members(t.Context()))(t)
	link := "/join/" + webtest.Got(h.store.WayBack(t.Context(), members[0].Person))(t)
	other.wants("the way back", other.get(link), http.StatusOK, account, "Set this passphrase")
	other.wants("it is no invitation", g.post(link+"/known"), http.StatusNotFound)
	const fresh = "lantern otter viaduct semolina"
	if got := other.joins(link, "", fresh); got != account {
		t.Errorf("the account was %q and is %q", account, got)
	}
	g.wants("the device before", g.get("/"), http.StatusSeeOther, "/sign-in")
	g.wants("the passphrase before", g.signsIn(account, good), http.StatusUnauthorized)
	g.wants("the new one", g.signsIn(account, fresh), http.StatusSeeOther)
}

// A person of two outfits sees one at a time, and can't switch to a third.
func TestSeveralOutfits(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	g := h.guest()
	account := g.joins(h.invite("Orrin", journal.RoleOwner), "orrin", good)
	conn := h.superuser()
	second, third := journal.NewID(), journal.NewID()
	for _, o := range []struct {
		id   journal.ID
		name string
	}{{second, "Second Outfit"}, {third, "Third Outfit"}} {
		if _, err := conn.Exec(t.Context(), `INSERT INTO outfit (id, name, time_zone) VALUES ($1, $2, 'UTC')`, o.id, o.name); err != nil {
			t.Fatal(err)
		}
	}
	secret := journal.NewSecret()
	if _, err := conn.Exec(t.Context(), `INSERT INTO invitation (outfit_id, id, secret_hash, name, role, expires_at) VALUES ($1, $2, $3, 'Orrin', 'guide', now() + interval '7 days')`,
		second, journal.NewID(), journal.HashSecret(secret)); err != nil {
		t.Fatal(err)
	}
	g.wants("invited to another", g.get("/join/"+secret), http.StatusOK, "Join as "+account)
	g.wants("joins it", g.post("/join/"+secret+"/known"), http.StatusSeeOther)
	g.wants("its pages", g.get("/"), http.StatusOK, "Second Outfit")
	g.wants("as a guide", g.get("/settings"), http.StatusNotFound)
	g.wants("the account", g.get("/account"), http.StatusOK, "Second Outfit", "My journal")
	g.wants("a stranger's outfit", g.post("/switch/"+third.String()), http.StatusNotFound)
	g.wants("back", g.post("/switch/"+h.store.OutfitID().String()), http.StatusSeeOther)
	g.wants("as an owner", g.get("/settings"), http.StatusOK)
	g.wants("signs in again", g.signsIn(account, good), http.StatusSeeOther)
	g.wants("where it was", g.get("/settings"), http.StatusOK)
}

// Devices are listed, and ended one by one or all but this; others' can't be.
func TestDevices(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	g, phone, stranger := h.guest(), h.guest(), h.guest()
	account := g.joins(h.invite("Orrin", journal.RoleOwner), "orrin", good)
	stranger.joins(h.invite("Tamsin", journal.RoleGuide), "tamsin", good)
	phone.wants("sign in", phone.signsIn(account, good), http.StatusSeeOther)
	outs := regexp.MustCompile(`/account/devices/[0-9a-f-]{36}/sign-out`)
	both := append(outs.FindAllString(g.get("/account").Body, -1), outs.FindAllString(phone.get("/account").Body, -1)...)
	if len(both) != 2 || both[0] == both[1] || strings.Contains(stranger.get("/account").Body, both[0]) {
		t.Fatalf("devices %v", both)
	}
	for _, one := range both {
		stranger.wants("another's device", stranger.post(one), http.StatusNotFound)
	}
	g.wants("all others", g.post("/account/devices/sign-out-others"), http.StatusSeeOther)
	g.wants("this one", g.get("/"), http.StatusOK)
	phone.wants("the other", phone.get("/"), http.StatusSeeOther, "/sign-in")
	phone.wants("sign in", phone.signsIn(account, good), http.StatusSeeOther)
	for _, one := range outs.FindAllString(g.get("/account").Body, -1) { // the phone's new one
		g.wants("one device", g.post(one), http.StatusSeeOther)
	}
	phone.wants("the other", phone.get("/"), http.StatusSeeOther, "/sign-in")
	g.wants("this one", g.get("/"), http.StatusOK)
}

// A passphrase is changed by who has just shown who they are; all other devices are out by it.
func TestAPassphraseIsChanged(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	g, phone := h.guest(), h.guest()
	account := g.joins(h.invite("Orrin", journal.RoleOwner), "orrin", good)
	phone.wants("sign in", phone.signsIn(account, good), http.StatusSeeOther)
	const fresh = "lantern otter viaduct semolina"
	h.wait(11 * time.Minute)
	g.wants("long after", g.post("/account/passphrase", "passphrase", fresh), http.StatusSeeOther, "/sign-in?to=/account")
	if page := g.get("/account"); strings.Contains(page.Body, `action="/account/passphrase"`) {
		t.Error("the form is shown all the same")
	}
	g.wants("shows who they are", g.signsIn(account, good), http.StatusSeeOther)
	g.wants("with the account in it", g.post("/account/passphrase", "passphrase", account+account), http.StatusUnprocessableEntity)
	g.wants("little more than the journal's name", g.post("/account/passphrase", "passphrase", "My journal Orrin 26"), http.StatusUnprocessableEntity, "that of the journal")
	g.wants("a good one", g.post("/account/passphrase", "passphrase", fresh), http.StatusSeeOther, "done=passphrase")
	phone.wants("the other device", phone.get("/"), http.StatusSeeOther, "/sign-in")
	phone.wants("the one before", phone.signsIn(account, good), http.StatusUnauthorized)
	phone.wants("the new one", phone.signsIn(account, fresh), http.StatusSeeOther)
}

// superuser goes round every policy.
func (h *house) superuser() *pgx.Conn {
	h.t.Helper()
	conn := webtest.Got(pgx.Connect(h.t.Context(), pgtest.AsSuperuser(h.url)))(h.t)
	h.t.Cleanup(func() { _ = conn.Close(context.Background()) }) // with the database it goes anyway
	return conn
}
