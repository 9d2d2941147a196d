//go:build unix

package pgserver

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"time"
)

// initLimit is for making a cluster, which takes seconds, on the slowest of disks.
const initLimit = 5 * time.Minute

// initCluster makes the cluster. It works under a temporary name and renames at the end, so that an interrupted
// run leaves no half-made cluster behind. The caller holds start.lock.
//
// Authentication is trust on the socket: its folder can be entered by the cluster's owner and root only, who could
// read the files of the cluster anyway. Connections over TCP are rejected, should anyone ever turn them on.
// The locale C sorts alike on every machine and never needs an index rebuilt after an upgrade of the system.
func initCluster(ctx context.Context, cfg Config, f folder, b binaries, a account) error {
	removeHalfMade(f)
	dir, err := os.MkdirTemp(f.dir, "cluster.new-")
	if err != nil {
		return explain(err, f.dir)
	}
	defer os.RemoveAll(dir) // does nothing after the rename
	if a.other {
		if err := os.Lchown(dir, int(a.uid), int(a.gid)); err != nil {
			return fmt.Errorf("handing the cluster to the user %s: %w", a.name, err)
		}
	}
	within, cancel := context.WithTimeoutCause(ctx, initLimit, fmt.Errorf("it took more than %s", spoken(initLimit)))
	defer cancel()
	if err := fill(within, cfg, f, b, a, dir); err != nil {
		return err
	}
	if err := os.Rename(dir, f.cluster()); err != nil {
		return explain(err, f.dir)
	}
	return syncFolder(f)
}

// fill makes a cluster in an empty folder, or copies one that was made before in the same way.
func fill(ctx context.Context, cfg Config, f folder, b binaries, a account, dir string) error {
	var pattern string
	if cfg.Pattern != "" {
		sum := sha256.Sum256(fmt.Appendf(nil, "%s %q %d", b.version, cfg.initdb, a.uid))
		pattern = filepath.Join(cfg.Pattern, fmt.Sprintf("cluster-%x", sum[:8]))
		if _, err := os.Stat(pattern); err == nil {
			return copyTree(ctx, pattern, dir)
		}
	}
	if err := initdb(ctx, cfg, f, b, a, dir); err != nil || pattern == "" {
		return err
	}
	fresh := fmt.Sprintf("%s.new-%d", pattern, os.Getpid())
	defer os.RemoveAll(fresh)
	if errors.Join(os.MkdirAll(cfg.Pattern, 0o755), os.Mkdir(fresh, 0o700), copyTree(ctx, dir, fresh)) == nil {
		_ = os.Rename(fresh, pattern) // fails if another process was faster
	}
	return nil // without a pattern the next one takes longer, which is all
}

// copyTree copies what is in a folder, with its owners and modes.
func copyTree(ctx context.Context, from, to string) error {
	if out, err := exec.CommandContext(ctx, "cp", "-a", from+"/.", to).CombinedOutput(); err != nil {
		return fmt.Errorf("copying a cluster: %w: %s", err, out)
	}
	return nil
}

func initdb(ctx context.Context, cfg Config, f folder, b binaries, a account, dir string) error {
	args := append([]string{"--pgdata=" + dir, "--username=" + Superuser, "--encoding=UTF8", "--locale=C",
		"--auth-local=trust", "--auth-host=reject", "--data-checksums", "--no-instructions"}, cfg.initdb...)
	cmd := exec.Command(filepath.Join(b.dir, "initdb"), args...)
	if out, err := runGroup(ctx, cmd, f, a); err != nil {
		return fmt.Errorf("making the journal's database in %s failed: %w; nothing half-made was kept%s. PostgreSQL said:\n%s",
			f.dir, err, initRemedy(out), lastLines(out, 8))
	}
	return nil
}

// whole checks that no part of a cluster is missing without which PostgreSQL can't start, as after half a copy.
func whole(f folder) error {
	for _, part := range []string{"global/pg_control", "base", "pg_wal", "pg_xact"} {
		if _, err := os.Stat(filepath.Join(f.cluster(), part)); errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("the cluster %s is not whole: %s is missing; nothing was changed; "+
				"copy the data folder again from where it came, or move it away and restore a backup", f.cluster(), part)
		} else if err != nil {
			return explain(err, f.dir)
		}
	}
	return nil
}

func removeHalfMade(f folder) {
	left, _ := filepath.Glob(filepath.Join(f.dir, "cluster.new-*"))
	for _, dir := range left {
		_ = os.RemoveAll(dir) // one that an orphaned initdb still fills goes next time
	}
}

// runGroup runs a program as the server's user and, when ctx ends, kills it with its children.
func runGroup(ctx context.Context, cmd *exec.Cmd, f folder, a account) (string, error) {
	var out strings.Builder
	cmd.Stdout, cmd.Stderr = &out, &out
	cmd.Dir, cmd.Env, cmd.SysProcAttr, cmd.WaitDelay = f.dir, serverEnv(), a.sysProcAttr(), time.Second
	if err := cmd.Start(); err != nil {
		return "", err
	}
	stop := context.AfterFunc(ctx, func() { _ = syscall.Kill(-cmd.Process.Pid, syscall.SIGKILL) })
	defer stop()
	err := cmd.Wait()
	if err != nil && ctx.Err() != nil {
		err = context.Cause(ctx)
	}
	return out.String(), err
}

func initRemedy(out string) string {
	switch {
	case strings.Contains(out, "No space left"), strings.Contains(out, "quota exceeded"):
		return "; make room on that disk or choose another with --data-dir"
	case strings.Contains(out, "Permission denied"):
		return "; check the permissions of that folder or choose another with --data-dir"
	}
	return ""
}

// serverEnv is all that the server's processes get to see of our environment: settings such as PGPORT or LC_ALL
// of the user must not reach them.
func serverEnv() []string {
	env := []string{"LC_ALL=C", "TZ=UTC"}
	for _, name := range []string{"PATH", "LD_LIBRARY_PATH", "DYLD_LIBRARY_PATH"} {
		if value, ok := os.LookupEnv(name); ok {
			env = append(env, name+"="+value)
		}
	}
	return env
}

func syncFolder(f folder) error {
	d, err := os.Open(f.dir)
	if err != nil {
		return explain(err, f.dir)
	}
	defer d.Close()
	if err := d.Sync(); err != nil && !errors.Is(err, fs.ErrInvalid) && !errors.Is(err, syscall.EINVAL) {
		return explain(err, f.dir)
	}
	return nil
}

func lastLines(text string, n int) string {
	all := strings.Split(strings.TrimSpace(text), "\n")
	return strings.Join(all[max(0, len(all)-n):], "\n")
}
