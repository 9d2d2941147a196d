package main

import (
	"context"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"rigtally/analytics/bench"
	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/journal"
	"rigtally/prose"
)

const benchCompareExample = `  rigtally bench compare --by facing --where junction=figure-eight
  rigtally bench compare --by junction --where tippet=6X --where wet=wet
  rigtally bench compare --by junction,facing --versus blood,down --format json`

func benchCommand(p *command.Program) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "bench",
		Short: "Record knots pulled to breaking, and compare them",
		Long: `Record knots pulled to breaking with a scale, away from the water, and compare them.

` + prose.PullSafely + `
` + prose.NoKnotTable,
	}
	return command.Group(cmd, pullAddCommand(p), pullListCommand(p), pullChangeCommand(p), pullDeleteCommand(p), pullRestoreCommand(p), pullDeletedCommand(p),
		pullImportCommand(p), pullExportCommand(p), benchCompareCommand(p), benchWaterCommand(p))
}

func benchFactorKeys() []string {
	return command.Keys(bench.Factors(), func(f journal.Factor) string { return f.Key })
}

func benchCompareCommand(p *command.Program) *cobra.Command {
	var ask bench.Request
	cmd := &cobra.Command{
		Use:   "compare --by FACTOR[,FACTOR]",
		Short: "Say which knot is stronger, and how sure that is",
		Long: `Compare the strength of pulls: means with Welch's t and Fieller's interval of their ratio,
the shift of Hodges and Lehmann with the exact Mann–Whitney p, what share of unknotted
line a knot leaves, the Weibull line and the strength that one pull in ten does not reach.
Only pulls alike in tippet, material, wet or dry and the part pulled on are compared, and
alike in the rest of the knot when the question is about a part of it.

Factors: ` + strings.Join(benchFactorKeys(), ", ") + `.

A slip is a failure to means and tests. To the Weibull line it is a lower bound of what
the line bears, unless --slips failure says otherwise.

text is for people. json and csv are for programs: nothing is rounded, forces are in N.`,
		Example: benchCompareExample,
		Args:    command.None,
	}
	flags := cmd.Flags()
	flags.StringSliceVar(&ask.By, "by", nil, "`factors` to divide by, one or two")
	flags.StringArrayVar(&ask.Where, "where", nil, "`factor=value` that must hold; may be repeated")
	flags.StringVar(&ask.Versus, "versus", "", "`level` that the others are compared with (default: the knot with most pulls)")
	flags.StringVar(&ask.Slips, "slips", bench.SlipsCensored, "`what` a slip is to the Weibull line: censored or failure")
	command.Complete(cmd, "by", benchFactorKeys())
	command.Complete(cmd, "slips", []string{bench.SlipsCensored, bench.SlipsFail})
	cmd.PreRunE = func(*cobra.Command, []string) error {
		if len(ask.By) == 0 {
			return terminal.Misusef("--by is missing; name what to compare, such as --by junction or --by facing")
		}
		return nil
	}
	return p.Ask(cmd, func(ctx context.Context, j command.Journal, _ []string) (command.Answer, error) {
		ask.Units = j.Units
		a, err := bench.Compare(ctx, j, ask)
		return command.Answer{Data: a, CSV: a.WriteCSV, Text: func(w io.Writer) error { return prose.BenchText(w, a, j.Units) }}, err
	}, command.Text, command.JSON, command.CSV)
}

func benchWaterCommand(p *command.Program) *cobra.Command {
	var by string
	var where []string
	cmd := &cobra.Command{
		Use:   "water [--by FACTOR]",
		Short: "Set the bench beside the water: strength against junction breaks per load",
		Long: `Set the strength of each knot on the bench beside how often it broke on the water, as
junction breaks per load (hookups and snags).

` + prose.BesideHonest,
		Example: "  rigtally bench water\n  rigtally bench water --by facing --where junction=figure-eight",
		Args:    command.None,
	}
	cmd.Flags().StringVar(&by, "by", "junction", "`factor`: "+strings.Join(bench.BesideFactors(), ", "))
	cmd.Flags().StringArrayVar(&where, "where", nil, "`factor=value` that must hold; may be repeated")
	command.Complete(cmd, "by", bench.BesideFactors())
	return p.Ask(cmd, func(ctx context.Context, j command.Journal, _ []string) (command.Answer, error) {
		b, err := bench.Beside(ctx, j, by, where, j.Units)
		return command.Answer{Data: b, CSV: b.WriteCSV, Text: func(w io.Writer) error { return prose.BesideText(w, b, j.Units) }}, err
	}, command.Text, command.JSON, command.CSV)
}
