//go:build unix

package pgserver

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// probeLimit is for a program to tell its version. One that does not is none of PostgreSQL's.
const probeLimit = 10 * time.Second

// binaries is a folder with the programs postgres and initdb of one version.
type binaries struct {
	dir     string
	major   int
	version string // as the program prints it, e.g. "postgres (PostgreSQL) 15.14"
	local   bool   // filled by "make postgres": a tree of its own that may be copied
}

var versionPattern = regexp.MustCompile(`\(PostgreSQL\) (\d+)`)

// probe looks for the server programs in a folder, following links: /usr/local/bin/postgres may lead into a
// folder that has both programs. ok is false if there are none that run.
func probe(dir string, limit time.Duration) (b binaries, ok bool) {
	path := filepath.Join(dir, "postgres")
	if resolved, err := filepath.EvalSymlinks(path); err == nil && executable(filepath.Join(filepath.Dir(resolved), "initdb")) {
		path = resolved
	}
	dir = filepath.Dir(path)
	if !executable(path) || !executable(filepath.Join(dir, "initdb")) {
		return binaries{}, false
	}
	ctx, cancel := context.WithTimeout(context.Background(), limit)
	defer cancel()
	cmd := exec.CommandContext(ctx, path, "--version")
	cmd.WaitDelay = time.Second // for what a program that was cut off has left running
	out, err := cmd.Output()
	m := versionPattern.FindSubmatch(out)
	if err != nil || m == nil {
		return binaries{}, false
	}
	major, err := strconv.Atoi(string(m[1]))
	return binaries{dir: dir, major: major, version: strings.TrimSpace(string(out))}, err == nil
}

func executable(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.Mode().IsRegular() && info.Mode()&0o111 != 0
}

func supported(major int) bool { return major >= Oldest && major <= Newest }

// findBinaries looks for server programs of the wanted major version; 0 wants the newest supported one of the
// first place that has any.
func findBinaries(cfg Config, want int) (binaries, error) {
	if cfg.BinDir != "" {
		return configured(cfg.BinDir, want)
	}
	search := cfg.search
	if search == nil {
		search = usualPlaces()
		search.local = append(search.local, cfg.Local...)
	}
	var others []binaries
	for _, group := range search.groups() {
		var fit []binaries
		for _, dir := range group.dirs {
			b, ok := probe(dir, probeLimit)
			if !ok {
				continue
			}
			b.local = group.local
			if want == 0 && supported(b.major) || b.major == want {
				fit = append(fit, b)
			} else {
				others = append(others, b)
			}
		}
		if len(fit) > 0 {
			return slices.MaxFunc(fit, func(a, b binaries) int { return a.major - b.major }), nil
		}
	}
	return binaries{}, notFound(want, others)
}

func configured(dir string, want int) (binaries, error) {
	b, ok := probe(dir, probeLimit)
	switch {
	case !ok:
		return b, fmt.Errorf("%w: the configured folder %s has no working programs postgres and initdb; "+
			"correct the setting, or remove it and rigtally searches for them", ErrNoPostgres, dir)
	case want == 0 && !supported(b.major):
		return b, fmt.Errorf("%w: the configured folder %s holds PostgreSQL %d, and rigtally works with %d to %d; configure one of those",
			ErrNoPostgres, dir, b.major, Oldest, Newest)
	case want != 0 && b.major > want:
		return b, fmt.Errorf("the journal was made by PostgreSQL %d, and the configured folder %s holds PostgreSQL %d; nothing was changed; "+
			"\"rigtally database upgrade\" brings it there while PostgreSQL %d is installed too; or configure the folder of a PostgreSQL %d", want, dir, b.major, want, want)
	case want != 0 && b.major != want:
		return b, fmt.Errorf("the journal was made by PostgreSQL %d, and the configured folder %s holds PostgreSQL %d; "+
			"nothing was changed; configure the folder of a PostgreSQL %d", want, dir, b.major, want)
	}
	return b, nil
}

func notFound(want int, others []binaries) error {
	var seen []string
	for _, b := range others {
		seen = append(seen, fmt.Sprintf("%d in %s", b.major, b.dir))
	}
	found := "none was found"
	if len(seen) > 0 {
		found = "found were only " + strings.Join(seen, ", ")
	}
	if want == 0 {
		return fmt.Errorf("%w that rigtally can use (version %d to %d; %s). There are three ways out: "+
			"install PostgreSQL (for example \"apt-get install postgresql\" or \"brew install postgresql\"); "+
			"or run \"make postgres\" in rigtally's folder; "+
			"or run \"docker compose up -d database\" there, as its file says, and pass its address with --database-url", ErrNoPostgres, Oldest, Newest, found)
	}
	remedy := fmt.Sprintf("install PostgreSQL %d beside it, or configure the folder of its programs", want)
	if slices.ContainsFunc(others, func(b binaries) bool { return supported(b.major) && b.major > want }) {
		remedy = fmt.Sprintf("install PostgreSQL %d again, beside the newer one, and run \"rigtally database upgrade\", which needs both and only once; "+
			"or restore the newest backup, by its path, into a new data folder (\"rigtally backups list\", \"rigtally backups restore FILE --data-dir FOLDER\")", want)
	}
	return fmt.Errorf("%w for this journal, which was made by PostgreSQL %d (%s); nothing was changed; %s", ErrNoPostgres, want, found, remedy)
}

// clusterMajor reads the major version that made the cluster; 0 if there is no cluster yet.
func clusterMajor(f folder) (int, error) {
	raw, err := os.ReadFile(filepath.Join(f.cluster(), "PG_VERSION"))
	if errors.Is(err, os.ErrNotExist) { // perhaps in the middle of an upgrade
		if ready, err2 := os.ReadFile(filepath.Join(f.ready(), "PG_VERSION")); err2 == nil {
			raw, err = ready, nil
		}
	}
	if errors.Is(err, os.ErrNotExist) {
		if _, err := os.Lstat(f.cluster()); err == nil {
			return 0, fmt.Errorf("the folder %s is no PostgreSQL cluster (it has no file PG_VERSION); nothing was changed; "+
				"restore it from a backup, or move it away to start with an empty journal", f.cluster())
		}
		return 0, nil
	}
	if err != nil {
		return 0, explain(err, f.dir)
	}
	text := strings.TrimSpace(string(raw))
	first, _, _ := strings.Cut(text, ".") // before 10 the major version had two parts, as in 9.6
	major, err := strconv.Atoi(first)
	if err != nil {
		return 0, fmt.Errorf("the version of the cluster %s cannot be read (%q in PG_VERSION); nothing was changed; restore it from a backup",
			f.cluster(), text)
	}
	if major < Upgraded || major > Newest {
		return 0, fmt.Errorf("the journal in %s was made by PostgreSQL %s, and this rigtally works with %d to %d; nothing was changed; "+
			"%s", f.dir, text, Oldest, Newest, versionRemedy(major))
	}
	return major, nil
}

func versionRemedy(major int) string {
	if major > Newest {
		return "use a newer rigtally, or choose another folder with --data-dir"
	}
	return fmt.Sprintf("bring the cluster to PostgreSQL %d with PostgreSQL's pg_upgrade (from there \"rigtally database upgrade\" goes on), "+
		"or choose another folder with --data-dir", Upgraded)
}

// Programs are the server programs that a new cluster would be made with.
type Programs struct {
	Dir   string // the folder of postgres and initdb
	Major int    // PostgreSQL's major version
}

// Find looks for server programs as Acquire does for a new cluster. It changes nothing; its error, which wraps
// ErrNoPostgres, names the ways out.
func Find(cfg Config) (Programs, error) {
	b, err := findBinaries(cfg, 0)
	if err != nil {
		return Programs{}, err
	}
	return Programs{Dir: b.dir, Major: b.major}, nil
}

// group is a set of folders of equal rank: the newest version in it wins.
type group struct {
	dirs  []string
	local bool
}

func usualPlaces() *places {
	p := &places{
		path: filepath.SplitList(os.Getenv("PATH")),
		system: []string{
			"/usr/lib/postgresql/*/bin",          // Debian
			"/usr/pgsql-*/bin",                   // PostgreSQL's own packages for Fedora
			"/usr/bin",                           // Fedora
			"/opt/homebrew/opt/postgresql@*/bin", // Homebrew on Apple silicon
			"/usr/local/opt/postgresql@*/bin",    // Homebrew on Intel
			"/home/linuxbrew/.linuxbrew/opt/postgresql@*/bin",
			"/Library/PostgreSQL/*/bin", // EDB installer on macOS
			"/opt/PostgreSQL/*/bin",     // EDB installer on Linux
		},
	}
	if dir, err := os.Getwd(); err == nil {
		p.local = append(p.local, filepath.Join(dir, ".postgres"))
	}
	if exe, err := os.Executable(); err == nil {
		if resolved, err := filepath.EvalSymlinks(exe); err == nil {
			exe = resolved
		}
		dir := filepath.Dir(exe)
		p.local = append(p.local, filepath.Join(dir, ".postgres"), filepath.Join(filepath.Dir(dir), ".postgres"))
	}
	return p
}

// groups lists the places in the order in which they count. In PATH each folder ranks before the next.
func (p *places) groups() []group {
	var all []group
	for _, dir := range p.path {
		if filepath.IsAbs(dir) {
			all = append(all, group{dirs: []string{dir}})
		}
	}
	var system []string
	for _, pattern := range p.system {
		dirs, _ := filepath.Glob(pattern) // fails for a malformed pattern only, and ours are fixed
		system = append(system, dirs...)
	}
	all = append(all, group{dirs: system})
	for _, dir := range p.local {
		if trusted(dir) && trusted(filepath.Join(dir, "bin")) {
			all = append(all, group{dirs: []string{filepath.Join(dir, "bin")}, local: true})
		}
	}
	return all
}

// trusted reports whether only this user or root can have filled the folder. Programs that lie below the current
// folder must not run merely because someone else left them there.
func trusted(dir string) bool {
	info, err := os.Stat(dir)
	if err != nil || !info.IsDir() || info.Mode()&0o022 != 0 {
		return false
	}
	uid := int(info.Sys().(*syscall.Stat_t).Uid)
	return uid == 0 || uid == os.Geteuid()
}

// reachable gives programs that the server's user can run. Those that "make postgres" put into a project folder in
// root's closed home are copied into the data folder; others are an error.
func reachable(f folder, b binaries, a account) (binaries, error) {
	blocked := a.blockedAt(b.dir)
	if blocked == "" {
		return b, nil
	}
	if !b.local {
		return b, fmt.Errorf("as root the database runs as the user %s, who cannot enter the folder %s on the way to the programs in %s; "+
			"open it with: chmod o+x %s", a.name, blocked, b.dir, blocked)
	}
	source, err := os.Stat(filepath.Join(b.dir, "postgres"))
	if err != nil {
		return b, fmt.Errorf("looking at the PostgreSQL programs: %w", err)
	}
	stamp := fmt.Sprintf("%s %d %d %s\n", b.version, source.Size(), source.ModTime().UnixNano(), b.dir)
	copied := b
	copied.dir = filepath.Join(f.programs(), "bin")
	if old, err := os.ReadFile(filepath.Join(f.programs(), "copied-from")); err == nil && string(old) == stamp {
		return copied, nil
	}
	if err := copyPrograms(filepath.Dir(b.dir), f.programs(), stamp); err != nil {
		return b, fmt.Errorf("copying the PostgreSQL programs to where the user %s can run them: %w", a.name, explain(err, f.dir))
	}
	return copied, nil
}

// copyPrograms replaces the tree at to. The stamp comes last: without it a copy is not whole.
func copyPrograms(from, to, stamp string) error {
	if err := os.RemoveAll(to); err != nil {
		return err
	}
	if err := os.CopyFS(to, os.DirFS(from)); err != nil {
		return err
	}
	err := filepath.WalkDir(to, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.Type()&fs.ModeSymlink != 0 {
			return err
		}
		info, err := d.Info()
		if err != nil {
			return err
		}
		return os.Chmod(path, info.Mode().Perm()|readable(info.Mode()))
	})
	if err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(to, "copied-from"), []byte(stamp), 0o644)
}

// readable gives the bits that let everyone read a file, and run it if its owner can.
func readable(mode fs.FileMode) fs.FileMode {
	if mode.IsDir() || mode&0o100 != 0 {
		return 0o555
	}
	return 0o444
}
