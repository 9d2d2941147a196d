//go:build unix

package pgserver

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
)

const (
	port           = 5432 // names the socket file; nothing listens on TCP
	connectSeconds = 10   // how long a client waits for a server that takes its connection and says nothing
)

// maxSocketPath is the longest path of a Unix socket in bytes: 107 on Linux, 103 on macOS (one less than the
// array that the kernel takes it in, for the closing NUL).
const maxSocketPath = len(syscall.RawSockaddrUnix{}.Path) - 1

func socketFile(dir string) string { return filepath.Join(dir, ".s.PGSQL."+strconv.Itoa(port)) }

// usableSocketDir reports whether clients can name a socket in dir: they split a host at commas.
func usableSocketDir(dir string) bool {
	return len(socketFile(dir)) <= maxSocketPath && !strings.Contains(dir, ",")
}

// socketDir makes the folder for the socket: the one that is asked for, else one in the data folder, else a short
// private one that is named by a hash of the data folder's path.
func socketDir(cfg Config, f folder, a account) (string, error) {
	dir := cfg.sockets
	if dir == "" {
		dir = f.socket()
	}
	if !usableSocketDir(dir) {
		dir = shortSocketDir(f, a)
	}
	return dir, makeSocketDir(dir, a)
}

func shortSocketDir(f folder, a account) string {
	sum := sha256.Sum256([]byte(f.dir))
	name := fmt.Sprintf("rigtally-%d-%x", a.uid, sum[:8])
	if run := os.Getenv("XDG_RUNTIME_DIR"); !a.other && filepath.IsAbs(run) {
		dir := filepath.Join(run, name)
		if info, err := os.Stat(run); err == nil && ownerOf(info) == os.Geteuid() && usableSocketDir(dir) {
			return dir
		}
	}
	return filepath.Join("/tmp", name)
}

// makeSocketDir makes the folder, or checks that one left there is private to us: in /tmp anyone could have made it.
func makeSocketDir(dir string, a account) error {
	err := os.Mkdir(dir, 0o700)
	if err != nil && !errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("making the folder for the database's socket: %w", explain(err, filepath.Dir(dir)))
	}
	info, err := os.Lstat(dir)
	if err != nil {
		return fmt.Errorf("looking at the folder for the database's socket: %w", err)
	}
	owner := ownerOf(info)
	if !info.IsDir() || info.Mode().Perm()&0o077 != 0 || owner != int(a.uid) && owner != os.Geteuid() {
		return fmt.Errorf("the folder %s for the database's socket is not private to %s (owner %s, mode %v); remove it, or choose a shorter path with --data-dir",
			dir, userName(int(a.uid)), userName(owner), info.Mode())
	}
	if owner != int(a.uid) {
		if err := os.Lchown(dir, int(a.uid), int(a.gid)); err != nil {
			return fmt.Errorf("handing the folder %s to the user %s: %w", dir, a.name, err)
		}
	}
	return nil
}

// socketURL is the address of a database for pgx and for PostgreSQL's own programs. Spaces become %20, since the
// latter take a plus sign literally.
func socketURL(socketDir string, port int, user, database string) string {
	query := url.Values{"host": {socketDir}, "port": {strconv.Itoa(port)}, "connect_timeout": {strconv.Itoa(connectSeconds)}}
	u := url.URL{
		Scheme:   "postgres",
		User:     url.User(user),
		Path:     "/" + database,
		RawPath:  "/" + url.PathEscape(database),
		RawQuery: strings.ReplaceAll(query.Encode(), "+", "%20"),
	}
	return u.String()
}

// removeSockets removes a socket folder of ours with what a killed server left in it.
func removeSockets(f folder, dir string) {
	if dir != f.socket() && !strings.HasPrefix(filepath.Base(dir), "rigtally-") {
		return
	}
	removeSocketFiles(dir)
	_ = os.Remove(dir) // fails, as it should, if anything else is in it
}

// removeSocketFiles removes the socket of a server that is gone, and its lock, by which PostgreSQL would take any
// process of the same number for that server.
func removeSocketFiles(dir string) {
	_ = os.Remove(socketFile(dir))
	_ = os.Remove(socketFile(dir) + ".lock")
}
