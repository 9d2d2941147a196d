package pgserver

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
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
func probe(dir string) (b binaries, ok bool) {
	path := filepath.Join(dir, "postgres")
	if resolved, err := filepath.EvalSymlinks(path); err == nil && executable(filepath.Join(filepath.Dir(resolved), "initdb")) {
		path = resolved
	}
	dir = filepath.Dir(path)
	if !executable(path) || !executable(filepath.Join(dir, "initdb")) {
		return binaries{}, false
	}
	ctx, cancel := context.WithTimeout(context.Background(), probeLimit)
	defer cancel()
	cmd := exec.CommandContext(ctx, path, "--version")
	cmd.WaitDelay = time.Second // for what a program that was cut off has left running
	out, err := cmd.Output()
	if err != nil {
		return binaries{}, false
	}
	m := versionPattern.FindSubmatch(out)
	if m == nil {
		return binaries{}, false
	}
	major, err := strconv.Atoi(string(m[1]))
	if err != nil {
		return binaries{}, false
	}
	return binaries{dir: dir, major: major, version: strings.TrimSpace(string(out))}, true
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
			b, ok := probe(dir)
			if !ok {
				continue
			}
			b.local = group.local
			if supported(b.major) && (want == 0 || b.major == want) {
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
	b, ok := probe(dir)
	switch {
	case !ok:
		return b, fmt.Errorf("%w: the configured folder %s has no working programs postgres and initdb; "+
			"correct the setting, or remove it and rigtally searches for them", ErrNoPostgres, dir)
	case !supported(b.major):
		return b, fmt.Errorf("%w: the configured folder %s holds PostgreSQL %d, and rigtally works with %d to %d; configure one of those",
			ErrNoPostgres, dir, b.major, Oldest, Newest)
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
			"or run \"docker compose up -d\" there and pass its address with --database-url", ErrNoPostgres, Oldest, Newest, found)
	}
	return fmt.Errorf("%w for this journal, which was made by PostgreSQL %d (%s); nothing was changed; "+
		"install PostgreSQL %d beside it, or configure the folder of its programs", ErrNoPostgres, want, found, want)
}

// clusterMajor reads the major version that made the cluster; 0 if there is no cluster yet.
func clusterMajor(f folder) (int, error) {
	raw, err := os.ReadFile(filepath.Join(f.cluster(), "PG_VERSION"))
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
	if !supported(major) {
		return 0, fmt.Errorf("the journal in %s was made by PostgreSQL %s, and this rigtally works with %d to %d; nothing was changed; "+
			"%s", f.dir, text, Oldest, Newest, versionRemedy(major))
	}
	return major, nil
}

func versionRemedy(major int) string {
	if major > Newest {
		return "use a newer rigtally, or choose another folder with --data-dir"
	}
	return "bring the cluster to a newer version with PostgreSQL's pg_upgrade, or choose another folder with --data-dir"
}
