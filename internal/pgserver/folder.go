//go:build unix

package pgserver

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
)

const markerName = "rigtally-journal.txt"

const markerText = `This folder belongs to rigtally. It holds a journal, in a PostgreSQL database of its own.
Do not change anything in it by hand. To move it, run "rigtally database stop" and move the whole folder.
`

// folder is a data folder that is known to be ours.
type folder struct{ dir string }

func (f folder) cluster() string    { return filepath.Join(f.dir, "cluster") }
func (f folder) socket() string     { return filepath.Join(f.dir, "socket") }
func (f folder) programs() string   { return filepath.Join(f.dir, "postgres") }
func (f folder) log() string        { return filepath.Join(f.dir, "server.log") }
func (f folder) startLock() string  { return filepath.Join(f.dir, "start.lock") }
func (f folder) usersLock() string  { return filepath.Join(f.dir, "users.lock") }
func (f folder) serverLock() string { return filepath.Join(f.dir, "server.lock") }
func (f folder) keep() string       { return filepath.Join(f.dir, "keep-running") }

// resolve gives the absolute path of the data folder, which need not exist.
func resolve(dir string) (string, error) {
	if dir == "" {
		var err error
		if dir, err = DefaultDataDir(); err != nil {
			return "", err
		}
	}
	if strings.ContainsAny(dir, "\n\r") {
		return "", fmt.Errorf("the data folder %q has a line break in its name; choose another with --data-dir", dir)
	}
	abs, err := filepath.Abs(dir)
	if err != nil {
		return "", fmt.Errorf("finding the data folder %s: %w", dir, err)
	}
	// Follow links once, here: the server's user must be able to enter every folder of the real path, and all
	// processes must agree on it.
	if real, err := filepath.EvalSymlinks(abs); err == nil {
		return real, nil
	}
	return abs, nil // it does not exist yet
}

// openFolder makes the data folder or checks that it is ours. It touches nothing in a folder that is not.
func openFolder(dir string) (folder, error) {
	dir, err := resolve(dir)
	if err != nil {
		return folder{}, err
	}
	if err := makeFolder(dir); err != nil {
		return folder{}, err
	}
	if dir, err = resolve(dir); err != nil {
		return folder{}, err
	}
	marked, err := inspect(dir)
	if err != nil {
		return folder{}, err
	}
	f := folder{dir}
	if marked {
		return f, nil
	}
	// Until the marker stands the folder is empty, so that two first starts at once agree on it.
	if err := os.WriteFile(filepath.Join(dir, markerName), []byte(markerText), 0o644); err != nil {
		return folder{}, explain(err, dir)
	}
	return f, nil
}

// openInTime is openFolder where the disk may not answer.
func (c Config) openInTime(ctx context.Context) (folder, error) {
	var opened folder
	err := c.inTime(ctx, cmp.Or(c.DataDir, "the data folder"), func() (err error) {
		opened, err = openFolder(c.DataDir)
		return err
	})
	if err != nil {
		return folder{}, err
	}
	return opened, nil
}

func makeFolder(dir string) error {
	if _, err := os.Stat(dir); err == nil {
		return nil
	}
	if err := os.MkdirAll(filepath.Dir(dir), 0o755); err != nil {
		return fmt.Errorf("the data folder %s cannot be made: %w; choose another with --data-dir", dir, err)
	}
	if err := os.Mkdir(dir, 0o700); err != nil && !errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("the data folder %s cannot be made: %w; make %s writable or choose another folder with --data-dir",
			dir, err, filepath.Dir(dir))
	}
	return nil
}

// inspect reports whether the folder carries our marker. A folder that is neither marked nor empty is an error.
func inspect(dir string) (marked bool, err error) {
	info, err := os.Stat(dir)
	if err != nil {
		return false, fmt.Errorf("looking at the data folder: %w", err)
	}
	if !info.IsDir() {
		return false, fmt.Errorf("the data folder %s is a file; choose a folder with --data-dir", dir)
	}
	if uid := ownerOf(info); uid != os.Geteuid() {
		return false, fmt.Errorf("the data folder %s belongs to %s, and this is %s; run rigtally as its owner or choose another folder with --data-dir",
			dir, userName(uid), userName(os.Geteuid()))
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		return false, explain(err, dir)
	}
	var foreign []string
	for _, e := range entries {
		switch e.Name() {
		case markerName:
			return true, nil
		case "lost+found", Certificates: // every freshly made ext4 disk has the first; the other may come before the journal
		default:
			foreign = append(foreign, e.Name())
		}
	}
	if len(foreign) == 0 {
		return false, nil
	}
	if len(foreign) > 3 {
		foreign = append(foreign[:3], "…")
	}
	return false, fmt.Errorf("the data folder %s holds files that are not rigtally's (%s); nothing was changed; choose an empty or new folder with --data-dir",
		dir, strings.Join(foreign, ", "))
}

// explain turns a failure to write in the data folder into a sentence with a remedy.
func explain(err error, dir string) error {
	switch {
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		return fmt.Errorf("the data folder %s cannot be written to: %w; make it writable or choose another with --data-dir", dir, err)
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT):
		return fmt.Errorf("the disk that holds the data folder %s is full: %w; make room or choose another folder with --data-dir", dir, err)
	}
	return fmt.Errorf("using the data folder %s: %w", dir, err)
}

// MakeDataDir makes the data folder where it is missing, and returns its path.
func MakeDataDir(cfg Config) (string, error) {
	f, err := cfg.openInTime(context.Background())
	return f.dir, err
}
