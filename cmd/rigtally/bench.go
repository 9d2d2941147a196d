package main

import (
	"context"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"rigtally/analytics/bench"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/prose"
)

const benchCompareExample = `  rigtally bench compare --by facing --where junction=figure-eight
  rigtally bench compare --by junction --where tippet=6X --where wet=wet
  rigtally bench compare --by junction,facing --versus blood,down --format json`

func (p *program) benchCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "bench",
		Short: "Record knots pulled to breaking, and compare them",
		Long: `Record knots pulled to breaking with a scale, away from the water, and compare them.

` + prose.PullSafely + `
` + prose.NoKnotTable,
	}
	group(cmd)
	cmd.AddCommand(p.benchAddCommand(), p.benchListCommand(), p.benchChangeCommand(), p.benchDeleteCommand(), p.benchRestoreCommand(), p.benchDeletedCommand(),
		p.benchImportCommand(), p.benchExportCommand(), p.benchCompareCommand(), p.benchWaterCommand())
	return cmd
}

func benchFactorKeys() []string {
	var keys []string
	for _, f := range bench.Factors() {
		keys = append(keys, f.Key)
	}
	return keys
}

func (p *program) benchCompareCommand() *cobra.Command {
	var ask bench.Request
	var format string
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
		Args:    between(0, 0, ""),
		RunE: p.do(func(ctx context.Context, _ *cobra.Command, _ []string) error {
			if len(ask.By) == 0 {
				return usagef("--by is missing; name what to compare, such as --by junction or --by facing")
			}
			if err := checkFormat(format); err != nil {
				return err
			}
			return p.withJournal(ctx, func(ctx context.Context, store *pg.Store) error {
				sys, err := p.unitsFor(ctx, store)
				if err != nil {
					return err
				}
				ask.Units = sys
				a, err := bench.Compare(ctx, store, ask)
				return p.answered(err, format, a, a.WriteCSV, func(w io.Writer) error { return prose.BenchText(w, a, sys) })
			})
		}),
	}
	flags := cmd.Flags()
	flags.StringSliceVar(&ask.By, "by", nil, "`factors` to divide by, one or two")
	flags.StringArrayVar(&ask.Where, "where", nil, "`factor=value` that must hold; may be repeated")
	flags.StringVar(&ask.Versus, "versus", "", "`level` that the others are compared with (default: the knot with most pulls)")
	flags.StringVar(&ask.Slips, "slips", bench.SlipsCensored, "`what` a slip is to the Weibull line: censored or failure")
	flags.StringVar(&format, "format", formatText, "`form` of the answer: text, json or csv")
	complete(cmd, "by", benchFactorKeys())
	complete(cmd, "slips", []string{bench.SlipsCensored, bench.SlipsFail})
	complete(cmd, "format", []string{formatText, formatJSON, formatCSV})
	return cmd
}

// answered writes an answer in a form, or returns what was wrong with the question.
func (p *program) answered(err error, format string, answer any, csv, text func(io.Writer) error) error {
	switch {
	case journal.IsInvalid(err):
		return &usageError{err} // of the question, not of the journal
	case err != nil:
		return err
	case format == formatJSON:
		return p.writeJSON(answer)
	case format == formatCSV:
		return csv(p.out)
	}
	return text(p.out)
}

func (p *program) benchWaterCommand() *cobra.Command {
	var by, format string
	var where []string
	cmd := &cobra.Command{
		Use:   "water [--by FACTOR]",
		Short: "Set the bench beside the water: strength against junction breaks per load",
		Long: `Set the strength of each knot on the bench beside how often it broke on the water, as
junction breaks per load (hookups and snags).

` + prose.BesideHonest,
		Example: "  rigtally bench water\n  rigtally bench water --by facing --where junction=figure-eight",
		Args:    between(0, 0, ""),
		RunE: p.do(func(ctx context.Context, _ *cobra.Command, _ []string) error {
			if err := checkFormat(format); err != nil {
				return err
			}
			return p.withJournal(ctx, func(ctx context.Context, store *pg.Store) error {
				sys, err := p.unitsFor(ctx, store)
				if err != nil {
					return err
				}
				b, err := bench.Beside(ctx, store, by, where, sys)
				return p.answered(err, format, b, b.WriteCSV, func(w io.Writer) error { return prose.BesideText(w, b, sys) })
			})
		}),
	}
	cmd.Flags().StringVar(&by, "by", "junction", "`factor`: "+strings.Join(bench.BesideFactors(), ", "))
	cmd.Flags().StringArrayVar(&where, "where", nil, "`factor=value` that must hold; may be repeated")
	cmd.Flags().StringVar(&format, "format", formatText, "`form` of the answer: text, json or csv")
	complete(cmd, "by", bench.BesideFactors())
	complete(cmd, "format", []string{formatText, formatJSON, formatCSV})
	return cmd
}
