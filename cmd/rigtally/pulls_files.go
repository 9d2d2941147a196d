package main

import (
	"context"
	"fmt"
	"io"
	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/journal/exchange"
	"rigtally/journal/sheet"

	"github.com/spf13/cobra"
)

func pullImportCommand(p *command.Program) *cobra.Command {
	job := importing{Program: p}
	cmd := &cobra.Command{
		Use:   "import FILE",
		Short: "Import a spreadsheet (CSV) of pulls",
		Long: `Import a spreadsheet of pulls, one row each, saved as CSV. Headers may be in your own
words and name units: date, junction or knot, facing, prop, tippet_x or "Tippet (mm)",
material, wet, pulled on, "Peak (lbs)" or force_n, result or ending, broke at, tied by,
label, note. The file goes in whole or not at all, and importing it twice adds nothing.
- reads standard input.`,
		Example: "  rigtally bench import pulls.csv --check\n  rigtally bench import pulls.csv",
		Args:    command.Between(1, 1, "the file"),
		RunE: p.Do(func(ctx context.Context, files []string) error {
			if err := job.prepare(files); err != nil {
				return err
			}
			job.options.Now = p.Now
			sheet, err := job.readPulls(ctx, files[0])
			if err != nil {
				return err
			}
			if job.check {
				p.Printf("%s\n", shownName(files[0]))
				if err := sheet.Report(p.Out); err != nil {
					return err
				}
				if bad := sheet.BadRows(); bad > 0 {
					return fmt.Errorf("%d rows can't be taken; correct them and import again", bad)
				}
				return nil
			}
			return p.Open(ctx, func(ctx context.Context, j command.Journal) error { return importPulls(ctx, p, j, sheet) })
		}),
	}
	job.addReading(cmd)
	return cmd
}

func (job *importing) readPulls(ctx context.Context, name string) (*sheet.BenchSheet, error) {
	source, err := job.open(name)
	if err != nil {
		return nil, err
	}
	defer source.Close()
	return sheet.ReadBench(ctx, source, shownName(name), job.options)
}

func importPulls(ctx context.Context, p *command.Program, j command.Journal, sheet *sheet.BenchSheet) error {
	if sheet.BadRows() == 0 {
		if err := sheet.Report(p.Out); err != nil {
			return err
		}
		p.Printf("\n")
	}
	result, err := sheet.Import(ctx, j.Store)
	if err != nil {
		return err
	}
	for _, sentence := range result.Sentences() {
		p.Printf("%s\n", sentence)
	}
	return nil
}

func pullExportCommand(p *command.Program) *cobra.Command {
	var to string
	var force bool
	cmd := &cobra.Command{
		Use:     "export --to FILE",
		Short:   "Write the pulls as CSV",
		Example: "  rigtally bench export --to pulls.csv\n  rigtally bench export --to -",
		Args:    command.None,
		RunE: p.Do(func(ctx context.Context, _ []string) error {
			if to == "" {
				return terminal.Misusef("--to is missing; name a file that ends in .csv, or - for standard output")
			}
			return p.Open(ctx, func(ctx context.Context, j command.Journal) error {
				return p.WriteFiles(force, terminal.File{To: to, Write: func(w io.Writer) error { return exchange.WriteBenchCSV(ctx, j.Store, w) }})
			})
		}),
	}
	cmd.Flags().StringVar(&to, "to", "", "`file` to write, or - for standard output")
	cmd.Flags().BoolVar(&force, "force", false, "replace the file if it exists")
	return cmd
}
