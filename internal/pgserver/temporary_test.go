//go:build unix

package pgserver

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

func TestTemporary(t *testing.T) {
	t.Parallel()
	testConfig(t) // skips without PostgreSQL
	s, err := Temporary(t.Context(), Config{Local: projectPrograms()}, "autovacuum=off")
	if err != nil {
		t.Fatal(err)
	}
	if got := value[string](t, s, "SHOW fsync") + value[string](t, s, "SHOW autovacuum"); got != "offoff" {
		t.Errorf("fsync and autovacuum are %q", got)
	}
	release(t, s)
	if pids := orphans(s.folder.cluster()); len(pids) > 0 {
		t.Errorf("processes %v are left", pids)
	}
	if _, err := os.Lstat(s.throwAway.dir); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("%s is left (%v)", s.throwAway.dir, err)
	}
}

// Ensure that the throw-away cluster of a killed process goes when the next one is made, and that of a living
// process stays.
func TestTemporaryLeftovers(t *testing.T) {
	t.Parallel()
	testConfig(t)
	killed, living := startHolder(t, temporaryVar+"=1", nil), startHolder(t, temporaryVar+"=1", nil)
	dirOf := func(h *holder) string {
		words := strings.Fields(h.says(t))
		return filepath.Dir(words[len(words)-1])
	}
	dead, alive := dirOf(killed), dirOf(living)
	if err := killed.cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = killed.cmd.Wait()
	s, err := Temporary(t.Context(), Config{Local: projectPrograms()})
	if err != nil {
		t.Fatal(err)
	}
	defer release(t, s)
	if _, err := os.Lstat(dead); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("%s of a killed process is left (%v)", dead, err)
	}
	if pids := orphans(filepath.Join(dead, "data", "cluster")); len(pids) > 0 {
		t.Errorf("its processes %v are left", pids)
	}
	if pm, found := readPostmaster(folder{filepath.Join(alive, "data")}.cluster()); !found || !answers(t.Context(), pm) {
		t.Error("the server of a living process was stopped")
	}
	living.leave(t)
}

// Ensure that a folder whose owner was killed while it made or removed it goes after a while, and not at once.
func TestPartialLeftovers(t *testing.T) {
	t.Parallel()
	base := t.TempDir()
	old, young := filepath.Join(base, partPrefix+"1"), filepath.Join(base, partPrefix+"2")
	if err := errors.Join(os.Mkdir(old, 0o700), os.Mkdir(young, 0o700), os.Chtimes(old, time.Time{}, time.Now().Add(-2*time.Hour))); err != nil {
		t.Fatal(err)
	}
	clearLeftovers(t.Context(), base)
	if _, err := os.Lstat(old); !errors.Is(err, fs.ErrNotExist) {
		t.Error("the old one is left", err)
	}
	if _, err := os.Lstat(young); err != nil {
		t.Error("the young one is gone", err)
	}
}

func TestServerLogIsBounded(t *testing.T) {
	t.Parallel()
	f, err := openFolder(filepath.Join(t.TempDir(), "journal"))
	if err != nil {
		t.Fatal(err)
	}
	const line = "an invented line of the log\n"
	long := strings.Repeat(line, maxLog/len(line)+1) + "the last line\n"
	if err := os.WriteFile(f.log(), []byte(long), 0o600); err != nil {
		t.Fatal(err)
	}
	writer, err := openServerLog(f) // as the server has it open
	if err != nil {
		t.Fatal(err)
	}
	defer writer.Close()
	if err := trimServerLog(f); err != nil {
		t.Fatal(err)
	}
	if _, err := writer.WriteString("one more\n"); err != nil {
		t.Fatal(err)
	}
	got, err := os.ReadFile(f.log())
	if err != nil || len(got) > keptLog+len("one more\n") || !strings.HasPrefix(string(got), line) || !strings.HasSuffix(string(got), "the last line\none more\n") {
		t.Errorf("%d bytes are left (%v), ending in %q", len(got), err, tailOf(writer, 0, 2))
	}
}
