//go:build linux

// Command failover makes a cluster of three machines out of the files of deploy, each machine a network namespace of
// this one, has phones write into it through rigtally, and does to its primary what happens to machines. It counts
// what was answered for, lost and stored twice, and how long nothing could be saved. It runs as root.
package main

import (
	"bufio"
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"time"
)

var allKinds = []string{killPostgres, killNode, stopPostgres, cutOff}

func main() {
	rounds := flag.Int("rounds", 20, "`number` of times that something happens to the primary")
	kinds := flag.String("kinds", strings.Join(allKinds, ","), "what happens, in turn")
	writing := flag.Int("phones", 8, "`number` of phones that write")
	pooler := flag.Bool("pooler", false, "reach the primary by PgBouncer and haproxy, not by the names of all machines")
	keep := flag.Bool("keep", false, "keep the folder of the run, with its logs")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	if err := run(ctx, *rounds, strings.Split(*kinds, ","), *writing, *pooler, *keep); err != nil {
		fmt.Fprintln(os.Stderr, "failover:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context, rounds int, kinds []string, writing int, pooler, keep bool) (err error) {
	for _, kind := range kinds {
		if !slices.Contains(allKinds, kind) {
			return fmt.Errorf("%q is no kind; they are %s", kind, strings.Join(allKinds, ", "))
		}
	}
	bin, err := ready(pooler)
	if err != nil {
		return err
	}
	files, err := filepath.Abs("deploy")
	if err != nil {
		return err
	}
	dir, err := os.MkdirTemp("", "rigtally-failover-")
	if err != nil {
		return err
	}
	if err := os.Chmod(dir, 0o755); err != nil { // the machines' programs are not root's
		return err
	}
	begun := time.Now()
	c := newCluster(files, dir, bin)
	defer func() {
		c.stop(context.WithoutCancel(ctx))
		if err != nil || keep {
			fmt.Fprintln(os.Stderr, "logs and data are in", dir)
		} else {
			err = os.RemoveAll(dir)
		}
	}()
	if err := c.up(ctx, pooler); err != nil {
		return err
	}
	fmt.Printf("three machines are well after %.0f s\n", time.Since(begun).Seconds())
	pages, address, end, err := c.serve(ctx, pooler)
	if err != nil {
		return err
	}
	defer end()
	p, err := open(ctx, pages, address)
	if err != nil {
		return err
	}
	writes, quiet := context.WithCancel(ctx)
	var busy sync.WaitGroup
	for number := 1; number <= writing; number++ {
		busy.Go(func() { p.use(writes, number) })
	}
	defer busy.Wait()
	defer quiet()
	if err := until(ctx, wellWithin, "the first save", func() error {
		if p.after(begun) == 0 {
			return errors.New("none")
		}
		return nil
	}); err != nil {
		return err
	}
	var played []round
	for i := range rounds {
		r, err := c.play(ctx, kinds[i%len(kinds)], p)
		if err != nil {
			quiet()
			busy.Wait()
			return errors.Join(fmt.Errorf("round %d, %s: %w", i+1, r.kind, err), report(played, p))
		}
		fmt.Printf("%2d  %v\n", i+1, r)
		played = append(played, r)
	}
	quiet()
	busy.Wait()
	fmt.Printf("%d rounds took %.0f s\n", rounds, time.Since(begun).Seconds())
	return report(played, p)
}

// report says what came of all rounds, and is an error when a promise is broken.
func report(played []round, p *phones) error {
	byKind := map[string][]time.Duration{}
	lost, doubled := 0, 0
	for _, r := range played {
		byKind[r.kind] = append(byKind[r.kind], r.next)
		lost, doubled = max(lost, r.lost), max(doubled, r.doubled)
	}
	fmt.Printf("%d sessions acknowledged of %d sendings, %d lost, %d double; told to try again: %v\n", len(p.saved), p.tries, lost, doubled, p.waits)
	broken := []error{}
	for _, kind := range allKinds {
		list := byKind[kind]
		if len(list) == 0 {
			continue
		}
		slices.Sort(list)
		median := list[len(list)/2]
		fmt.Printf("%-9s %d rounds, next save after %.1f s (median), %.1f to %.1f s\n", kind, len(list), median.Seconds(), list[0].Seconds(), list[len(list)-1].Seconds())
		if most := map[string]time.Duration{killPostgres: 10 * time.Second, killNode: 30 * time.Second}[kind]; most > 0 && median > most {
			broken = append(broken, fmt.Errorf("%s: the median is over %v", kind, most))
		}
	}
	if lost+doubled > 0 {
		broken = append(broken, errors.New("something was lost or stored twice"))
	}
	if len(p.refused) > 0 {
		broken = append(broken, fmt.Errorf("%d answers that no phone should get, the first %s", len(p.refused), p.refused[0]))
	}
	return errors.Join(broken...)
}

// ready names what is missing, and finds PostgreSQL's programs.
func ready(pooler bool) (bin string, err error) {
	if os.Geteuid() != 0 {
		return "", errors.New("this makes networks and runs programs as the user postgres; run it as root")
	}
	needed := map[string]string{"ip": "iproute2", "setpriv": "util-linux", "openssl": "openssl", "etcd": "etcd-server", "patroni": "patroni"}
	if pooler {
		needed["haproxy"], needed["pgbouncer"] = "haproxy", "pgbouncer"
	}
	var missing []string
	for program, from := range needed {
		if _, err := exec.LookPath(program); err != nil {
			missing = append(missing, from)
		}
	}
	found, err := filepath.Glob("/usr/lib/postgresql/*/bin/pg_rewind")
	if err != nil || len(found) == 0 {
		missing = append(missing, "postgresql")
	}
	if len(missing) > 0 {
		slices.Sort(missing)
		return "", fmt.Errorf("this machine lacks programs; with Debian: apt-get install --no-install-recommends %s", strings.Join(missing, " "))
	}
	if _, err := os.Stat("bin/rigtally"); err != nil {
		return "", errors.New("bin/rigtally is missing; run make build first")
	}
	return filepath.Dir(found[len(found)-1]), nil
}

// up makes the cluster, and the journal's roles and database in it.
func (c *cluster) up(ctx context.Context, pooler bool) error {
	for _, step := range []func(context.Context) error{c.connect, c.configure} {
		if err := step(ctx); err != nil {
			return err
		}
	}
	for _, n := range c.nodes {
		if err := n.start(); err != nil {
			return err
		}
	}
	primary, err := c.well(ctx)
	if err != nil {
		return err
	}
	if _, err := primary.psql(ctx, c.bin, "postgres", "-f", filepath.Join(primary.dir, "roles.sql")); err != nil {
		return err
	}
	// A host without the database would end the search for the primary: the copies have it in a moment.
	for _, n := range c.nodes {
		if err := until(ctx, wellWithin, "the database on "+n.name(), func() error {
			_, err := n.psql(ctx, c.bin, "rigtally", "-c", "SELECT 1")
			return err
		}); err != nil {
			return err
		}
	}
	if pooler {
		return c.pool()
	}
	return nil
}

// serve runs rigtally by the settings that deploy has for it, and returns where its pages are and what opens them.
func (c *cluster) serve(ctx context.Context, pooler bool) (pages, address string, end func(), err error) {
	settings := filepath.Join(c.nodes[0].dir, "rigtally.toml")
	if pooler {
		if err := useOther(settings); err != nil {
			return "", "", nil, err
		}
	}
	log, err := os.Create(filepath.Join(c.dir, "rigtally.log"))
	if err != nil {
		return "", "", nil, err
	}
	defer log.Close()
	cmd := exec.Command("bin/rigtally", "serve", "--config", settings, "--data-dir", filepath.Join(c.dir, "rigtally"), "--port", "0")
	cmd.Stderr, cmd.Env = log, append(os.Environ(), "RIGTALLY_NO_BROWSER=true")
	cmd.SysProcAttr = &syscall.SysProcAttr{Pdeathsig: syscall.SIGTERM, Setpgid: true}
	out, err := cmd.StdoutPipe()
	if err != nil {
		return "", "", nil, err
	}
	if err := cmd.Start(); err != nil {
		return "", "", nil, err
	}
	end = func() {
		_ = cmd.Process.Signal(syscall.SIGTERM)
		late := time.AfterFunc(20*time.Second, func() { _ = cmd.Process.Kill() })
		defer late.Stop()
		_ = cmd.Wait()
	}
	starting, started := context.WithTimeout(ctx, wellWithin)
	defer started()
	defer context.AfterFunc(starting, func() { _ = cmd.Process.Kill() })()
	for lines := bufio.NewScanner(out); lines.Scan(); {
		if i := strings.Index(lines.Text(), "http://"); i >= 0 { // after "ready at", on the same line or the next
			address = lines.Text()[i:]
			break
		}
	}
	i := strings.LastIndex(address, "/")
	if i < 0 {
		end()
		return "", "", nil, errors.New("rigtally serve does not start; rigtally.log says why")
	}
	host, _, _ := strings.Cut(strings.TrimPrefix(address, "http://"), "/")
	return "http://" + host, address, end, nil
}

// useOther makes a settings file use the address of the pooler, which stands in it behind a comment's sign.
func useOther(settings string) error {
	text, err := os.ReadFile(settings)
	if err != nil {
		return err
	}
	lines := strings.Split(string(text), "\n")
	for i, line := range lines {
		if strings.HasPrefix(line, "database_url") {
			lines[i] = "# " + line
		} else if strings.HasPrefix(line, "# database_url") {
			lines[i] = strings.TrimPrefix(line, "# ")
		}
	}
	return os.WriteFile(settings, []byte(strings.Join(lines, "\n")), 0o600)
}
