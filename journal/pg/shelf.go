package pg

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

// shelf keeps things of one kind that people change, take away and bring back.
type shelf[T any] struct {
	table[T]
	what, called string // "pull" in a conflict, "bench pull" in words
	order        string
	start        func() []T // what every journal begins with; they are never deleted for good
	mark         func(*T) marks
	equal        func(v, held T) bool
	carry        func(v *T, held *T) // keeps what a change leaves as it was; held is nil for something new
	goes         bool                // what was taken away can't be changed, and is deleted for good after journal.UndoDays
}

// marks are what all things on a shelf have.
type marks struct {
	id      journal.ID
	version *int
	made    *time.Time
	gone    **time.Time // nil: there
}

// thing is what can be put on a shelf.
type thing[T any] interface {
	*T
	Normalize()
	Validate() error
}

// read lists things that a condition chooses.
func (k *shelf[T]) read(ctx context.Context, s *Store, from querier, which string, args ...any) ([]T, error) {
	list, err := k.of(ctx, from, s.outfit, which, args...)
	for i := range list {
		any(&list[i]).(interface{ Normalize() }).Normalize()
	}
	return list, err
}

// all lists everything on the shelf. Its first use puts there what a journal begins with.
func (k *shelf[T]) all(ctx context.Context, s *Store) ([]T, error) {
	doing := "list the " + k.called + "s"
	list, err := k.read(ctx, s, s.pool, "true ORDER BY "+k.order)
	if err != nil || len(list) > 0 || k.start == nil {
		return list, explain(doing, err)
	}
	if err := s.write(ctx, "set up the "+k.called+"s", func(tx pgx.Tx) error { return k.begin(ctx, s, tx) }); err != nil {
		return nil, err
	}
	list, err = k.read(ctx, s, s.pool, "true ORDER BY "+k.order)
	return list, explain(doing, err)
}

// begin fills a shelf that has never been used, and takes what was deleted too long ago off
// one that forgets.
func (k *shelf[T]) begin(ctx context.Context, s *Store, tx pgx.Tx) error {
	if k.goes {
		_, err := tx.Exec(ctx, "DELETE FROM "+k.name+" WHERE outfit_id = $1 AND deleted_at < now() - make_interval(days => $2)", s.outfit, journal.UndoDays)
		return err
	}
	var used bool
	if err := tx.QueryRow(ctx, "SELECT EXISTS (SELECT FROM "+k.name+" WHERE outfit_id = $1)", s.outfit).Scan(&used); err != nil || used {
		return err
	}
	return k.put(ctx, s, tx, k.start())
}

// byID returns one thing, or ErrNotFound; one that was taken away says so.
func (k *shelf[T]) byID(ctx context.Context, s *Store, id journal.ID) (T, error) {
	v, err := k.held(ctx, s, s.pool, id)
	if errors.Is(err, journal.ErrNotFound) && k.start != nil { // it may not have been set up yet
		if _, err := k.all(ctx, s); err != nil {
			return v, err
		}
		v, err = k.held(ctx, s, s.pool, id)
	}
	if errors.Is(err, journal.ErrNotFound) {
		return v, err
	}
	return v, explain("read the "+k.called, err)
}

func (k *shelf[T]) held(ctx context.Context, s *Store, from querier, id journal.ID) (v T, err error) {
	list, err := k.read(ctx, s, from, "id = $2", id)
	if err == nil && len(list) == 0 {
		err = fmt.Errorf("%s %s: %w", k.called, id, journal.ErrNotFound)
	}
	if err != nil {
		return v, err
	}
	return list[0], nil
}

// put writes things as they are, in the place of those of the same ids.
func (k *shelf[T]) put(ctx context.Context, s *Store, tx pgx.Tx, list []T) error {
	batch := &pgx.Batch{}
	for i := range list {
		batch.Queue(k.upsert("outfit_id, id"), k.row(&list[i], s.outfit)...)
	}
	return tx.SendBatch(ctx, batch).Close()
}

// save adds a thing, or changes the one of the same id, and returns it as stored. Saving the
// same one twice changes nothing. A change must carry the version that was edited; it is a
// Conflict when the journal holds another.
func save[T any, P thing[T]](ctx context.Context, s *Store, k *shelf[T], v T) (T, error) {
	P(&v).Normalize()
	if err := P(&v).Validate(); err != nil {
		var none T
		return none, err
	}
	err := s.write(ctx, "save the "+k.called, func(tx pgx.Tx) error {
		if err := k.begin(ctx, s, tx); err != nil {
			return err
		}
		m := k.mark(&v)
		held, err := k.held(ctx, s, tx, m.id)
		switch {
		case errors.Is(err, journal.ErrNotFound) && *m.version > 0:
			return &journal.Conflict{What: k.what, Seen: *m.version}
		case errors.Is(err, journal.ErrNotFound):
			if k.carry(&v, nil); m.made.IsZero() {
				*m.made = time.Now().UTC().Truncate(time.Microsecond)
			}
			*m.version = 1
			return k.put(ctx, s, tx, []T{v})
		case err != nil:
			return err
		}
		seen, at := *m.version, k.mark(&held)
		if k.goes && *at.gone != nil {
			return &journal.Conflict{What: k.what, Seen: seen, Held: *at.version, Deleted: true, Stored: held}
		}
		*m.version, *m.made, *m.gone = *at.version, *at.made, *at.gone
		switch k.carry(&v, &held); {
		case k.equal(v, held):
			return errUnchanged // sent twice
		case seen != *at.version:
			return &journal.Conflict{What: k.what, Seen: seen, Held: *at.version, Stored: held}
		}
		*m.version++
		return k.put(ctx, s, tx, []T{v})
	})
	return v, err
}

// take takes a thing away or brings it back, if it is still the version that was seen; 0 is any.
func (k *shelf[T]) take(ctx context.Context, s *Store, doing string, id journal.ID, seen int, away bool) error {
	return s.write(ctx, doing+" the "+k.called, func(tx pgx.Tx) error {
		if err := k.begin(ctx, s, tx); err != nil {
			return err
		}
		held, err := k.held(ctx, s, tx, id)
		if err != nil {
			return err
		}
		m := k.mark(&held)
		if (*m.gone != nil) == away {
			return errUnchanged
		}
		if err := journal.Stale(k.what, seen, *m.version, k.goes && !away, held); err != nil {
			return err
		}
		if *m.gone = nil; away {
			*m.gone = new(time.Now().UTC().Truncate(time.Microsecond))
		}
		*m.version++
		return k.put(ctx, s, tx, []T{held})
	})
}
