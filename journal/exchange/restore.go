package exchange

import (
	"context"
	"io"

	"rigtally/journal/pg"
)

// ReadBackup brings a backup into the journal, all of it or nothing, as PlanMerge and Merge.Write do: what the journal holds
// otherwise stays, and is told. Progress, which may be nil, is told of sessions.
func ReadBackup(ctx context.Context, store *pg.Store, r io.Reader, progress func(done, total int64)) (Result, error) {
	contents, err := ReadContents(r)
	if err != nil {
		return Result{}, err
	}
	m, err := PlanMerge(ctx, store, contents, MergeOptions{})
	if err != nil {
		return Result{}, err
	}
	return m.Write(ctx, store, progress)
}
