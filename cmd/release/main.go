// Command release builds what people install: programs for every system, archives, Debian packages and checksums.
//
// It works in a clone of the last commit, so that what it makes follows from that commit and from the Go that builds
// it: the same bytes each time.
package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"path/filepath"
	"strings"
)

// target is a system to build for.
type target struct{ system, arch string }

func targets() []target {
	return []target{
		{"linux", "amd64"}, {"linux", "arm64"},
		{"darwin", "amd64"}, {"darwin", "arm64"},
		{"windows", "amd64"},
	}
}

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	flag.Usage = func() {
		fmt.Fprintln(flag.CommandLine.Output(), "release [-to folder] [system/arch …]   without any: all of them")
		flag.PrintDefaults()
	}
	to := flag.String("to", "release", "`folder` to put everything into; what is in it goes")
	flag.Parse()
	chosen, err := choose(flag.Args())
	if err == nil {
		err = release(ctx, *to, chosen)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "release:", err)
		stop()
		os.Exit(1)
	}
}

// choose finds the targets that are named, all of them if none is.
func choose(named []string) ([]target, error) {
	if len(named) == 0 {
		return targets(), nil
	}
	known := map[string]target{}
	for _, t := range targets() {
		known[t.system+"/"+t.arch] = t
	}
	var chosen []target
	for _, name := range named {
		t, ok := known[name]
		if !ok {
			return nil, fmt.Errorf("there is no target %q; name some of %v", name, targets())
		}
		chosen = append(chosen, t)
	}
	return chosen, nil
}

// String is the target as Go names it.
func (t target) String() string { return t.system + "/" + t.arch }

// release fills the folder to anew.
func release(ctx context.Context, to string, chosen []target) error {
	to, err := filepath.Abs(to)
	if err != nil {
		return fmt.Errorf("find the folder for the release: %w", err)
	}
	from, err := filepath.Abs(".")
	if err != nil {
		return fmt.Errorf("find the project's folder: %w", err)
	}
	work, err := os.MkdirTemp("", "rigtally-release-")
	if err != nil {
		return fmt.Errorf("make a folder to build in: %w", err)
	}
	defer os.RemoveAll(work)
	s, err := newSource(ctx, from, filepath.Join(work, "rigtally"))
	if err != nil {
		return err
	}
	if err := os.RemoveAll(to); err != nil {
		return fmt.Errorf("empty the folder for the release: %w", err)
	}
	if err := os.MkdirAll(to, 0o755); err != nil {
		return fmt.Errorf("make the folder for the release: %w", err)
	}
	for _, t := range chosen {
		fmt.Printf("Building for %s.\n", t)
		p, err := s.build(ctx, t)
		if err != nil {
			return err
		}
		if err := p.archive(to); err != nil {
			return fmt.Errorf("pack the program for %s: %w", t, err)
		}
		if t.system == "linux" {
			if err := p.debian(ctx, to); err != nil {
				return fmt.Errorf("make the Debian package for %s: %w", t.arch, err)
			}
		}
	}
	sums, err := checksums(to)
	if err != nil {
		return fmt.Errorf("sum up the release: %w", err)
	}
	fmt.Printf("%s\nAll of it is in %s.\n", strings.TrimSpace(sums), to)
	return nil
}
