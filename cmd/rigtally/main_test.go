package main

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"
	"net/http/cookiejar"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"rigtally/cmd/rigtally/command"
	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/pg"
)

// beProgram makes the test binary be the program itself, so that tests can
// start it as a process of its own.
const beProgram = "BE_RIGTALLY"

func TestMain(m *testing.M) {
	if os.Getenv(beProgram) == "1" {
		os.Unsetenv(beProgram)
		main()
		return
	}
	os.Exit(pgtest.Main(m, pg.Migrate))
}

// outcome is what a run of the program came to.
type outcome struct {
	status      int
	out, errors string
}

// runIn runs the whole program in process on the database at url, "" for none.
func runIn(t *testing.T, url string, args ...string) outcome {
	t.Helper()
	env := []string{"HOME=" + t.TempDir(), "RIGTALLY_DATABASE_URL=" + url, "COLUMNS=0"}
	var out, errs bytes.Buffer
	status := run(t.Context(), args, strings.NewReader(""), &out, &errs, env)
	return outcome{status, out.String(), errs.String()}
}

// mustRun is runIn for what has to succeed; it returns the output.
func mustRun(t *testing.T, url string, args ...string) string {
	t.Helper()
	got := runIn(t, url, args...)
	if got.status != 0 {
		t.Fatalf("rigtally %s: status %d, %s", strings.Join(args, " "), got.status, got.errors)
	}
	return got.out
}

// contentsOf reads the whole journal at url.
func contentsOf(t *testing.T, url string) journal.Contents {
	t.Helper()
	store, err := pg.Open(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	c, err := store.Contents(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// dialogueIn runs the program as at a terminal with the given lines typed.
func dialogueIn(t *testing.T, url string, typed []string, args ...string) outcome {
	t.Helper()
	return dialogueAt(t, t.TempDir(), url, typed, args...)
}

// dialogueAt is dialogueIn with a data folder that outlives it.
func dialogueAt(t *testing.T, dir, url string, typed []string, args ...string) outcome {
	t.Helper()
	var out, errs bytes.Buffer
	p := command.New(strings.NewReader(strings.Join(typed, "\n")+"\n"), &out, &errs, []string{"RIGTALLY_DATABASE_URL=" + url, "RIGTALLY_DATA_DIR=" + dir, "COLUMNS=0"})
	p.Asks = true
	p.Now = func() time.Time { return time.Date(2026, 5, 4, 18, 0, 0, 0, time.UTC) }
	status := p.Run(context.WithoutCancel(t.Context()), commands(p), args)
	return outcome{status, out.String(), errs.String()}
}

const processLimit = 10 * time.Minute

// started is the program running as a process of its own.
type started struct {
	cmd    *exec.Cmd
	out    *bufio.Scanner
	lines  []string
	errors bytes.Buffer
	key    string       // the path that lets a browser in, once
	client *http.Client // a browser that is let in
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
		"RIGTALLY_DATA_DIR=" + dir, "RIGTALLY_NO_BROWSER=1", "PORT=0", "COLUMNS=0"}
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

// start runs the program until it says that it is ready, uses its key, and returns the address.
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
			at, key, found := strings.Cut(address, "/key/")
			if !found {
				t.Fatalf("the address %s has no key", address)
			}
			s.key, s.client = "key/"+key, newBrowser(t)
			wantPage(t, s.client, at+"/"+s.key)
			return s, at + "/"
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

// newBrowser keeps cookies as a browser does.
func newBrowser(t *testing.T) *http.Client {
	t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	return &http.Client{Jar: jar, Timeout: 2 * time.Minute} // nobody would call that a hang
}

func wantPage(t *testing.T, browser *http.Client, address string) {
	t.Helper()
	response, err := browser.Get(address)
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
	wantPage(t, s.client, address)
	for _, path := range []string{"", "sessions", "api/known", "api/v1/rates", "manifest.webmanifest", s.key} { // the key was used
		if status, body, _ := fetch(t, newBrowser(t), address+path); status != http.StatusUnauthorized || strings.Contains(body, "Today") {
			t.Errorf("/%s without the cookie: status %d\n%s", path, status, body)
		}
	}
	wantPage(t, newBrowser(t), strings.TrimSpace(outputOf(t, dir, "open")))
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

func fetch(t *testing.T, browser *http.Client, address string) (status int, body, retryAfter string) {
	t.Helper()
	response, err := browser.Get(address)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	text, err := io.ReadAll(response.Body)
	if err != nil {
		t.Fatal(err)
	}
	return response.StatusCode, string(text), response.Header.Get("Retry-After")
}

// killDatabase kills the server of the journal in a folder.
func killDatabase(t *testing.T, dir string) {
	t.Helper()
	where := outputOf(t, dir, "database", "where")
	found := regexp.MustCompile(`runs \(process (\d+)\)`).FindStringSubmatch(where)
	if found == nil {
		t.Fatalf("no server runs: %s", where)
	}
	pid, err := strconv.Atoi(found[1])
	if err != nil {
		t.Fatal(err)
	}
	if err := syscall.Kill(pid, syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
}

// Ensure that pages whose database was killed say to try again while it is away, that it comes back by itself with
// all that was stored, at its address, and that nothing is left behind.
func TestServeRestartsDatabase(t *testing.T) {
	t.Parallel()
	dir := pgtest.DataDir(t)
	s, address := start(t, dir, "serve")
	outputOf(t, dir, "log", "--angler", "Maud", "--water", "Tessel", "--junction", "blood", "--tag", "165 mm", "--minutes", "60", "--tangles", "2")
	url := outputOf(t, dir, "database", "url")
	for range 2 {
		lock := lockStarting(t, dir)
		killDatabase(t, dir)
		for path, want := range map[string]string{"": "ry again in a few seconds", "api/known": `"unavailable"`} {
			// A connection may hold for a moment yet: its process has to notice that it is alone.
			status, body, retryAfter := fetch(t, s.client, address+path)
			for deadline := time.Now().Add(30 * time.Second); status == http.StatusOK && time.Now().Before(deadline); {
				status, body, retryAfter = fetch(t, s.client, address+path)
			}
			if status != http.StatusServiceUnavailable || !strings.Contains(body, want) || retryAfter == "" {
				t.Errorf("/%s without a database: status %d, try again after %q s\n%s", path, status, retryAfter, body)
			}
		}
		lock.Close()
		wantPageSoon(t, s.client, address+"sessions", "Maud")
	}
	if again := outputOf(t, dir, "database", "url"); again != url {
		t.Errorf("the address was %s and is now %s", url, again)
	}
	s.stop(t, os.Interrupt)
	if said := s.errors.String(); strings.Count(said, "was started again") != 2 {
		t.Errorf("after the database was killed twice, rigtally said:\n%s", said)
	}
	if left := serversIn(t, dir); len(left) > 0 {
		t.Errorf("left running: %v", left)
	}
	if left, _ := filepath.Glob(filepath.Join(dir, "socket*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

// lockStarting keeps every rigtally from starting the server in a folder until the file is closed.
func lockStarting(t *testing.T, dir string) *os.File {
	t.Helper()
	lock, err := os.OpenFile(filepath.Join(dir, "start.lock"), os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = lock.Close() })
	if err := syscall.Flock(int(lock.Fd()), syscall.LOCK_EX); err != nil {
		t.Fatal(err)
	}
	return lock
}

// wantPageSoon waits until a page shows a text.
func wantPageSoon(t *testing.T, browser *http.Client, address, text string) {
	t.Helper()
	wantWord(t, browser, address, http.StatusOK, text)
}

// wantWord waits until an address is answered with a status and a text.
func wantWord(t *testing.T, browser *http.Client, address string, want int, text string) {
	t.Helper()
	for deadline := time.Now().Add(time.Minute); ; time.Sleep(20 * time.Millisecond) {
		status, body, _ := fetch(t, browser, address)
		if status == want && strings.Contains(body, text) {
			return
		}
		if time.Now().After(deadline) {
			t.Fatalf("%s does not show %q with status %d: status %d\n%s", address, text, want, status, body)
		}
	}
}

// Ensure that the demo shows an answer, then its address as the last line, and
// that SIGTERM leaves neither a process nor a file.
func TestDemo(t *testing.T) {
	t.Parallel()
	dir := pgtest.DataDir(t)
	s, address := start(t, dir, "demo", "--sessions", "60")
	wantPage(t, s.client, address)
	if text := strings.Join(s.lines, "\n"); !strings.Contains(text, "invented") || !strings.Contains(text, " lbf") || !strings.Contains(text, "$ rigtally rates tangles --by junction") {
		t.Errorf("no answer came before the address:\n%s", text)
	}
	folders := childFolders(t, s.cmd.Process.Pid)
	s.stop(t, syscall.SIGTERM)
	for _, f := range folders {
		if _, err := os.Stat(f); !os.IsNotExist(err) {
			t.Errorf("the folder %s is left (%v)", f, err)
		}
		if left := serversIn(t, f); len(left) > 0 {
			t.Errorf("left running: %v", left)
		}
	}
	if entries, err := os.ReadDir(dir); err != nil || len(entries) > 0 {
		t.Errorf("the person's own folder was touched: %v, %v", entries, err)
	}
}

// childFolders returns the folders that the children of a process work in:
// those of its PostgreSQL, on a system that tells.
func childFolders(t *testing.T, pid int) []string {
	t.Helper()
	stats, err := filepath.Glob("/proc/[0-9]*/stat")
	if err != nil {
		t.Fatal(err)
	}
	var found []string
	for _, stat := range stats {
		raw, _ := os.ReadFile(stat) // gone meanwhile
		_, rest, _ := strings.Cut(string(raw), ") ")
		var state string
		var parent int
		if n, _ := fmt.Sscan(rest, &state, &parent); n == 2 && parent == pid {
			if cwd, err := os.Readlink(filepath.Join(filepath.Dir(stat), "cwd")); err == nil {
				found = append(found, cwd)
			}
		}
	}
	if len(stats) > 0 && len(found) == 0 {
		t.Error("the demo has no PostgreSQL of its own")
	}
	return found
}
