package pg

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

// Listed is an outfit of a database, as who looks after the machine sees it: its name and no more.
type Listed struct {
	ID   journal.ID
	Name string
}

// door is where nobody is known yet.
func (s *Store) door() once { return once{s.pool, room{role: atDoor}} }

// Outfits lists the outfits of the database, the first made first.
func (s *Store) Outfits(ctx context.Context) ([]Listed, error) {
	list, err := listOf(ctx, s.door(), pgx.RowToStructByPos[Listed], `SELECT id, name FROM outfit ORDER BY created_at, id`)
	return list, explain("list the outfits", err)
}

// AddOutfit makes another outfit, with an empty journal of its own, and returns its id. A name that another
// one has is refused: people and commands tell outfits apart by name.
func (s *Store) AddOutfit(ctx context.Context, name string) (journal.ID, error) {
	o := journal.Outfit{Name: strings.TrimSpace(name), Units: "metric", TimeZone: localZone()}
	if err := o.Validate(); err != nil {
		return journal.ID{}, err
	}
	id := journal.NewID()
	err := room{role: atDoor}.begin(ctx, s.pool, toWrite, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, `SELECT pg_advisory_xact_lock($1)`, outfitLock); err != nil {
			return err
		}
		tag, err := tx.Exec(ctx, `INSERT INTO outfit (id, name, units, time_zone) SELECT $1, $2, $3, $4 WHERE NOT EXISTS (SELECT FROM outfit WHERE lower(name) = lower($2))`,
			id, o.Name, o.Units, o.TimeZone)
		if err == nil && tag.RowsAffected() == 0 {
			err = journal.Invalidf("an outfit called %s is there already; choose another name", o.Name)
		}
		return err
	})
	return id, explain("add an outfit", err)
}

// OutfitNamed is the same store in the outfit of a name, without regard to case; one that is not there is refused with
// the names of those that are.
func (s *Store) OutfitNamed(ctx context.Context, name string) (*Store, error) {
	all, err := s.Outfits(ctx)
	if err != nil {
		return nil, err
	}
	var names []string
	for _, o := range all {
		if strings.EqualFold(o.Name, strings.TrimSpace(name)) {
			return s.In(o.ID, s.who), nil
		}
		names = append(names, o.Name)
	}
	return nil, errors.Join(fmt.Errorf("there is no outfit called %q; the outfits are: %s", name, strings.Join(names, ", ")), journal.ErrNotFound)
}

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
