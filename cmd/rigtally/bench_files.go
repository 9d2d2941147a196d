package main

import (
	"context"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"rigtally/journal/exchange"
	"rigtally/journal/pg"
)

func (p *program) benchImportCommand() *cobra.Command {
	job := importing{}
	cmd := &cobra.Command{
		Use:   "import FILE",
		Short: "Take in a spreadsheet (CSV) of pulls",
		Long: `Take in a spreadsheet of pulls, a row for each, saved as CSV. Headers may be in your own
words and name units: date, junction or knot, facing, prop, tippet_x or "Tippet (mm)",
material, wet, pulled on, "Peak (lbs)" or force_n, result or ending, broke at, tied by,
label, note. The file goes in whole or not at all, and importing it twice adds nothing.
- reads standard input.`,
		Example: "  rigtally bench import pulls.csv --check\n  rigtally bench import pulls.csv",
		Args:    between(1, 1, "the file"),
		RunE: p.do(func(ctx context.Context, _ *cobra.Command, files []string) error {
			if err := job.prepare(files, p.settings.Units); err != nil {
				return err
			}
			job.options.Now = p.now
			sheet, err := p.readPulls(files[0], job.options)
			if err != nil {
				return err
			}
			if job.check {
				p.printf("%s\n", shownName(files[0]))
				if err := sheet.Report(p.out); err != nil {
					return err
				}
				if bad := sheet.BadRows(); bad > 0 {
					return fmt.Errorf("%d rows can't be taken; correct them and import again", bad)
				}
				return nil
			}
			return p.withJournal(ctx, func(ctx context.Context, store *pg.Store) error { return p.importPulls(ctx, store, sheet) })
		}),
	}
	flags := cmd.Flags()
	flags.BoolVar(&job.check, "check", false, "only show how the file is understood, and write nothing")
	flags.StringVar(&job.dates, "dates", "", "`order` of dates such as 03/04/2026: day-first, month-first or year-first")
	flags.StringVar(&job.decimal, "decimal", "", "`sign` of numbers such as 1,020: point or comma, when the file itself leaves it open")
	complete(cmd, "dates", []string{string(exchange.DayFirst), string(exchange.MonthFirst), string(exchange.YearFirst)})
	complete(cmd, "decimal", []string{"point", "comma"})
	return cmd
}

func (p *program) readPulls(name string, opt exchange.Options) (*exchange.BenchSheet, error) {
	source := p.in
	if name != standardInput {
		f, err := os.Open(name)
		if err != nil {
			return nil, fmt.Errorf("the file can't be opened: %w; check its name", err)
		}
		defer f.Close()
		source = f
	}
	return exchange.ReadBenchCSV(source, shownName(name), opt)
}

func (p *program) importPulls(ctx context.Context, store *pg.Store, sheet *exchange.BenchSheet) error {
	if sheet.BadRows() == 0 {
		if err := sheet.Report(p.out); err != nil {
			return err
		}
		p.printf("\n")
	}
	result, err := sheet.Import(ctx, store)
	if err != nil {
		return err
	}
	for _, sentence := range result.Sentences() {
		p.printf("%s\n", sentence)
	}
	return nil
}

func (p *program) benchExportCommand() *cobra.Command {
	var to string
	var force bool
	cmd := &cobra.Command{
		Use:     "export --to FILE",
		Short:   "Write the pulls as CSV",
		Example: "  rigtally bench export --to pulls.csv\n  rigtally bench export --to -",
		Args:    between(0, 0, ""),
		RunE: p.do(func(ctx context.Context, _ *cobra.Command, _ []string) error {
			if to == "" {
				return usagef("--to is missing; name a file that ends in .csv, or - for standard output")
			}
			return p.withJournal(ctx, func(ctx context.Context, store *pg.Store) error {
				return p.export(force, exported{to, func(w io.Writer) error { return exchange.WriteBenchCSV(ctx, store, w) }})
			})
		}),
	}
	cmd.Flags().StringVar(&to, "to", "", "`file` to write, or - for standard output")
	cmd.Flags().BoolVar(&force, "force", false, "replace the file if it exists")
	return cmd
}
