package terminal

import (
	"io"
	"os"
	"path/filepath"
	"slices"
	"testing"
)

// Ensure that what a writer left that was killed goes with the next one of the same name, that what another still
// writes stays, and that nothing else is touched.
func TestKilledWritersAreClearedAway(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	name := filepath.Join(dir, "journal.jsonl")
	for _, other := range []string{".journal.jsonl.123", ".journal.jsonl.swp", ".other.jsonl.123"} {
		if err := os.WriteFile(filepath.Join(dir, other), []byte("half"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	write := func(w io.Writer) error {
		_, err := io.WriteString(w, "whole")
		return err
	}
	slow, err := WriteNew(name, true, write)
	if err != nil {
		t.Fatal(err)
	}
	fast, err := WriteNew(name, true, write)
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range []*NewFile{fast, slow} {
		if err := file.Keep(); err != nil {
			t.Error(err)
		}
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	if want := []string{".journal.jsonl.swp", ".other.jsonl.123", "journal.jsonl"}; !slices.Equal(names, want) {
		t.Errorf("there are %v, want %v", names, want)
	}
}
