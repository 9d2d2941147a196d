package main

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"rigtally/analytics/trial"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/prose"
)

const trialsExample = `  rigtally trials plan "Up or down" --outcome tangles --factor facing --a up --b down --ratio 1.5 --most-hours 80
  rigtally trials start "Up or down"          # tells what to tie now
  rigtally trials attach "Up or down" 1       # lists what may have been fished in number 1
  rigtally trials show "Up or down"
  rigtally trials end "Up or down" && rigtally trials verify "Up or down"`

func (p *program) trialsCommand() *cobra.Command {
	var format string
	cmd := &cobra.Command{
		Use:   "trials",
		Short: "Settle an argument: alternate two ways to rig in random order",
		Long: `Settle an argument: plan two ways to rig, alternate them by stint or session in an
order drawn at random, and look after every session. rigtally tells what to tie at
each start; the rest of the order is sealed, and its seal can be checked at the end.

Once planned, a trial's outcome, arms, smallest ratio worth knowing and order never
change. What was fished is found when its session is logged; where that is in doubt,
attach it. What broke the plan is kept, apart from what counts.

Looking often does no harm: the chance that a trial of equal arms is ever called
settled is at most 5%, however differently sessions go.`,
		Example: trialsExample,
	}
	group(cmd)
	unknown := cmd.RunE
	list := p.do(func(ctx context.Context, _ *cobra.Command, _ []string) error {
		if err := checkTrialFormat(format, false); err != nil {
			return err
		}
		return p.withJournal(ctx, func(ctx context.Context, store *pg.Store) error { return p.listTrials(ctx, store, format) })
	})
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		if len(args) > 0 {
			return unknown(cmd, args)
		}
		return list(cmd, args)
	}
	addTrialFormat(cmd, &format, false)
	cmd.AddCommand(p.trialPlanCommand(), p.trialShowCommand(), p.trialStartCommand(), p.trialBackCommand(), p.trialAttachCommand(), p.trialBrokeCommand(),
		p.trialDetachCommand(), p.trialMatchCommand(), p.trialRenameCommand(), p.trialEndCommand(), p.trialVerifyCommand(), p.trialDeleteCommand())
	return cmd
}

func addTrialFormat(cmd *cobra.Command, format *string, withCSV bool) {
	forms := []string{formatText, formatJSON}
	if withCSV {
		forms = append(forms, formatCSV)
	}
	cmd.Flags().StringVar(format, "format", formatText, "`form` of the answer: "+strings.Join(forms, ", "))
	complete(cmd, "format", forms)
}

func checkTrialFormat(format string, withCSV bool) error {
	if format == formatText || format == formatJSON || withCSV && format == formatCSV {
		return nil
	}
	if withCSV {
		return checkFormat(format)
	}
	return usagef("--format %q is not known; write text or json", format)
}

func (p *program) listTrials(ctx context.Context, store *pg.Store, format string) error {
	sys, err := p.unitsFor(ctx, store)
	if err != nil {
		return err
	}
	list, err := trial.FollowAll(ctx, store)
	if err != nil {
		return err
	}
	if format == formatJSON {
		if list == nil {
			list = []trial.Answer{}
		}
		return p.writeJSON(map[string]any{"trials": list})
	}
	if len(list) == 0 {
		p.printf("No trial is planned yet. \"rigtally trials plan --help\" says how.\n")
		return nil
	}
	t := tabwriter.NewWriter(p.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "Trial\tCompares\tStarted\tStands")
	for _, a := range list {
		name := a.Trial.Name
		if a.Trial.Ended() {
			name += " (ended)"
		}
		fmt.Fprintf(t, "%s\t%s: %s, %s\t%d\t%s\n", name, strings.ToLower(a.Outcome.Title), prose.TrialArm(a, 0, sys), prose.TrialArm(a, 1, sys), len(a.Units), prose.TrialState(a, sys))
	}
	return t.Flush()
}

// trialCommand is a command about one trial, by its name or id.
func (p *program) trialCommand(use, short, more string, args cobra.PositionalArgs, f func(context.Context, *cobra.Command, *pg.Store, journal.Trial, []string) error) *cobra.Command {
	cmd := &cobra.Command{Use: strings.TrimSpace(use + " TRIAL " + more), Short: short, Args: args, Example: "  rigtally trials " + strings.TrimSpace(use+` "Up or down" `+strings.ToLower(strings.ReplaceAll(more, "NUMBER", "3")))}
	cmd.RunE = p.do(func(ctx context.Context, cmd *cobra.Command, args []string) error {
		return p.withJournal(ctx, func(ctx context.Context, store *pg.Store) error {
			t, err := p.trialNamed(ctx, store, args[0])
			if err != nil {
				return err
			}
			err = f(ctx, cmd, store, t, args[1:])
			if journal.IsInvalid(err) {
				return &usageError{err}
			}
			return err
		})
	})
	return cmd
}

func (p *program) trialNamed(ctx context.Context, store *pg.Store, which string) (journal.Trial, error) {
	if id, err := journal.ParseID(which); err == nil {
		return store.TrialByID(ctx, id)
	}
	t, err := store.TrialNamed(ctx, which)
	if !errors.Is(err, journal.ErrNotFound) {
		return t, err
	}
	list, err := store.Trials(ctx)
	if err != nil {
		return t, err
	}
	var names []string
	for _, t := range list {
		names = append(names, t.Name)
	}
	return t, usagef("there is no trial %q%s", which, orElse(maybe("", closest(which, names)), "; \"rigtally trials\" shows them"))
}

func (p *program) trialShowCommand() *cobra.Command {
	var format string
	cmd := p.trialCommand("show", "Show how a trial stands, after every session", "", between(1, 1, "the trial's name"),
		func(ctx context.Context, _ *cobra.Command, store *pg.Store, t journal.Trial, _ []string) error {
			if err := checkTrialFormat(format, true); err != nil {
				return err
			}
			sys, err := p.unitsFor(ctx, store)
			if err != nil {
				return err
			}
			a, err := trial.Follow(ctx, store, t.ID)
			if err != nil {
				return err
			}
			switch format {
			case formatJSON:
				return p.writeJSON(a)
			case formatCSV:
				return a.WriteCSV(p.out)
			}
			return prose.TrialText(p.out, a, sys)
		})
	cmd.Long = "Show how a trial stands: the verdict, both arms, the evidence after each session, and\nwhat was started. csv holds the evidence over time."
	addTrialFormat(cmd, &format, true)
	return cmd
}
