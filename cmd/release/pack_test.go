package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"
)

// Ensure that an archive follows from what is in it and from the commit's time alone, and that the programs of the
// system read archives and checksums.
func TestArchivesAreTheSameTwice(t *testing.T) {
	t.Parallel()
	for _, target := range []target{{"linux", "amd64"}, {"windows", "amd64"}} {
		var made []map[string][]byte
		for range 2 {
			p := program{target: target, path: filepath.Join(t.TempDir(), target.name()), version: "1.2.0",
				made: time.Date(2026, 4, 1, 6, 30, 0, 0, time.UTC), notices: []byte("licenses\n")}
			p.manual = t.TempDir()
			if err := os.MkdirAll(filepath.Join(p.manual, "share", "man", "man1"), 0o755); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(filepath.Join(p.manual, "share", "man", "man1", "rigtally.1"), []byte(".TH\n"), 0o600); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(p.path, []byte("a program\n"), 0o600); err != nil {
				t.Fatal(err)
			}
			to := t.TempDir()
			if err := p.archive(to); err != nil {
				t.Fatal(err)
			}
			if _, err := checksums(to); err != nil {
				t.Fatal(err)
			}
			made = append(made, filesOf(t, to))
			if runtime.GOOS != "linux" {
				continue // whose programs these are
			}
			said(t, to, "sha256sum", "--check", "--strict", "SHA256SUMS")
			if target.system == "linux" {
				list := said(t, to, "tar", "--utc", "-tvzf", "rigtally-1.2.0-linux-amd64.tar.gz")
				for _, want := range []string{"-rwxr-xr-x 0/0", "2026-04-01 06:30 rigtally-1.2.0-linux-amd64/rigtally\n", "/NOTICES.txt", "-rw-r--r-- 0/0", "/share/man/man1/rigtally.1\n"} {
					if !strings.Contains(list, want) {
						t.Errorf("%q is missing in the archive:\n%s", want, list)
					}
				}
			}
		}
		for name, body := range made[0] {
			if !bytes.Equal(body, made[1][name]) {
				t.Errorf("%s: %s has other bytes the second time", target, name)
			}
		}
		if len(made[0]) != 2 {
			t.Errorf("%s: %d files, want an archive and its checksum", target, len(made[0]))
		}
	}
}

func filesOf(t *testing.T, dir string) map[string][]byte {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	files := map[string][]byte{}
	for _, e := range entries {
		if files[e.Name()], err = os.ReadFile(filepath.Join(dir, e.Name())); err != nil {
			t.Fatal(err)
		}
	}
	return files
}

// said runs a program in a folder.
func said(t *testing.T, dir, name string, args ...string) string {
	t.Helper()
	cmd := exec.CommandContext(t.Context(), name, args...)
	cmd.Dir = dir
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v\n%s", cmd, err, out)
	}
	return string(out) + "\n"
}
