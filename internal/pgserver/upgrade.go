//go:build unix

package pgserver

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"

	"github.com/jackc/pgx/v5"
)

// roomFactor is how much free disk an upgrade asks for, in sizes of the cluster: for the other one, and what it writes
// ahead.
const roomFactor = 1.5

// UpgradePlan is what an upgrade of a private cluster would do.
type UpgradePlan struct {
	From, To int    // PostgreSQL's major versions; To is 0 where no newer programs were found
	Programs string // the folder of the newer programs
	Bytes    int64  // of the cluster's files
	Needed   int64  // bytes that must be free
	Free     int64  // bytes that are
	Kept     string // the folder in which the cluster stays as it was

	old, next Config
}

// Present is the configuration by which the journal is opened before the upgrade, also where the folder that is
// configured has programs of the newer version alone.
func (p UpgradePlan) Present() Config { return p.old }

// PlanUpgrade tells what Upgrade would do, and changes nothing. to is the major version to go to, 0 for the newest of
// which programs are found. Without a journal, without programs of its version, and with a version that is not newer
// it is an error.
func PlanUpgrade(cfg Config, to int) (UpgradePlan, error) {
	f, err := existing(cfg)
	if err != nil {
		return UpgradePlan{}, err
	}
	return planUpgrade(cfg, f, to)
}

// existing is the data folder of a journal that is there.
func existing(cfg Config) (folder, error) {
	dir, err := resolve(cfg.DataDir)
	if err != nil {
		return folder{}, err
	}
	f := folder{dir}
	known, err := ours(f)
	if err == nil && !known {
		err = fmt.Errorf("there is no journal in %s; name its folder with --data-dir", dir)
	}
	return f, err
}

func planUpgrade(cfg Config, f folder, to int) (UpgradePlan, error) {
	p := UpgradePlan{old: cfg, next: cfg}
	from, err := clusterMajor(f)
	switch {
	case err != nil:
		return p, err
	case from == 0:
		return p, fmt.Errorf("there is no journal in %s yet; a new one is made with the PostgreSQL that is found", f.dir)
	case to != 0 && !supported(to):
		return p, fmt.Errorf("rigtally works with PostgreSQL %d to %d, not %d", Oldest, Newest, to)
	case to != 0 && to <= from:
		return p, fmt.Errorf("the journal in %s is in PostgreSQL %d, and an upgrade leads to a newer one", f.dir, from)
	}
	p.From, p.Kept = from, f.before(from)
	next, err := newerThan(cfg, from, to)
	if err != nil || next.major == 0 {
		return p, err
	}
	old, err := programsOf(cfg, from)
	if err != nil {
		return p, err
	}
	p.To, p.Programs = next.major, next.dir
	p.old, p.next = old.only(cfg), next.only(cfg)
	p.old.past = true
	if p.Bytes, err = sizeOf(f.cluster()); err != nil {
		return p, explain(err, f.dir)
	}
	p.Needed = int64(roomFactor * float64(p.Bytes))
	p.Free, err = freeIn(f.dir)
	return p, err
}

// newerThan finds the newest programs, or those of a version that is asked for; none is no error unless it was.
func newerThan(cfg Config, from, to int) (found binaries, err error) {
	for major := Newest; major > from; major-- {
		if to != 0 && major != to {
			continue
		}
		found, err = programsOf(cfg, major)
		if err == nil {
			return found, nil
		}
	}
	if to == 0 {
		return binaries{}, nil
	}
	return binaries{}, fmt.Errorf("%w of version %d; install it beside the other, or run \"make postgres\" in rigtally's folder, which fetches version %d",
		ErrNoPostgres, to, Newest)
}

// programsOf finds programs of one version, in the configured folder or, where that has another, elsewhere.
func programsOf(cfg Config, major int) (binaries, error) {
	if cfg.BinDir != "" {
		if b, ok := probe(cfg.BinDir, probeLimit); ok && b.major == major {
			return b, nil
		}
		cfg.BinDir = ""
	}
	return findBinaries(cfg, major)
}

// only makes a configuration find these programs and no others.
func (b binaries) only(cfg Config) Config {
	cfg.BinDir, cfg.search = "", &places{path: []string{b.dir}}
	if b.local {
		cfg.search = &places{local: []string{filepath.Dir(b.dir)}}
	}
	return cfg
}

// Upgrade brings the journal into a cluster of a newer PostgreSQL, which is made beside the old one. Both servers run
// while move copies what the old one holds into the new one and compares the two; its error ends the upgrade. Only
// when both have stopped in good order does the new cluster take the old one's place. However the work ends, one of
// them is the journal, whole: what is left of a process that was killed is settled by the next Acquire. Nobody else
// uses the journal meanwhile; while somebody does, it is ErrInUse.
//
// The old cluster stays: see Earlier.
func Upgrade(ctx context.Context, cfg Config, to int, move func(ctx context.Context, old, next *Server) error) (p UpgradePlan, err error) {
	f, err := existing(cfg)
	if err != nil {
		return p, err
	}
	start, err := lockFile(ctx, cfg, f.startLock(), exclusive)
	if err != nil {
		return p, err
	}
	defer start.Close()
	users, err := openLock(f.usersLock())
	if err != nil {
		return p, err
	}
	defer users.Close()
	if alone, err := tryLock(users, exclusive); err != nil || !alone {
		return p, errors.Join(err, fmt.Errorf("%w: another rigtally works with %s (perhaps \"rigtally serve\"); close it and try again", ErrInUse, f.dir))
	}
	if err := settleUpgrade(ctx, f); err != nil {
		return p, err
	}
	if p, err = planUpgrade(cfg, f, to); err != nil {
		return p, err
	}
	if err := p.possible(f); err != nil {
		return p, err
	}
	if err := p.fill(ctx, f, move); err != nil {
		return p, errors.Join(fmt.Errorf("nothing was changed, and the journal is in PostgreSQL %d as before: %w", p.From, err), clearUpgrade(context.WithoutCancel(ctx), f))
	}
	return p, errors.Join(switchClusters(cfg, f, p.From), clearUpgrade(context.WithoutCancel(ctx), f))
}

func (p UpgradePlan) possible(f folder) error {
	if p.To == 0 {
		return fmt.Errorf("%w that is newer than the journal's, %d; install one beside it, or run \"make postgres\" in rigtally's folder, which fetches version %d",
			ErrNoPostgres, p.From, Newest)
	}
	if _, err := os.Lstat(p.Kept); err == nil {
		return fmt.Errorf("the cluster of an earlier upgrade from PostgreSQL %d is still in %s; remove it with \"rigtally database upgrade --remove-old\"", p.From, p.Kept)
	}
	if p.Free < p.Needed {
		return fmt.Errorf("the upgrade needs %d MB of free disk in %s, and %d MB are free; make room and try again; nothing was changed",
			p.Needed>>20, f.dir, p.Free>>20)
	}
	return nil
}

// fill makes the new cluster and has it filled, in a data folder of its own within the journal's. Afterwards both
// servers have stopped.
func (p UpgradePlan) fill(ctx context.Context, f folder, move func(ctx context.Context, old, next *Server) error) (err error) {
	lasting := context.WithoutCancel(ctx)
	// Whoever has an address of the old server, as psql has, must not write what is no longer copied.
	if err := stopServer(ctx, p.old, f, orderly()); err != nil {
		return err
	}
	if _, err := openFolder(f.upgrade().dir); err != nil {
		return err
	}
	p.old.upgrading, p.old.attached, p.old.settings = true, true, []string{"default_transaction_read_only=on"}
	if _, _, err := ensureRunning(ctx, p.old, f); err != nil {
		return err
	}
	defer func() { err = errors.Join(err, stopServer(lasting, p.old, f, orderly())) }()
	old := &Server{cfg: p.old, folder: f}
	old.at, _ = readPostmaster(f.cluster()) // complete: the server has answered
	p.next.DataDir, p.next.attached = f.upgrade().dir, true
	next, err := Acquire(ctx, p.next)
	if err != nil {
		return err
	}
	p.next.reached("made")
	err = move(ctx, old, next)
	if err == nil {
		p.next.reached("moved")
		err = next.checkpoint(ctx)
	}
	if err = errors.Join(err, next.Release(lasting)); err != nil {
		return err
	}
	if state, err := clusterState(next.folder.cluster()); err != nil || state != shutDown {
		return errors.Join(err, fmt.Errorf("the new cluster's server did not stop in good order; its state is %d", state))
	}
	return nil
}

// checkpoint has all that the server knows written to its files, however long that takes.
func (s *Server) checkpoint(ctx context.Context) error {
	conn, err := pgx.Connect(ctx, s.URL("postgres"))
	if err != nil {
		return fmt.Errorf("connecting to the new cluster: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	if _, err = conn.Exec(ctx, "CHECKPOINT"); err != nil {
		return fmt.Errorf("writing out the new cluster: %w", err)
	}
	return nil
}

// switchClusters puts the new cluster in the place of the old one. Three renames make sure that at any moment it is
// clear which is the journal: until the cluster has its new name it is the old one, from then on the one that is ready.
func switchClusters(cfg Config, f folder, from int) error {
	cfg.reached("stopped")
	for _, step := range []struct{ from, to, point string }{
		{f.upgrade().cluster(), f.ready(), "ready"},
		{f.cluster(), f.before(from), "away"},
		{f.ready(), f.cluster(), "switched"},
	} {
		if err := os.Rename(step.from, step.to); err != nil {
			return fmt.Errorf("putting the new cluster in the place of the old one: %w; the next command settles which one is the journal", explain(err, f.dir))
		}
		if err := syncFolder(f); err != nil {
			return err
		}
		cfg.reached(step.point)
	}
	return nil
}

// settleUpgrade finishes or takes back what an upgrade that was killed has left, and clears its folder. The caller
// holds start.lock, and no server runs in the cluster.
func settleUpgrade(ctx context.Context, f folder) error {
	_, err := os.Lstat(f.ready())
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return clearUpgrade(ctx, f)
	case err != nil:
		return explain(err, f.dir)
	}
	to := f.cluster()
	if _, err := os.Lstat(to); err == nil { // the journal, which may have been written since
		to = filepath.Join(f.dir, "cluster.new-taken-back")
	} else if !errors.Is(err, fs.ErrNotExist) {
		return explain(err, f.dir)
	}
	if err := os.Rename(f.ready(), to); err != nil {
		return explain(err, f.dir)
	}
	if err := syncFolder(f); err != nil {
		return err
	}
	removeHalfMade(f)
	return clearUpgrade(ctx, f)
}

// clearUpgrade removes the folder in which an upgrade worked, with the server in it, should one be left.
func clearUpgrade(ctx context.Context, f folder) error {
	if !f.upgraded() {
		return nil
	}
	if err := stopServer(ctx, Config{}, f.upgrade(), atOnce()); err != nil {
		return err
	}
	removeHalfMade(f)
	// Renamed first, so that what is half removed still is known as ours.
	if err := os.Rename(f.upgrade().dir, filepath.Join(f.dir, "cluster.new-upgrade")); err != nil {
		return explain(err, f.dir)
	}
	removeHalfMade(f)
	return nil
}

// upgraded reports whether an upgrade works in the data folder, or has left its own there.
func (f folder) upgraded() bool {
	marked, err := ours(f.upgrade())
	return err == nil && marked
}

// EarlierCluster is one that an upgrade has left.
type EarlierCluster struct {
	Dir   string
	Major int   // PostgreSQL's major version
	Bytes int64 // of its files
}

// Earlier lists the clusters that upgrades have left, as they were before.
func Earlier(cfg Config) ([]EarlierCluster, error) {
	f, err := existing(cfg)
	if err != nil {
		return nil, err
	}
	dirs, _ := filepath.Glob(f.dir + "/cluster.before-*") // the pattern is well formed, or it finds nothing
	var all []EarlierCluster
	for _, dir := range dirs {
		c := EarlierCluster{Dir: dir}
		if c.Major, err = strconv.Atoi(dir[strings.LastIndexByte(dir, '-')+1:]); err != nil {
			continue
		}
		if c.Bytes, err = sizeOf(dir); err != nil {
			return nil, explain(err, f.dir)
		}
		all = append(all, c)
	}
	return all, nil
}

// RemoveEarlier removes what Earlier lists, and returns it. Without a journal in its place nothing is removed.
func RemoveEarlier(ctx context.Context, cfg Config) ([]EarlierCluster, error) {
	f, err := existing(cfg)
	if err != nil {
		return nil, err
	}
	start, err := lockFile(ctx, cfg, f.startLock(), exclusive)
	if err != nil {
		return nil, err
	}
	defer start.Close()
	if _, err := os.Stat(filepath.Join(f.cluster(), "PG_VERSION")); err != nil {
		return nil, fmt.Errorf("there is no journal in the place of the old one (%w); nothing was removed; open it once with \"rigtally sessions list\"", err)
	}
	all, err := Earlier(cfg)
	for _, c := range all {
		// Renamed first, so that no part of one is ever taken for a whole.
		gone := filepath.Join(f.dir, fmt.Sprintf("cluster.new-removed-%d", c.Major))
		if err := errors.Join(os.Rename(c.Dir, gone), os.RemoveAll(gone)); err != nil {
			return nil, explain(err, f.dir)
		}
	}
	return all, err
}

func (f folder) upgrade() folder         { return folder{filepath.Join(f.dir, "upgrade")} }
func (f folder) ready() string           { return filepath.Join(f.dir, "cluster.ready") }
func (f folder) before(major int) string { return fmt.Sprintf("%s.before-%d", f.cluster(), major) }

// sizeOf is what the files below a folder hold, in bytes. What goes away meanwhile counts nothing.
func sizeOf(dir string) (bytes int64, err error) {
	err = filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err == nil && d.Type().IsRegular() {
			var info fs.FileInfo
			if info, err = d.Info(); err == nil {
				bytes += info.Size()
			}
		}
		if errors.Is(err, fs.ErrNotExist) && path != dir {
			return nil
		}
		return err
	})
	return bytes, err
}

// freeIn is how much the user of the server may write to a disk, in bytes.
func freeIn(dir string) (int64, error) {
	var st syscall.Statfs_t
	if err := syscall.Statfs(dir, &st); err != nil {
		return 0, explain(err, dir)
	}
	return int64(uint64(st.Bavail) * uint64(st.Bsize)), nil
}
