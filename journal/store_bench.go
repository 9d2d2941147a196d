package journal

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
)

var benchPullTable = []string{"outfit_id", "id", "day", "angler_id", "junction", "junction_name", "facing", "prop", "tippet_mm", "material", "pulled_on", "wetness",
	"force_n", "ending", "broke_at", "label", "note", "logged_at", "deleted_at"}

func (p BenchPull) row(outfit ID) []any {
	return []any{outfit, p.ID, p.Day, p.AnglerID, p.Junction, p.JunctionName, p.Facing, p.Prop, p.TippetMM, p.Material, p.PulledOn, p.Wetness,
		p.ForceN, p.Ending, p.BrokeAt, p.Label, p.Note, p.LoggedAt, p.DeletedAt}
}

func readBenchPull(row pgx.CollectableRow) (BenchPull, error) {
	var p BenchPull
	err := row.Scan(&p.ID, &p.Day, &p.AnglerID, &p.Junction, &p.JunctionName, &p.Facing, &p.Prop, &p.TippetMM, &p.Material, &p.PulledOn, &p.Wetness,
		&p.ForceN, &p.Ending, &p.BrokeAt, &p.Label, &p.Note, &p.LoggedAt, &p.DeletedAt)
	p.normalize()
	return p, err
}

const benchPullColumns = `id, day, angler_id, junction, junction_name, facing, prop, tippet_mm, material, pulled_on, wetness, force_n, ending, broke_at, label, note, logged_at, deleted_at`

func (s *Store) readBenchPulls(ctx context.Context, from querier, which string, args ...any) ([]BenchPull, error) {
	rows, err := from.Query(ctx, `SELECT `+benchPullColumns+` FROM bench_pull WHERE outfit_id = $1 AND `+which, append([]any{s.outfit}, args...)...)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, readBenchPull)
}

// BenchPulls lists the pulls of the journal, without those deleted, in the order
// in which they were logged.
func (s *Store) BenchPulls(ctx context.Context) ([]BenchPull, error) {
	list, err := s.readBenchPulls(ctx, s.pool, `deleted_at IS NULL ORDER BY logged_at, id`)
	return list, explain("list the bench pulls", err)
}

// BenchPullByID returns a pull, or ErrNotFound; one that was deleted has its DeletedAt set.
func (s *Store) BenchPullByID(ctx context.Context, id ID) (BenchPull, error) {
	list, err := s.readBenchPulls(ctx, s.pool, `id = $2`, id)
	if err != nil {
		return BenchPull{}, explain("read the bench pull", err)
	}
	if len(list) == 0 {
		return BenchPull{}, fmt.Errorf("bench pull %s: %w", id, ErrNotFound)
	}
	return list[0], nil
}

// SaveBenchPull adds a pull, or changes the one of the same id, and returns it
// as stored. Saving the same one twice changes nothing. One that was deleted
// is an ErrConflict: restore it first.
func (s *Store) SaveBenchPull(ctx context.Context, p BenchPull) (BenchPull, error) {
	p.normalize()
	p.DeletedAt = nil
	if err := p.Validate(); err != nil {
		return BenchPull{}, err
	}
	err := s.write(ctx, "save the bench pull", func(tx pgx.Tx) error {
		var logged time.Time
		var deleted *time.Time
		err := tx.QueryRow(ctx, `SELECT logged_at, deleted_at FROM bench_pull WHERE outfit_id = $1 AND id = $2 FOR UPDATE`, s.outfit, p.ID).Scan(&logged, &deleted)
		switch {
		case errors.Is(err, pgx.ErrNoRows):
			if p.LoggedAt.IsZero() {
				p.LoggedAt = time.Now().UTC().Truncate(time.Microsecond)
			}
		case err != nil:
			return err
		case deleted != nil:
			return fmt.Errorf("%w: that pull was deleted; restore it first", ErrConflict)
		default:
			p.LoggedAt = logged.UTC()
		}
		return s.addBenchPulls(ctx, tx, []BenchPull{p})
	})
	return p, err
}

// addBenchPulls writes pulls as they are, in the place of those of the same ids.
func (s *Store) addBenchPulls(ctx context.Context, tx pgx.Tx, list []BenchPull) error {
	batch := &pgx.Batch{}
	for _, p := range list {
		batch.Queue(insertInto("bench_pull", benchPullTable)+` ON CONFLICT (outfit_id, id) DO UPDATE SET day = excluded.day, angler_id = excluded.angler_id,
			junction = excluded.junction, junction_name = excluded.junction_name, facing = excluded.facing, prop = excluded.prop, tippet_mm = excluded.tippet_mm,
			material = excluded.material, pulled_on = excluded.pulled_on, wetness = excluded.wetness, force_n = excluded.force_n, ending = excluded.ending,
			broke_at = excluded.broke_at, label = excluded.label, note = excluded.note, logged_at = excluded.logged_at, deleted_at = excluded.deleted_at`, p.row(s.outfit)...)
	}
	return tx.SendBatch(ctx, batch).Close()
}

// AddBenchPulls adds new pulls and anglers in one transaction, all of them or
// none. A pull in the place of one that was deleted brings it back.
func (s *Store) AddBenchPulls(ctx context.Context, pulls []BenchPull, anglers []Angler) error {
	now := time.Now()
	list := make([]BenchPull, len(pulls))
	for i, p := range pulls {
		if p.LoggedAt.IsZero() {
			p.LoggedAt = now.Add(time.Duration(i) * time.Microsecond) // in the order of the list
		}
		p.normalize()
		if err := p.Validate(); err != nil {
			return err
		}
		list[i] = p
	}
	return s.write(ctx, "add the bench pulls", func(tx pgx.Tx) error {
		if err := s.addPeople(ctx, tx, Addition{Anglers: anglers}); err != nil {
			return err
		}
		return s.addBenchPulls(ctx, tx, list)
	})
}

// DeleteBenchPull takes a pull out of the journal. RestoreBenchPull brings it
// back for UndoDays.
func (s *Store) DeleteBenchPull(ctx context.Context, id ID) error {
	return s.write(ctx, "delete the bench pull", func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, `DELETE FROM bench_pull WHERE outfit_id = $1 AND deleted_at < now() - make_interval(days => $2)`, s.outfit, UndoDays); err != nil {
			return err
		}
		return markBenchPull(ctx, tx, s.outfit, id, `deleted_at = coalesce(deleted_at, now())`)
	})
}

// RestoreBenchPull brings a deleted pull back as it was.
func (s *Store) RestoreBenchPull(ctx context.Context, id ID) error {
	return s.write(ctx, "restore the bench pull", func(tx pgx.Tx) error { return markBenchPull(ctx, tx, s.outfit, id, `deleted_at = NULL`) })
}

func markBenchPull(ctx context.Context, tx pgx.Tx, outfit, id ID, set string) error {
	tag, err := tx.Exec(ctx, `UPDATE bench_pull SET `+set+` WHERE outfit_id = $1 AND id = $2`, outfit, id)
	if err == nil && tag.RowsAffected() == 0 {
		return fmt.Errorf("bench pull %s: %w", id, ErrNotFound)
	}
	return err
}

// DeletedBenchPulls lists what can still be brought back, the last deleted first.
func (s *Store) DeletedBenchPulls(ctx context.Context) ([]BenchPull, error) {
	list, err := s.readBenchPulls(ctx, s.pool, `deleted_at >= now() - make_interval(days => $2) ORDER BY deleted_at DESC, id`, UndoDays)
	return list, explain("list the deleted bench pulls", err)
}
