package pg

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

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
