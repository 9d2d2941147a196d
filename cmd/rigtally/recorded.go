package main

import (
	"context"
	"errors"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"rigtally/analytics/quality"
	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/journal"
	"rigtally/prose"
)

func recordedCommand(p *command.Program) *cobra.Command {
	show := &cobra.Command{
		Use: "list", Aliases: []string{"show"}, Short: "Show what was counted, by angler and month", Args: command.None,
		Example: "  rigtally recorded list\n  rigtally recorded list --format json",
	}
	p.Ask(show, func(ctx context.Context, j command.Journal, _ []string) (command.Answer, error) {
		c, err := quality.WhatWasCounted(ctx, j)
		return command.Answer{Data: c, Text: func(w io.Writer) error { return prose.CountedText(w, c, p.Width()) }}, err
	}, command.Text, command.JSON)
	return command.Group(&cobra.Command{Use: "recorded", Short: "Show what was counted, and mark what was not"}, show, recordedMarkCommand(p))
}

// markFlags are the flags of a mark, as written.
type markFlags struct {
	angler, from, to string
	not, kept        []string
	assumed, yes     bool
}

func recordedMarkCommand(p *command.Program) *cobra.Command {
	var f markFlags
	cmd := &cobra.Command{
		Use:   "mark --angler NAME --from DAY --to DAY --not KINDS",
		Short: "Mark what was not counted on an angler's days",
		Long: `Mark what was not counted in all stints of an angler's days, so that none is not
read as zero there. It shows what would change, and changes nothing without --yes. Take
it back with --kept, or with --assumed where nothing had been said before.

Kinds: ` + strings.Join(kindNames(), ", ") + ".",
		Example: `  rigtally recorded mark --angler "J. Felt" --from 2025-04-01 --to 2025-06-30 --not tangles
  rigtally recorded mark --angler "J. Felt" --from 2025-04-01 --to 2025-06-30 --not tangles,snags --yes
  rigtally recorded mark --angler "J. Felt" --from 2025-04-01 --to 2025-06-30 --kept tangles --yes`,
		Args: command.None,
		RunE: p.Do(func(ctx context.Context, _ []string) error {
			mark, err := f.read()
			if err != nil {
				return err
			}
			return p.Open(ctx, func(ctx context.Context, j command.Journal) error { return markRecorded(ctx, p, j, f, mark) })
		}),
	}
	flags := cmd.Flags()
	flags.StringVar(&f.angler, "angler", "", "whose stints: a `name` as in the journal")
	flags.StringVar(&f.from, "from", "", "the first `day`, as 2025-04-01")
	flags.StringVar(&f.to, "to", "", "the last `day`")
	flags.StringSliceVar(&f.not, "not", nil, "these `kinds` were not counted, with commas between")
	flags.StringSliceVar(&f.kept, "kept", nil, "these `kinds` were counted")
	flags.BoolVar(&f.assumed, "assumed", false, "take back what was said: everything is assumed counted")
	flags.BoolVar(&f.yes, "yes", false, "do it, don't only show it")
	p.CompleteFrom(cmd, "angler", command.AnglerNames)
	command.Complete(cmd, "not", kindNames())
	command.Complete(cmd, "kept", kindNames())
	return cmd
}

func kindNames() []string { return command.Keys(journal.Kinds(), journal.Kind.String) }

// read makes a mark of the flags, without the angler's id.
func (f markFlags) read() (m journal.RecordedMark, err error) {
	if f.angler == "" || f.from == "" || f.to == "" {
		return m, terminal.Misusef("say whose days with --angler, --from and --to")
	}
	if m.From, err = journal.ParseDate(f.from); err != nil {
		return m, terminal.Misusef("--from: %w", err)
	}
	if m.To, err = journal.ParseDate(f.to); err != nil {
		return m, terminal.Misusef("--to: %w", err)
	}
	for flag, words := range map[string][]string{"--not": f.not, "--kept": f.kept} {
		for _, word := range words {
			k, err := journal.KindByWord(word)
			if err != nil {
				return m, terminal.Misusef("%s: %w", flag, err)
			}
			if flag == "--not" {
				m.Not = append(m.Not, k)
			} else {
				m.Kept = append(m.Kept, k)
			}
		}
	}
	if m.Forget = f.assumed; len(m.Not)+len(m.Kept) == 0 && !m.Forget {
		return m, terminal.Misusef("say what was not counted: --not tangles, or --kept tangles to take it back")
	}
	return m, nil
}

func markRecorded(ctx context.Context, p *command.Program, j command.Journal, f markFlags, mark journal.RecordedMark) error {
	angler, err := j.AnglerByName(ctx, f.angler)
	if errors.Is(err, journal.ErrNotFound) {
		return unknownName(err, "angler")
	}
	if err != nil {
		return err
	}
	mark.Angler = angler.ID
	act := j.PreviewRecorded
	if f.yes {
		act = j.MarkRecorded
	}
	m, err := act(ctx, mark)
	if err != nil {
		return err
	}
	for _, text := range prose.MarkPreview(angler.Name, mark, m) {
		p.Printf("%s\n", text)
	}
	if !f.yes {
		p.Printf("\nNothing is changed yet. To do it, add --yes.\n")
		return nil
	}
	p.Printf("\n%s\n", prose.MarkDone(m))
	if undo := prose.MarkUndo(angler.Name, mark, m); undo != "" && m.Changed > 0 {
		p.Printf("To take it back:\n  %s\n", undo)
	}
	return nil
}
