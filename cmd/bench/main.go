// Command bench times rigtally against named alternatives in the same run and
// prints ratios; only the ratios carry over to another machine. The names of
// steps as arguments run those only: imports, workbooks, saves, policies, answers, fits,
// commands, pages, seasons, signins, outfits, clients, gauges. How many outfits there are is said by -outfits; with -dir the server is
// kept in a folder, so that another run finds what was invented.
package main

import (
	"cmp"
	"context"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"time"

	"rigtally/internal/pgserver"
)

const (
	importRows    = 100_000
	importRounds  = 3
	commandRounds = 7
	answerRounds  = 9
)

func main() {
	if err := run(context.Background()); err != nil {
		fmt.Fprintln(os.Stderr, "bench:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context) error {
	flags := flag.NewFlagSet("bench", flag.ContinueOnError)
	many := flags.Int("outfits", 1000, "how many `outfits` are on a server")
	kept := flags.String("dir", "", "`folder` in which the server is kept")
	var chosen []string
	for args := os.Args[1:]; len(args) > 0; {
		if err := flags.Parse(args); err != nil {
			return err
		}
		if args = flags.Args(); len(args) > 0 {
			chosen, args = append(chosen, args[0]), args[1:]
		}
	}
	program, err := filepath.Abs("bin/rigtally")
	if err != nil {
		return err
	}
	if _, err := os.Stat(program); err != nil {
		return fmt.Errorf("bin/rigtally is missing; run make build first")
	}
	client, err := findPsql()
	if err != nil {
		return err
	}
	dir, err := os.MkdirTemp("", "rigtally-bench-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	if err := os.Chmod(dir, 0o755); err != nil { // as root the server is another user
		return err
	}
	b := &bench{client: client, program: program, dir: dir, stints: map[string]int{}, many: *many}
	if b.server, err = pgserver.Acquire(ctx, b.privateServer(cmp.Or(*kept, filepath.Join(dir, "server")))); err != nil {
		return err
	}
	defer b.server.Release(ctx)
	for _, step := range []struct {
		name string
		run  func(context.Context) error
	}{{"imports", b.imports}, {"workbooks", b.workbooks}, {"saves", b.saves}, {"policies", b.policies}, {"answers", b.answers}, {"fits", b.fits}, {"commands", b.commands}, {"pages", b.pages}, {"seasons", b.seasons}, {"signins", b.signIns}, {"outfits", b.outfits}, {"clients", b.clients}, {"gauges", b.gauges}} {
		if len(chosen) > 0 && !slices.Contains(chosen, step.name) {
			continue
		}
		if err := step.run(ctx); err != nil {
			return err
		}
	}
	return nil
}

// bench holds what the steps share.
type bench struct {
	server          *pgserver.Server
	client, program string // psql, rigtally
	dir             string
	stints          map[string]int // in the journals that were invented, by database
	many            int            // outfits
}

// privateServer is a server of its own in a folder.
func (b *bench) privateServer(dir string) pgserver.Config {
	return pgserver.Config{DataDir: dir, Local: []string{".postgres"}}
}

// timed returns the median and the range of some rounds.
type timed []time.Duration

func (t timed) median() time.Duration {
	sorted := slices.Sorted(slices.Values(t))
	return sorted[len(sorted)/2]
}

// quantile returns the time that such a part of the rounds stayed below or at.
func (t timed) quantile(part float64) time.Duration {
	sorted := slices.Sorted(slices.Values(t))
	return sorted[min(int(part*float64(len(sorted))), len(sorted)-1)]
}

func (t timed) String() string {
	return fmt.Sprintf("%s (%s–%s, n=%d)", round(t.median()), round(slices.Min(t)), round(slices.Max(t)), len(t))
}

func round(d time.Duration) time.Duration {
	if d > 10*time.Second {
		return d.Round(100 * time.Millisecond)
	}
	if d > 100*time.Millisecond {
		return d.Round(time.Millisecond)
	}
	return d.Round(10 * time.Microsecond)
}

// compare prints two timings and how many times as fast the first is.
func compare(what string, ours timed, alternative string, theirs timed) {
	fmt.Printf("\n%s\n  rigtally  %s\n  %s  %s\n  ratio     %.2f times the speed of the alternative\n",
		what, ours, alternative, theirs, theirs.median().Seconds()/ours.median().Seconds())
}

// clock times one call.
func clock(f func() error) (time.Duration, error) {
	start := time.Now()
	err := f()
	return time.Since(start), err
}

// inTurn times steps, one after the other in each of so many rounds. The first ones that only warm up don't count.
func inTurn(warm, rounds int, steps ...func() error) ([]timed, error) {
	times := make([]timed, len(steps))
	for i := range warm + rounds {
		for n, step := range steps {
			d, err := clock(step)
			if err != nil {
				return nil, err
			}
			if i >= warm {
				times[n] = append(times[n], d)
			}
		}
	}
	return times, nil
}

func metOrMissed(met bool) string {
	if met {
		return "met"
	}
	return "missed"
}
