package importing

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"

	"rigtally/cmd/rigtally/terminal"
	"rigtally/journal/exchange"
	"rigtally/journal/sheet"
)

// open opens a file to import.
func (j *job) open(name string) (io.ReadCloser, error) {
	if name == terminal.Standard {
		return io.NopCloser(j.In), nil
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, fmt.Errorf("the file can't be opened: %w; check its name", err)
	}
	return f, nil
}

// sniff opens a file to import and tells what kind it is.
func (j *job) sniff(name string) (exchange.Kind, io.Reader, io.Closer, error) {
	file, err := j.open(name)
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
func (j *job) checkFiles(ctx context.Context, files []string) error {
	bad, stops := 0, 0
	for _, name := range files {
		table, err := j.checkFile(ctx, name)
		if err != nil {
			return err
		}
		if table != nil {
			bad, stops = bad+table.BadRows(), stops+len(table.Stops)
		}
	}
	switch {
	case stops > 0:
		return fmt.Errorf("%s decided before this can be imported; the flags are named above", exchange.Verb(stops, "thing", "must be", "must be"))
	case bad > 0:
		return fmt.Errorf("%d rows can't be taken; correct them, or import the others with --rejects FILE", bad)
	}
	return nil
}

// checkFile shows how a file is understood; nil is a backup.
func (j *job) checkFile(ctx context.Context, name string) (*sheet.Sheet, error) {
	kind, source, closer, err := j.sniff(name)
	if err != nil {
		return nil, err
	}
	defer closer.Close()
	if kind == exchange.BackupFile {
		holds, err := exchange.CheckBackup(source)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", shownName(name), err)
		}
		j.Printf("%s is a rigtally backup, and whole: %s. It has no columns to check.\n", shownName(name), holds.Sentence())
		return nil, nil
	}
	table, err := sheet.Read(ctx, source, shownName(name), j.options)
	if err != nil {
		return nil, err
	}
	j.Printf("%s\n", shownName(name))
	if err := table.Report(j.Out, j.Width()); err != nil {
		return nil, err
	}
	j.Printf("Names of people, waters and knots are compared with the journal's when it is imported.\n")
	return table, nil
}
