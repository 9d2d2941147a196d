package importing

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"path/filepath"
	"reflect"
	"strings"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/exchange"
	"rigtally/journal/pg"
	"rigtally/journal/sheet"
)

// bring brings a file in, and says what that did.
func (j *job) bring(ctx context.Context, held command.Journal, name string) (exchange.Result, error) {
	kind, source, closer, err := j.sniff(name)
	if err != nil {
		return exchange.Result{}, err
	}
	defer closer.Close()
	var result exchange.Result
	if kind == exchange.BackupFile {
		if result, err = j.bringBackup(ctx, held, name, source); err != nil {
			return result, err
		}
	} else if result, err = j.bringSheet(ctx, held, name, source); err != nil {
		return result, err
	}
	j.Printf("%s\n", shownName(name))
	for _, sentence := range result.Sentences() {
		j.Printf("  %s\n", sentence)
	}
	switch {
	case j.update || len(result.Differ) == 0:
	case kind == exchange.BackupFile:
		j.Printf("  What the backup tells otherwise is taken with --update.\n")
	default:
		j.Printf("  What was corrected in the sheet is taken with --update.\n")
	}
	return result, nil
}

// bringBackup shows what a backup would do to the journal, and brings it in.
func (j *job) bringBackup(ctx context.Context, held command.Journal, name string, source io.Reader) (exchange.Result, error) {
	var none exchange.Result
	explain := func(err error) error { return fmt.Errorf("%s: %w", shownName(name), err) }
	contents, err := exchange.ReadContents(source)
	if err != nil {
		return none, explain(err)
	}
	m, err := exchange.PlanMerge(ctx, held.Store, contents, exchange.MergeOptions{From: filepath.Base(shownName(name)), Take: j.update})
	if err != nil {
		return none, explain(err)
	}
	if j.Asks && !j.yes && name != terminal.Standard {
		p := m.Preview()
		j.Printf("%s\n\n", strings.Join(p.Lines(most), "\n"))
		if yes, err := j.yesNo(ctx, "Write this to the journal", toWrite, terminal.Yes); err != nil {
			return none, err
		} else if !yes {
			return none, terminal.ErrStopped
		}
	}
	if err := held.Backups.BeforeImport(ctx, len(contents.Sessions)); err != nil {
		return none, err
	}
	progress, done := j.Bar("Restoring sessions")
	defer done()
	result, err := m.Write(ctx, held.Store, progress)
	if err != nil {
		return none, explain(err)
	}
	return result, nil
}

// file is a sheet that is brought in.
type file struct {
	*job
	store *pg.Store
	held  command.Journal
	name  string
	text  []byte

	last  sheet.Remembered // what was chosen for such a sheet the last time
	table *sheet.Sheet
}

func (j *job) bringSheet(ctx context.Context, held command.Journal, name string, source io.Reader) (exchange.Result, error) {
	var none exchange.Result
	text, err := io.ReadAll(source)
	if err != nil {
		return none, fmt.Errorf("%s: read the file: %w", shownName(name), err)
	}
	progress, done := j.Bar("Adding sessions")
	defer done()
	f := &file{job: j, store: held.Store, held: held, name: shownName(name), text: text}
	st := state{options: j.options, update: j.update}
	st.options.Progress = progress
	if err := f.begin(ctx, st.options); err != nil {
		return none, err
	}
	if f.Asks && !f.yes && name != terminal.Standard {
		if st, err = f.settle(ctx, st); err != nil {
			return none, err
		}
	} else if st.update {
		if err := f.showChanged(ctx); err != nil {
			return none, err
		}
	}
	_, sessions, err := held.SessionLines(ctx, journal.SessionFilter{Limit: 1})
	if err != nil {
		return none, err
	}
	result, err := f.write(ctx, st)
	if err != nil {
		return result, err
	}
	if err := f.remember(ctx, st); err != nil {
		return result, err
	}
	return result, f.adoptUnits(ctx, sessions == 0)
}

// begin reads the sheet, as somebody had it read the last time where the flags leave that open.
func (f *file) begin(ctx context.Context, options sheet.Options) (err error) {
	if f.fresh {
		return f.read(ctx, options)
	}
	if f.table, f.last, err = sheet.ReadAsBefore(ctx, f.store, f.text, f.name, options); err == nil && f.last.Any() {
		f.Printf("Read as last time: %s; --fresh forgets it.\n\n", strings.Join(f.last.Sentences(), "; "))
	}
	return err
}

// read reads the sheet anew.
func (f *file) read(ctx context.Context, options sheet.Options) (err error) {
	f.table, err = sheet.Read(ctx, bytes.NewReader(f.text), f.name, f.last.Under(options))
	return err
}

// remember keeps what was chosen for the next sheet of the same headers.
func (f *file) remember(ctx context.Context, st state) error {
	chosen := f.last.Under(st.options).Remember()
	chosen.Units = "" // they are settings of their own
	if reflect.DeepEqual(chosen, f.last) || !chosen.Any() && !f.fresh {
		return nil
	}
	return chosen.Keep(ctx, f.store, f.table.Headers())
}

// write imports the sheet: whole, or without its bad rows where they can be kept.
func (f *file) write(ctx context.Context, st state) (exchange.Result, error) {
	how := sheet.How{Update: st.update}
	if f.table.BadRows() == 0 || f.rejects != "" { // else it is refused
		if err := f.held.Backups.BeforeImport(ctx, f.table.Rows); err != nil {
			return exchange.Result{}, err
		}
	}
	if f.rejects == "" || f.table.BadRows() == 0 {
		// One with a bad row, or that must be decided about, is refused with all of that, which matters more then than how
		// the columns were understood.
		if f.table.BadRows() == 0 && len(f.table.Stops) == 0 && !st.shown {
			if err := f.table.Report(f.Out, f.Width()); err != nil {
				return exchange.Result{}, err
			}
			f.Printf("\n")
		}
		return f.table.Import(ctx, f.store, how)
	}
	// Written before the import, so that no row can get lost between the two.
	rejects, err := terminal.WriteNew(f.rejects, false, f.table.WriteRejects)
	if err != nil {
		return exchange.Result{}, err
	}
	defer rejects.Discard()
	if !st.shown {
		if err := f.table.Report(f.Out, f.Width()); err != nil {
			return exchange.Result{}, err
		}
	}
	how.AllowBad = true
	result, err := f.table.Import(ctx, f.store, how)
	if err != nil {
		return result, err
	}
	if err := rejects.Keep(); err != nil {
		return result, fmt.Errorf("the good rows are in the journal, but the bad ones could not be kept: %w; import the file again to get them", err)
	}
	f.Printf("\nThe bad rows are in %s. Correct them there and import that file.\n", f.rejects)
	return result, nil
}

// adoptUnits makes an empty journal show the units of the first spreadsheet that
// goes into it: those asked for with --units, else those of most of its headers.
// empty was asked before the import.
func (f *file) adoptUnits(ctx context.Context, empty bool) error {
	sys := f.Settings.Units
	if sys == "" {
		sys = f.table.Units()
	}
	if !empty || sys == "" || f.table.Rows == f.table.BadRows() {
		return nil
	}
	outfit, err := f.store.Outfit(ctx)
	if err != nil || outfit.Units == string(sys) {
		return err
	}
	outfit.Units = string(sys)
	if err := f.store.SetOutfit(ctx, outfit); err != nil {
		return err
	}
	other := units.Metric
	if sys == units.Metric {
		other = units.US
	}
	f.Printf("The journal shows %s units from now on, like this file; --units %s shows the others.\n\n", unitsTitle(sys), other)
	return nil
}

func unitsTitle(sys units.System) string {
	if sys == units.US {
		return "US"
	}
	return "metric"
}
