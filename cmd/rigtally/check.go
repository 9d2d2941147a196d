package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"rigtally/analytics/quality"
	"rigtally/journal/pg"
	"rigtally/prose"
)

func (p *program) checkCommand() *cobra.Command {
	var repair bool
	var format string
	cmd := &cobra.Command{
		Use:   "check",
		Short: "Count everything again, and say how well the journal is kept",
		Long: `Count every stint's events again and compare with the counts that answers are made
from, find what cannot be, and say how well the journal is kept: rounded lengths and
minutes, sessions logged late, what was not noted, whether bad days are missing, and
of what count was kept.

The exit status is 1 only when counts are wrong; how the journal is kept is no failure.`,
		Example: "  rigtally check\n  rigtally check --repair\n  rigtally check --format json",
		Args:    between(0, 0, ""),
		RunE: p.do(func(ctx context.Context, _ *cobra.Command, _ []string) error {
			if format != formatText && format != formatJSON {
				return usagef("--format %q is not known; write text or json", format)
			}
			return p.withJournal(ctx, func(ctx context.Context, store *pg.Store) error { return p.check(ctx, store, repair, format) })
		}),
	}
	cmd.Flags().BoolVar(&repair, "repair", false, "write wrong counts anew from the events")
	cmd.Flags().StringVar(&format, "format", formatText, "`form` of the answer: text or json")
	complete(cmd, "format", []string{formatText, formatJSON})
	return cmd
}

func (p *program) check(ctx context.Context, store *pg.Store, repair bool, format string) error {
	progress, done := p.bar("Counting stints")
	report, err := quality.Check(ctx, store, repair, progress)
	done()
	if err != nil {
		return err
	}
	if format == formatJSON {
		out := json.NewEncoder(p.out)
		out.SetEscapeHTML(false)
		out.SetIndent("", "  ")
		err = out.Encode(report)
	} else {
		err = prose.CheckText(p.out, report)
	}
	switch {
	case err != nil:
		return fmt.Errorf("write the report: %w", err)
	case !report.Defects():
		return nil
	case report.Recount.Uncounted > 0:
		return errors.New("some stints can't be counted; the report says what to correct")
	}
	return errors.New(`some counts are wrong; "rigtally check --repair" writes them anew`)
}
