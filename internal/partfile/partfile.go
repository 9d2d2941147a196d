// Package partfile makes the files that are written before they get their name, and clears away those whose writer was
// killed: one that lives has its file locked.
package partfile

import (
	"os"
	"path/filepath"
	"strings"
)

// Create makes a file for its owner alone, whose name has random digits where the pattern has its "*". What killed
// writers left of that pattern is removed. The file must stay open until it has its name.
func Create(dir, pattern string) (*os.File, error) {
	clearKilled(dir, pattern)
	f, err := os.CreateTemp(dir, pattern)
	if err == nil {
		lock(f)
	}
	return f, err
}

func clearKilled(dir, pattern string) {
	before, after, _ := strings.Cut(pattern, "*")
	entries, _ := os.ReadDir(dir) // what can't be cleared is left
	for _, e := range entries {
		digits, ours := strings.CutPrefix(e.Name(), before)
		digits, ends := strings.CutSuffix(digits, after)
		if !ours || !ends || digits == "" || strings.Trim(digits, "0123456789") != "" || !e.Type().IsRegular() {
			continue
		}
		if f, err := os.OpenFile(filepath.Join(dir, e.Name()), os.O_RDWR, 0); err == nil {
			abandoned := lock(f)
			if f.Close(); abandoned {
				_ = os.Remove(f.Name())
			}
		}
	}
}
