//go:build unix

package pgserver

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"
)

// sleeper is another process of the server's user.
func sleeper(t *testing.T, f folder) int {
	t.Helper()
	acct, err := serverAccount(f)
	if err != nil {
		t.Fatal(err)
	}
	other := exec.Command("sleep", "60")
	other.SysProcAttr, other.Dir = acct.sysProcAttr(), "/"
	if err := other.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := other.Process.Kill(); err != nil {
			t.Error("the other process is gone:", err)
		}
		_ = other.Wait()
	})
	return other.Process.Pid
}

// Ensure that neither a file nor a socket's lock that a cut of power left empty or half written, that names another
// process, or that root has written, keeps a server from starting. PostgreSQL refuses each of them.
func TestLeftoverFiles(t *testing.T) {
	t.Parallel()
	cfg := readyConfig(t)
	f, err := openFolder(cfg.DataDir)
	if err != nil {
		t.Fatal(err)
	}
	other := sleeper(t, f)
	for what, text := range map[string]string{
		"empty": "", "cut short": "12", "not a number": "\x00\x00\x00\x00", "another process": fmt.Sprintf("%d\n%s\n", other, f.cluster()),
	} {
		s := acquire(t, cfg)
		sockets := s.at.socketDir
		release(t, s)
		pidFile := filepath.Join(f.cluster(), "postmaster.pid")
		// As root the files are root's, and the server's user may not even read them.
		if err := errors.Join(os.WriteFile(pidFile, []byte(text), 0o600), os.Mkdir(sockets, 0o700), os.WriteFile(socketFile(sockets)+".lock", []byte(text), 0o600)); err != nil {
			t.Fatal(err)
		}
		again, err := Acquire(t.Context(), cfg)
		if err != nil {
			t.Errorf("%s: %v", what, err)
			continue
		}
		if n := value[int](t, again, "SELECT 1"); n != 1 {
			t.Error(n)
		}
		release(t, again)
		wantGone(t, again)
	}
}

// Ensure that a server that somebody else started in the cluster is not joined by a second one, even where its file
// can't be read any more.
func TestServerStartedByHand(t *testing.T) {
	t.Parallel()
	if runtime.GOOS != "linux" {
		t.Skip("only Linux shows which folder a process works in")
	}
	cfg := readyConfig(t)
	s := acquire(t, cfg)
	release(t, s)
	programs, err := findBinaries(cfg, 0)
	if err != nil {
		t.Fatal(err)
	}
	acct, err := serverAccount(s.folder)
	if err != nil {
		t.Fatal(err)
	}
	if err := makeSocketDir(s.folder.socket(), acct); err != nil {
		t.Fatal(err)
	}
	hand := exec.Command(filepath.Join(programs.dir, "postgres"), "-D", s.folder.cluster(), "-c", "listen_addresses=", "-c", "unix_socket_directories="+s.folder.socket())
	hand.SysProcAttr, hand.Dir, hand.Env = acct.sysProcAttr(), "/", serverEnv()
	if err := hand.Start(); err != nil {
		t.Fatal(err)
	}
	defer func() {
		_ = hand.Process.Signal(syscall.SIGQUIT)
		_ = hand.Wait()
	}()
	eventually(t, "the server to run", func() bool { return runs(s).status == "ready" })
	pidFile := filepath.Join(s.folder.cluster(), "postmaster.pid")
	raw, err := os.ReadFile(pidFile)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Truncate(pidFile, 0); err != nil {
		t.Fatal(err)
	}
	_, err = Acquire(t.Context(), cfg)
	wantError(t, err, fmt.Sprint(hand.Process.Pid), s.folder.cluster(), "end it and try again")
	if err := os.WriteFile(pidFile, raw, 0o600); err != nil {
		t.Fatal(err)
	}
}

// Ensure that a cluster of which a part is missing is said to be so, in a sentence and not in PostgreSQL's words, that
// nothing is made in its place, and that the rest of it works again once the part is back.
func TestHalfRestored(t *testing.T) {
	t.Parallel()
	cfg := readyConfig(t)
	f, err := openFolder(cfg.DataDir)
	if err != nil {
		t.Fatal(err)
	}
	for _, part := range []string{"global", "pg_wal"} {
		path := filepath.Join(f.cluster(), part)
		if err := os.Rename(path, path+".away"); err != nil {
			t.Fatal(err)
		}
		_, err := Acquire(t.Context(), cfg)
		wantError(t, err, "is not whole", part, "restore a backup")
		if err := os.Rename(path+".away", path); err != nil {
			t.Fatal(err)
		}
	}
	acquire(t, cfg)
}

// Ensure that a server whose files were closed to it, or whose control file was spoilt, is said to be so with a
// remedy, and that nothing is changed.
func TestStartFailureRemedies(t *testing.T) {
	t.Parallel()
	cfg := readyConfig(t)
	s := acquire(t, cfg)
	release(t, s)
	base := filepath.Join(s.folder.cluster(), "base")
	if err := os.Chmod(filepath.Join(s.folder.cluster(), "global"), 0); err != nil {
		t.Fatal(err)
	}
	_, err := Acquire(t.Context(), cfg)
	if os.Geteuid() == 0 { // else the folder is closed to this process as well, which says so itself
		wantError(t, err, "its files may not be read", "permissions back", s.folder.log())
		if strings.Contains(err.Error(), "FATAL") {
			t.Errorf("in PostgreSQL's words: %v", err)
		}
	} else {
		wantError(t, err, "permission denied", base)
	}
	if err := os.Chmod(filepath.Join(s.folder.cluster(), "global"), 0o700); err != nil {
		t.Fatal(err)
	}
	control := filepath.Join(s.folder.cluster(), "global", "pg_control")
	raw, err := os.ReadFile(control)
	if err != nil {
		t.Fatal(err)
	}
	spoilt := append([]byte(nil), raw...)
	spoilt[40] ^= 1
	if err := os.WriteFile(control, spoilt, 0o600); err != nil {
		t.Fatal(err)
	}
	_, err = Acquire(t.Context(), cfg)
	wantError(t, err, "its files are damaged", "restore a backup")
	if err := os.WriteFile(control, raw, 0o600); err != nil {
		t.Fatal(err)
	}
	acquire(t, cfg)
}

// Ensure that a disk that does not answer holds nobody up for longer than they were told, and that all goes on once it
// does.
func TestDiskThatDoesNotAnswer(t *testing.T) {
	t.Parallel()
	cfg := readyConfig(t)
	made := cfg.DataDir
	dir := openDir(t, os.TempDir())
	image, disk := filepath.Join(dir, "image"), filepath.Join(dir, "disk")
	for _, args := range [][]string{{"truncate", "-s", "128M", image}, {"mkfs.ext4", "-q", image}, {"mkdir", disk}, {"mount", "-o", "loop", image, disk}} {
		if out, err := exec.Command(args[0], args[1:]...).CombinedOutput(); err != nil {
			t.Skipf("no disk to be frozen: %v: %s", err, out)
		}
	}
	t.Cleanup(func() {
		if out, err := exec.Command("umount", disk).CombinedOutput(); err != nil {
			t.Errorf("%v: %s", err, out)
		}
	})
	cfg.DataDir = filepath.Join(disk, "journal")
	if out, err := exec.Command("cp", "-a", made, cfg.DataDir).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	if out, err := exec.Command("fsfreeze", "--freeze", disk).CombinedOutput(); err != nil {
		t.Skipf("no disk to be frozen: %v: %s", err, out)
	}
	impatient := cfg
	impatient.patience = 500 * time.Millisecond
	_, err := Acquire(t.Context(), impatient)
	if out, err := exec.Command("fsfreeze", "--unfreeze", disk).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	wantError(t, err, "the disk that holds "+cfg.DataDir, "has not answered for 1 second", "--data-dir")
	s := acquire(t, cfg)
	release(t, s)
	wantGone(t, s)
}
