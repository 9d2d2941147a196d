package main

import (
	"context"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/journal/exchange"
	"rigtally/journal/pg"
)

func exportCommand(p *command.Program) *cobra.Command {
	var to, format string
	var force, schema bool
	cmd := &cobra.Command{
		Use:   "export --to FILE",
		Short: "Write the stints as CSV, or the whole journal as a backup",
		Long: `Write the journal to a file: a name that ends in .csv gets a row for each stint and fly,
for a spreadsheet or R; one that ends in .jsonl gets a backup that can be imported again
and loses nothing but the rest of a running trial's order, which stays sealed. - writes
to standard output in the form that --format says.

Beside stints.csv goes stints.schema.json, which describes each column to people and
programs, with its unit (a Frictionless Table Schema); --schema prints it. In the CSV an
empty count was not counted, which is not zero. What sessions took of river gauges stands
in columns of its own (gauge_…); an import passes over them.`,
		Example: "  rigtally export --to stints.csv\n  rigtally export --to journal-2026-11.jsonl\n  rigtally export --to - --format csv\n  rigtally export --schema",
		Args:    command.None,
		RunE: p.Do(func(ctx context.Context, _ []string) error {
			if schema {
				return exchange.WriteSchema(p.Out)
			}
			write, format, err := exporter(to, format)
			if err != nil {
				return err
			}
			return p.Open(ctx, func(ctx context.Context, j command.Journal) error {
				files := []terminal.File{{To: to, Write: func(w io.Writer) error { return write(ctx, j.Store, w) }}}
				if format == command.CSV && to != terminal.Standard {
					files = append(files, terminal.File{To: schemaName(to), Write: exchange.WriteSchema})
				}
				return p.WriteFiles(force, files...)
			})
		}),
	}
	flags := cmd.Flags()
	flags.StringVar(&to, "to", "", "`file` to write: .csv or .jsonl, or - for standard output")
	flags.StringVar(&format, "format", "", "`form`, if the name does not say: csv or jsonl")
	flags.BoolVar(&force, "force", false, "replace the file if it exists")
	flags.BoolVar(&schema, "schema", false, "only print the description of the CSV's columns")
	command.Complete(cmd, "format", []string{command.CSV, command.JSONL})
	return cmd
}

type exportFunc func(context.Context, *pg.Store, io.Writer) error

// exporter chooses the form by --format, else by the name's ending.
func exporter(to, format string) (write exportFunc, form string, err error) {
	if to == "" {
		return nil, "", terminal.Misusef("--to is missing; name a file that ends in .csv or .jsonl")
	}
	byName := strings.TrimPrefix(strings.ToLower(filepath.Ext(to)), ".")
	if format == "" {
		format = byName
	}
	switch format {
	case command.CSV:
		return exchange.WriteCSV, format, nil
	case command.JSONL:
		return exchange.WriteBackup, format, nil
	}
	if format == byName {
		return nil, "", terminal.Misusef("the name %q does not say what form to write; end it in .csv or .jsonl, or add --format csv or --format jsonl", to)
	}
	return nil, "", terminal.Misusef("--format %q is not known; write csv or jsonl", format)
}

// schemaName names the description of a CSV, beside it.
func schemaName(to string) string {
	return strings.TrimSuffix(to, filepath.Ext(to)) + ".schema.json"
}
