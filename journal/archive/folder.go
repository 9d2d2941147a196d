package archive

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"syscall"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/internal/partfile"
	"rigtally/journal"
)

// Extension ends the names of backups.
const Extension = ".rigtally"

// nameForm is how backups in a folder are called, as in 2026-11-29T1723Z-daily.rigtally, with -2 and so on before the
// extension where that is taken.
var nameForm = regexp.MustCompile(`^\d{4}-\d\d-\d\dT\d{4}Z-(daily|migration|import|restore|upgrade|hand)(-\d+)?\` + Extension + `$`)

// partForm is how a backup is called while it is written.
const partForm = ".part-*" + Extension

// Folder is where backups of journals are kept.
type Folder struct{ Dir string }

// File is a backup in a folder.
type File struct {
	Name string // without the folder
	Size int64  // bytes
	Head Head
}

// List returns the backups of a folder, the newest first, and the names of those whose head can't be read. A folder
// that is not there has none.
func (f Folder) List() (files []File, unreadable []string, err error) {
	entries, err := os.ReadDir(f.Dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil, nil
	}
	if err != nil {
		return nil, nil, fmt.Errorf("read the folder of the backups: %w", err)
	}
	for _, e := range entries {
		if !e.Type().IsRegular() || strings.HasPrefix(e.Name(), ".") || filepath.Ext(e.Name()) != Extension {
			continue
		}
		file, err := f.open(e.Name())
		if err != nil {
			unreadable = append(unreadable, e.Name())
			continue
		}
		files = append(files, file)
	}
	slices.SortStableFunc(files, func(a, b File) int { return b.Head.MadeAt.Compare(a.Head.MadeAt) })
	return files, unreadable, nil
}

func (f Folder) open(name string) (File, error) {
	in, err := os.Open(filepath.Join(f.Dir, name))
	if err != nil {
		return File{}, err
	}
	defer in.Close()
	info, err := in.Stat()
	if err != nil {
		return File{}, err
	}
	head, err := ReadHead(in)
	return File{Name: name, Size: info.Size(), Head: head}, err
}

// Make writes a backup of the journal that conn is connected to into the folder, checks every byte of it, and then
// removes those that are no longer kept.
func (f Folder) Make(ctx context.Context, conn *pgx.Conn, head Head, passphrase string) (File, Written, error) {
	return f.make(ctx, conn, head, sealedBy(passphrase, workFactor))
}

func (f Folder) make(ctx context.Context, conn *pgx.Conn, head Head, seal seals) (File, Written, error) {
	if err := os.MkdirAll(f.Dir, 0o700); err != nil {
		return File{}, Written{}, f.explain(err)
	}
	head.MadeAt = head.MadeAt.UTC().Truncate(time.Second)
	stem := head.MadeAt.Format("2006-01-02T1504Z-") + string(head.Why)
	var w Written
	name, err := f.place(stem, func(to *os.File) (err error) {
		w, err = write(ctx, conn, to, head, seal)
		return err
	})
	if err != nil {
		return File{}, w, f.explain(err)
	}
	made, err := f.open(name)
	if err != nil {
		return made, w, f.explain(err)
	}
	return made, w, f.tidy(made)
}

// WriteFile writes a backup to a file of a name of its own, which must not be there.
func WriteFile(ctx context.Context, conn *pgx.Conn, name string, head Head, passphrase string) (w Written, err error) {
	f := Folder{filepath.Dir(name)}
	head.MadeAt = head.MadeAt.UTC().Truncate(time.Second)
	whole, err := f.whole(func(to *os.File) (err error) {
		w, err = Write(ctx, conn, to, head, passphrase)
		return err
	})
	if err != nil {
		return w, f.explain(err)
	}
	defer discard(whole)
	if err := keep(whole, name); err != nil {
		if errors.Is(err, fs.ErrExist) {
			return w, fmt.Errorf("the file %s exists and is left as it is; name another", name)
		}
		return w, f.explain(err)
	}
	return w, nil
}

// place gives what write writes the first name that is free, once it is whole.
func (f Folder) place(stem string, write func(*os.File) error) (name string, err error) {
	whole, err := f.whole(write)
	if err != nil {
		return "", err
	}
	defer discard(whole)
	for n := 1; ; n++ {
		if name = stem + Extension; n > 1 {
			name = fmt.Sprintf("%s-%d%s", stem, n, Extension)
		}
		if err := keep(whole, filepath.Join(f.Dir, name)); !errors.Is(err, fs.ErrExist) {
			return name, err
		}
	}
}

// whole writes a file that is on the disk and was read again, under a name that nobody takes for a backup.
func (f Folder) whole(write func(*os.File) error) (*os.File, error) {
	to, err := partfile.Create(f.Dir, partForm)
	if err != nil {
		return nil, err
	}
	if err = write(to); err == nil {
		err = to.Sync()
	}
	if err == nil {
		_, err = to.Seek(0, io.SeekStart)
	}
	if err == nil {
		_, err = Check(to)
	}
	if err != nil {
		discard(to)
		return nil, err
	}
	return to, nil
}

// discard takes a temporary name away.
func discard(part *os.File) {
	_ = part.Close()           // again, where it was renamed
	_ = os.Remove(part.Name()) // at worst the next backup clears it away
}

// keep gives a whole file its name, unless that is taken.
func keep(whole *os.File, name string) error {
	err := os.Link(whole.Name(), name)
	if err != nil && !errors.Is(err, fs.ErrExist) { // a disk without hard links
		if _, err := os.Lstat(name); err == nil {
			return fs.ErrExist
		}
		_ = whole.Close() // Windows renames no open file
		err = os.Rename(whole.Name(), name)
	}
	if err != nil {
		return err
	}
	dir, err := os.Open(filepath.Dir(name))
	if err != nil {
		return err
	}
	defer dir.Close()
	_ = dir.Sync() // some systems have no such thing
	return nil
}

// tidy removes the backups that are no longer kept now that another is there: of the same journal, and by a name that
// Make gave.
func (f Folder) tidy(made File) error {
	all, _, err := f.List()
	if err != nil {
		return err
	}
	ours := slices.DeleteFunc(all, func(file File) bool {
		form := nameForm.FindStringSubmatch(file.Name)
		return form == nil || Why(form[1]) != file.Head.Why || file.Head.Journal != made.Head.Journal
	})
	for _, file := range expired(ours) {
		if file.Name == made.Name {
			continue
		}
		if err := os.Remove(filepath.Join(f.Dir, file.Name)); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("the backup is made, but an older one can't be removed: %w", err)
		}
	}
	return nil
}

// explain says in words why a backup can't be kept in a folder.
func (f Folder) explain(err error) error {
	switch {
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT):
		return fmt.Errorf("the disk of the backups, %s, is full: %w; make room there, or name a folder on another disk with backup_dir (--backup-dir)", f.Dir, err)
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		return fmt.Errorf("no backup can be written to %s: %w; give yourself the right to, or name another folder with backup_dir (--backup-dir)", f.Dir, err)
	}
	return err
}

// How many backups are kept: of the last days, weeks and months, one each, and the last before a migration, import,
// restore or upgrade, each. Those made by hand stay.
const (
	keptDays   = 7
	keptWeeks  = 5
	keptMonths = 12
	keptBefore = 5
)

// expired returns which backups of one journal, the newest first, are no longer kept.
func expired(newestFirst []File) []File {
	keep := map[string]bool{}
	latest := func(of []File, most int, period func(time.Time) string) {
		seen := map[string]bool{}
		for _, file := range of {
			p := period(file.Head.MadeAt.UTC())
			if !seen[p] && len(seen) < most {
				keep[file.Name] = true
			}
			seen[p] = true
		}
	}
	byWhy := map[Why][]File{}
	for _, file := range newestFirst {
		byWhy[file.Head.Why] = append(byWhy[file.Head.Why], file)
	}
	for why, files := range byWhy {
		switch why {
		case Daily:
			latest(files, keptDays, func(t time.Time) string { return t.Format(time.DateOnly) })
			latest(files, keptWeeks, func(t time.Time) string { year, week := t.ISOWeek(); return fmt.Sprint(year, week) })
			latest(files, keptMonths, func(t time.Time) string { return t.Format("2006-01") })
		case BeforeMigration, BeforeImport, BeforeRestore, BeforeUpgrade:
			for _, file := range files[:min(keptBefore, len(files))] {
				keep[file.Name] = true
			}
		default:
			for _, file := range files {
				keep[file.Name] = true
			}
		}
	}
	var gone []File
	for _, file := range newestFirst {
		if !keep[file.Name] {
			gone = append(gone, file)
		}
	}
	return gone
}

// dayOld is how old the last backup of a day is when the next is due: who writes each evening has one each evening.
const dayOld = 20 * time.Hour

// Due reports whether a backup of the day is to be made of a journal in a state: something was written since the last
// backup of any kind, and the last of a day is old enough. Those of a clock that was ahead don't count.
func (f Folder) Due(now time.Time, of journal.ID, state string) (bool, error) {
	all, _, err := f.List()
	if err != nil {
		return false, err
	}
	all = slices.DeleteFunc(all, func(file File) bool { return file.Head.Journal != of || file.Head.MadeAt.After(now) })
	daily := slices.IndexFunc(all, func(file File) bool { return file.Head.Why == Daily })
	return len(all) == 0 || all[0].Head.State != state && (daily < 0 || now.Sub(all[daily].Head.MadeAt) >= dayOld), nil
}
