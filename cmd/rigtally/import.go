package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"github.com/spf13/cobra"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/exchange"
	"rigtally/journal/pg"
	"rigtally/journal/sheet"
)

const importExample = `  rigtally import season.csv --check
  rigtally import season.csv
  rigtally import notebook.csv --dates day-first --rejects notebook-bad.csv
  rigtally import notebook.csv --blank "Tangles=unknown" --blank "Snags=zero"
  rigtally import backup.jsonl`

// importing is what "rigtally import" was asked for.
type importing struct {
	*command.Program
	options                 sheet.Options
	check                   bool
	rejects, dates, decimal string
	blanks                  []string
}

func importCommand(p *command.Program) *cobra.Command {
	job := importing{Program: p}
	cmd := &cobra.Command{
		Use:   "import FILE…",
		Short: "Import spreadsheets (CSV) or a rigtally backup",
		Long: `Import spreadsheets saved as CSV, or a backup (.jsonl) that "rigtally export" wrote.
Each file goes in whole or not at all, one after the other. How each column was read is
shown first. A file that is imported twice adds nothing. - reads standard input.

What was never counted is not zero. A column that the file lacks is not recorded. 0, a dash and
none are zero; ?, n/a and not counted are not recorded. A blank is not recorded where the column
writes zeros, and zero where it never does, unless --blank says otherwise.`,
		Example: importExample,
		Args:    command.Between(1, -1, "the file"),
		RunE: p.Do(func(ctx context.Context, files []string) error {
			if err := job.prepare(files); err != nil {
				return err
			}
			if job.check {
				return job.checkFiles(ctx, files)
			}
			return p.Open(ctx, func(ctx context.Context, j command.Journal) error {
				for _, name := range files {
					if err := job.importFile(ctx, j.Store, name); err != nil {
						return err
					}
				}
				return nil
			})
		}),
	}
	flags := cmd.Flags()
	job.addReading(cmd)
	flags.StringVar(&job.rejects, "rejects", "", "leave bad rows out and keep them in this `file`, to be corrected and imported")
	flags.StringArrayVar(&job.blanks, "blank", nil, "what blanks of a column of counts mean, zero or unknown, as in `HEADER=unknown`; may be given for several")
	flags.BoolVar(&job.options.Accept, "accept", false, "accept what looks like a slip, such as a tag of 70 cm, as it is")
	flags.StringVar(&job.options.TimeZone, "time-zone", "", "IANA `name` of the zone of new waters, such as America/Denver (default: the journal's)")
	flags.StringVar(&job.options.Angler, "angler", "", "`name` of who fished, for a file without such a column")
	flags.StringVar(&job.options.Water, "water", "", "`name` of the water, for a file without such a column")
	return cmd
}

// addReading adds the flags of how a spreadsheet is read.
func (job *importing) addReading(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.BoolVar(&job.check, "check", false, "only show how the file is read, and write nothing")
	flags.StringVar(&job.dates, "dates", "", "`order` of dates such as 03/04/2026: day-first, month-first or year-first")
	flags.StringVar(&job.decimal, "decimal", "", "`sign` of numbers such as 1,020: point or comma, when the file itself leaves it open")
	command.Complete(cmd, "dates", []string{string(sheet.DayFirst), string(sheet.MonthFirst), string(sheet.YearFirst)})
	command.Complete(cmd, "decimal", []string{"point", "comma"})
}

// prepare checks the flags before any file is read.
func (job *importing) prepare(files []string) (err error) {
	if job.options.Dates, err = sheet.ParseDateOrder(job.dates); err != nil {
		return terminal.Misusef("--dates: %w", err)
	}
	switch job.decimal {
	case "":
	case "point":
		job.options.Decimal = units.DecimalPoint
	case "comma":
		job.options.Decimal = units.DecimalComma
	default:
		return terminal.Misusef("--decimal %q is not known; write point or comma", job.decimal)
	}
	for _, text := range job.blanks {
		rule, err := sheet.ParseBlankRule(text)
		if err != nil {
			return terminal.Misusef("--blank: %w", err)
		}
		job.options.Blanks = append(job.options.Blanks, rule)
	}
	if zone := job.options.TimeZone; zone != "" {
		if _, err := time.LoadLocation(zone); err != nil || zone == "Local" {
			return terminal.Misusef("--time-zone %q is not known; write an IANA name such as America/Denver", zone)
		}
	}
	if job.rejects != "" && len(files) > 1 {
		return terminal.Misusef("--rejects keeps the bad rows of one file; import the files one by one")
	}
	if job.rejects != "" && job.check {
		return terminal.Misusef("--check writes nothing, so it does not go with --rejects; leave one out")
	}
	job.options.Units = job.Settings.Units // not the journal's: a bare number of unknown unit is not guessed at
	return nil
}

// open opens a file to import.
func (job *importing) open(name string) (io.ReadCloser, error) {
	if name == terminal.Standard {
		return io.NopCloser(job.In), nil
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, fmt.Errorf("the file can't be opened: %w; check its name", err)
	}
	return f, nil
}

// sniff opens a file to import and tells what kind it is.
func (job *importing) sniff(name string) (exchange.Kind, io.Reader, io.Closer, error) {
	file, err := job.open(name)
	if err != nil {
		return "", nil, nil, err
	}
	kind, source, err := exchange.Sniff(file)
	if err != nil {
		return "", nil, nil, errors.Join(fmt.Errorf("%s: %w", shownName(name), err), file.Close())
	}
	return kind, source, file, nil
}

func shownName(name string) string {
	if name == terminal.Standard {
		return "standard input"
	}
	return name
}

// checkFiles shows how files are understood.
func (job *importing) checkFiles(ctx context.Context, files []string) error {
	bad := 0
	for _, name := range files {
		n, err := job.checkFile(ctx, name)
		if err != nil {
			return err
		}
		bad += n
	}
	if bad > 0 {
		return fmt.Errorf("%d rows can't be taken; correct them, or import the others with --rejects FILE", bad)
	}
	return nil
}

// checkFile shows how a file is understood and returns how many rows are bad.
func (job *importing) checkFile(ctx context.Context, name string) (bad int, err error) {
	kind, source, closer, err := job.sniff(name)
	if err != nil {
		return 0, err
	}
	defer closer.Close()
	if kind == exchange.BackupFile {
		job.Printf("%s is a rigtally backup. It is taken whole or not at all, and has no columns to check.\n", shownName(name))
		return 0, nil
	}
	table, err := sheet.Read(ctx, source, shownName(name), job.options)
	if err != nil {
		return 0, err
	}
	job.Printf("%s\n", shownName(name))
	return table.BadRows(), table.Report(job.Out)
}

func (job *importing) importFile(ctx context.Context, store *pg.Store, name string) error {
	kind, source, closer, err := job.sniff(name)
	if err != nil {
		return err
	}
	defer closer.Close()
	var result exchange.Result
	if kind == exchange.BackupFile {
		progress, done := job.Bar("Restoring sessions")
		result, err = exchange.ReadBackup(ctx, store, source, progress)
		done()
		if err != nil {
			return fmt.Errorf("%s: %w", shownName(name), err)
		}
	} else if result, err = job.importSheet(ctx, store, name, source); err != nil {
		return err
	}
	job.Printf("%s\n", shownName(name))
	for _, sentence := range result.Sentences() {
		job.Printf("  %s\n", sentence)
	}
	return nil
}

func (job *importing) importSheet(ctx context.Context, store *pg.Store, name string, source io.Reader) (exchange.Result, error) {
	progress, done := job.Bar("Adding sessions")
	defer done()
	options := job.options
	options.Progress = progress
	table, err := sheet.Read(ctx, source, shownName(name), options)
	if err != nil {
		return exchange.Result{}, err
	}
	_, held, err := store.SessionLines(ctx, journal.SessionFilter{Limit: 1})
	if err != nil {
		return exchange.Result{}, err
	}
	result, err := job.importRows(ctx, store, table)
	if err != nil {
		return result, err
	}
	return result, job.adoptUnits(ctx, store, table, held == 0)
}

// importRows imports a sheet: whole, or without its bad rows where they can be kept.
func (job *importing) importRows(ctx context.Context, store *pg.Store, table *sheet.Sheet) (exchange.Result, error) {
	if job.rejects == "" || table.BadRows() == 0 {
		return job.importGood(ctx, store, table)
	}
	// Written before the import, so that no row can get lost between the two.
	rejects, err := terminal.WriteNew(job.rejects, false, table.WriteRejects)
	if err != nil {
		return exchange.Result{}, err
	}
	defer rejects.Discard()
	if err := table.Report(job.Out); err != nil {
		return exchange.Result{}, err
	}
	result, err := table.Import(ctx, store, sheet.How{AllowBad: true})
	if err != nil {
		return result, err
	}
	if err := rejects.Keep(); err != nil {
		return result, fmt.Errorf("the good rows are in the journal, but the bad ones could not be kept: %w; import the file again to get them", err)
	}
	job.Printf("\nThe bad rows are in %s. Correct them there and import that file.\n", job.rejects)
	return result, nil
}

// importGood imports a sheet whole. One with a bad row is refused with all that
// is bad, which matters more then than how the columns were understood.
func (job *importing) importGood(ctx context.Context, store *pg.Store, table *sheet.Sheet) (exchange.Result, error) {
	if table.BadRows() == 0 {
		if err := table.Report(job.Out); err != nil {
			return exchange.Result{}, err
		}
		job.Printf("\n")
	}
	return table.Import(ctx, store, sheet.How{})
}

// adoptUnits makes an empty journal show the units of the first spreadsheet that
// goes into it: those asked for with --units, else those of most of its headers.
// empty was asked before the import.
func (job *importing) adoptUnits(ctx context.Context, store *pg.Store, table *sheet.Sheet, empty bool) error {
	sys := job.Settings.Units
	if sys == "" {
		sys = table.Units()
	}
	if !empty || sys == "" || table.Rows == table.BadRows() {
		return nil
	}
	outfit, err := store.Outfit(ctx)
	if err != nil || outfit.Units == string(sys) {
		return err
	}
	outfit.Units = string(sys)
	if err := store.SetOutfit(ctx, outfit); err != nil {
		return err
	}
	other := units.Metric
	if sys == units.Metric {
		other = units.US
	}
	job.Printf("The journal shows %s units from now on, like this file; --units %s shows the others.\n\n", unitsTitle(sys), other)
	return nil
}

func unitsTitle(sys units.System) string {
	if sys == units.US {
		return "US"
	}
	return "metric"
}
