package main

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/spf13/cobra"

	"rigtally/cmd/rigtally/command"
	"rigtally/internal/pgserver"
)

func databaseCommand(p *command.Program) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "database",
		Short: "Look after the journal's own PostgreSQL",
		Long: `The journal lives in its own PostgreSQL, which starts and stops by itself.
These commands are for those who want to look into it with other programs, or to bring
it into a newer version.`,
	}
	add := func(use, short, example string, f, elsewhere func(context.Context, *command.Program) error) {
		cmd.AddCommand(&cobra.Command{
			Use: use, Short: short, Example: example, Args: command.None,
			RunE: p.Do(func(ctx context.Context, _ []string) error {
				if p.Settings.DatabaseURL != "" {
					return elsewhere(ctx, p)
				}
				return f(ctx, p)
			}),
		})
	}
	notOurs := func(context.Context, *command.Program) error { return errNotOurs }
	add("start", "Start it, and leave it running until stopped", "  rigtally database start", databaseStart, notOurs)
	add("stop", "Stop it", "  rigtally database stop", databaseStop, notOurs)
	add("url", "Print its address, while it runs", `  psql "$(rigtally database url)"`, databaseURL, printAddress("%s\n"))
	add("where", "Say where the journal's files are", "  rigtally database where", databaseWhere, printAddress("The journal is at %s\n"))
	add("programs", "Say which PostgreSQL programs a new journal would use", "  rigtally database programs", databasePrograms, databasePrograms)
	cmd.AddCommand(databaseUpgradeCommand(p))
	cmd.Example = "  rigtally database where"
	return command.Group(cmd)
}

var errNotOurs = errors.New("the journal is in the PostgreSQL that the setting database_url names, and rigtally does not start or stop that one; " +
	"do it there, or leave the setting out")

func databaseStart(ctx context.Context, p *command.Program) error {
	// Making the database here lets psql connect at once, before the first session is logged.
	status, err := pgserver.Start(ctx, p.Server(), command.DatabaseName)
	if err != nil {
		return err
	}
	p.Printf("PostgreSQL %d runs (process %d) until \"rigtally database stop\".\n%s\n", status.Major, status.PID, status.URL(command.DatabaseName))
	return nil
}

func databaseStop(ctx context.Context, p *command.Program) error {
	if err := pgserver.Stop(ctx, p.Server()); err != nil {
		return err
	}
	p.Printf("The journal's database is stopped.\n")
	return nil
}

func databaseURL(_ context.Context, p *command.Program) error {
	status, err := pgserver.Inspect(p.Server())
	if err != nil {
		return err
	}
	if !status.Running {
		return errors.New(`the journal's database does not run, so it has no address; start it with "rigtally database start"`)
	}
	p.Printf("%s\n", status.URL(command.DatabaseName))
	return nil
}

func databaseWhere(_ context.Context, p *command.Program) error {
	status, err := pgserver.Inspect(p.Server())
	if err != nil {
		return err
	}
	state := "does not run"
	switch {
	case status.Major == 0:
		state = "has not been made yet; the first command that needs it makes it"
	case status.Running:
		state = fmt.Sprintf("runs (process %d)", status.PID)
	}
	p.Printf("data folder  %s\ncluster      %s\nlog          %s\n", status.DataDir, status.Cluster, status.Log)
	if status.Major > 0 {
		p.Printf("version      PostgreSQL %d\n", status.Major)
	}
	p.Printf("server       %s\n", state)
	if status.Major == 0 {
		return nil
	}
	earlier, err := pgserver.Earlier(p.Server())
	for _, c := range earlier {
		p.Printf("kept         %s, PostgreSQL %d, %d MB\n", c.Dir, c.Major, c.Bytes>>20)
	}
	return err
}

func databasePrograms(_ context.Context, p *command.Program) error {
	found, err := pgserver.Find(p.Server())
	if err != nil {
		return err
	}
	p.Printf("PostgreSQL %d in %s\n", found.Major, found.Dir)
	return nil
}

// printAddress tells the address of a database that is not ours.
func printAddress(format string) func(context.Context, *command.Program) error {
	return func(_ context.Context, p *command.Program) error {
		address, err := withoutPassword(p.Settings.DatabaseURL)
		return p.Did(err, format, address)
	}
}

// withoutPassword rebuilds a database address from what is no secret in it.
func withoutPassword(address string) (string, error) {
	cfg, err := pgx.ParseConfig(address)
	if err != nil {
		return "", fmt.Errorf("read the setting database_url: %w", err) // hides the password
	}
	u := url.URL{Scheme: "postgres", User: url.User(cfg.User), Path: "/" + cfg.Database}
	if strings.HasPrefix(cfg.Host, "/") {
		u.RawQuery = url.Values{"host": {cfg.Host}, "port": {fmt.Sprint(cfg.Port)}}.Encode()
	} else {
		u.Host = fmt.Sprintf("%s:%d", cfg.Host, cfg.Port)
		if strings.Contains(cfg.Host, ":") {
			u.Host = fmt.Sprintf("[%s]:%d", cfg.Host, cfg.Port)
		}
	}
	return u.String(), nil
}
