// Command pictures takes a picture of every page: of an empty journal, of one
// session, of the demo's seasons and of 3,000 sessions, at the size of a phone and
// of a desktop, light and dark. Into OUT/JOURNAL/PAGE-SCREEN-SCHEME.png.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"path"
	"path/filepath"
	"strings"
	"sync"
	"syscall"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"
)

// options are what the flags say.
type options struct {
	out, only, journals string
	whole               bool
	browsers            int
}

func main() {
	var o options
	flag.StringVar(&o.out, "out", "pictures", "folder to write the pictures to")
	flag.StringVar(&o.only, "only", "", "patterns of names of pictures to take, with commas, such as today-*,findings-desktop-light; all when empty")
	flag.StringVar(&o.journals, "journals", "empty,one,demo,many", "journals to take them of, with commas")
	flag.BoolVar(&o.whole, "whole", true, "the whole page rather than the first screen")
	flag.IntVar(&o.browsers, "browsers", 1, "browsers at work at a time, 1 or 2")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	if err := run(ctx, o); err != nil {
		fmt.Fprintln(os.Stderr, "pictures:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context, o options) error {
	if o.browsers < 1 || o.browsers > 2 {
		return errors.New("-browsers must be 1 or 2")
	}
	shown, end, err := openJournals(ctx, strings.Split(o.journals, ","))
	if err != nil {
		return err
	}
	defer end()
	todo := shots(shown, o.only)
	if len(todo) == 0 {
		return fmt.Errorf("no picture is called %q", o.only)
	}
	for _, j := range shown {
		if err := os.MkdirAll(filepath.Join(o.out, j.name), 0o755); err != nil {
			return err
		}
	}
	bar := progressbar.NewOptions(len(todo), progressbar.OptionSetWriter(os.Stderr), progressbar.OptionSetVisibility(term.IsTerminal(int(os.Stderr.Fd()))),
		progressbar.OptionSetDescription("pictures"), progressbar.OptionShowCount(), progressbar.OptionClearOnFinish())
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	queue := make(chan shot)
	var problems []error
	var mu sync.Mutex
	var wait sync.WaitGroup
	for range o.browsers {
		wait.Go(func() {
			if err := work(ctx, o, queue, func() { _ = bar.Add(1) }); err != nil {
				mu.Lock()
				problems = append(problems, err)
				mu.Unlock()
				cancel()
			}
		})
	}
	for _, s := range todo {
		select {
		case queue <- s:
		case <-ctx.Done():
		}
	}
	close(queue)
	wait.Wait()
	return errors.Join(problems...)
}

// work takes the pictures of a queue, in a browser of its own for each scheme.
func work(ctx context.Context, o options, queue <-chan shot, done func()) error {
	browsers := map[bool]context.Context{}
	for s := range queue {
		if browsers[s.dark] == nil {
			browser, quit, err := open(ctx, s.dark)
			if err != nil {
				return err
			}
			defer quit()
			browsers[s.dark] = browser
		}
		picture, err := s.take(browsers[s.dark], o.whole)
		for range 2 {
			if err == nil || errors.Is(err, errNoPage) || ctx.Err() != nil {
				break
			}
			picture, err = s.take(browsers[s.dark], o.whole) // a page that went on to another in the middle
		}
		switch {
		case errors.Is(err, errNoPage):
		case err != nil:
			return fmt.Errorf("picture %s of %s: %w", s.name(), s.journal.name, err)
		default:
			if err := os.WriteFile(filepath.Join(o.out, s.journal.name, s.name()+".png"), picture, 0o644); err != nil {
				return err
			}
		}
		done()
	}
	return nil
}

// shots lists the pictures whose name fits one of the patterns.
func shots(journals []shown, only string) []shot {
	var list []shot
	for _, j := range journals {
		for _, dark := range []bool{false, true} {
			for _, screen := range screens {
				for _, p := range pages {
					s := shot{j, p, screen, dark}
					if only == "" || fits(s.name(), only) {
						list = append(list, s)
					}
				}
			}
		}
	}
	return list
}

func fits(name, patterns string) bool {
	for _, p := range strings.Split(patterns, ",") {
		if ok, err := path.Match(p, name); ok && err == nil {
			return true
		}
	}
	return false
}
