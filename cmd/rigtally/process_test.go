package main

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"rigtally/internal/pgserver/pgtest"
)

const processLimit = 2 * time.Minute

// started is the program running as a process of its own.
type started struct {
	cmd    *exec.Cmd
	out    *bufio.Scanner
	lines  []string
	errors bytes.Buffer
}

// programAt makes a command that runs the program on the journal in a folder.
func programAt(t *testing.T, dir string, args ...string) *exec.Cmd {
	t.Helper()
	exe, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), processLimit)
	t.Cleanup(cancel)
	cmd := exec.CommandContext(ctx, exe, args...)
	cmd.Env = []string{beProgram + "=1", "PATH=" + os.Getenv("PATH"), "HOME=" + t.TempDir(),
		"RIGTALLY_DATA_DIR=" + dir, "RIGTALLY_NO_BROWSER=1", "PORT=0"}
	cmd.Dir = projectFolder(t) // where "make postgres" may have put a PostgreSQL
	return cmd
}

func projectFolder(t *testing.T) string {
	t.Helper()
	dir, err := filepath.Abs(filepath.Join("..", ".."))
	if err != nil {
		t.Fatal(err)
	}
	return dir
}

// start runs the program until it says that it is ready, and returns the address.
func start(t *testing.T, dir string, args ...string) (*started, string) {
	t.Helper()
	s := &started{cmd: programAt(t, dir, args...)}
	s.cmd.Stderr = &s.errors
	pipe, err := s.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := s.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.cmd.Process.Signal(syscall.SIGTERM) })
	s.out = bufio.NewScanner(pipe)
	for s.out.Scan() {
		s.lines = append(s.lines, s.out.Text())
		if address, ready := strings.CutPrefix(s.out.Text(), "rigtally is ready at "); ready {
			return s, address
		}
	}
	_ = s.cmd.Wait() // what went wrong is in its errors
	t.Fatalf("rigtally %v never got ready: %s%s", args, strings.Join(s.lines, "\n"), s.errors.String())
	return nil, ""
}

// stop ends the program with a signal and checks that it says no more and ends well.
func (s *started) stop(t *testing.T, signal os.Signal) {
	t.Helper()
	if err := s.cmd.Process.Signal(signal); err != nil {
		t.Fatal(err)
	}
	for s.out.Scan() {
		t.Errorf("after the ready line came %q", s.out.Text())
	}
	if err := s.cmd.Wait(); err != nil {
		t.Errorf("after %v: %v\n%s", signal, err, s.errors.String())
	}
}

// outputOf runs the program to its end.
func outputOf(t *testing.T, dir string, args ...string) string {
	t.Helper()
	cmd := programAt(t, dir, args...)
	var errs bytes.Buffer
	cmd.Stderr = &errs
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("rigtally %v: %v\n%s", args, err, errs.String())
	}
	return string(out)
}

func wantPage(t *testing.T, address string) {
	t.Helper()
	response, err := http.Get(address)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	if response.StatusCode != http.StatusOK {
		t.Errorf("%s answers with %s", address, response.Status)
	}
}

// serversIn lists the PostgreSQL processes that work below a folder.
func serversIn(t *testing.T, dir string) []string {
	t.Helper()
	var found []string
	folders, err := filepath.Glob("/proc/[0-9]*")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range folders {
		name, _ := os.ReadFile(filepath.Join(f, "comm")) // gone meanwhile, or not ours to read
		cwd, _ := os.Readlink(filepath.Join(f, "cwd"))
		if strings.HasPrefix(string(name), "postgres") && strings.HasPrefix(cwd, dir) {
			found = append(found, fmt.Sprintf("%s in %s", filepath.Base(f), cwd))
		}
	}
	return found
}

// Ensure that the pages are served from a private journal that other commands
// use meanwhile, and that a signal leaves no server behind.
func TestServePrivateJournal(t *testing.T) {
	t.Parallel()
	dir := pgtest.DataDir(t)
	s, address := start(t, dir, "serve")
	wantPage(t, address)
	outputOf(t, dir, "log", "--angler", "Maud", "--water", "Tessel", "--junction", "blood", "--tag", "165 mm", "--minutes", "60", "--tangles", "2")
	if out := outputOf(t, dir, "sessions", "list"); !strings.Contains(out, "Maud") {
		t.Errorf("the session is not listed:\n%s", out)
	}
	if url := outputOf(t, dir, "database", "url"); !strings.HasPrefix(url, "postgres") {
		t.Errorf("the address is %q", url)
	}
	s.stop(t, os.Interrupt)
	if left := serversIn(t, dir); len(left) > 0 {
		t.Errorf("left running: %v", left)
	}
	if out := outputOf(t, dir, "sessions", "list"); !strings.Contains(out, "Maud") {
		t.Errorf("after a new start the session is not listed:\n%s", out)
	}
}

// Ensure that a server that was started on purpose outlives the command, and
// that stopping it works and may be repeated.
func TestDatabaseStartStop(t *testing.T) {
	t.Parallel()
	dir := pgtest.DataDir(t)
	outputOf(t, dir, "database", "start")
	where := outputOf(t, dir, "database", "where")
	if !strings.Contains(where, "runs (process") || !strings.Contains(where, dir) {
		t.Errorf("where says %s", where)
	}
	outputOf(t, dir, "sessions", "list")
	if out := outputOf(t, dir, "database", "where"); out != where {
		t.Errorf("after another command: %s", out)
	}
	outputOf(t, dir, "database", "stop")
	outputOf(t, dir, "database", "stop")
	if left := serversIn(t, dir); len(left) > 0 {
		t.Errorf("left running: %v", left)
	}
}
