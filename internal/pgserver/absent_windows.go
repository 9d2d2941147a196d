package pgserver

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"
)

// errNotHere is what takes the place of a private server on Windows, whose PostgreSQL offers none of what this one is
// kept by: Unix sockets that only their owner can reach, flock, and signals.
var errNotHere = errors.New("on Windows rigtally keeps no PostgreSQL of its own; install PostgreSQL, make a database in it, " +
	"and name it with --database-url postgres://user@host:5432/database or with the setting database_url")

// Server is never had here: Acquire and Temporary refuse.
type Server struct{}

// Acquire refuses.
func Acquire(context.Context, Config) (*Server, error) { return nil, errNotHere }

// Temporary refuses.
func Temporary(context.Context, Config, ...string) (*Server, error) {
	return nil, errors.New("a throw-away journal needs a PostgreSQL of rigtally's own, which it does not keep on Windows; " +
		"see the demo on Linux or macOS, or use a journal of yours with --database-url")
}

// URL is empty.
func (*Server) URL(string) string { return "" }

// KeeperURL is empty.
func (*Server) KeeperURL(string) string { return "" }

// ProgramURL is empty.
func (*Server) ProgramURL(string) string { return "" }

// StartedIn is 0.
func (*Server) StartedIn() time.Duration { return 0 }

// EnsureDatabase refuses.
func (*Server) EnsureDatabase(context.Context, string) error { return errNotHere }

// Release has nothing to do.
func (*Server) Release(context.Context) error { return nil }

// Status describes a private cluster, of which there is none here.
type Status struct {
	DataDir, Cluster, Log string
	Major                 int
	Running               bool
	PID                   int
	SocketDir             string
}

// URL is empty.
func (Status) URL(string) string { return "" }

// Inspect refuses.
func Inspect(Config) (Status, error) { return Status{}, errNotHere }

// Start refuses.
func Start(context.Context, Config, ...string) (Status, error) { return Status{}, errNotHere }

// Stop refuses.
func Stop(context.Context, Config) error { return errNotHere }

// Programs are the server programs that a new cluster would be made with.
type Programs struct {
	Dir   string
	Major int
}

// Find refuses.
func Find(Config) (Programs, error) { return Programs{}, errNotHere }

// UpgradePlan is what an upgrade of a private cluster would do.
type UpgradePlan struct {
	From, To            int
	Programs            string
	Bytes, Needed, Free int64
	Kept                string
}

// Present is empty.
func (UpgradePlan) Present() Config { return Config{} }

// PlanUpgrade refuses.
func PlanUpgrade(Config, int) (UpgradePlan, error) { return UpgradePlan{}, errNotHere }

// Upgrade refuses.
func Upgrade(context.Context, Config, int, func(ctx context.Context, old, next *Server) error) (UpgradePlan, error) {
	return UpgradePlan{}, errNotHere
}

// EarlierCluster is one that an upgrade has left.
type EarlierCluster struct {
	Dir   string
	Major int
	Bytes int64
}

// Earlier refuses.
func Earlier(Config) ([]EarlierCluster, error) { return nil, errNotHere }

// RemoveEarlier refuses.
func RemoveEarlier(context.Context, Config) ([]EarlierCluster, error) { return nil, errNotHere }

// MakeDataDir makes the data folder where it is missing, and returns its path: other files of rigtally's are kept there.
func MakeDataDir(cfg Config) (string, error) {
	dir := cfg.DataDir
	if dir == "" {
		home, err := os.UserCacheDir() // %LocalAppData%, which only its user reads
		if err != nil {
			return "", fmt.Errorf("find a folder for rigtally's files: %w; name one with --data-dir", err)
		}
		dir = filepath.Join(home, "rigtally")
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return "", fmt.Errorf("make the data folder: %w", err)
	}
	return dir, nil
}
