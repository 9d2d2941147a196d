package pg

import (
	"context"
	"fmt"
)

// OwnerCanSignIn reports whether an owner of the outfit has a passphrase or a passkey.
func (s *Store) OwnerCanSignIn(ctx context.Context) (bool, error) {
	var can bool
	err := once{s.pool, room{role: atDoor}}.QueryRow(ctx, `SELECT EXISTS (
		SELECT FROM member m JOIN person p ON p.id = m.person_id
		WHERE m.outfit_id = $1 AND m.role = 'owner' AND (p.passphrase <> '' OR EXISTS (SELECT FROM passkey k WHERE k.person_id = p.id)))`, s.outfit).Scan(&can)
	if err != nil {
		return false, fmt.Errorf("look for an owner who can sign in: %w", err)
	}
	return can, nil
}
