package main

import (
	"context"

	"github.com/spf13/cobra"

	"rigtally/journal/pg"
)

func (p *program) serveCommand() *cobra.Command {
	var open bool
	cmd := &cobra.Command{
		Use:   "serve",
		Short: "Serve the journal's pages on this machine",
		Long: `Serve the journal's pages on this machine until Ctrl-C. Only programs on this
machine can reach them.`,
		Example: "  rigtally serve\n  rigtally serve --port 8080 --open",
		Args:    between(0, 0, ""),
		RunE: p.do(func(ctx context.Context, _ *cobra.Command, _ []string) error {
			l, err := p.listen()
			if err != nil {
				return err
			}
			defer l.Close() // again, if the journal could not be opened
			cfg := p.serverConfig()
			cfg.Restart = true // the pages stay when their database does not
			return p.withJournalIn(ctx, cfg, func(ctx context.Context, store *pg.Store) error {
				return p.servePages(ctx, store, l, open && !p.settings.NoBrowser)
			})
		}),
	}
	addPortFlag(cmd.Flags())
	cmd.Flags().BoolVar(&open, "open", false, "open the pages in a browser")
	return cmd
}
