package terminal

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"rigtally/internal/partfile"
)

// Standard is how a file is named that is read from standard input or written to standard output.
const Standard = "-"

// File is a file to be written.
type File struct {
	To    string
	Write func(io.Writer) error
}

// WriteFiles writes files, which get their names once all of them are whole.
func (t *Terminal) WriteFiles(force bool, files ...File) error {
	if files[0].To == Standard {
		return files[0].Write(t.Out)
	}
	var whole []*NewFile
	for _, f := range files {
		file, err := WriteNew(f.To, force, f.Write)
		if errors.Is(err, errExists) {
			return fmt.Errorf("%w, or replace it with --force", err)
		}
		if err != nil {
			return err
		}
		defer file.Discard()
		whole = append(whole, file)
	}
	for _, file := range whole {
		if err := file.Keep(); err != nil {
			return err
		}
		t.Printf("Wrote %s.\n", file.name)
	}
	return nil
}

var errExists = errors.New("it exists and is left as it is; name another")

// NewFile is a file that is whole but does not bear its name yet.
type NewFile struct {
	name, temporary string
	force           bool
	held            *os.File // open, as partfile wants it
}

// WriteNew writes a file under a temporary name beside its own, so that a file
// of that name is always whole. Unless force is set it refuses to take the place
// of another.
func WriteNew(name string, force bool, write func(io.Writer) error) (*NewFile, error) {
	n := &NewFile{name: name, force: force}
	if err := n.refuse(); err != nil {
		return nil, err
	}
	f, err := partfile.Create(filepath.Dir(name), "."+filepath.Base(name)+".*")
	if err != nil {
		return nil, fmt.Errorf("the file %s can't be written: %w; choose another folder", name, err)
	}
	n.temporary, n.held = f.Name(), f
	err = write(f)
	if err == nil {
		err = f.Sync()
	}
	if err != nil {
		n.Discard()
		return nil, fmt.Errorf("the file %s can't be written: %w", name, err)
	}
	return n, nil
}

// refuse says no to a folder, and to a file that exists.
func (n *NewFile) refuse() error {
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

// Keep gives the file its name.
func (n *NewFile) Keep() error {
	if err := n.refuse(); err != nil {
		return err
	}
	if err := errors.Join(n.held.Close(), os.Rename(n.temporary, n.name)); err != nil { // Windows renames no open file
		return fmt.Errorf("the file %s can't be written: %w", n.name, err)
	}
	n.temporary = ""
	return nil
}

// Discard removes what was not kept.
func (n *NewFile) Discard() {
	if n.temporary != "" {
		_ = n.held.Close()
		_ = os.Remove(n.temporary) // left over at worst, under a name that says whose it is
	}
}
