package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"rigtally/analytics"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/prose"
)

const ratesExample = `  rigtally rates tangles --by junction
  rigtally rates tangles --by tag-length:25mm --where junction=blood
  rigtally rates foul-hook --by facing,bulk --where "angler=J. Felt" --where season=2026
  rigtally rates tangles --by junction --given tag-length,bulk,angler
  rigtally rates loss --by hook-size --versus 16 --format json`

// The forms in which an answer can be written.
const (
	formatText = "text"
	formatJSON = "json"
	formatCSV  = "csv"
)

func (p *program) ratesCommand() *cobra.Command {
	var ask analytics.Request
	var format string
	cmd := &cobra.Command{
		Use:   "rates OUTCOME --by FACTOR[,FACTOR]",
		Short: "Say how often something happens, at each level of a factor",
		Long: `Say how often something happens at each level of one or two factors, with 95%
intervals, compared with the level that was fished most (or --versus LEVEL).

Outcomes: ` + strings.Join(outcomeKeys(), ", ") + `.
Factors: ` + strings.Join(factorKeys(), ", ") + `.
A factor with a unit may be divided into bands: --by tag-length:25mm.

With --given the comparison is corrected: the differences that the given factors make are
taken out, and the corrected ratio stands beside the plain one. Words are categories; a
number is a curve (tag-length) or a straight line (tag-length:linear).

text is for people, in their units. json and csv are for programs: nothing is rounded,
and levels are as stored (mm, m³/s, °C).`,
		Example:   ratesExample,
		Args:      between(1, 1, "the outcome"),
		ValidArgs: outcomeKeys(),
		RunE: p.do(func(ctx context.Context, _ *cobra.Command, args []string) error {
			ask.Outcome = args[0]
			if err := checkFormat(format); err != nil {
				return err
			}
			return p.withJournal(ctx, func(ctx context.Context, store *pg.Store) error { return p.rates(ctx, store, ask, format) })
		}),
	}
	flags := cmd.Flags()
	flags.StringSliceVar(&ask.By, "by", nil, "`factors` to divide by, one or two")
	flags.StringArrayVar(&ask.Where, "where", nil, "`factor=value` that must hold; a range is 150mm..180mm; may be repeated")
	flags.StringSliceVar(&ask.Given, "given", nil, "`factors` whose differences are taken out of the comparison")
	flags.StringVar(&ask.Versus, "versus", "", "`level` that the others are compared with (default: the one fished most)")
	flags.StringVar(&format, "format", formatText, "`form` of the answer: text, json or csv")
	complete(cmd, "by", factorKeys())
	complete(cmd, "given", factorKeys())
	complete(cmd, "format", []string{formatText, formatJSON, formatCSV})
	return cmd
}

// complete offers words for a flag when the shell asks.
func complete(cmd *cobra.Command, flag string, words []string) {
	_ = cmd.RegisterFlagCompletionFunc(flag, cobra.FixedCompletions(words, cobra.ShellCompDirectiveNoFileComp)) // fails for an unknown flag only
}

func outcomeKeys() []string {
	var keys []string
	for _, o := range journal.Outcomes() {
		keys = append(keys, o.Key)
	}
	return keys
}

func factorKeys() []string {
	var keys []string
	for _, f := range journal.Factors() {
		keys = append(keys, f.Key)
	}
	return keys
}

func (p *program) rates(ctx context.Context, store *pg.Store, ask analytics.Request, format string) (err error) {
	if ask.Units, err = p.unitsFor(ctx, store); err != nil {
		return err
	}
	answer, err := analytics.Rates(ctx, store, ask)
	if journal.IsInvalid(err) {
		return &usageError{err} // of the question, not of the journal
	}
	if err != nil {
		return err
	}
	switch format {
	case formatJSON:
		return p.writeJSON(answer)
	case formatCSV:
		return answer.WriteCSV(p.out)
	}
	return prose.Text(p.out, answer, ask.Units)
}

// writeJSON writes an answer for programs, which people can read too.
func (p *program) writeJSON(answer any) error { return writeIndented(p.out, answer) }

func writeIndented(w io.Writer, answer any) error {
	out := json.NewEncoder(w)
	out.SetEscapeHTML(false)
	out.SetIndent("", "  ")
	if err := out.Encode(answer); err != nil {
		return fmt.Errorf("write the answer: %w", err)
	}
	return nil
}
