package main

import (
	"context"
	"net"

	"github.com/spf13/cobra"

	"rigtally/analytics"
	"rigtally/analytics/bench"
	"rigtally/analytics/plan"
	"rigtally/analytics/trial"
	"rigtally/internal/pgserver"
	"rigtally/journal"
	"rigtally/journal/demo"
	"rigtally/journal/pg"
	"rigtally/prose"
)

const mostDemoSessions = 100_000

func (p *program) demoCommand() *cobra.Command {
	var seed uint64
	var sessions int
	cmd := &cobra.Command{
		Use:   "demo",
		Short: "Show an invented season in a throw-away journal",
		Long: `Show three invented seasons of a guide in a throw-away journal: an answer from them
here, and the pages at the address printed last. Your own journal is not touched, and
Ctrl-C leaves nothing behind.`,
		Example: "  rigtally demo\n  rigtally demo --port 0 --sessions 1200",
		Args:    between(0, 0, ""),
		RunE: p.do(func(ctx context.Context, _ *cobra.Command, _ []string) error {
			if sessions < 1 || sessions > mostDemoSessions {
				return usagef("--sessions %d can't be shown; write a number from 1 to %d", sessions, mostDemoSessions)
			}
			l, err := p.listen()
			if err != nil {
				return err
			}
			defer l.Close()
			return p.demo(ctx, l, demo.Generate(seed, sessions))
		}),
	}
	addPortFlag(cmd.Flags())
	cmd.Flags().Uint64Var(&seed, "seed", demo.Seed, "`number` that the season is drawn from")
	cmd.Flags().IntVar(&sessions, "sessions", demo.Sessions, "`number` of sessions")
	return cmd
}

func (p *program) demo(ctx context.Context, l net.Listener, season demo.Season) error {
	server, err := pgserver.Temporary(ctx, pgserver.Config{BinDir: p.settings.BinDir})
	if err != nil {
		return err
	}
	return useServer(ctx, server, p.settings.FactsBytes, func(ctx context.Context, store *pg.Store) error {
		if err := demo.Load(ctx, store, season); err != nil {
			return err
		}
		trial, err := demo.PlayTrial(ctx, store, season, demo.TrialSeed, demo.TrialSessions)
		if err != nil {
			return err
		}
		p.printf("An invented journal: %s, %d sessions, %d of them in a trial.\n\n", season.Outfit.Name, len(season.Sessions)+demo.TrialSessions, demo.TrialSessions)
		if err := p.demoAnswers(ctx, store, trial); err != nil {
			return err
		}
		return p.servePages(ctx, store, l, p.atDesktop())
	})
}

// demoAnswers shows what the journal is for: the answers that its pages give too.
func (p *program) demoAnswers(ctx context.Context, store *pg.Store, played journal.Trial) error {
	sys, err := p.unitsFor(ctx, store)
	if err != nil {
		return err
	}
	rates, err := analytics.Rates(ctx, store, analytics.Request{Outcome: "tangles", By: []string{"junction"}, Units: sys})
	if err != nil {
		return err
	}
	p.printf("$ rigtally rates tangles --by junction\n")
	if err := prose.Text(p.out, rates, sys); err != nil {
		return err
	}
	alike, err := analytics.Rates(ctx, store, analytics.Request{Outcome: "tangles", By: []string{"junction"}, Given: []string{"angler", "water"}, Units: sys})
	if err != nil {
		return err
	}
	p.printf("\n$ rigtally rates tangles --by junction --given angler,water\n%s\n", prose.Sentence(alike, sys))
	bench, err := bench.Compare(ctx, store, bench.Request{By: []string{"facing"}, Where: []string{"junction=figure-eight"}, Units: sys})
	if err != nil {
		return err
	}
	p.printf("\n$ rigtally bench compare --by facing --where junction=figure-eight\n%s\n", prose.BenchSentence(bench, sys))
	plan, err := plan.Weigh(ctx, store, plan.Request{Given: []string{"angler", "water"}, Units: sys})
	if err != nil {
		return err
	}
	p.printf("\n$ rigtally plan\n%s\n", prose.PlanSentence(plan, sys))
	shown, err := trial.Follow(ctx, store, played.ID)
	if err != nil {
		return err
	}
	p.printf("\n$ rigtally trials show %q\n%s\n\n", played.Name, prose.Trial(shown, sys))
	return nil
}
