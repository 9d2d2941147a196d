// Package trials is the command "rigtally trials": two ways to rig, alternated in random order.
package trials

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"rigtally/analytics/trial"
	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/prose"
)

const example = `  rigtally trials plan "Up or down" --outcome tangles --factor facing --a up --b down --ratio 1.5 --most-hours 80
  rigtally trials start "Up or down"          # says what to tie now
  rigtally trials attach "Up or down" 1       # lists what may have been fished in number 1
  rigtally trials show "Up or down"
  rigtally trials end "Up or down" && rigtally trials verify "Up or down"`

// trials are the commands of one run of the program.
type trials struct{ *command.Program }

// Command is "rigtally trials".
func Command(p *command.Program) *cobra.Command {
	t := trials{p}
	cmd := &cobra.Command{
		Use:   "trials",
		Short: "Settle an argument: alternate two ways to rig in random order",
		Long: `Settle an argument: plan two ways to rig, alternate them by stint or session in an
order drawn at random, and look after every session. rigtally says what to tie at
each start; the rest of the order is sealed, and its seal can be checked at the end.

Once planned, a trial's outcome, arms, smallest ratio worth knowing and order never
change. What was fished is found when its session is logged; where that is in doubt,
attach it. What broke the plan stays on the list but does not count.

Looking often does no harm: the chance that a difference is ever found between equal
arms is at most 5%, however differently sessions go. That holds for arms that are treated
alike. So both are compared in how many starts led to nothing, what broke the plan, and
how soon after an event stints end; where they differ, there is no verdict. What is
missing counts against one. What was never begun can't be seen.`,
		Example: example,
	}
	p.Ask(cmd, t.list, command.Text, command.JSON)
	list := &cobra.Command{Use: "list", Short: "List the trials, and how each stands", Args: command.None, Example: "  rigtally trials list"}
	p.Ask(list, t.list, command.Text, command.JSON)
	return command.Group(cmd, list, t.plan(), t.show(), t.start(), t.back(), t.attach(), t.broke(), t.detach(), t.match(), t.rename(), t.end(), t.verify(), t.delete())
}

func (t trials) list(ctx context.Context, j command.Journal, _ []string) (command.Answer, error) {
	list, err := trial.FollowAll(ctx, j)
	if list == nil {
		list = []trial.Answer{}
	}
	text := func(io.Writer) error {
		if len(list) == 0 {
			t.Printf("No trial is planned yet. \"rigtally trials plan --help\" says how.\n")
			return nil
		}
		short, err := j.Beginnings(ctx, pg.ListTrials, command.Keys(list, func(a trial.Answer) journal.ID { return a.Trial.ID }))
		if err != nil {
			return err
		}
		var rows [][]string
		for _, a := range list {
			name := a.Trial.Name
			if a.Trial.Ended() {
				name += " (ended)"
			}
			compares := fmt.Sprintf("%s: %s, %s", strings.ToLower(a.Outcome.Title), prose.TrialArm(a, 0, j.Units), prose.TrialArm(a, 1, j.Units))
			rows = append(rows, []string{name, compares, strconv.Itoa(len(a.Units)), prose.TrialState(a, j.Units), short[a.Trial.ID]})
		}
		return t.Table([]string{"Trial", "Compares", "Started", "Stands", "Id"}, rows)
	}
	return command.Answer{Data: map[string]any{"trials": list}, Text: text}, err
}

// blank is a command about one trial, by its name or id, with nothing to do yet; number says that it takes the
// number of a start as well.
func blank(use, short string, number bool) *cobra.Command {
	cmd := &cobra.Command{
		Use: use + " TRIAL", Short: short, Args: command.Between(1, 1, "the trial's name"),
		Example: "  rigtally trials " + use + ` "Up or down"`,
	}
	if number {
		cmd.Use += " NUMBER"
		cmd.Args = command.Between(2, 2, "the trial's name and the number of the start")
		cmd.Example += " 3"
	}
	return cmd
}

// on makes a command that does something with one trial. What is wrong with what was asked for is wrong use.
func (t trials) on(cmd *cobra.Command, do func(context.Context, command.Journal, journal.Trial, []string) error) *cobra.Command {
	t.CompleteArgs(cmd, 1, command.TrialNames)
	cmd.RunE = t.InJournal(func(ctx context.Context, j command.Journal, args []string) error {
		trial, err := named(ctx, j, args[0])
		if err == nil {
			err = do(ctx, j, trial, args[1:])
		}
		return terminal.OfQuestion(err)
	})
	return cmd
}

// ask makes a command that answers with something about one trial.
func (t trials) ask(cmd *cobra.Command, question func(context.Context, command.Journal, journal.Trial) (command.Answer, error), forms ...string) *cobra.Command {
	t.CompleteArgs(cmd, 1, command.TrialNames)
	return t.Ask(cmd, func(ctx context.Context, j command.Journal, args []string) (command.Answer, error) {
		trial, err := named(ctx, j, args[0])
		if err != nil {
			return command.Answer{}, err
		}
		return question(ctx, j, trial)
	}, forms...)
}

func named(ctx context.Context, j command.Journal, which string) (journal.Trial, error) {
	t, err := j.TrialNamed(ctx, which)
	if !errors.Is(err, journal.ErrNotFound) {
		return t, err
	}
	if command.IsBeginning(which) {
		id, err := j.Which(ctx, pg.ListTrials, which)
		if err == nil {
			return j.TrialByID(ctx, id)
		}
		if !errors.Is(err, journal.ErrNotFound) {
			return t, err
		}
	}
	list, err := j.Trials(ctx)
	if err != nil {
		return t, err
	}
	names := command.Keys(list, func(t journal.Trial) string { return t.Name })
	return t, terminal.Misusef("there is no trial %q%s", which, terminal.Guess("", which, names, "; \"rigtally trials list\" shows them"))
}

func (t trials) show() *cobra.Command {
	cmd := blank("show", "Show how a trial stands, after every session", false)
	cmd.Long = "Show how a trial stands: the verdict, both arms, the evidence after each session, and\nwhat was started. csv has the evidence over time."
	return t.ask(cmd, func(ctx context.Context, j command.Journal, tr journal.Trial) (command.Answer, error) {
		a, err := trial.Follow(ctx, j, tr.ID)
		return command.Answer{Data: a, CSV: prose.TrialLooks(a).WriteCSV, Text: func(w io.Writer) error {
			_, err := io.WriteString(w, prose.SayTrial(a, j.Units).Text(t.Width()))
			return err
		}}, err
	}, command.Text, command.JSON, command.CSV)
}
