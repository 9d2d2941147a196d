package main

import (
	"context"

	"github.com/spf13/cobra"

	"rigtally/journal"
	"rigtally/journal/pg"
)

func (p *program) trialRenameCommand() *cobra.Command {
	var name, notes string
	cmd := p.trialCommand("rename", "Give a trial another name or other notes; the plan stays", "", between(1, 1, "the trial's name"),
		func(ctx context.Context, cmd *cobra.Command, store *pg.Store, t journal.Trial, _ []string) error {
			if !cmd.Flags().Changed("name") && !cmd.Flags().Changed("notes") {
				return usagef("nothing is to be changed; give --name or --notes")
			}
			if cmd.Flags().Changed("name") {
				t.Name = name
			}
			if cmd.Flags().Changed("notes") {
				t.Notes = notes
			}
			if err := store.RenameTrial(ctx, t.ID, t.Version, t.Name, t.Notes); err != nil {
				return err
			}
			p.printf("Changed: %s\n", t.Name)
			return nil
		})
	cmd.Flags().StringVar(&name, "name", "", "the new `name`")
	cmd.Flags().StringVar(&notes, "notes", "", "the new `words`")
	return cmd
}

func (p *program) trialEndCommand() *cobra.Command {
	var why string
	cmd := p.trialCommand("end", "End a trial, which opens its seal; it can't be begun again", "", between(1, 1, "the trial's name"),
		func(ctx context.Context, _ *cobra.Command, store *pg.Store, t journal.Trial, _ []string) error {
			if err := store.EndTrial(ctx, t.ID, t.Version, p.now(), why); err != nil {
				return err
			}
			p.printf("Ended: %s. \"rigtally trials verify\" shows the order that was sealed.\n", t.Name)
			return nil
		})
	cmd.Flags().StringVar(&why, "why", "", "the `reason`")
	return cmd
}

func (p *program) trialVerifyCommand() *cobra.Command {
	var format string
	cmd := p.trialCommand("verify", "Check that the order is the one that was sealed", "", between(1, 1, "the trial's name"),
		func(_ context.Context, _ *cobra.Command, _ *pg.Store, t journal.Trial, _ []string) error {
			if err := checkTrialFormat(format, false); err != nil {
				return err
			}
			err := t.CheckSeal()
			if format == formatJSON {
				out := map[string]any{"trial": t.ID, "commitment": t.Commitment, "holds": err == nil, "started": len(t.Units)}
				if t.Ended() {
					out["sealed_text"] = t.SealedText()
				}
				if failed := p.writeJSON(out); failed != nil {
					return failed
				}
				return err
			}
			if err != nil {
				return err
			}
			p.printf("The seal holds: %s\nAll %d started so far had the arm that was drawn.\n", t.Commitment, len(t.Units))
			if !t.Ended() {
				p.printf("Seed and order stay sealed until the trial is ended.\n")
				return nil
			}
			p.printf("\nThe seal is the SHA-256 of these three lines, which anyone can work out:\n%s", t.SealedText())
			return nil
		})
	cmd.Long = `Check that the order is the one that was sealed when the trial was planned, and that
each start was told the arm of that order. Once the trial has ended, seed and order are
shown: the seal is their SHA-256. Block n of the order is the arrangement whose number is
the first 64 bits of SHA-256("SEED n"), modulo how many arrangements there are: AB, BA in
blocks of 2; AABB, ABAB, ABBA, BAAB, BABA, BBAA in blocks of 4.`
	addTrialFormat(cmd, &format, false)
	return cmd
}

func (p *program) trialDeleteCommand() *cobra.Command {
	return p.trialCommand("delete", "Delete a trial of which nothing was started", "", between(1, 1, "the trial's name"),
		func(ctx context.Context, _ *cobra.Command, store *pg.Store, t journal.Trial, _ []string) error {
			if err := store.DeleteTrial(ctx, t.ID, t.Version); err != nil {
				return err
			}
			p.printf("Deleted: %s\n", t.Name)
			return nil
		})
}
