package main

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/spf13/cobra"

	"rigtally/internal/pgserver"
)

func (p *program) databaseCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "database",
		Short: "Look after the journal's own PostgreSQL",
		Long: `The journal lives in a PostgreSQL of its own, which starts and stops by itself.
These commands are for those who want to look into it with other programs.`,
	}
	group(cmd)
	add := func(use, short, example string, f func(context.Context) error) {
		cmd.AddCommand(&cobra.Command{
			Use: use, Short: short, Example: example, Args: between(0, 0, ""),
			RunE: p.do(func(ctx context.Context, _ *cobra.Command, _ []string) error { return f(ctx) }),
		})
	}
	add("start", "Start it, and leave it running until stopped", "  rigtally database start", p.databaseStart)
	add("stop", "Stop it", "  rigtally database stop", p.databaseStop)
	add("url", "Print its address, while it runs", `  psql "$(rigtally database url)"`, p.databaseURL)
	add("where", "Say where the journal's files are", "  rigtally database where", p.databaseWhere)
	add("programs", "Say which PostgreSQL programs would serve a new journal", "  rigtally database programs", p.databasePrograms)
	return cmd
}

var errNotOurs = errors.New("the journal is in the PostgreSQL that the setting database_url names, and rigtally neither starts nor stops that one; " +
	"do so where it is kept, or leave the setting out")

func (p *program) databaseStart(ctx context.Context) error {
	if p.settings.DatabaseURL != "" {
		return errNotOurs
	}
	// Making the database here lets psql connect at once, before the first session is logged.
	server, err := pgserver.Acquire(ctx, p.serverConfig())
	if err != nil {
		return err
	}
	err = server.EnsureDatabase(ctx, databaseName)
	var status pgserver.Status
	if err == nil {
		status, err = pgserver.Start(ctx, p.serverConfig())
	}
	if err := errors.Join(err, server.Release(context.WithoutCancel(ctx))); err != nil {
		return err
	}
	p.printf("PostgreSQL %d runs (process %d) until \"rigtally database stop\".\n%s\n", status.Major, status.PID, status.URL(databaseName))
	return nil
}

func (p *program) databaseStop(ctx context.Context) error {
	if p.settings.DatabaseURL != "" {
		return errNotOurs
	}
	if err := pgserver.Stop(ctx, p.serverConfig()); err != nil {
		return err
	}
	p.printf("The journal's database is stopped.\n")
	return nil
}

func (p *program) databaseURL(context.Context) error {
	if p.settings.DatabaseURL != "" {
		address, err := withoutPassword(p.settings.DatabaseURL)
		if err != nil {
			return err
		}
		p.printf("%s\n", address)
		return nil
	}
	status, err := pgserver.Inspect(p.serverConfig())
	if err != nil {
		return err
	}
	if !status.Running {
		return errors.New(`the journal's database does not run, so it has no address; start it with "rigtally database start"`)
	}
	p.printf("%s\n", status.URL(databaseName))
	return nil
}

func (p *program) databaseWhere(context.Context) error {
	if p.settings.DatabaseURL != "" {
		address, err := withoutPassword(p.settings.DatabaseURL)
		if err != nil {
			return err
		}
		p.printf("The journal is at %s\n", address)
		return nil
	}
	status, err := pgserver.Inspect(p.serverConfig())
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
	p.printf("data folder  %s\ncluster      %s\nlog          %s\n", status.DataDir, status.Cluster, status.Log)
	if status.Major > 0 {
		p.printf("version      PostgreSQL %d\n", status.Major)
	}
	p.printf("server       %s\n", state)
	return nil
}

func (p *program) databasePrograms(context.Context) error {
	found, err := pgserver.Find(p.serverConfig())
	if err != nil {
		return err
	}
	p.printf("PostgreSQL %d in %s\n", found.Major, found.Dir)
	return nil
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
