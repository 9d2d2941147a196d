package pgserver

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// reachable gives programs that the server's user can run. Those that "make postgres" put into a project folder in
// root's closed home are copied into the data folder; others are an error.
func reachable(f folder, b binaries, a account) (binaries, error) {
	blocked := a.blockedAt(b.dir)
	if blocked == "" {
		return b, nil
	}
	if !b.local {
		return b, fmt.Errorf("as root the database runs as the user %s, who cannot enter the folder %s on the way to the programs in %s; "+
			"open it with: chmod o+x %s", a.name, blocked, b.dir, blocked)
	}
	source, err := os.Stat(filepath.Join(b.dir, "postgres"))
	if err != nil {
		return b, fmt.Errorf("looking at the PostgreSQL programs: %w", err)
	}
	stamp := fmt.Sprintf("%s %d %d %s\n", b.version, source.Size(), source.ModTime().UnixNano(), b.dir)
	copied := b
	copied.dir = filepath.Join(f.programs(), "bin")
	if old, err := os.ReadFile(filepath.Join(f.programs(), "copied-from")); err == nil && string(old) == stamp {
		return copied, nil
	}
	if err := copyPrograms(filepath.Dir(b.dir), f.programs(), stamp); err != nil {
		return b, fmt.Errorf("copying the PostgreSQL programs to where the user %s can run them: %w", a.name, explain(err, f.dir))
	}
	return copied, nil
}

// copyPrograms replaces the tree at to. The stamp comes last: without it a copy is not whole.
func copyPrograms(from, to, stamp string) error {
	if err := os.RemoveAll(to); err != nil {
		return err
	}
	if err := os.CopyFS(to, os.DirFS(from)); err != nil {
		return err
	}
	err := filepath.WalkDir(to, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.Type()&fs.ModeSymlink != 0 {
			return err
		}
		info, err := d.Info()
		if err != nil {
			return err
		}
		return os.Chmod(path, info.Mode().Perm()|readable(info.Mode()))
	})
	if err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(to, "copied-from"), []byte(stamp), 0o644)
}

// readable gives the bits that let everyone read a file, and run it if its owner can.
func readable(mode fs.FileMode) fs.FileMode {
	if mode.IsDir() || mode&0o100 != 0 {
		return 0o555
	}
	return 0o444
}
