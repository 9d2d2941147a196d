package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"rigtally/journal"
	"rigtally/journal/exchange"
)

const formatJSONL = "jsonl"

func (p *program) exportCommand() *cobra.Command {
	var to, format string
	var force bool
	cmd := &cobra.Command{
		Use:   "export --to FILE",
		Short: "Write the stints as CSV, or the whole journal as a backup",
		Long: `Write the journal to a file: a name that ends in .csv gets a row for each stint and fly,
for a spreadsheet or R; one that ends in .jsonl gets a backup that loses nothing and can
be imported again. - writes to standard output in the form that --format says.`,
		Example: "  rigtally export --to stints.csv\n  rigtally export --to journal-2026-11.jsonl\n  rigtally export --to - --format csv",
		Args:    between(0, 0, ""),
		RunE: p.do(func(ctx context.Context, _ *cobra.Command, _ []string) error {
			write, err := exporter(to, format)
			if err != nil {
				return err
			}
			return p.withJournal(ctx, func(ctx context.Context, store *journal.Store) error {
				return p.export(to, force, func(w io.Writer) error { return write(ctx, store, w) })
			})
		}),
	}
	flags := cmd.Flags()
	flags.StringVar(&to, "to", "", "`file` to write: .csv or .jsonl, or - for standard output")
	flags.StringVar(&format, "format", "", "`form`, when the name does not say it: csv or jsonl")
	flags.BoolVar(&force, "force", false, "replace the file if it exists")
	complete(cmd, "format", []string{formatCSV, formatJSONL})
	return cmd
}

type exportFunc func(context.Context, *journal.Store, io.Writer) error

// exporter chooses the form by --format, else by the name's ending.
func exporter(to, format string) (exportFunc, error) {
	if to == "" {
		return nil, usagef("--to is missing; name a file that ends in .csv or .jsonl")
	}
	byName := strings.TrimPrefix(strings.ToLower(filepath.Ext(to)), ".")
	if format == "" {
		format = byName
	}
	switch format {
	case formatCSV:
		return exchange.WriteCSV, nil
	case formatJSONL:
		return exchange.WriteBackup, nil
	}
	if format == byName {
		return nil, usagef("the name %q does not say in which form to write; end it in .csv or .jsonl, or add --format csv or --format jsonl", to)
	}
	return nil, usagef("--format %q is not known; write csv or jsonl", format)
}

func (p *program) export(to string, force bool, write func(io.Writer) error) error {
	if to == "-" {
		return write(p.out)
	}
	file, err := writeNew(to, force, write)
	if errors.Is(err, errExists) {
		return fmt.Errorf("%w, or replace it with --force", err)
	}
	if err != nil {
		return err
	}
	defer file.discard()
	if err := file.keep(); err != nil {
		return err
	}
	p.printf("Wrote %s.\n", to)
	return nil
}
