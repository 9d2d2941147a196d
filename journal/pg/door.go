package pg

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

// Door is where people come in, before it is known who asks: accounts, their devices and passkeys, and invitations.
type Door struct{ pool *pool }

// Door is the door of the database that the journal is in.
func (s *Store) Door() Door { return Door{s.pool} }

func (d Door) once() once { return once{d.pool, room{role: atDoor}} }

func (d Door) write(ctx context.Context, doing string, f func(pgx.Tx) error) error {
	return explain(doing, room{role: atDoor}.begin(ctx, d.pool, toWrite, f))
}

// exec changes rows by one statement; where it changes none it is a journal.ErrNotFound.
func (d Door) exec(ctx context.Context, doing, sql string, args ...any) error {
	return d.write(ctx, doing, func(tx pgx.Tx) error {
		tag, err := tx.Exec(ctx, sql, args...)
		if err == nil && tag.RowsAffected() == 0 {
			err = journal.ErrNotFound
		}
		return err
	})
}

// listed reads the rows of a query.
func listed[T any](ctx context.Context, d Door, doing, sql string, scan func(pgx.CollectableRow) (T, error), args ...any) ([]T, error) {
	rows, err := d.once().Query(ctx, sql, args...)
	if err != nil {
		rows.Close()
		return nil, explain(doing, err)
	}
	list, err := pgx.CollectRows(rows, scan)
	return list, explain(doing, err)
}

const deviceColumns = `d.id, d.person_id, d.name, d.created_at, d.signed_in_at, d.seen_at, d.expires_at`

func deviceInto(d *journal.Device) []any {
	return []any{&d.ID, &d.Person, &d.Name, &d.Since, &d.SignedIn, &d.Seen, &d.Expires}
}

// SignedIn finds the device of a secret, who uses it, and the outfit whose pages it shows: of those that the person
// belongs to now, the one switched to, else the first.
func (d Door) SignedIn(ctx context.Context, secretHash []byte, now time.Time) (journal.SignedIn, error) {
	var in journal.SignedIn
	var outfit *journal.ID
	var role, name *string
	err := d.once().QueryRow(ctx, `SELECT `+deviceColumns+`, p.account, m.outfit_id, m.role, m.name, m.angler_id
		FROM device d JOIN person p ON p.id = d.person_id
		LEFT JOIN LATERAL (SELECT * FROM member WHERE person_id = d.person_id ORDER BY (outfit_id IS NOT DISTINCT FROM d.outfit_id) DESC, since, outfit_id LIMIT 1) m ON true
		WHERE d.secret_hash = $1 AND d.expires_at > $2`, secretHash, now).
		Scan(append(deviceInto(&in.Device), &in.Account, &outfit, &role, &name, &in.Who.Angler)...)
	if err != nil {
		return in, explain("find who is signed in", err)
	}
	if outfit != nil {
		in.Outfit, in.Who.Role, in.Who.Name, in.Who.Person = *outfit, journal.Role(*role), *name, &in.Device.Person
	}
	return in, nil
}

// Withdrawn reports whether a secret is of a device whose person was removed and belongs nowhere.
func (d Door) Withdrawn(ctx context.Context, secretHash []byte, now time.Time) (is bool, err error) {
	err = d.once().QueryRow(ctx, `SELECT EXISTS (SELECT FROM withdrawn_device WHERE secret_hash = $1 AND expires_at > $2)`, secretHash, now).Scan(&is)
	return is, explain("find whether a device was withdrawn", err)
}

// Seen notes when a device was last used, and until when it is signed in.
func (d Door) Seen(ctx context.Context, device journal.ID, at, expires time.Time) error {
	return d.exec(ctx, "note that a device is used", `UPDATE device SET seen_at = $2, expires_at = $3 WHERE id = $1`, device, at, expires)
}

// SignIn makes a device one on which its person is signed in, by a new secret. The device that the browser was
// until then, if any, ends. Devices whose time is over are forgotten on the way.
func (d Door) SignIn(ctx context.Context, in journal.Device, secretHash, before []byte) error {
	return d.write(ctx, "sign in", func(tx pgx.Tx) error {
		var since *time.Time
		var outfit *journal.ID
		err := tx.QueryRow(ctx, `DELETE FROM device WHERE secret_hash = $1 RETURNING CASE WHEN person_id = $2 THEN created_at END, CASE WHEN person_id = $2 THEN outfit_id END`, before, in.Person).Scan(&since, &outfit)
		if err != nil && !errors.Is(err, pgx.ErrNoRows) {
			return err
		}
		if since == nil {
			since = &in.SignedIn
		}
		if _, err := tx.Exec(ctx, `DELETE FROM device WHERE person_id = $1 AND expires_at <= $2`, in.Person, in.SignedIn); err != nil {
			return err
		}
		_, err = tx.Exec(ctx, `INSERT INTO device (id, person_id, secret_hash, name, outfit_id, created_at, signed_in_at, seen_at, expires_at) VALUES ($1, $2, $3, $4, $5, $6, $7, $7, $8)`,
			in.ID, in.Person, secretHash, in.Name, outfit, *since, in.SignedIn, in.Expires)
		return err
	})
}

// Devices lists where a person is signed in, the last used first.
func (d Door) Devices(ctx context.Context, person journal.ID, now time.Time) ([]journal.Device, error) {
	return listed(ctx, d, "list devices", `SELECT `+deviceColumns+` FROM device d WHERE d.person_id = $1 AND d.expires_at > $2 ORDER BY d.seen_at DESC, d.signed_in_at DESC, d.id`,
		func(row pgx.CollectableRow) (x journal.Device, err error) { return x, row.Scan(deviceInto(&x)...) }, person, now)
}

// SignOut ends one of a person's devices.
func (d Door) SignOut(ctx context.Context, person, device journal.ID) error {
	return d.exec(ctx, "sign a device out", `DELETE FROM device WHERE person_id = $1 AND id = $2`, person, device)
}

// SignOutOthers ends all of a person's devices but one.
func (d Door) SignOutOthers(ctx context.Context, person, kept journal.ID) error {
	return d.write(ctx, "sign other devices out", func(tx pgx.Tx) error {
		_, err := tx.Exec(ctx, `DELETE FROM device WHERE person_id = $1 AND id <> $2`, person, kept)
		return err
	})
}

// Switch makes a device show the pages of another outfit that its person belongs to.
func (d Door) Switch(ctx context.Context, device, outfit journal.ID) error {
	return d.exec(ctx, "switch to another outfit", `UPDATE device d SET outfit_id = $2 WHERE d.id = $1
		AND EXISTS (SELECT FROM member m WHERE m.person_id = d.person_id AND m.outfit_id = $2)`, device, outfit)
}

// Memberships lists the outfits that a person belongs to.
func (d Door) Memberships(ctx context.Context, person journal.ID) ([]journal.Membership, error) {
	return listed(ctx, d, "list outfits", `SELECT o.id, o.name, m.role FROM member m JOIN outfit o ON o.id = m.outfit_id WHERE m.person_id = $1 ORDER BY m.since, o.id`,
		func(row pgx.CollectableRow) (x journal.Membership, err error) {
			return x, row.Scan(&x.Outfit, &x.Name, &x.Role)
		}, person)
}

const accountColumns = `SELECT id, account, passphrase FROM person WHERE `

func accountInto(a *journal.Account) []any { return []any{&a.ID, &a.Name, &a.Passphrase} }

// AccountNamed finds the account of a name, in letters of any case.
func (d Door) AccountNamed(ctx context.Context, name string) (a journal.Account, err error) {
	err = d.once().QueryRow(ctx, accountColumns+`lower(account) = lower($1)`, name).Scan(accountInto(&a)...)
	return a, explain("find an account", err)
}

// AccountOf finds a person's account.
func (d Door) AccountOf(ctx context.Context, person journal.ID) (a journal.Account, err error) {
	err = d.once().QueryRow(ctx, accountColumns+`id = $1`, person).Scan(accountInto(&a)...)
	return a, explain("find an account", err)
}

// SetPassphrase replaces a person's passphrase, hashed, and ends all their devices but one.
func (d Door) SetPassphrase(ctx context.Context, person, kept journal.ID, hashed string) error {
	return d.write(ctx, "change a passphrase", func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, `UPDATE person SET passphrase = $2 WHERE id = $1`, person, hashed); err != nil {
			return err
		}
		_, err := tx.Exec(ctx, `DELETE FROM device WHERE person_id = $1 AND id <> $2`, person, kept)
		return err
	})
}

// Joining tells what an invitation offers, by the hash of its secret. One that was used or is too old is not found.
func (d Door) Joining(ctx context.Context, secretHash []byte, now time.Time) (j journal.Joining, err error) {
	err = d.once().QueryRow(ctx, `SELECT i.outfit_id, o.name, i.name, i.role, i.person_id, coalesce(p.account, '')
		FROM invitation i JOIN outfit o ON o.id = i.outfit_id LEFT JOIN person p ON p.id = i.person_id
		WHERE i.secret_hash = $1 AND i.used_at IS NULL AND i.expires_at > $2`, secretHash, now).
		Scan(&j.Outfit, &j.OutfitName, &j.Name, &j.Role, &j.Person, &j.Account)
	return j, explain("find an invitation", err)
}

// Join takes an invitation up, once. A newcomer becomes a person and a member. Who comes back keeps account and
// membership; all other ways in, and every device, end, since whoever holds them may be somebody else.
func (d Door) Join(ctx context.Context, secretHash []byte, now time.Time, n journal.Newcomer) error {
	return d.write(ctx, "join", func(tx pgx.Tx) error {
		var outfit journal.ID
		var name string
		var role journal.Role
		var angler, back *journal.ID
		err := tx.QueryRow(ctx, `UPDATE invitation SET used_at = $2 WHERE secret_hash = $1 AND used_at IS NULL AND expires_at > $2
			RETURNING outfit_id, name, role, angler_id, person_id`, secretHash, now).Scan(&outfit, &name, &role, &angler, &back)
		if err != nil {
			return err
		}
		switch {
		case back != nil && *back != n.ID:
			return journal.ErrNotFound
		case back != nil:
			err = comeBack(ctx, tx, n)
		case !n.Known:
			_, err = tx.Exec(ctx, `INSERT INTO person (id, account, passphrase, created_at) VALUES ($1, $2, $3, $4)`, n.ID, n.Name, n.Passphrase, now)
		}
		if err != nil {
			return err
		}
		if n.Passkey != nil {
			if err := addPasskey(ctx, tx, n.ID, *n.Passkey); err != nil {
				return err
			}
		}
		if back != nil {
			return nil
		}
		_, err = tx.Exec(ctx, `INSERT INTO member (outfit_id, person_id, name, role, angler_id, since) VALUES ($1, $2, $3, $4, $5, $6)`, outfit, n.ID, name, role, angler, now)
		if err == nil && n.Known { // a way back that another outfit's owner holds would open this one
			_, err = tx.Exec(ctx, `UPDATE invitation SET expires_at = $2 WHERE person_id = $1 AND used_at IS NULL AND expires_at > $2`, n.ID, now)
		}
		return err
	})
}

func comeBack(ctx context.Context, tx pgx.Tx, n journal.Newcomer) error {
	if _, err := tx.Exec(ctx, `UPDATE person SET passphrase = $2 WHERE id = $1`, n.ID, n.Passphrase); err != nil {
		return err
	}
	for _, ended := range []string{`DELETE FROM passkey WHERE person_id = $1`, `DELETE FROM device WHERE person_id = $1`} {
		if _, err := tx.Exec(ctx, ended, n.ID); err != nil {
			return err
		}
	}
	return nil
}

// Passkeys lists a person's passkeys, the oldest first.
func (d Door) Passkeys(ctx context.Context, person journal.ID) ([]journal.Passkey, error) {
	return listed(ctx, d, "list passkeys", `SELECT id, name, credential, created_at, used_at FROM passkey WHERE person_id = $1 ORDER BY created_at, id`,
		func(row pgx.CollectableRow) (x journal.Passkey, err error) {
			return x, row.Scan(&x.ID, &x.Name, &x.Credential, &x.Since, &x.Used)
		}, person)
}

// AddPasskey gives a person one more way to sign in.
func (d Door) AddPasskey(ctx context.Context, person journal.ID, k journal.Passkey) error {
	return d.write(ctx, "add a passkey", func(tx pgx.Tx) error { return addPasskey(ctx, tx, person, k) })
}

func addPasskey(ctx context.Context, tx pgx.Tx, person journal.ID, k journal.Passkey) error {
	_, err := tx.Exec(ctx, `INSERT INTO passkey (id, person_id, name, credential, created_at) VALUES ($1, $2, $3, $4, $5)`, k.ID, person, k.Name, k.Credential, k.Since)
	return err
}

// UsedPasskey notes when a passkey was used, and what its device proves itself by from now on.
func (d Door) UsedPasskey(ctx context.Context, person journal.ID, k journal.Passkey, at time.Time) error {
	return d.exec(ctx, "note that a passkey is used", `UPDATE passkey SET credential = $3, used_at = $4 WHERE person_id = $1 AND id = $2`, person, k.ID, k.Credential, at)
}

// NamePasskey gives one of a person's passkeys a name.
func (d Door) NamePasskey(ctx context.Context, person journal.ID, id []byte, name string) error {
	return d.exec(ctx, "name a passkey", `UPDATE passkey SET name = $3 WHERE person_id = $1 AND id = $2`, person, id, name)
}

// RemovePasskey takes one of a person's passkeys away, but never their last way in.
func (d Door) RemovePasskey(ctx context.Context, person journal.ID, id []byte) error {
	return d.write(ctx, "remove a passkey", func(tx pgx.Tx) error {
		var passphrase string // locked, so that two that are removed at once do not each count on the other
		if err := tx.QueryRow(ctx, `SELECT passphrase FROM person WHERE id = $1 FOR UPDATE`, person).Scan(&passphrase); err != nil {
			return err
		}
		tag, err := tx.Exec(ctx, `DELETE FROM passkey WHERE person_id = $1 AND id = $2`, person, id)
		if err == nil && tag.RowsAffected() == 0 {
			err = journal.ErrNotFound
		}
		if err != nil || passphrase != "" {
			return err
		}
		var left int
		if err := tx.QueryRow(ctx, `SELECT count(*) FROM passkey WHERE person_id = $1`, person).Scan(&left); err != nil {
			return err
		}
		if left == 0 {
			return &journal.Invalid{Problems: []string{"this passkey is your only way to sign in; add another one or a passphrase first"}}
		}
		return nil
	})
}
