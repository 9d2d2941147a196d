package main

import (
	"context"
	"io"
	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/journal/exchange"

	"github.com/spf13/cobra"
)

func pullExportCommand(p *command.Program) *cobra.Command {
	var to string
	var force bool
	cmd := &cobra.Command{
		Use:     "export --to FILE",
		Short:   "Write the pulls as CSV",
		Example: "  rigtally bench export --to pulls.csv\n  rigtally bench export --to -",
		Args:    command.None,
		RunE: p.Do(func(ctx context.Context, _ []string) error {
			if to == "" {
				return terminal.Misusef("--to is missing; name a file that ends in .csv, or - for standard output")
			}
			return p.Open(ctx, func(ctx context.Context, j command.Journal) error {
				return p.WriteFiles(force, terminal.File{To: to, Write: func(w io.Writer) error { return exchange.WriteBenchCSV(ctx, j.Store, w) }})
			})
		}),
	}
	cmd.Flags().StringVar(&to, "to", "", "`file` to write, or - for standard output")
	cmd.Flags().BoolVar(&force, "force", false, "replace the file if it exists")
	return cmd
}
