package pg

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

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
