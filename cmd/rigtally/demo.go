package main

import (
	"context"
	"fmt"
	"net"
	"net/url"
	"os"
	"rigtally/inquiry"

	"github.com/spf13/cobra"

	"rigtally/analytics/trial"
	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/internal/pgserver"
	"rigtally/journal"
	"rigtally/journal/demo"
	"rigtally/prose"
	"rigtally/web/door"
)

const mostDemoSessions = 100_000

func demoCommand(p *command.Program) *cobra.Command {
	var seed uint64
	var sessions int
	cmd := &cobra.Command{
		Use:   "demo",
		Short: "Show an invented season in a throw-away journal",
		Long: `Show three invented seasons of a guide in a throw-away journal: an answer from them
here, and the pages at the address printed last. Your own journal is not touched, and
Ctrl-C leaves nothing behind.`,
		Example: "  rigtally demo\n  rigtally demo --port 0 --sessions 1200",
		Args:    command.None,
		RunE: p.Do(func(ctx context.Context, _ []string) error {
			if sessions < 1 || sessions > mostDemoSessions {
				return terminal.Misusef("--sessions %d can't be shown; write a number from 1 to %d", sessions, mostDemoSessions)
			}
			l, err := listen(p)
			if err != nil {
				return err
			}
			defer l.Close()
			return serveDemo(ctx, p, l, demo.Generate(seed, sessions))
		}),
	}
	command.AddPortFlag(cmd.Flags())
	cmd.Flags().Uint64Var(&seed, "seed", demo.Seed, "`number` that the season is drawn from")
	cmd.Flags().IntVar(&sessions, "sessions", demo.Sessions, "`number` of sessions")
	return cmd
}

func serveDemo(ctx context.Context, p *command.Program, l net.Listener, season demo.Season) error {
	keys, err := os.MkdirTemp("", "rigtally-keys-")
	if err != nil {
		return fmt.Errorf("make a folder for the keys of the pages: %w", err)
	}
	defer os.RemoveAll(keys)
	p.Note("Making a throw-away PostgreSQL.")
	server, err := pgserver.Temporary(ctx, pgserver.Config{BinDir: p.Settings.BinDir})
	if err != nil {
		return err
	}
	return p.UseServer(ctx, server, func(ctx context.Context, j command.Journal) error {
		p.Note("Inventing %d sessions.", len(season.Sessions)+demo.TrialSessions)
		trial, err := demo.Fill(ctx, j.Store, season)
		if err != nil {
			return err
		}
		if j, err = p.JournalOf(ctx, j.Store); err != nil { // in the units of the invented outfit
			return err
		}
		p.Note("Answering from them.\n")
		p.Printf("An invented journal: %s, %d sessions, %d of them in a trial.\n\n", season.Outfit.Name, len(season.Sessions)+demo.TrialSessions, demo.TrialSessions)
		if err := demoAnswers(ctx, p, j, trial); err != nil {
			return err
		}
		ring, err := door.NewRing(keys)
		if err != nil {
			return err
		}
		return servePages(ctx, p, j, l, ring, p.AtDesktop())
	})
}

// demoAnswers shows what the journal is for: the answers that its pages give too.
func demoAnswers(ctx context.Context, p *command.Program, j command.Journal, played journal.Trial) error {
	in := j.Asking()
	for i, asked := range []struct {
		command string
		of      inquiry.Question
		said    url.Values
	}{
		{"rates tangles --by junction", inquiry.Rates(), url.Values{"outcome": {"tangles"}, "by": {"junction"}}},
		{"curve tangles", inquiry.Curve(), url.Values{"outcome": {"tangles"}}},
		{"bench compare --by facing --where junction=figure-eight", inquiry.Bench(), url.Values{"by": {"facing"}, "where": {"junction=figure-eight"}}},
		{"plan", inquiry.Plan(), nil},
	} {
		q, _ := inquiry.Read(asked.of.Describe().Params, asked.said)
		a, err := asked.of.Put(ctx, in, q)
		if err != nil {
			return err
		}
		said := a.Said()
		text := said.Sentence + "\n"
		if i == 0 {
			text = said.Text(p.Width())
		}
		p.Printf("$ rigtally %s\n%s\n", asked.command, text)
	}
	shown, err := trial.Follow(ctx, j, played.ID)
	if err != nil {
		return err
	}
	p.Printf("$ rigtally trials show %q\n%s\n\n", played.Name, prose.Trial(shown, j.Units))
	return nil
}
