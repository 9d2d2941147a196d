//go:build linux

package main

import (
	"bytes"
	"context"
	"crypto/tls"
	"crypto/x509"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// The machines' own network, out of the range that is kept for such trials (RFC 2544).
const (
	bridge      = "rigtally-br"
	bridgeRange = "198.18.77.254/24"
	wellWithin  = 5 * time.Minute
)

// node is a machine of the cluster: a network namespace with etcd, Patroni and PostgreSQL.
type node struct {
	number  int
	space   string // the namespace
	link    string // its cable's end on this side
	address string
	dir     string
	started []*exec.Cmd
}

func (n *node) name() string { return fmt.Sprint("node", n.number) }

// cluster is three machines, as the files of deploy make them.
type cluster struct {
	files  string // the folder deploy
	dir    string // everything that the run writes
	bin    string // PostgreSQL's programs
	nodes  []*node
	beside []*exec.Cmd // haproxy and PgBouncer
	client *http.Client
}

func newCluster(files, dir, bin string) *cluster {
	c := &cluster{files: files, dir: dir, bin: bin}
	for number := 1; number <= 3; number++ {
		c.nodes = append(c.nodes, &node{number: number, space: fmt.Sprint("rigtally-", number), link: fmt.Sprint("rigtally-v", number),
			address: fmt.Sprint("198.18.77.", number), dir: filepath.Join(dir, fmt.Sprint("node", number))})
	}
	return c
}

// command runs a program to its end and returns what it says.
func command(ctx context.Context, name string, args ...string) (string, error) {
	ctx, cancel := context.WithTimeout(ctx, time.Minute)
	defer cancel()
	var out, errs bytes.Buffer
	cmd := exec.CommandContext(ctx, name, args...)
	cmd.Stdout, cmd.Stderr, cmd.WaitDelay = &out, &errs, 5*time.Second
	if err := cmd.Run(); err != nil {
		return "", fmt.Errorf("%s %s: %w: %s", name, strings.Join(args, " "), err, strings.TrimSpace(errs.String()))
	}
	return out.String(), nil
}

// configure writes the files of every machine by the scripts that make those of a real one.
func (c *cluster) configure(ctx context.Context) error {
	settings := filepath.Join(c.dir, "cluster.env")
	certificates := filepath.Join(c.dir, "certificates")
	text := fmt.Sprintf("NODE1=%s\nNODE2=%s\nNODE3=%s\nPROGRAMS=%s\nBIN=%s\n", c.nodes[0].address, c.nodes[1].address, c.nodes[2].address, "198.18.77.0/24", c.bin)
	for _, who := range []string{"SUPERUSER", "REPLICATION", "REWIND", "PATRONI", "KEEPER", "APP"} {
		text += who + "_PASSWORD=" + strings.ToLower(who) + "OfThisRun\n"
	}
	for _, n := range c.nodes {
		own := text + fmt.Sprintf("TLS=%s/tls\nDATA=%[1]s/data\nETCD_DATA=%[1]s/etcd\nRUN=%[1]s\nUSERLIST=%[1]s/userlist.txt\n", n.dir)
		if err := errors.Join(os.MkdirAll(n.dir, 0o700), os.WriteFile(settings, []byte(own), 0o600)); err != nil {
			return err
		}
		for _, step := range [][]string{{filepath.Join(c.files, "certificates.sh"), settings, certificates},
			{filepath.Join(c.files, "configure.sh"), settings, strconv.Itoa(n.number), n.dir},
			{"cp", "-r", filepath.Join(certificates, strconv.Itoa(n.number)), filepath.Join(n.dir, "tls")},
			{"chown", "-R", "postgres:postgres", n.dir}} {
			if _, err := command(ctx, step[0], step[1:]...); err != nil {
				return err
			}
		}
	}
	pem, err := os.ReadFile(filepath.Join(certificates, "ca.pem"))
	if err != nil {
		return err
	}
	authorities := x509.NewCertPool()
	authorities.AppendCertsFromPEM(pem)
	c.client = &http.Client{Timeout: 3 * time.Second, Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: authorities}, DisableKeepAlives: true}}
	return nil
}

// connect makes the machines' network; one that a run before left behind is taken away first.
func (c *cluster) connect(ctx context.Context) error {
	c.disconnect(ctx)
	steps := [][]string{{"link", "add", bridge, "type", "bridge"}, {"addr", "add", bridgeRange, "dev", bridge}, {"link", "set", bridge, "up"}}
	for _, n := range c.nodes {
		steps = append(steps, []string{"netns", "add", n.space},
			[]string{"link", "add", n.link, "type", "veth", "peer", "name", "eth0", "netns", n.space},
			[]string{"link", "set", n.link, "master", bridge, "up"},
			[]string{"-n", n.space, "addr", "add", n.address + "/24", "dev", "eth0"},
			[]string{"-n", n.space, "link", "set", "eth0", "up"},
			[]string{"-n", n.space, "link", "set", "lo", "up"})
	}
	for _, step := range steps {
		if _, err := command(ctx, "ip", step...); err != nil {
			return err
		}
	}
	return nil
}

func (c *cluster) disconnect(ctx context.Context) {
	for _, n := range c.nodes {
		_ = n.kill(ctx) // there may be none
		_, _ = command(ctx, "ip", "netns", "del", n.space)
		_, _ = command(ctx, "ip", "link", "del", n.link)
	}
	_, _ = command(ctx, "ip", "link", "del", bridge)
}

// begin starts a program as the user postgres, which ends with this one, in a namespace unless that is empty.
func begin(space, dir, log string, environment []string, program ...string) (*exec.Cmd, error) {
	args := append([]string{"setpriv", "--reuid", "postgres", "--regid", "postgres", "--clear-groups", "--pdeathsig", "KILL"}, program...)
	if space != "" {
		args = append([]string{"ip", "netns", "exec", space}, args...)
	}
	file, err := os.OpenFile(filepath.Join(dir, log), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o644)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	cmd := exec.Command(args[0], args[1:]...)
	cmd.Dir, cmd.Stdout, cmd.Stderr = dir, file, file
	cmd.Env = append([]string{"PATH=" + os.Getenv("PATH"), "LANG=C.UTF-8", "HOME=" + dir}, environment...)
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true} // Ctrl-C is for this program, which ends the others in order
	if err := cmd.Start(); err != nil {
		return nil, fmt.Errorf("start %s: %w", program[0], err)
	}
	return cmd, nil
}

// start starts what of a machine's programs does not run.
func (n *node) start() error {
	settings, err := os.ReadFile(filepath.Join(n.dir, "etcd.env"))
	if err != nil {
		return err
	}
	environment := slices.DeleteFunc(strings.Split(string(settings), "\n"), func(line string) bool { return !strings.HasPrefix(line, "ETCD_") })
	etcd, err := begin(n.space, n.dir, "etcd.log", environment, "etcd")
	if err != nil {
		return err
	}
	patroni, err := begin(n.space, n.dir, "patroni.log", nil, "patroni", "patroni.yml")
	n.started = []*exec.Cmd{etcd, patroni}
	return err
}

// pids are the processes of a machine.
func (n *node) pids(ctx context.Context) ([]int, error) {
	out, err := command(ctx, "ip", "netns", "pids", n.space)
	var list []int
	for word := range strings.FieldsSeq(out) {
		if pid, err := strconv.Atoi(word); err == nil {
			list = append(list, pid)
		}
	}
	return list, err
}

// kill ends everything on a machine, as a cut of its power does.
func (n *node) kill(ctx context.Context) error {
	return until(ctx, 20*time.Second, n.name()+" to be dead", func() error {
		pids, err := n.pids(ctx)
		if err != nil {
			return err
		}
		for _, pid := range pids {
			_ = syscall.Kill(pid, syscall.SIGKILL)
		}
		if len(pids) > 0 {
			return fmt.Errorf("%d processes", len(pids))
		}
		for _, cmd := range n.started {
			_ = cmd.Wait()
		}
		n.started = nil
		return nil
	})
}

// postgres are the processes of a machine's PostgreSQL, the postmaster first.
func (n *node) postgres(ctx context.Context) ([]int, error) {
	text, err := os.ReadFile(filepath.Join(n.dir, "data", "postmaster.pid"))
	if err != nil {
		return nil, err
	}
	first, _, _ := strings.Cut(string(text), "\n")
	postmaster, err := strconv.Atoi(first)
	if err != nil {
		return nil, err
	}
	pids, err := n.pids(ctx)
	if err != nil {
		return nil, err
	}
	if !slices.Contains(pids, postmaster) {
		return nil, fmt.Errorf("no PostgreSQL runs on %s", n.name())
	}
	list := []int{postmaster}
	for _, pid := range pids {
		stat, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
		if err != nil {
			continue // it has ended
		}
		_, after, _ := strings.Cut(string(stat), ") ")
		if fields := strings.Fields(after); len(fields) > 1 && fields[1] == first {
			list = append(list, pid)
		}
	}
	return list, nil
}

// member is a machine as Patroni sees it.
type member struct {
	Name, Role, State string
	Timeline          int
	Lag               any
}

// members asks the machines, one after the other, how all of them are.
func (c *cluster) members(ctx context.Context) ([]member, error) {
	var last error
	for _, n := range c.nodes {
		var said struct{ Members []member }
		if last = c.ask(ctx, n, "/cluster", &said); last == nil {
			return said.Members, nil
		}
	}
	return nil, last
}

func (c *cluster) ask(ctx context.Context, n *node, path string, into any) error {
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, "https://"+n.address+":8008"+path, nil)
	if err != nil {
		return err
	}
	answer, err := c.client.Do(r)
	if err != nil {
		return err
	}
	defer answer.Body.Close()
	if answer.StatusCode != http.StatusOK {
		return fmt.Errorf("%s answers %s", n.name(), answer.Status)
	}
	return json.NewDecoder(answer.Body).Decode(into)
}

// well waits until all three are there, one primary and two copies of it that lack nothing, and returns the primary.
func (c *cluster) well(ctx context.Context) (*node, error) {
	var primary *node
	err := until(ctx, wellWithin, "three machines to be well", func() error {
		members, err := c.members(ctx)
		if err != nil {
			return err
		}
		waiting := fmt.Errorf("%+v", members)
		primary = nil
		synchronous := 0
		for _, m := range members {
			switch {
			case m.State != "running" && m.State != "streaming" || m.Timeline != members[0].Timeline:
				return waiting
			case m.Role == "leader":
				primary = c.nodes[slices.IndexFunc(c.nodes, func(n *node) bool { return n.name() == m.Name })]
			case m.Role == "sync_standby":
				synchronous++
				fallthrough
			default:
				if lag, ok := m.Lag.(float64); !ok || lag > 1<<20 {
					return waiting
				}
			}
		}
		if len(members) != 3 || primary == nil || synchronous != 1 {
			return waiting
		}
		return c.ask(ctx, primary, "/primary", new(any))
	})
	return primary, err
}

// psql asks the primary's database as its superuser, on that machine.
func (n *node) psql(ctx context.Context, bin, database string, args ...string) (string, error) {
	return command(ctx, "ip", append([]string{"netns", "exec", n.space, "setpriv", "--reuid", "postgres", "--regid", "postgres", "--clear-groups",
		filepath.Join(bin, "psql"), "-h", n.dir, "-U", "postgres", "-d", database, "-v", "ON_ERROR_STOP=1", "-qAt", "-F", "\t"}, args...)...)
}

// pool starts haproxy and PgBouncer beside rigtally.
func (c *cluster) pool() error {
	dir := c.nodes[0].dir // any machine's files do
	for _, program := range [][]string{{"haproxy", "-db", "-f", "haproxy.cfg"}, {"pgbouncer", "pgbouncer.ini"}} {
		cmd, err := begin("", dir, program[0]+".log", nil, program...)
		if err != nil {
			return err
		}
		c.beside = append(c.beside, cmd)
	}
	return nil
}

// stop ends everything and takes the network away.
func (c *cluster) stop(ctx context.Context) {
	for _, cmd := range c.beside {
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
	}
	c.disconnect(ctx)
}

// until does something until it succeeds, and says what was waited for when it does not within a time.
func until(ctx context.Context, within time.Duration, what string, do func() error) error {
	ctx, cancel := context.WithTimeout(ctx, within)
	defer cancel()
	for {
		err := do()
		if err == nil {
			return nil
		}
		select {
		case <-ctx.Done():
			return fmt.Errorf("waited for %s: %w", what, err)
		case <-time.After(200 * time.Millisecond):
		}
	}
}
