package main

import (
	"context"
	"encoding/json"
	"errors"
	"strings"

	"github.com/spf13/cobra"

	"rigtally/analytics/quality"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/prose"
)

func (p *program) recordedCommand() *cobra.Command {
	cmd := &cobra.Command{Use: "recorded", Short: "Show of what count was kept, and say where none was"}
	group(cmd)
	cmd.AddCommand(p.recordedShowCommand(), p.recordedMarkCommand())
	return cmd
}

func (p *program) recordedShowCommand() *cobra.Command {
	var format string
	cmd := &cobra.Command{
		Use: "show", Short: "Show what was counted, by angler and month", Args: between(0, 0, ""),
		Example: "  rigtally recorded show\n  rigtally recorded show --format json",
		RunE: p.do(func(ctx context.Context, _ *cobra.Command, _ []string) error {
			if format != formatText && format != formatJSON {
				return usagef("--format %q is not known; write text or json", format)
			}
			return p.withJournal(ctx, func(ctx context.Context, store *pg.Store) error { return p.showRecorded(ctx, store, format) })
		}),
	}
	cmd.Flags().StringVar(&format, "format", formatText, "`form` of the answer: text or json")
	complete(cmd, "format", []string{formatText, formatJSON})
	return cmd
}

func (p *program) showRecorded(ctx context.Context, store *pg.Store, format string) error {
	c, err := quality.WhatWasCounted(ctx, store)
	if err != nil {
		return err
	}
	if format == formatJSON {
		out := json.NewEncoder(p.out)
		out.SetIndent("", "  ")
		return out.Encode(c)
	}
	return prose.CountedText(p.out, c)
}

// markFlags are the flags of a mark, as written.
type markFlags struct {
	angler, from, to string
	not, kept        []string
	assumed, yes     bool
}

func (p *program) recordedMarkCommand() *cobra.Command {
	var f markFlags
	cmd := &cobra.Command{
		Use:   "mark --angler NAME --from DAY --to DAY --not KINDS",
		Short: "Say of an angler's days of what no count was kept",
		Long: `Say of all stints of an angler's days of what no count was kept, so that none is no
zero there. It shows what would change, and changes nothing without --yes. What it
did is taken back with --kept, or with --assumed where nothing had been said before.

Kinds: ` + strings.Join(kindNames(), ", ") + ".",
		Example: `  rigtally recorded mark --angler "J. Felt" --from 2025-04-01 --to 2025-06-30 --not tangles
  rigtally recorded mark --angler "J. Felt" --from 2025-04-01 --to 2025-06-30 --not tangles,snags --yes
  rigtally recorded mark --angler "J. Felt" --from 2025-04-01 --to 2025-06-30 --kept tangles --yes`,
		Args: between(0, 0, ""),
		RunE: p.do(func(ctx context.Context, _ *cobra.Command, _ []string) error {
			mark, err := f.read()
			if err != nil {
				return err
			}
			return p.withJournal(ctx, func(ctx context.Context, store *pg.Store) error { return p.markRecorded(ctx, store, f, mark) })
		}),
	}
	flags := cmd.Flags()
	flags.StringVar(&f.angler, "angler", "", "whose stints: a `name` as in the journal")
	flags.StringVar(&f.from, "from", "", "the first `day`, as 2025-04-01")
	flags.StringVar(&f.to, "to", "", "the last `day`")
	flags.StringSliceVar(&f.not, "not", nil, "no count was kept of these `kinds`, with commas between")
	flags.StringSliceVar(&f.kept, "kept", nil, "count was kept of these `kinds`")
	flags.BoolVar(&f.assumed, "assumed", false, "say nothing any more: everything is assumed to have been counted")
	flags.BoolVar(&f.yes, "yes", false, "do it, and not only show it")
	complete(cmd, "not", kindNames())
	complete(cmd, "kept", kindNames())
	return cmd
}

func kindNames() []string {
	var names []string
	for _, k := range journal.Kinds() {
		names = append(names, k.String())
	}
	return names
}

// read makes a mark of the flags, without the angler's id.
func (f markFlags) read() (m journal.RecordedMark, err error) {
	if f.angler == "" || f.from == "" || f.to == "" {
		return m, usagef("say whose days with --angler, --from and --to")
	}
	if m.From, err = journal.ParseDate(f.from); err != nil {
		return m, usagef("--from: %w", err)
	}
	if m.To, err = journal.ParseDate(f.to); err != nil {
		return m, usagef("--to: %w", err)
	}
	for flag, words := range map[string][]string{"--not": f.not, "--kept": f.kept} {
		for _, word := range words {
			k, err := journal.KindByWord(word)
			if err != nil {
				return m, usagef("%s: %w", flag, err)
			}
			if flag == "--not" {
				m.Not = append(m.Not, k)
			} else {
				m.Kept = append(m.Kept, k)
			}
		}
	}
	if m.Forget = f.assumed; len(m.Not)+len(m.Kept) == 0 && !m.Forget {
		return m, usagef("say of what no count was kept: --not tangles, or --kept tangles to take it back")
	}
	return m, nil
}

func (p *program) markRecorded(ctx context.Context, store *pg.Store, f markFlags, mark journal.RecordedMark) error {
	angler, err := store.AnglerByName(ctx, f.angler)
	if errors.Is(err, journal.ErrNotFound) {
		return unknownName(err, "angler")
	}
	if err != nil {
		return err
	}
	mark.Angler = angler.ID
	act := store.PreviewRecorded
	if f.yes {
		act = store.MarkRecorded
	}
	m, err := act(ctx, mark)
	if err != nil {
		return err
	}
	for _, text := range prose.MarkPreview(angler.Name, mark, m) {
		p.printf("%s\n", text)
	}
	if !f.yes {
		p.printf("\nNothing is changed yet. To do it, add --yes.\n")
		return nil
	}
	p.printf("\n%s\n", prose.MarkDone(m))
	if undo := prose.MarkUndo(angler.Name, mark, m); undo != "" && m.Changed > 0 {
		p.printf("To take it back: %s\n", undo)
	}
	return nil
}
