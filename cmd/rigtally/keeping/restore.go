package keeping

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/spf13/cobra"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/internal/pgserver"
	"rigtally/journal"
	"rigtally/journal/archive"
	"rigtally/journal/exchange"
	"rigtally/journal/pg"
)

// restoring is what "rigtally backups restore" was asked for.
type restoring struct {
	backups
	path       string
	fromOutfit string
	take, yes  bool
}

func (b backups) restore() *cobra.Command {
	r := restoring{backups: b}
	cmd := &cobra.Command{
		Use:   "restore FILE",
		Short: "Bring a backup back: whole into an empty journal, else merged",
		Long: `Bring a backup back. Into a journal in which nothing was entered yet it goes whole, with
all outfits, people and history, exactly as it was. Into a journal in use, one outfit is
merged: what it lacks is added, known by its id; what both have otherwise stays as the
journal has it, or becomes the backup's with --take. What that does is shown first, and a
backup of the journal is made before. People, history and what could be taken back stay
the journal's then.

To look at an old journal beside this one, restore a backup, by its path, into a folder of its
own with --data-dir.`,
		Example: "  rigtally backups restore last\n  rigtally backups restore last --from-outfit \"Alder Guides\" --take\n  rigtally backups restore /media/stick/journal.rigtally --data-dir ~/journal-then",
		Args:    command.Between(1, 1, "the backup"),
	}
	flags := cmd.Flags()
	flags.StringVar(&r.fromOutfit, "from-outfit", "", "`name` of the outfit of the backup that is merged (default: the one that the journal is of)")
	flags.BoolVar(&r.take, "take", false, "take the backup's of what both have otherwise")
	flags.BoolVar(&r.yes, "yes", false, "ask nothing")
	cmd.ValidArgsFunction = b.names(command.Last)
	cmd.RunE = b.Do(func(ctx context.Context, args []string) (err error) {
		r.backups = b // with the settings
		if r.path, err = b.whereIs(args[0]); err != nil {
			return err
		}
		if isFlat(r.path) {
			return b.Open(ctx, r.flat)
		}
		if _, err := check(r.path); err != nil {
			return err
		}
		return r.whole(ctx)
	})
	return cmd
}

// flat merges a backup that "rigtally export" wrote.
func (r restoring) flat(ctx context.Context, j command.Journal) error {
	file, err := os.Open(r.path)
	if err != nil {
		return fmt.Errorf("the backup can't be opened: %w", err)
	}
	defer file.Close()
	contents, err := exchange.ReadContents(file)
	if err != nil {
		return fmt.Errorf("%s: %w", r.path, err)
	}
	return r.merge(ctx, j, contents)
}

// errMerge says that the journal is not empty, so that a backup is merged into it.
var errMerge = errors.New("the journal is in use")

// whole restores a backup into an empty journal, or merges it into another.
func (r restoring) whole(ctx context.Context) error {
	if r.Settings.DatabaseURL == "" {
		err := r.intoEmpty(ctx)
		if !errors.Is(err, errMerge) {
			return err
		}
	}
	return r.inScratchServer(ctx, func(ctx context.Context, server archive.Server) error {
		_, err := r.inScratch(ctx, server, func(ctx context.Context, database string) error {
			then, err := pg.Open(ctx, server.ProgramURL(database))
			if err != nil {
				return fmt.Errorf("open what was restored: %w", err)
			}
			defer then.Close()
			return r.Open(ctx, func(ctx context.Context, j command.Journal) error {
				outfit, err := r.outfit(ctx, then, j.OutfitID())
				if err != nil {
					return err
				}
				contents, err := outfit.Contents(ctx)
				if err != nil {
					return err
				}
				return r.merge(ctx, j, contents)
			})
		})
		return err
	})
}

// outfit is the one of a backup that is merged: the one asked for, else that of the journal, else the only one.
func (r restoring) outfit(ctx context.Context, then *pg.Store, ours journal.ID) (*pg.Store, error) {
	if r.fromOutfit != "" {
		return then.OutfitNamed(ctx, r.fromOutfit)
	}
	all, err := then.Outfits(ctx)
	if err != nil {
		return nil, err
	}
	for _, o := range all {
		if o.ID == ours || len(all) == 1 {
			return then.In(o.ID, journal.Keeper()), nil
		}
	}
	names := command.Keys(all, func(o pg.Listed) string { return o.Name })
	return nil, terminal.Misusef("the backup does not hold this journal's outfit; say with --from-outfit which of its outfits to merge: %s", strings.Join(names, ", "))
}

func (r restoring) intoEmpty(ctx context.Context) error {
	return r.InServer(ctx, r.Server(), func(ctx context.Context, server *pgserver.Server) error {
		empty, err := isEmpty(ctx, server.URL(command.DatabaseName))
		if err != nil {
			return err
		}
		if !empty {
			return errMerge
		}
		p, err := r.inScratch(ctx, server, func(ctx context.Context, database string) error {
			err := archive.TakePlace(ctx, server, database, command.DatabaseName)
			if errors.Is(err, archive.ErrNotEmpty) {
				return errors.New("somebody has begun to write to the journal meanwhile, so nothing was restored; try again to merge the backup")
			}
			return err
		})
		return r.Did(err, "The journal is as it was on %s: %s.\n", p.Head.MadeAt.Local().Format("2006-01-02 15:04"), holds(p.End))
	})
}

// isEmpty reports whether nothing was entered into the journal yet.
func isEmpty(ctx context.Context, url string) (bool, error) {
	conn, err := pgx.Connect(ctx, url)
	if err != nil {
		return false, fmt.Errorf("connect to the journal's database: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	return archive.Empty(ctx, conn)
}

// inScratch restores the backup into a scratch database.
func (r restoring) inScratch(ctx context.Context, server archive.Server, use func(ctx context.Context, database string) error) (p archive.Proof, err error) {
	file, err := os.Open(r.path)
	if err != nil {
		return p, fmt.Errorf("the backup can't be opened: %w", err)
	}
	defer file.Close()
	progress, done := r.rows("Restoring rows")
	defer done()
	err = archive.InScratch(ctx, server, func(ctx context.Context, database string) error {
		if p, err = archive.Restore(ctx, server, database, file, r.passphrase, progress); err != nil {
			return err
		}
		return use(ctx, database)
	})
	return p, err
}

// merge brings contents into a journal in use, once they were shown and agreed to.
func (r restoring) merge(ctx context.Context, j command.Journal, contents journal.Contents) error {
	m, err := exchange.PlanMerge(ctx, j.Store, contents, exchange.MergeOptions{From: filepath.Base(r.path), Take: r.take})
	if err != nil {
		return err
	}
	const most = 20
	shown := m.Preview()
	for _, line := range shown.Lines(most) {
		r.Printf("%s\n", line)
	}
	if !shown.Writes {
		return nil
	}
	if err := r.agreed(ctx); err != nil {
		return err
	}
	if err := j.Backups.BeforeRestore(ctx); err != nil {
		return err
	}
	progress, done := r.Bar("Restoring sessions")
	result, err := m.Write(ctx, j.Store, progress)
	done()
	if err != nil {
		return err
	}
	r.Printf("\n%s\nTo take it back: rigtally undo\n", strings.Join(result.Sentences(), "\n"))
	return nil
}

func (r restoring) agreed(ctx context.Context) error {
	if r.yes {
		return nil
	}
	if !r.Asks {
		return terminal.Misusef("nothing was written: say --yes where nobody can be asked")
	}
	answer, err := r.Asker(ctx).Ask(ctx, terminal.YesNo("go", "\nBring it in? (yes or no)", "yes writes what is shown above, in one step; no writes nothing.", terminal.No))
	if err == nil && !terminal.IsYes(answer) {
		err = terminal.ErrStopped
	}
	return err
}
