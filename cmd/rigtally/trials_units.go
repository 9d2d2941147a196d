package main

import (
	"context"
	"fmt"
	"strconv"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"rigtally/analytics/trial"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/prose"
)

// armWords names the arm of a unit and how to tie it.
func (p *program) armWords(ctx context.Context, store *pg.Store, t journal.Trial, u journal.TrialUnit) (string, error) {
	sys, err := p.unitsFor(ctx, store)
	if err != nil {
		return "", err
	}
	a, err := trial.Follow(ctx, store, t.ID)
	if err != nil {
		return "", err
	}
	words := prose.TrialArm(a, u.Arm.Index(), sys)
	if note := t.Arms[u.Arm.Index()].Note; note != "" {
		words += " (" + note + ")"
	}
	return words, nil
}

func (p *program) trialStartCommand() *cobra.Command {
	var format string
	cmd := p.trialCommand("start", "Start the next stint or session: tells what to tie", "", between(1, 1, "the trial's name"),
		func(ctx context.Context, _ *cobra.Command, store *pg.Store, t journal.Trial, _ []string) error {
			if err := checkTrialFormat(format, false); err != nil {
				return err
			}
			u, err := store.StartTrialUnit(ctx, t.ID, len(t.Units)+1, p.now())
			if err != nil {
				return err
			}
			words, err := p.armWords(ctx, store, t, u)
			if err != nil {
				return err
			}
			if format == formatJSON {
				return p.writeJSON(map[string]any{"trial": t.ID, "number": u.Ordinal, "arm": u.Arm, "tie": words, "started_at": u.StartedAt})
			}
			p.printf("Number %d of %s. Tie arm %s: %s\n", u.Ordinal, t.Name, u.Arm, words)
			return nil
		})
	addTrialFormat(cmd, &format, false)
	return cmd
}

func (p *program) trialBackCommand() *cobra.Command {
	cmd := p.trialCommand("back", "Take the last start back; the next one tells the same arm", "", between(1, 1, "the trial's name"),
		func(ctx context.Context, _ *cobra.Command, store *pg.Store, t journal.Trial, _ []string) error {
			if len(t.Units) == 0 {
				return usagef("nothing of %s has been started", t.Name)
			}
			if err := store.UndoTrialStart(ctx, t.ID, len(t.Units)); err != nil {
				return err
			}
			p.printf("Taken back: number %d of %s. The trial keeps count of that.\n", len(t.Units), t.Name)
			return nil
		})
	return cmd
}

func unitNumber(text string) (int, error) {
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 {
		return 0, usagef("%q is no number of a start; \"rigtally trials show\" lists them", text)
	}
	return n, nil
}

func (p *program) trialAttachCommand() *cobra.Command {
	var session, broke string
	var stint int
	cmd := p.trialCommand("attach", "Say what was fished in a start; without --session lists what it may be", "NUMBER", between(2, 2, "the trial's name and the number of the start"),
		func(ctx context.Context, cmd *cobra.Command, store *pg.Store, t journal.Trial, args []string) error {
			n, err := unitNumber(args[0])
			if err != nil {
				return err
			}
			if session == "" {
				return p.listCandidates(ctx, store, t, n)
			}
			a := journal.Attachment{Ordinal: n}
			if a.SessionID, err = journal.ParseID(session); err != nil {
				return &usageError{err}
			}
			if cmd.Flags().Changed("stint") {
				s, err := store.SessionByID(ctx, a.SessionID)
				if err != nil {
					return err
				}
				if stint < 1 || stint > len(s.Stints) {
					return usagef("that session has no stint %d; it has %d", stint, len(s.Stints))
				}
				a.StintID = &s.Stints[stint-1].ID
			}
			if err := store.AttachTrialUnit(ctx, t.ID, unitVersion(t, n), a, broke); err != nil {
				return err
			}
			p.printf("Attached to number %d of %s%s.\n", n, t.Name, map[bool]string{true: ", as one that broke the plan"}[broke != ""])
			return nil
		})
	cmd.Flags().StringVar(&session, "session", "", "`id` of the session")
	cmd.Flags().IntVar(&stint, "stint", 0, "`number` of the stint in it, where stints alternate")
	cmd.Flags().StringVar(&broke, "broke", "", "it broke the plan, and `why`")
	return cmd
}

// unitVersion is the version of a unit as it was read, 0 for one not started.
func unitVersion(t journal.Trial, n int) int {
	u, _ := t.StartedUnit(n)
	return u.Version
}

func (p *program) listCandidates(ctx context.Context, store *pg.Store, t journal.Trial, n int) error {
	list, err := store.TrialCandidates(ctx, t, n)
	if err != nil {
		return err
	}
	if len(list) == 0 {
		p.printf("No session is logged from the day before number %d was started to a week after. Log it first.\n", n)
		return nil
	}
	w := tabwriter.NewWriter(p.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "Day\tAngler\tWater\tStint\tRig\tFished\tArm\tSession")
	for _, c := range list {
		stint, fished, arm := "–", "not noted", "neither"
		if c.Number > 0 {
			stint = strconv.Itoa(c.Number)
		}
		if c.Minutes != nil {
			fished = units.FormatDuration(*c.Minutes)
		}
		if c.Arm != "" {
			arm = string(c.Arm)
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n", c.Day, c.Angler, c.Water, stint, c.Rig, fished, arm, c.SessionID)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	p.printf("Attach with --session ID%s.\n", map[bool]string{true: " --stint NUMBER"}[t.Unit == journal.ByStint])
	return nil
}

func (p *program) trialBrokeCommand() *cobra.Command {
	var why string
	cmd := p.trialCommand("broke", "Note that a start broke the plan, and why", "NUMBER", between(2, 2, "the trial's name and the number of the start"),
		func(ctx context.Context, _ *cobra.Command, store *pg.Store, t journal.Trial, args []string) error {
			n, err := unitNumber(args[0])
			if err != nil {
				return err
			}
			if err := store.BreakTrialUnit(ctx, t.ID, n, unitVersion(t, n), why); err != nil {
				return err
			}
			p.printf("Number %d of %s stands apart: %s\n", n, t.Name, why)
			return nil
		})
	cmd.Flags().StringVar(&why, "why", "", "the `reason`, which must not be what happened to the rig")
	return cmd
}

func (p *program) trialDetachCommand() *cobra.Command {
	return p.trialCommand("detach", "Take off what is attached to a start, or noted of it", "NUMBER", between(2, 2, "the trial's name and the number of the start"),
		func(ctx context.Context, _ *cobra.Command, store *pg.Store, t journal.Trial, args []string) error {
			n, err := unitNumber(args[0])
			if err != nil {
				return err
			}
			if err := store.OpenTrialUnit(ctx, t.ID, n, unitVersion(t, n)); err != nil {
				return err
			}
			p.printf("Number %d of %s waits for what was fished again.\n", n, t.Name)
			return nil
		})
}

func (p *program) trialMatchCommand() *cobra.Command {
	return &cobra.Command{
		Use: "match", Short: "Attach what was fished wherever there is no doubt", Args: between(0, 0, ""),
		Long: "Attach what was fished wherever there is no doubt, after an import. Logging a session\ndoes it by itself.",
		RunE: p.do(func(ctx context.Context, _ *cobra.Command, _ []string) error {
			return p.withJournal(ctx, func(ctx context.Context, store *pg.Store) error {
				n, err := store.MatchTrials(ctx)
				if err == nil {
					p.printf("%d attached.\n", n)
				}
				return err
			})
		}),
	}
}
