// Package pgserver keeps a private PostgreSQL: it finds the server programs, makes the cluster, and starts,
// shares and stops the server, which listens on a Unix socket only.
package pgserver

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"time"
)

// The roles of a private cluster that can log in.
const (
	Superuser = "rigtally"        // made the cluster; makes databases and the other two
	Keeper    = "rigtally_keeper" // owns databases and their tables
	Program   = "rigtally_app"    // owns nothing: what the program works as
)

// Oldest and Newest are the PostgreSQL major versions that rigtally works with. Journals of the versions from Upgraded
// on can be brought into one of those.
const (
	Upgraded = 14 // has no ON DELETE SET NULL for some columns of a key, which the tables need
	Oldest   = 15
	Newest   = 18
)

// ErrNoPostgres is wrapped by the error of a search that found no usable server programs.
var ErrNoPostgres = errors.New("no PostgreSQL server was found")

// ErrInUse is wrapped by the error of Stop while another process uses the server.
var ErrInUse = errors.New("the journal is in use")

// Config says where the cluster lives and which programs serve it.
type Config struct {
	// DataDir is the folder that holds the cluster, its log and its lock files. Empty means DefaultDataDir.
	DataDir string
	// BinDir is the folder with the server programs postgres and initdb. Empty means that they are searched for.
	BinDir string
	// Local are further folders that "make postgres" filled, each with a bin folder. They are searched last.
	Local []string
	// Log receives notes for people about work that takes a while, and about Restart. Nil means none.
	Log io.Writer
	// Pattern is a folder that keeps a cluster as it was made, from which further ones are copied: for tests, which make
	// many. Empty means none.
	Pattern string
	// Restart has the server started again, at the same address, when it ends while this process uses it.
	Restart bool

	search   *places // nil: the usual ones
	settings []string
	initdb   []string
	attached bool          // the server dies with this process
	sockets  string        // the folder of the socket; empty means that it is chosen
	patience time.Duration // the longest wait for another process; 0 means the usual one

	past      bool         // a version that journals are only upgraded from is served too
	upgrading bool         // the server is of an upgrade, and takes no writes
	passed    func(string) // told of each point that an upgrade has reached
}

// places are the folders to search for server programs.
type places struct {
	path   []string // as in PATH
	system []string // patterns of the usual places
	local  []string // folders that "make postgres" fills, each with a bin folder
}

// Certificates is the folder in a data folder for what lets others reach the pages.
const Certificates = "certificates"

// DefaultDataDir is the data folder for this user: below XDG_DATA_HOME (else ~/.local/share) on Linux, below
// Application Support on macOS, below LocalAppData on Windows. Root gets /var/lib/rigtally, because root's home is
// closed to the user that the server runs as.
func DefaultDataDir() (string, error) {
	if os.Geteuid() == 0 {
		return "/var/lib/rigtally", nil
	}
	if dir := os.Getenv("LocalAppData"); runtime.GOOS == "windows" && filepath.IsAbs(dir) {
		return filepath.Join(dir, "rigtally"), nil
	}
	if dir := os.Getenv("XDG_DATA_HOME"); runtime.GOOS != "darwin" && filepath.IsAbs(dir) {
		return filepath.Join(dir, "rigtally"), nil
	}
	home, err := os.UserHomeDir()
	if err != nil {
		return "", fmt.Errorf("this user has no home folder to keep the journal in; name a folder with --data-dir: %w", err)
	}
	if runtime.GOOS == "darwin" {
		return filepath.Join(home, "Library", "Application Support", "rigtally"), nil
	}
	return filepath.Join(home, ".local", "share", "rigtally"), nil
}

func (c Config) reached(point string) {
	if c.passed != nil {
		c.passed(point)
	}
}

func (c Config) note(format string, args ...any) {
	if c.Log != nil {
		// A note that cannot be shown is no reason to stop the work.
		_, _ = fmt.Fprintf(c.Log, format+"\n", args...)
	}
}
