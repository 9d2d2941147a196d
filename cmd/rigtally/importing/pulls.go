package importing

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"rigtally/cmd/rigtally/command"
	"rigtally/journal/sheet"
)

// Pulls is "rigtally bench import".
func Pulls(p *command.Program) *cobra.Command {
	j := job{Program: p}
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
			if err := j.prepare(files); err != nil {
				return err
			}
			sheet, err := j.readPulls(ctx, files[0])
			if err != nil {
				return err
			}
			if j.check {
				p.Printf("%s\n", shownName(files[0]))
				if err := sheet.Report(p.Out, p.Width()); err != nil {
					return err
				}
				if bad := sheet.BadRows(); bad > 0 {
					return fmt.Errorf("%d rows can't be taken; correct them and import again", bad)
				}
				return nil
			}
			return p.Open(ctx, func(ctx context.Context, held command.Journal) error { return importPulls(ctx, p, held, sheet) })
		}),
	}
	j.addReading(cmd)
	return cmd
}

func (j *job) readPulls(ctx context.Context, name string) (*sheet.BenchSheet, error) {
	source, err := j.open(name)
	if err != nil {
		return nil, err
	}
	defer source.Close()
	return sheet.ReadBench(ctx, source, shownName(name), j.options)
}

func importPulls(ctx context.Context, p *command.Program, j command.Journal, sheet *sheet.BenchSheet) error {
	if sheet.BadRows() == 0 {
		if err := sheet.Report(p.Out, p.Width()); err != nil {
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
