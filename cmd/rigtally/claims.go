package main

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"rigtally/analytics/claim"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/prose"
)

const claimsExample = `  rigtally claims
  rigtally claims add "Loops tangle less than blood knots" --outcome tangles --factor junction \
    --level "perfection loop" --versus blood --direction less --given angler,water
  rigtally claims add "Longer tags foul-hook more" --outcome foul-hook --factor tag-length --direction more
  rigtally claims change 3 --level legged,hackled
  rigtally claims retire "A prop weakens the junction"`

func (p *program) claimsCommand() *cobra.Command {
	var format string
	cmd := &cobra.Command{
		Use:   "claims",
		Short: "Hold rules of thumb against this journal",
		Long: `Hold rules of thumb against this journal: for each claim on the board the ratio with
its 95% interval, what is held alike given, how sure it is, and the hours behind it and
needed. The board starts with rules common in the trade; add your own, change and retire.

holds here           the claim's direction, one-sided q below 0.05
leans that way       q below 0.20
leans the other way  the opposite direction, q below 0.20
does not hold here   the opposite direction, q below 0.05
can't tell yet       neither, which is not the same as no difference

q is adjusted for all claims on the board, each direction by itself.
text is for people. json and csv are for programs: nothing is rounded.`,
		Example: claimsExample,
	}
	group(cmd)
	unknown := cmd.RunE
	list := p.do(func(ctx context.Context, _ *cobra.Command, _ []string) error {
		if err := checkFormat(format); err != nil {
			return err
		}
		return p.withJournal(ctx, func(ctx context.Context, store *pg.Store) error { return p.listClaims(ctx, store, format) })
	})
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		if len(args) > 0 {
			return unknown(cmd, args)
		}
		return list(cmd, args)
	}
	cmd.Flags().StringVar(&format, "format", formatText, "`form` of the answer: text, json or csv")
	complete(cmd, "format", []string{formatText, formatJSON, formatCSV})
	cmd.AddCommand(p.claimAddCommand(), p.claimChangeCommand(),
		p.claimCommand("retire", "Take a claim off the board; it is kept", func(ctx context.Context, store *pg.Store, c journal.Claim) error {
			return p.told("Retired", c, store.RetireClaim(ctx, c.ID, c.Version))
		}),
		p.claimCommand("restore", "Put a retired claim back on the board", func(ctx context.Context, store *pg.Store, c journal.Claim) error {
			return p.told("On the board again", c, store.RestoreClaim(ctx, c.ID, c.Version))
		}))
	return cmd
}

func checkFormat(format string) error {
	if !slices.Contains([]string{formatText, formatJSON, formatCSV}, format) {
		return usagef("--format %q is not known; write text, json or csv", format)
	}
	return nil
}

func (p *program) listClaims(ctx context.Context, store *pg.Store, format string) error {
	sys, err := p.unitsFor(ctx, store)
	if err != nil {
		return err
	}
	board, err := claim.Judge(ctx, store, sys)
	if err != nil {
		return err
	}
	switch format {
	case formatJSON:
		out := json.NewEncoder(p.out)
		out.SetEscapeHTML(false)
		out.SetIndent("", "  ")
		if err := out.Encode(board); err != nil {
			return fmt.Errorf("write the claims: %w", err)
		}
		return nil
	case formatCSV:
		return board.WriteCSV(p.out)
	}
	return prose.BoardText(p.out, board, sys)
}

// claimFlags are the parts of a claim as flags.
type claimFlags struct {
	claim     journal.Claim
	direction string
}

func (f *claimFlags) add(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringVar(&f.claim.Outcome, "outcome", "", "`what` happens: "+strings.Join(outcomeKeys(), ", "))
	flags.StringVar(&f.claim.Factor, "factor", "", "`what` makes the difference, such as junction or tag-length")
	flags.StringVar(&f.direction, "direction", "", "`more` or less often; of a number: the more of it")
	flags.StringSliceVar(&f.claim.Level, "level", nil, "`words` of the factor that the claim is about, any of them; none when it is a number")
	flags.StringSliceVar(&f.claim.Versus, "versus", nil, "`words` to compare with")
	flags.StringSliceVar(&f.claim.Given, "given", nil, "`factors` held alike; tag-length:linear enters as a straight line")
	complete(cmd, "outcome", outcomeKeys())
	complete(cmd, "factor", factorKeys())
	complete(cmd, "given", factorKeys())
	complete(cmd, "direction", []string{string(journal.More), string(journal.Less)})
}

// onto writes the flags that were given onto a claim. Another factor takes the
// levels of the old one away.
func (f *claimFlags) onto(cmd *cobra.Command, c *journal.Claim) {
	given := cmd.Flags().Changed
	if given("outcome") {
		c.Outcome = f.claim.Outcome
	}
	if given("factor") && f.claim.Factor != c.Factor {
		c.Factor, c.Level, c.Versus = f.claim.Factor, nil, nil
	}
	if given("direction") {
		c.Direction = journal.Direction(f.direction)
	}
	if given("level") {
		c.Level = f.claim.Level
	}
	if given("versus") {
		c.Versus = f.claim.Versus
	}
	if given("given") {
		c.Given = f.claim.Given
	}
}

func (p *program) claimAddCommand() *cobra.Command {
	var f claimFlags
	cmd := &cobra.Command{
		Use: "add WORDS", Short: "Put a claim of your own on the board", Args: between(1, 1, "the claim in words"),
		Example: `  rigtally claims add "Legged flies foul-hook more" --outcome foul-hook --factor bulk --level legged --versus slim --direction more`,
	}
	f.add(cmd)
	cmd.RunE = p.do(func(ctx context.Context, cmd *cobra.Command, args []string) error {
		id, err := journal.NewID()
		if err != nil {
			return err
		}
		c := journal.Claim{ID: id, Words: args[0]}
		f.onto(cmd, &c)
		return p.withJournal(ctx, func(ctx context.Context, store *pg.Store) error {
			return p.saveClaim(ctx, store, c, "On the board")
		})
	})
	return cmd
}

func (p *program) claimChangeCommand() *cobra.Command {
	var f claimFlags
	var words string
	cmd := p.claimCommand("change", "Change a claim; what no flag names stays", nil)
	f.add(cmd)
	cmd.Flags().StringVar(&words, "words", "", "the claim in other `words`")
	cmd.RunE = p.do(func(ctx context.Context, cmd *cobra.Command, args []string) error {
		if !slices.ContainsFunc([]string{"words", "outcome", "factor", "direction", "level", "versus", "given"}, cmd.Flags().Changed) {
			return usagef("nothing is to be changed; give at least one flag, such as --words")
		}
		return p.withClaim(ctx, args[0], func(ctx context.Context, store *pg.Store, c journal.Claim) error {
			if cmd.Flags().Changed("words") {
				c.Words = words
			}
			f.onto(cmd, &c)
			return p.saveClaim(ctx, store, c, "Changed")
		})
	})
	return cmd
}

// saveClaim stores a claim; what is wrong with it is wrong usage.
func (p *program) saveClaim(ctx context.Context, store *pg.Store, c journal.Claim, done string) error {
	saved, err := store.SaveClaim(ctx, c)
	if journal.IsInvalid(err) {
		return &usageError{err}
	}
	return p.told(done, saved, err)
}

// told says what was done with a claim, unless it failed.
func (p *program) told(done string, c journal.Claim, err error) error {
	if err == nil {
		p.printf("%s: %s\n", done, c.Words)
	}
	return err
}

// claimCommand is a command about one claim, by number, words or id.
func (p *program) claimCommand(use, short string, f func(context.Context, *pg.Store, journal.Claim) error) *cobra.Command {
	return &cobra.Command{
		Use: use + " CLAIM", Short: short, Args: between(1, 1, "the claim, by its number or its words"),
		Example: "  rigtally claims " + use + " 3",
		RunE:    p.do(func(ctx context.Context, _ *cobra.Command, args []string) error { return p.withClaim(ctx, args[0], f) }),
	}
}

// withClaim finds a claim by the number that the board shows, by its words
// without regard to case, or by its id.
func (p *program) withClaim(ctx context.Context, which string, f func(context.Context, *pg.Store, journal.Claim) error) error {
	return p.withJournal(ctx, func(ctx context.Context, store *pg.Store) error {
		list, err := store.Claims(ctx)
		if err != nil {
			return err
		}
		var words []string
		for i, c := range list {
			if which == fmt.Sprint(i+1) || strings.EqualFold(strings.TrimSpace(which), c.Words) || strings.EqualFold(which, c.ID.String()) {
				return f(ctx, store, c)
			}
			words = append(words, c.Words)
		}
		return usagef("there is no claim %q%s", which, orElse(maybe("", closest(which, words)), "; \"rigtally claims\" shows them with their numbers"))
	})
}
