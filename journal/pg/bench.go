package pg

import (
	"context"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

var pulls = &shelf[journal.BenchPull]{
	table: tableOf[journal.BenchPull]("bench_pull", "outfit_id"),
	what:  "pull", called: "bench pull",
	mark:  func(p *journal.BenchPull) marks { return marks{p.ID, &p.Version, &p.LoggedAt, &p.DeletedAt} },
	equal: journal.BenchPull.Equal,
	carry: func(p, _ *journal.BenchPull) { p.DeletedAt = nil },
	goes:  true,
}

// BenchPulls lists the pulls of the journal, without those deleted, in the order
// in which they were logged.
func (s *Store) BenchPulls(ctx context.Context) ([]journal.BenchPull, error) {
	list, err := pulls.read(ctx, s, s.pool, "deleted_at IS NULL ORDER BY logged_at, id")
	return list, explain("list the bench pulls", err)
}

// BenchPullByID returns a pull, or ErrNotFound; one that was deleted has its DeletedAt set.
func (s *Store) BenchPullByID(ctx context.Context, id journal.ID) (journal.BenchPull, error) {
	return pulls.byID(ctx, s, id)
}

// SaveBenchPull adds a pull, or changes the one of the same id, and returns it
// as stored. Saving the same one twice changes nothing. A change must carry the
// version that was edited; it is a Conflict when the journal holds another, or
// one that was deleted.
func (s *Store) SaveBenchPull(ctx context.Context, p journal.BenchPull) (journal.BenchPull, error) {
	return save(ctx, s, pulls, p)
}

// AddBenchPulls adds new pulls and anglers in one transaction, all of them or
// none. A pull in the place of one that was deleted brings it back.
func (s *Store) AddBenchPulls(ctx context.Context, list []journal.BenchPull, anglers []journal.Angler) error {
	now := time.Now()
	list = slices.Clone(list)
	add := journal.Addition{Anglers: anglers, Pulls: list}
	for i := range list {
		if list[i].LoggedAt.IsZero() {
			list[i].LoggedAt = now.Add(time.Duration(i) * time.Microsecond) // in the order of the list
		}
	}
	if err := add.Prepare(); err != nil {
		return err
	}
	return s.write(ctx, "add the bench pulls", func(tx pgx.Tx) error {
		held, err := s.addPeople(ctx, tx, add)
		if err != nil {
			return err
		}
		return pulls.put(ctx, s, tx, add.Refer(held).Pulls)
	})
}

// DeleteBenchPull takes a pull out of the journal, if it is still the version
// that was seen; 0 is any. RestoreBenchPull brings it back for UndoDays.
func (s *Store) DeleteBenchPull(ctx context.Context, id journal.ID, seen int) error {
	return pulls.take(ctx, s, "delete", id, seen, true)
}

// RestoreBenchPull brings a deleted pull back as it was, if it is still the
// version that was seen; 0 is any.
func (s *Store) RestoreBenchPull(ctx context.Context, id journal.ID, seen int) error {
	return pulls.take(ctx, s, "restore", id, seen, false)
}

// DeletedBenchPulls lists what can still be brought back, the last deleted first.
func (s *Store) DeletedBenchPulls(ctx context.Context) ([]journal.BenchPull, error) {
	list, err := pulls.read(ctx, s, s.pool, "deleted_at >= now() - make_interval(days => $2) ORDER BY deleted_at DESC, id", journal.UndoDays)
	return list, explain("list the deleted bench pulls", err)
}
