package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"github.com/schollz/progressbar/v3"
	"github.com/spf13/cobra"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/exchange"
	"rigtally/journal/pg"
)

const importExample = `  rigtally import season.csv --check
  rigtally import season.csv
  rigtally import notebook.csv --dates day-first --rejects notebook-bad.csv
  rigtally import notebook.csv --blank "Tangles=unknown" --blank "Snags=zero"
  rigtally import backup.jsonl`

// standardInput is how a file is named that is read from there.
const standardInput = "-"

// importing is what "rigtally import" was asked for.
type importing struct {
	options                 exchange.Options
	check                   bool
	rejects, dates, decimal string
	blanks                  []string
}

func (p *program) importCommand() *cobra.Command {
	var job importing
	cmd := &cobra.Command{
		Use:   "import FILE…",
		Short: "Take in spreadsheets (CSV) or a rigtally backup",
		Long: `Take in spreadsheets saved as CSV, or a backup (.jsonl) that "rigtally export" wrote.
Each file goes in whole or not at all, one after the other. How each column was read is
shown first. A file that is imported twice adds nothing. - reads standard input.

What was never counted is not zero. A column that the file lacks is not recorded. 0, a dash and
none are zero; ?, n/a and not counted are not recorded. A blank is not recorded where the column
writes zeros, and zero where it never does, unless --blank says otherwise.`,
		Example: importExample,
		Args:    between(1, -1, "the file"),
		RunE: p.do(func(ctx context.Context, _ *cobra.Command, files []string) error {
			if err := job.prepare(files, p.settings.Units); err != nil {
				return err
			}
			return p.importFiles(ctx, job, files)
		}),
	}
	flags := cmd.Flags()
	flags.BoolVar(&job.check, "check", false, "only show how the file is understood, and write nothing")
	flags.StringVar(&job.rejects, "rejects", "", "leave bad rows out and keep them in this `file`, to be corrected and imported")
	flags.StringVar(&job.dates, "dates", "", "`order` of dates such as 03/04/2026: day-first, month-first or year-first")
	flags.StringVar(&job.decimal, "decimal", "", "`sign` of numbers such as 1,020: point or comma, when the file itself leaves it open")
	flags.StringArrayVar(&job.blanks, "blank", nil, "what blanks of a column of counts mean, zero or unknown, as in `HEADER=unknown`; may be given for several")
	flags.BoolVar(&job.options.Accept, "accept", false, "take what is likelier a slip, such as a tag of 70 cm, as it stands")
	flags.StringVar(&job.options.TimeZone, "time-zone", "", "IANA `name` of the zone of new waters, such as America/Denver (default: the journal's)")
	flags.StringVar(&job.options.Angler, "angler", "", "`name` of who fished, for a file without such a column")
	flags.StringVar(&job.options.Water, "water", "", "`name` of the water, for a file without such a column")
	complete(cmd, "dates", []string{string(exchange.DayFirst), string(exchange.MonthFirst), string(exchange.YearFirst)})
	complete(cmd, "decimal", []string{"point", "comma"})
	return cmd
}

// prepare checks the flags before any file is read.
func (job *importing) prepare(files []string, sys units.System) (err error) {
	if job.options.Dates, err = exchange.ParseDateOrder(job.dates); err != nil {
		return usagef("--dates: %w", err)
	}
	switch job.decimal {
	case "":
	case "point":
		job.options.Decimal = units.DecimalPoint
	case "comma":
		job.options.Decimal = units.DecimalComma
	default:
		return usagef("--decimal %q is not known; write point or comma", job.decimal)
	}
	for _, text := range job.blanks {
		rule, err := exchange.ParseBlankRule(text)
		if err != nil {
			return usagef("--blank: %w", err)
		}
		job.options.Blanks = append(job.options.Blanks, rule)
	}
	if zone := job.options.TimeZone; zone != "" {
		if _, err := time.LoadLocation(zone); err != nil || zone == "Local" {
			return usagef("--time-zone %q is not known; write an IANA name such as America/Denver", zone)
		}
	}
	if job.rejects != "" && len(files) > 1 {
		return usagef("--rejects keeps the bad rows of one file; import the files one by one")
	}
	if job.rejects != "" && job.check {
		return usagef("--check writes nothing, so it does not go with --rejects; leave one out")
	}
	job.options.Units = sys // not the journal's: a bare number of unknown unit is not guessed at
	return nil
}

func (p *program) importFiles(ctx context.Context, job importing, files []string) error {
	if job.check {
		bad := 0
		for _, name := range files {
			n, err := p.checkFile(job, name)
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
	return p.withJournal(ctx, func(ctx context.Context, store *pg.Store) error {
		for _, name := range files {
			if err := p.importFile(ctx, store, job, name); err != nil {
				return err
			}
		}
		return nil
	})
}

// open opens a file to import and tells what kind it is.
func (p *program) open(name string) (exchange.Kind, io.Reader, io.Closer, error) {
	var source io.Reader = p.in
	var closer io.Closer = io.NopCloser(nil)
	if name != standardInput {
		f, err := os.Open(name)
		if err != nil {
			return "", nil, nil, fmt.Errorf("the file can't be opened: %w; check its name", err)
		}
		source, closer = f, f
	}
	kind, source, err := exchange.Sniff(source)
	if err != nil {
		return "", nil, nil, errors.Join(fmt.Errorf("%s: %w", shownName(name), err), closer.Close())
	}
	return kind, source, closer, nil
}

func shownName(name string) string {
	if name == standardInput {
		return "standard input"
	}
	return name
}

// checkFile shows how a file is understood and returns how many rows are bad.
func (p *program) checkFile(job importing, name string) (bad int, err error) {
	kind, source, closer, err := p.open(name)
	if err != nil {
		return 0, err
	}
	defer closer.Close()
	if kind == exchange.BackupFile {
		p.printf("%s is a rigtally backup. It is taken whole or not at all, and has no columns to check.\n", shownName(name))
		return 0, nil
	}
	sheet, err := exchange.ReadCSV(source, shownName(name), job.options)
	if err != nil {
		return 0, err
	}
	p.printf("%s\n", shownName(name))
	return sheet.BadRows(), sheet.Report(p.out)
}

func (p *program) importFile(ctx context.Context, store *pg.Store, job importing, name string) error {
	kind, source, closer, err := p.open(name)
	if err != nil {
		return err
	}
	defer closer.Close()
	var result exchange.Result
	if kind == exchange.BackupFile {
		progress, done := p.bar("Restoring sessions")
		result, err = exchange.ReadBackup(ctx, store, source, progress)
		done()
		if err != nil {
			return fmt.Errorf("%s: %w", shownName(name), err)
		}
	} else if result, err = p.importSheet(ctx, store, job, name, source); err != nil {
		return err
	}
	p.printf("%s\n", shownName(name))
	for _, sentence := range result.Sentences() {
		p.printf("  %s\n", sentence)
	}
	return nil
}

func (p *program) importSheet(ctx context.Context, store *pg.Store, job importing, name string, source io.Reader) (exchange.Result, error) {
	progress, done := p.bar("Adding sessions")
	defer done()
	job.options.Progress = progress
	sheet, err := exchange.ReadCSV(source, shownName(name), job.options)
	if err != nil {
		return exchange.Result{}, err
	}
	_, held, err := store.SessionLines(ctx, journal.SessionFilter{Limit: 1})
	if err != nil {
		return exchange.Result{}, err
	}
	result, err := p.importRows(ctx, store, job, sheet)
	if err != nil {
		return result, err
	}
	return result, p.adoptUnits(ctx, store, sheet, held == 0)
}

// importRows imports a sheet: whole, or without its bad rows where they can be kept.
func (p *program) importRows(ctx context.Context, store *pg.Store, job importing, sheet *exchange.Sheet) (exchange.Result, error) {
	if job.rejects == "" || sheet.BadRows() == 0 {
		return p.importGood(ctx, store, sheet)
	}
	// Written before the import, so that no row can get lost between the two.
	rejects, err := writeNew(job.rejects, false, sheet.WriteRejects)
	if err != nil {
		return exchange.Result{}, err
	}
	defer rejects.discard()
	if err := sheet.Report(p.out); err != nil {
		return exchange.Result{}, err
	}
	result, err := sheet.Import(ctx, store, true)
	if err != nil {
		return result, err
	}
	if err := rejects.keep(); err != nil {
		return result, fmt.Errorf("the good rows are in the journal, but the bad ones could not be kept: %w; import the file again to get them", err)
	}
	p.printf("\nThe bad rows are in %s. Correct them there and import that file.\n", job.rejects)
	return result, nil
}

// importGood imports a sheet whole. One with a bad row is refused with all that
// is bad, which matters more then than how the columns were understood.
func (p *program) importGood(ctx context.Context, store *pg.Store, sheet *exchange.Sheet) (exchange.Result, error) {
	if sheet.BadRows() == 0 {
		if err := sheet.Report(p.out); err != nil {
			return exchange.Result{}, err
		}
		p.printf("\n")
	}
	return sheet.Import(ctx, store, false)
}

// bar shows progress to someone who watches. done takes it off the screen.
func (p *program) bar(what string) (progress func(done, total int64), done func()) {
	if !p.progress {
		return nil, func() {}
	}
	var bar *progressbar.ProgressBar
	progress = func(done, total int64) {
		if bar == nil {
			bar = progressbar.NewOptions64(total, progressbar.OptionSetWriter(p.err), progressbar.OptionSetDescription(what),
				progressbar.OptionShowCount(), progressbar.OptionClearOnFinish(), progressbar.OptionThrottle(100*time.Millisecond))
		}
		_ = bar.Set64(done) // a bar that can't be drawn is no reason to stop
	}
	return progress, func() {
		if bar != nil {
			_ = bar.Finish()
		}
	}
}
