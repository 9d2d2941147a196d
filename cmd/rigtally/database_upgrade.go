package main

import (
	"context"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/spf13/cobra"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/internal/pgserver"
	"rigtally/journal/archive"
)

func databaseUpgradeCommand(p *command.Program) *cobra.Command {
	var to int
	var check, removeOld, leave bool
	cmd := &cobra.Command{
		Use:   "upgrade",
		Short: "Bring the journal into a newer PostgreSQL",
		Long: fmt.Sprintf(`Bring the journal into a newer PostgreSQL, up to version %d. Programs of both
versions must be installed; "make postgres" in rigtally's folder fetches version %d.
A backup is made first. Then all rows are copied into a new cluster beside the old
one, and compared. Only when they are equal does the new one become the journal. If
anything fails or the work is cut off, the journal is as it was. The old cluster is
kept until you remove it with --remove-old.`, pgserver.Newest, pgserver.Newest),
		Example: "  rigtally database upgrade --check\n  rigtally database upgrade\n  rigtally database upgrade --remove-old",
		Args:    command.None,
	}
	cmd.Flags().IntVar(&to, "to", 0, "the `version` to go to; the newest that is found unless given")
	cmd.Flags().BoolVar(&check, "check", false, "say what would be done, and do nothing")
	cmd.Flags().BoolVar(&removeOld, "remove-old", false, "remove the clusters that upgrades have left")
	cmd.Flags().BoolVar(&leave, "leave-others", false, "leave behind what is not the journal's, as tables of your own")
	cmd.RunE = p.Do(func(ctx context.Context, _ []string) error {
		switch {
		case p.Settings.DatabaseURL != "":
			return errNotOurs
		case removeOld && (check || leave || to != 0):
			return terminal.Misusef("--remove-old goes with no other flag")
		case removeOld:
			return removeEarlier(ctx, p)
		}
		return upgrade(ctx, p, to, check, leave)
	})
	return cmd
}

func upgrade(ctx context.Context, p *command.Program, to int, check, leave bool) error {
	plan, err := pgserver.PlanUpgrade(p.Server(), to)
	if err != nil {
		return err
	}
	if plan.To == 0 {
		p.Printf("The journal is in PostgreSQL %d, and programs of a newer version that rigtally works with (up to %d) were not found.\n", plan.From, pgserver.Newest)
		return nil
	}
	var others []string
	err = p.InServer(ctx, plan.Present(), func(ctx context.Context, server *pgserver.Server) error {
		if others, err = notCopied(ctx, server); err != nil {
			return fmt.Errorf("look at the journal as it is: %w", err)
		}
		if check || len(others) > 0 && !leave {
			return nil
		}
		return p.BackupBeforeUpgrade(ctx, server)
	})
	if err != nil {
		return err
	}
	if check {
		return tellPlan(p, plan, others)
	}
	if len(others) > 0 && !leave {
		return fmt.Errorf("beside the journal, its PostgreSQL holds what an upgrade does not copy: %s; save it first if you need it (for example with pg_dump), then go on with --leave-others; nothing was changed",
			strings.Join(others, ", "))
	}
	p.Note("The journal moves from PostgreSQL %d to %d (%s).", plan.From, plan.To, plan.Programs)
	plan, err = pgserver.Upgrade(ctx, p.Server(), to, func(ctx context.Context, old, next *pgserver.Server) error {
		return moveJournal(ctx, p.Terminal, old, next)
	})
	if err != nil {
		return err
	}
	p.Printf("The journal is in PostgreSQL %d; all rows of all tables are there and the same. The old one is kept in %s (%d MB). When all is well, remove it with \"rigtally database upgrade --remove-old\".\n",
		plan.To, plan.Kept, plan.Bytes>>20)
	return tellBinDir(p, plan)
}

// tellBinDir says so where the settings name the programs of the old version.
func tellBinDir(p *command.Program, plan pgserver.UpgradePlan) error {
	if set := p.Settings.BinDir; set != "" && set != plan.Programs {
		p.Printf("The setting postgres_bin_dir (--bin-dir) names %s; change it to %s, or leave it out.\n", set, plan.Programs)
	}
	return nil
}

func tellPlan(p *command.Program, plan pgserver.UpgradePlan, others []string) error {
	p.Printf("now          PostgreSQL %d, %d MB\nthen         PostgreSQL %d in %s\nneeds        %d MB of free disk; %d MB are free\nthe old one  stays in %s\n",
		plan.From, plan.Bytes>>20, plan.To, plan.Programs, plan.Needed>>20, plan.Free>>20, plan.Kept)
	if len(others) > 0 {
		p.Printf("not copied   %s\n", strings.Join(others, ", "))
	}
	return nil
}

// notCopied lists what is in the journal's PostgreSQL and is not the journal's.
func notCopied(ctx context.Context, server *pgserver.Server) (others []string, err error) {
	conn, err := pgx.Connect(ctx, server.URL(command.DatabaseName))
	if err != nil {
		return nil, fmt.Errorf("connect to the journal's database: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	rows, _ := conn.Query(ctx, `SELECT 'database ' || datname FROM pg_database WHERE NOT datistemplate AND datname NOT IN ('postgres', $1) AND NOT starts_with(datname, $5)
		UNION ALL SELECT 'user ' || rolname FROM pg_roles WHERE rolname NOT LIKE 'pg\_%' AND rolname NOT IN ($2, $3, $4)
			AND rolname NOT LIKE 'rigtally\_as\_%' AND rolname NOT LIKE 'rigtally\_at\_%' ORDER BY 1`,
		command.DatabaseName, pgserver.Superuser, pgserver.Keeper, pgserver.Program, archive.ScratchPrefix)
	if others, err = pgx.CollectRows(rows, pgx.RowTo[string]); err != nil {
		return nil, fmt.Errorf("list the databases and users: %w", err)
	}
	foreign, err := archive.Foreign(ctx, conn)
	return append(others, foreign...), err
}

// moveJournal copies the journal from one server to another, and compares the two.
func moveJournal(ctx context.Context, t *terminal.Terminal, old, next *pgserver.Server) error {
	from, err := pgx.Connect(ctx, old.URL(command.DatabaseName))
	if err != nil {
		return fmt.Errorf("connect to the journal as it is: %w", err)
	}
	defer from.Close(context.WithoutCancel(ctx))
	if err := next.EnsureDatabase(ctx, command.DatabaseName); err != nil {
		return err
	}
	version, err := archive.Version(ctx, from)
	if err != nil {
		return err
	}
	if version == 0 {
		return nil // nothing was ever kept in it
	}
	if err := archive.Prepare(ctx, next.KeeperURL(command.DatabaseName), next.ProgramURL(command.DatabaseName), version); err != nil {
		return err
	}
	to, err := pgx.Connect(ctx, next.URL(command.DatabaseName))
	if err != nil {
		return fmt.Errorf("connect to the new cluster: %w", err)
	}
	defer to.Close(context.WithoutCancel(ctx))
	bar := tableBar{terminal: t, done: func() {}}
	sums, err := archive.Copy(ctx, from, to, bar.copied)
	bar.done()
	if err != nil {
		return err
	}
	return archive.Compare(ctx, from, to, sums)
}

// tableBar shows how many rows of which table have come across.
type tableBar struct {
	terminal *terminal.Terminal
	table    string
	show     func(done, total int64)
	done     func()
}

func (b *tableBar) copied(table string, rows int64) {
	if table != b.table {
		b.done()
		b.table = table
		b.show, b.done = b.terminal.Bar("Copying " + table)
	}
	if b.show != nil {
		b.show(rows, -1) // how many there will be nobody has counted
	}
}

func removeEarlier(ctx context.Context, p *command.Program) error {
	removed, err := pgserver.RemoveEarlier(ctx, p.Server())
	if err != nil {
		return err
	}
	if len(removed) == 0 {
		p.Printf("No upgrade has left an old cluster.\n")
	}
	for _, c := range removed {
		p.Printf("Removed %s, PostgreSQL %d, %d MB.\n", c.Dir, c.Major, c.Bytes>>20)
	}
	return nil
}
