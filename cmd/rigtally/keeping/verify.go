package keeping

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"rigtally/cmd/rigtally/command"
	"rigtally/internal/pgserver"
	"rigtally/journal/archive"
	"rigtally/journal/exchange"
)

// allOf asks for every backup of the folder.
const allOf = "all"

func (b backups) verify() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "verify [FILE|last|all]",
		Short: "Try a backup: restore it into a scratch database, and compare",
		Long: `Try a backup, the last one unless you name others: every byte is held against its sums;
then it is restored into a scratch database, which is dropped afterwards, and each table
read back and compared with what the backup says of it, row for row by hash; then its tables
are brought to those of this program, sessions counted, and the counts of each stint held
against its events. The journal itself is not touched. Of a backup that rigtally export
wrote (.jsonl) the sums, records and what they name are checked.`,
		Example: "  rigtally backups verify\n  rigtally backups verify all\n  rigtally backups verify journal-2026-11.jsonl",
		Args:    command.Between(0, -1, "the backup"),
	}
	cmd.ValidArgsFunction = b.names(command.Last, allOf)
	cmd.RunE = b.Do(func(ctx context.Context, args []string) error {
		folder, err := b.BackupFolder()
		if err != nil {
			return err
		}
		paths, err := b.asked(folder, args)
		if err != nil {
			return err
		}
		return b.inScratchServer(ctx, func(ctx context.Context, server archive.Server) error {
			var failed []error
			known := readProven(folder)
			for _, path := range paths {
				hash, said, err := b.try(ctx, server, path)
				if ctx.Err() != nil {
					return ctx.Err()
				}
				if err != nil {
					failed = append(failed, fmt.Errorf("%s: %w", path, err))
					continue
				}
				b.Printf("%s %s\n", path, said)
				if hash != "" && filepath.Dir(path) == filepath.Clean(folder.Dir) {
					known[hash] = b.Now().UTC()
					if err := known.keep(folder); err != nil {
						return err
					}
				}
			}
			return errors.Join(failed...)
		})
	})
	return cmd
}

// asked are the paths of the backups that were asked for.
func (b backups) asked(folder archive.Folder, args []string) (paths []string, err error) {
	if len(args) == 0 {
		args = []string{command.Last}
	}
	for _, name := range args {
		if strings.EqualFold(name, allOf) {
			all, unreadable, err := folder.List()
			if err != nil {
				return nil, err
			}
			for _, name := range append(command.Keys(all, func(f archive.File) string { return f.Name }), unreadable...) {
				paths = append(paths, filepath.Join(folder.Dir, name))
			}
			if len(paths) == 0 {
				return nil, fmt.Errorf("there is no backup in %s yet; make one with rigtally backups make", folder.Dir)
			}
			continue
		}
		path, err := b.whereIs(name)
		if err != nil {
			return nil, err
		}
		paths = append(paths, path)
	}
	return paths, nil
}

// inScratchServer has a server used in which scratch databases may be made: the journal's own, else a throw-away one.
func (b backups) inScratchServer(ctx context.Context, use func(context.Context, archive.Server) error) error {
	if b.Settings.DatabaseURL == "" {
		return b.InServer(ctx, b.Server(), func(ctx context.Context, server *pgserver.Server) error { return use(ctx, server) })
	}
	server, err := pgserver.Temporary(ctx, pgserver.Config{BinDir: b.Settings.BinDir})
	if err != nil {
		return err
	}
	return errors.Join(use(ctx, server), server.Release(context.WithoutCancel(ctx)))
}

// isFlat reports whether a backup is one by "rigtally export".
func isFlat(path string) bool { return strings.EqualFold(filepath.Ext(path), "."+command.JSONL) }

// try tries a backup, and returns its hash, unless it is one of another kind, and a sentence.
func (b backups) try(ctx context.Context, server archive.Server, path string) (hash, said string, err error) {
	file, err := os.Open(path)
	if err != nil {
		return "", "", fmt.Errorf("the backup can't be opened: %w", err)
	}
	defer file.Close()
	if isFlat(path) {
		s, err := exchange.CheckBackup(file)
		if err == nil && !s.Proves() {
			return "", fmt.Sprintf("can be read: %s. It is of an old format that does not show every change; export anew for one that does.", s.Sentence()), nil
		}
		return "", fmt.Sprintf("is whole: %s.", s.Sentence()), err
	}
	if _, err := check(path); err != nil { // before anything is made of it
		return "", "", err
	}
	progress, done := b.rows("Trying the backup")
	defer done()
	var p archive.Proof
	err = archive.InScratch(ctx, server, func(ctx context.Context, database string) (err error) {
		p, err = archive.Restore(ctx, server, database, file, b.passphrase, progress)
		return err
	})
	if err == nil && p.Wrong > 0 {
		err = fmt.Errorf("the backup is whole, but %s not those of their events, as in the journal when it was made; rigtally check shows and repairs that",
			exchange.Verb(p.Wrong, "stint", "has counts that are", "have counts that are"))
	}
	if err != nil {
		return "", "", err
	}
	return p.Hash.String(), fmt.Sprintf("is good: restored and compared, %s, counts of %s equal to their events. SHA-256 %s", holds(p.End), exchange.Counted(p.Recounted, "stint"), p.Hash), nil
}

// rows shows how many rows were restored, to someone who watches.
func (b backups) rows(what string) (progress func(int64), done func()) {
	bar, done := b.Bar(what)
	if bar == nil {
		return nil, done
	}
	return func(n int64) { bar(n, -1) }, done
}
