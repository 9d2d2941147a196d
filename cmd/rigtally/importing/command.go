// Package importing is the commands that bring files in: "rigtally import", step by step at a terminal, and
// "rigtally bench import".
package importing

import (
	"context"
	"runtime/debug"
	"time"

	"github.com/spf13/cobra"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/internal/units"
	"rigtally/journal/sheet"
)

const example = `  rigtally import season.csv --check
  rigtally import season.csv
  rigtally import notebook.csv --dates day-first --rejects notebook-bad.csv
  rigtally import notebook.csv --column "Member=angler" --column "Score=ignore" --same "Jon Felt=J. Felt"
  rigtally import notebook.csv --blank "Tangles=unknown" --blank "Snags=zero"
  rigtally import season.csv --update
  rigtally import backup.jsonl`

// job is what "rigtally import" was asked for.
type job struct {
	*command.Program
	options                         sheet.Options
	check, update, yes, fresh       bool
	rejects, dates, decimal, ranges string
	blanks, columns, same, isNew    []string
}

// Command is "rigtally import".
func Command(p *command.Program) *cobra.Command {
	j := job{Program: p}
	cmd := &cobra.Command{
		Use:   "import FILE…",
		Short: "Import spreadsheets (CSV, .xlsx, .ods) or a rigtally backup",
		Long: `Import spreadsheets, CSV or workbooks, or a backup (.jsonl) that "rigtally export" wrote.
Each file goes in whole or not at all, one after the other. How each column was read is
shown first. A file that is imported twice adds nothing. - reads standard input.

At a terminal it goes step by step: it asks what it can't know, shows what will be new, and
writes when you say so. Elsewhere, and with --yes, it never asks: a column or a name that
somebody must decide about is refused, with the flags that decide. What was chosen for the
columns is remembered for the next sheet with the same headers, until --fresh.

What was never counted is not zero. A column that the file lacks is not recorded. 0, a dash and
none are zero; ?, n/a and not counted are not recorded. A blank is not recorded where the column
writes zeros, and zero where it never does, unless --blank says otherwise.

A session that was imported before and corrected in the sheet since is left as it is, and listed;
--update takes the sheet's, unless the journal's was edited meanwhile.

A backup meets a journal in use by ids, then by names. What both tell otherwise stays as the
journal has it, and is listed; --update takes the backup's sessions, claims, bench pulls and
rule sets, as their next versions.`,
		Example: example,
		Args:    command.Between(1, -1, "the file"),
	}
	flags := cmd.Flags()
	j.addReading(cmd)
	flags.StringVar(&j.rejects, "rejects", "", "leave bad rows out and keep them in this `file`, to be corrected and imported")
	flags.StringArrayVar(&j.columns, "column", nil, "what a column tells, or that it is left out, as in `HEADER=angler` or HEADER=ignore; may be given for several")
	flags.StringArrayVar(&j.options.Sheets, "sheet", nil, "`name` of a sheet of a workbook that is read, instead of all that are shown; may be given for several")
	flags.StringVar(&j.ranges, "ranges", "", "what a range such as 2-3 is taken for: `middle`, or refuse as without it")
	flags.StringArrayVar(&j.blanks, "blank", nil, "what blanks of a column of counts mean, zero or unknown, as in `HEADER=unknown`; may be given for several")
	flags.StringArrayVar(&j.same, "same", nil, "whom or what a name of the sheet means, as in `\"Jon Felt=J. Felt\"`; may be given for several")
	flags.StringArrayVar(&j.isNew, "new", nil, "a `name` of the sheet that is new and meant so, though it is near another; may be given for several")
	flags.BoolVar(&j.update, "update", false, "take what was corrected in the sheet since it was imported, or what a backup tells otherwise")
	flags.BoolVar(&j.yes, "yes", false, "ask nothing")
	flags.BoolVar(&j.fresh, "fresh", false, "forget what was chosen for sheets with the same headers")
	flags.BoolVar(&j.options.Accept, "accept", false, "accept what looks like a slip, such as a tag of 70 cm, as it is")
	flags.StringVar(&j.options.TimeZone, "time-zone", "", "IANA `name` of the zone of new waters, such as America/Denver (default: the journal's)")
	flags.StringVar(&j.options.Angler, "angler", "", "`name` of who fished, for a file without such a column")
	flags.StringVar(&j.options.Water, "water", "", "`name` of the water, for a file without such a column")
	command.Complete(cmd, "ranges", []string{"middle", "refuse"})
	cmd.RunE = p.Do(func(ctx context.Context, files []string) error {
		if err := j.prepare(files); err != nil {
			return err
		}
		defer debug.SetGCPercent(debug.SetGCPercent(20)) // a quarter slower than at 50, and a fifth smaller
		if j.check {
			return j.checkFiles(ctx, files)
		}
		return p.Open(ctx, func(ctx context.Context, held command.Journal) error {
			written := false
			for _, name := range files {
				result, err := j.bring(ctx, held, name)
				if err != nil {
					return err
				}
				written = written || !result.Step.IsZero()
			}
			if written {
				p.Printf("\nTo take it back: rigtally undo\n")
			}
			return nil
		})
	})
	return cmd
}

// addReading adds the flags of how a spreadsheet is read.
func (j *job) addReading(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.BoolVar(&j.check, "check", false, "only show how the file is read, and write nothing")
	flags.StringVar(&j.dates, "dates", "", "`order` of dates such as 03/04/2026: day-first, month-first or year-first")
	flags.StringVar(&j.decimal, "decimal", "", "`sign` of numbers such as 1,020: point or comma, when the file itself leaves it open")
	command.Complete(cmd, "dates", []string{string(sheet.DayFirst), string(sheet.MonthFirst), string(sheet.YearFirst)})
	command.Complete(cmd, "decimal", []string{"point", "comma"})
}

// prepare checks the flags before any file is read.
func (j *job) prepare(files []string) (err error) {
	if j.options.Dates, err = sheet.ParseDateOrder(j.dates); err != nil {
		return terminal.Misusef("--dates: %w", err)
	}
	switch j.decimal {
	case "":
	case "point":
		j.options.Decimal = units.DecimalPoint
	case "comma":
		j.options.Decimal = units.DecimalComma
	default:
		return terminal.Misusef("--decimal %q is not known; write point or comma", j.decimal)
	}
	if j.options.Ranges, err = sheet.ParseRangeRule(j.ranges); err != nil {
		return terminal.Misusef("--ranges: %w", err)
	}
	for _, text := range j.columns {
		rule, err := sheet.ParseColumnRule(text)
		if err != nil {
			return terminal.Misusef("--column: %w", err)
		}
		j.options.Columns = append(j.options.Columns, rule)
	}
	if err := j.prepareNames(); err != nil {
		return err
	}
	for _, text := range j.blanks {
		rule, err := sheet.ParseBlankRule(text)
		if err != nil {
			return terminal.Misusef("--blank: %w", err)
		}
		j.options.Blanks = append(j.options.Blanks, rule)
	}
	if zone := j.options.TimeZone; zone != "" {
		if _, err := time.LoadLocation(zone); err != nil || zone == "Local" {
			return terminal.Misusef("--time-zone %q is not known; write an IANA name such as America/Denver", zone)
		}
	}
	if j.rejects != "" && len(files) > 1 {
		return terminal.Misusef("--rejects keeps the bad rows of one file; import the files one by one")
	}
	if j.rejects != "" && j.check {
		return terminal.Misusef("--check writes nothing, so it does not go with --rejects; leave one out")
	}
	j.options.Now = j.Now
	j.options.Units = j.Settings.Units // not the journal's: a bare number of unknown unit is not guessed at
	j.options.Words = j.Settings.Words
	return nil
}

// prepareNames checks the flags of names.
func (j *job) prepareNames() error {
	for _, text := range j.same {
		rule, err := sheet.ParseNameRule(text)
		if err != nil {
			return terminal.Misusef("--same: %w", err)
		}
		j.options.Names = append(j.options.Names, rule)
	}
	for _, text := range j.isNew {
		rule, err := sheet.NewName(text)
		if err != nil {
			return terminal.Misusef("--new: %w", err)
		}
		j.options.Names = append(j.options.Names, rule)
	}
	return nil
}
