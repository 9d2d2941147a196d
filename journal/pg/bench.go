package pg

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

var benchPullTable = []string{"outfit_id", "id", "day", "angler_id", "junction", "junction_name", "facing", "prop", "tippet_mm", "material", "pulled_on", "wetness",
	"force_n", "ending", "broke_at", "label", "note", "logged_at", "deleted_at", "version"}

func benchPullRow(p journal.BenchPull, outfit journal.ID) []any {
	return []any{outfit, p.ID, p.Day, p.AnglerID, p.Junction, p.JunctionName, p.Facing, p.Prop, p.TippetMM, p.Material, p.PulledOn, p.Wetness,
		p.ForceN, p.Ending, p.BrokeAt, p.Label, p.Note, p.LoggedAt, p.DeletedAt, max(1, p.Version)}
}

func readBenchPull(row pgx.CollectableRow) (journal.BenchPull, error) {
	var p journal.BenchPull
	err := row.Scan(&p.ID, &p.Day, &p.AnglerID, &p.Junction, &p.JunctionName, &p.Facing, &p.Prop, &p.TippetMM, &p.Material, &p.PulledOn, &p.Wetness,
		&p.ForceN, &p.Ending, &p.BrokeAt, &p.Label, &p.Note, &p.LoggedAt, &p.DeletedAt, &p.Version)
	p.Normalize()
	return p, err
}

const benchPullColumns = `id, day, angler_id, junction, junction_name, facing, prop, tippet_mm, material, pulled_on, wetness, force_n, ending, broke_at, label, note, logged_at, deleted_at, version`

func (s *Store) readBenchPulls(ctx context.Context, from querier, which string, args ...any) ([]journal.BenchPull, error) {
	rows, err := from.Query(ctx, `SELECT `+benchPullColumns+` FROM bench_pull WHERE outfit_id = $1 AND `+which, append([]any{s.outfit}, args...)...)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, readBenchPull)
}

// BenchPulls lists the pulls of the journal, without those deleted, in the order
// in which they were logged.
func (s *Store) BenchPulls(ctx context.Context) ([]journal.BenchPull, error) {
	list, err := s.readBenchPulls(ctx, s.pool, `deleted_at IS NULL ORDER BY logged_at, id`)
	return list, explain("list the bench pulls", err)
}

// BenchPullByID returns a pull, or ErrNotFound; one that was deleted has its DeletedAt set.
func (s *Store) BenchPullByID(ctx context.Context, id journal.ID) (journal.BenchPull, error) {
	list, err := s.readBenchPulls(ctx, s.pool, `id = $2`, id)
	if err != nil {
		return journal.BenchPull{}, explain("read the bench pull", err)
	}
	if len(list) == 0 {
		return journal.BenchPull{}, fmt.Errorf("bench pull %s: %w", id, journal.ErrNotFound)
	}
	return list[0], nil
}

// SaveBenchPull adds a pull, or changes the one of the same id, and returns it
// as stored. Saving the same one twice changes nothing. A change must carry the
// version that was edited; it is a Conflict when the journal holds another, or
// one that was deleted.
func (s *Store) SaveBenchPull(ctx context.Context, p journal.BenchPull) (journal.BenchPull, error) {
	p.Normalize()
	p.DeletedAt = nil
	if err := p.Validate(); err != nil {
		return journal.BenchPull{}, err
	}
	err := s.write(ctx, "save the bench pull", func(tx pgx.Tx) error {
		held, err := s.heldPull(ctx, tx, p.ID)
		switch {
		case errors.Is(err, journal.ErrNotFound) && p.Version > 0:
			return &journal.Conflict{What: "pull", Seen: p.Version}
		case errors.Is(err, journal.ErrNotFound):
			if p.LoggedAt.IsZero() {
				p.LoggedAt = time.Now().UTC().Truncate(time.Microsecond)
			}
			p.Version = 1
			return s.addBenchPulls(ctx, tx, []journal.BenchPull{p})
		case err != nil:
			return err
		case held.DeletedAt != nil:
			return &journal.Conflict{What: "pull", Seen: p.Version, Held: held.Version, Deleted: true, Stored: held}
		case p.Equal(held):
			p = held
			return errUnchanged // sent twice
		case p.Version != held.Version:
			return &journal.Conflict{What: "pull", Seen: p.Version, Held: held.Version, Stored: held}
		}
		p.LoggedAt = held.LoggedAt
		p.Version++
		return s.addBenchPulls(ctx, tx, []journal.BenchPull{p})
	})
	return p, err
}

func (s *Store) heldPull(ctx context.Context, tx pgx.Tx, id journal.ID) (journal.BenchPull, error) {
	list, err := s.readBenchPulls(ctx, tx, `id = $2`, id)
	if err == nil && len(list) == 0 {
		err = fmt.Errorf("bench pull %s: %w", id, journal.ErrNotFound)
	}
	if err != nil {
		return journal.BenchPull{}, err
	}
	return list[0], nil
}

// addBenchPulls writes pulls as they are, in the place of those of the same ids.
func (s *Store) addBenchPulls(ctx context.Context, tx pgx.Tx, list []journal.BenchPull) error {
	batch := &pgx.Batch{}
	for _, p := range list {
		batch.Queue(insertInto("bench_pull", benchPullTable)+` ON CONFLICT (outfit_id, id) DO UPDATE SET day = excluded.day, angler_id = excluded.angler_id,
			junction = excluded.junction, junction_name = excluded.junction_name, facing = excluded.facing, prop = excluded.prop, tippet_mm = excluded.tippet_mm,
			material = excluded.material, pulled_on = excluded.pulled_on, wetness = excluded.wetness, force_n = excluded.force_n, ending = excluded.ending,
			broke_at = excluded.broke_at, label = excluded.label, note = excluded.note, logged_at = excluded.logged_at, deleted_at = excluded.deleted_at,
			version = greatest(excluded.version, bench_pull.version + 1)`, benchPullRow(p, s.outfit)...)
	}
	return tx.SendBatch(ctx, batch).Close()
}

// AddBenchPulls adds new pulls and anglers in one transaction, all of them or
// none. A pull in the place of one that was deleted brings it back.
func (s *Store) AddBenchPulls(ctx context.Context, pulls []journal.BenchPull, anglers []journal.Angler) error {
	now := time.Now()
	list := make([]journal.BenchPull, len(pulls))
	for i, p := range pulls {
		if p.LoggedAt.IsZero() {
			p.LoggedAt = now.Add(time.Duration(i) * time.Microsecond) // in the order of the list
		}
		p.Normalize()
		if err := p.Validate(); err != nil {
			return err
		}
		list[i] = p
	}
	return s.write(ctx, "add the bench pulls", func(tx pgx.Tx) error {
		held, err := s.addPeople(ctx, tx, journal.Addition{Anglers: anglers})
		if err != nil {
			return err
		}
		return s.addBenchPulls(ctx, tx, journal.Addition{Pulls: list}.Refer(held).Pulls)
	})
}

// DeleteBenchPull takes a pull out of the journal, if it is still the version
// that was seen; 0 is any. RestoreBenchPull brings it back for UndoDays.
func (s *Store) DeleteBenchPull(ctx context.Context, id journal.ID, seen int) error {
	return s.markPull(ctx, "delete the bench pull", id, seen, true)
}

// RestoreBenchPull brings a deleted pull back as it was, if it is still the
// version that was seen; 0 is any.
func (s *Store) RestoreBenchPull(ctx context.Context, id journal.ID, seen int) error {
	return s.markPull(ctx, "restore the bench pull", id, seen, false)
}

func (s *Store) markPull(ctx context.Context, doing string, id journal.ID, seen int, deleted bool) error {
	return s.write(ctx, doing, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, `DELETE FROM bench_pull WHERE outfit_id = $1 AND deleted_at < now() - make_interval(days => $2)`, s.outfit, journal.UndoDays); err != nil {
			return err
		}
		held, err := s.heldPull(ctx, tx, id)
		if err == nil && (held.DeletedAt != nil) == deleted {
			return errUnchanged
		}
		if err == nil {
			err = journal.Stale("pull", seen, held.Version, held.DeletedAt != nil, held)
		}
		if err != nil {
			return err
		}
		_, err = tx.Exec(ctx, `UPDATE bench_pull SET deleted_at = CASE WHEN $3 THEN now() END, version = version + 1 WHERE outfit_id = $1 AND id = $2`, s.outfit, id, deleted)
		return err
	})
}

// DeletedBenchPulls lists what can still be brought back, the last deleted first.
func (s *Store) DeletedBenchPulls(ctx context.Context) ([]journal.BenchPull, error) {
	list, err := s.readBenchPulls(ctx, s.pool, `deleted_at >= now() - make_interval(days => $2) ORDER BY deleted_at DESC, id`, journal.UndoDays)
	return list, explain("list the deleted bench pulls", err)
}
