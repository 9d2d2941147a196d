package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/inquiry"
	"rigtally/journal"
	"rigtally/journal/pg"
)

func claimsCommand(p *command.Program) *cobra.Command {
	cmd, list := questionCommand(p, inquiry.Claims()), questionCommand(p, inquiry.Claims())
	list.Use, list.Short, list.Example = "list", "List the claims, and how each stands", "  rigtally claims list\n  rigtally claims list --format json"
	return command.Group(cmd, list, claimAddCommand(p), claimChangeCommand(p),
		claimCommand(p, "retire", "Take a claim off the board; it is kept", func(ctx context.Context, j command.Journal, c journal.Claim) error {
			return p.Did(j.RetireClaim(ctx, c.ID, c.Version), "Retired: %s\n", c.Words)
		}),
		claimCommand(p, "restore", "Put a retired claim back on the board", func(ctx context.Context, j command.Journal, c journal.Claim) error {
			return p.Did(j.RestoreClaim(ctx, c.ID, c.Version), "On the board again: %s\n", c.Words)
		}))
}

// claimFlags are the parts of a claim as flags.
type claimFlags struct {
	claim     journal.Claim
	direction string
}

func (f *claimFlags) add(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringVar(&f.claim.Outcome, "outcome", "", "`what` happens: "+strings.Join(inquiry.OutcomeKeys(), ", "))
	flags.StringVar(&f.claim.Factor, "factor", "", "`what` makes the difference, such as junction or tag-length")
	flags.StringVar(&f.direction, "direction", "", "`more` or less often; for a number: as it grows")
	flags.StringSliceVar(&f.claim.Level, "level", nil, "`words` of the factor that the claim is about, any of them; none when it is a number")
	flags.StringSliceVar(&f.claim.Versus, "versus", nil, "`words` to compare with")
	flags.StringSliceVar(&f.claim.Given, "given", nil, "`factors` held equal, angler and water unless said; tag-length:linear enters as a straight line, none alone holds nothing equal")
	command.Complete(cmd, "outcome", inquiry.OutcomeKeys())
	command.Complete(cmd, "factor", inquiry.FactorKeys())
	command.Complete(cmd, "given", append(inquiry.FactorKeys(), journal.NoGiven))
	command.Complete(cmd, "direction", []string{string(journal.More), string(journal.Less)})
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

func claimAddCommand(p *command.Program) *cobra.Command {
	var f claimFlags
	cmd := &cobra.Command{
		Use: "add WORDS", Short: "Put your own claim on the board", Args: command.Between(1, 1, "the claim in words"),
		Example: `  rigtally claims add "Legged flies foul-hook more" --outcome foul-hook --factor bulk --level legged --versus slim --direction more`,
	}
	f.add(cmd)
	cmd.RunE = p.InJournal(func(ctx context.Context, j command.Journal, args []string) error {
		return f.save(ctx, cmd, p, j, journal.Claim{ID: journal.NewID(), Words: args[0]}, "On the board")
	})
	return cmd
}

func claimChangeCommand(p *command.Program) *cobra.Command {
	var f claimFlags
	var words string
	var cmd *cobra.Command
	cmd = claimCommand(p, "change", "Change a claim; only what the flags name changes", func(ctx context.Context, j command.Journal, c journal.Claim) error {
		if cmd.Flags().Changed("words") {
			c.Words = words
		}
		return f.save(ctx, cmd, p, j, c, "Changed")
	})
	cmd.Example = "  rigtally claims change 3 --words \"Longer tags tangle more\"\n  rigtally claims change 3 --level legged,hackled"
	f.add(cmd)
	cmd.Flags().StringVar(&words, "words", "", "the claim in new `words`")
	cmd.PreRunE = func(cmd *cobra.Command, _ []string) error {
		if !slices.ContainsFunc([]string{"words", "outcome", "factor", "direction", "level", "versus", "given"}, cmd.Flags().Changed) {
			return terminal.Misusef("nothing to change; give at least one flag, such as --words")
		}
		return nil
	}
	return cmd
}

// save stores a claim with the flags on it; what is wrong with it is wrong use.
func (f *claimFlags) save(ctx context.Context, cmd *cobra.Command, p *command.Program, j command.Journal, c journal.Claim, done string) error {
	f.onto(cmd, &c)
	saved, err := j.SaveClaim(ctx, c)
	return p.Did(terminal.OfQuestion(err), "%s: %s\n", done, saved.Words)
}

// claimCommand is a command about one claim, by the number that the board shows, by its words
// without regard to case, or by its id.
func claimCommand(p *command.Program, use, short string, f func(context.Context, command.Journal, journal.Claim) error) *cobra.Command {
	return &cobra.Command{
		Use: use + " CLAIM", Short: short, Args: command.Between(1, 1, "the claim, by its number or its words"),
		Example: "  rigtally claims " + use + " 3",
		RunE: p.InJournal(func(ctx context.Context, j command.Journal, args []string) error {
			list, err := j.Claims(ctx)
			if err != nil {
				return err
			}
			for i, c := range list {
				if args[0] == fmt.Sprint(i+1) || strings.EqualFold(strings.TrimSpace(args[0]), c.Words) {
					return f(ctx, j, c)
				}
			}
			if command.IsBeginning(args[0]) {
				id, err := j.Which(ctx, pg.ListClaims, args[0])
				if i := slices.IndexFunc(list, func(c journal.Claim) bool { return c.ID == id }); err == nil && i >= 0 {
					return f(ctx, j, list[i])
				}
				if err != nil && !errors.Is(err, journal.ErrNotFound) {
					return err
				}
			}
			words := command.Keys(list, func(c journal.Claim) string { return c.Words })
			return terminal.Misusef("there is no claim %q%s", args[0], terminal.Guess("", args[0], words, "; \"rigtally claims list\" shows them with their numbers"))
		}),
	}
}
