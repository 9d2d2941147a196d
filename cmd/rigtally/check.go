package main

import (
	"context"
	"errors"
	"io"

	"github.com/spf13/cobra"

	"rigtally/analytics/quality"
	"rigtally/cmd/rigtally/command"
	"rigtally/prose"
)

func checkCommand(p *command.Program) *cobra.Command {
	var repair bool
	cmd := &cobra.Command{
		Use:   "check",
		Short: "Count everything again, and say how well the journal is kept",
		Long: `Count every stint's events again and compare with the counts that answers use, find what can't be right, and say how well the journal is kept: rounded lengths and
minutes, sessions logged late, what was not noted, whether bad days are missing, and
what was counted.

The exit status is 1 only when counts are wrong; how the journal is kept is not a failure.`,
		Example: "  rigtally check\n  rigtally check --repair\n  rigtally check --format json",
		Args:    command.None,
	}
	cmd.Flags().BoolVar(&repair, "repair", false, "write wrong counts again from the events")
	return p.Ask(cmd, func(ctx context.Context, j command.Journal, _ []string) (command.Answer, error) {
		progress, done := p.Bar("Counting stints")
		report, err := quality.Check(ctx, j, repair, progress)
		done()
		var verdict error
		switch {
		case !report.Defects():
		case report.Recount.Uncounted > 0:
			verdict = errors.New("some stints can't be counted; the report says what to correct")
		default:
			verdict = errors.New(`some counts are wrong; "rigtally check --repair" corrects them`)
		}
		return command.Answer{Data: report, Text: func(w io.Writer) error { return prose.CheckText(w, report, p.Width()) }, Verdict: verdict}, err
	}, command.Text, command.JSON)
}
