package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

var errExists = errors.New("it exists and is left as it is; name another")

// newFile is a file that is whole but does not bear its name yet.
type newFile struct {
	name, temporary string
	force           bool
}

// writeNew writes a file under a temporary name beside its own, so that a file
// of that name is always whole. Unless force is set it refuses to take the place
// of another.
func writeNew(name string, force bool, write func(io.Writer) error) (*newFile, error) {
	n := &newFile{name: name, force: force}
	if err := n.refuse(); err != nil {
		return nil, err
	}
	f, err := os.CreateTemp(filepath.Dir(name), "."+filepath.Base(name)+".*")
	if err != nil {
		return nil, fmt.Errorf("the file %s can't be written: %w; choose another folder", name, err)
	}
	n.temporary = f.Name()
	err = write(f)
	if err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err != nil {
		n.discard()
		return nil, fmt.Errorf("the file %s can't be written: %w", name, err)
	}
	return n, nil
}

// refuse says no to a folder, and to a file that exists.
func (n *newFile) refuse() error {
	info, err := os.Lstat(n.name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return fmt.Errorf("the file %s can't be written: %w", n.name, err)
	case info.IsDir():
		return fmt.Errorf("%s is a folder; name a file in it", n.name)
	case !n.force:
		return fmt.Errorf("the file %s: %w", n.name, errExists)
	}
	return nil
}

// keep gives the file its name.
func (n *newFile) keep() error {
	if err := n.refuse(); err != nil {
		return err
	}
	if err := os.Rename(n.temporary, n.name); err != nil {
		return fmt.Errorf("the file %s can't be written: %w", n.name, err)
	}
	n.temporary = ""
	return nil
}

// discard removes what was not kept.
func (n *newFile) discard() {
	if n.temporary != "" {
		_ = os.Remove(n.temporary) // left over at worst, under a name that says whose it is
	}
}
