package main

import (
	"bytes"
	"context"
	"debug/buildinfo"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"time"
)

// source is a clone of the last commit, with what make fetches for the program.
type source struct {
	dir  string
	from string // the project's folder that it was cloned from
}

// newSource clones the project at from into dir.
func newSource(ctx context.Context, from, dir string) (source, error) {
	s := source{dir, from}
	changed, err := output(ctx, from, nil, "git", "status", "--porcelain")
	if err != nil {
		return s, err
	}
	if changed != "" {
		fmt.Println("What is not committed is no part of the release.")
	}
	commit, err := output(ctx, from, nil, "git", "rev-parse", "HEAD")
	if err != nil {
		return s, err
	}
	if _, err := output(ctx, from, nil, "git", "clone", "--quiet", "--no-checkout", from, dir); err != nil {
		return s, err
	}
	if _, err := output(ctx, dir, nil, "git", "checkout", "--quiet", "--detach", commit); err != nil {
		return s, err
	}
	vendor, known := filepath.Join("web", "static", "vendor"), filepath.Join("web", "door", "known", "passwords.txt")
	if err := os.CopyFS(filepath.Join(dir, vendor), os.DirFS(filepath.Join(from, vendor))); err != nil {
		return s, fmt.Errorf("copy the font of headings, which \"make assets\" fetches: %w", err)
	}
	list, err := os.ReadFile(filepath.Join(from, known))
	if err == nil {
		err = os.WriteFile(filepath.Join(dir, known), list, 0o644)
	}
	if err != nil {
		return s, fmt.Errorf("copy the list of passwords, which \"make assets\" fetches: %w", err)
	}
	return s, nil
}

// program is one that was built.
type program struct {
	source
	target
	path    string
	version string    // without the v before it
	made    time.Time // of the commit: the age of all files
	notices []byte    // licenses of what is inside
	manual  string    // the folder with its man pages and completions, below share
}

// build makes the program for a target. Its version is the one that Go takes from git: a tag such as v1.2.0, or time
// and commit.
func (s source) build(ctx context.Context, t target) (program, error) {
	p := program{source: s, target: t, path: filepath.Join(s.dir, "bin", t.name())}
	settings := []string{"CGO_ENABLED=0", "GOOS=" + t.system, "GOARCH=" + t.arch, "GOFLAGS=", "GOAMD64=v1", "GOARM64=v8.0", "GOEXPERIMENT=", "GOWORK=off"}
	if _, err := output(ctx, s.dir, settings, "go", "build", "-trimpath", "-buildvcs=true", "-ldflags=-s -w", "-o", p.path, "./cmd/rigtally"); err != nil {
		return p, err
	}
	info, err := buildinfo.ReadFile(p.path)
	if err != nil {
		return p, fmt.Errorf("read what the program for %s was built from: %w", t, err)
	}
	for _, setting := range info.Settings {
		if setting.Key == "vcs.time" {
			p.made, err = time.Parse(time.RFC3339, setting.Value)
		}
	}
	if err != nil || p.made.IsZero() {
		return p, errors.Join(fmt.Errorf("the program for %s does not tell its commit; build in a clone that git can read", t), err)
	}
	p.version = strings.TrimPrefix(info.Main.Version, "v")
	if p.notices, err = s.noticesOf(ctx, settings); err != nil {
		return p, err
	}
	p.manual, err = s.manualOf(ctx, p.made)
	return p, err
}

// manualOf writes man pages and completions, which are the same for every system, and returns their folder. The
// program that writes them is one for the machine at hand.
func (s source) manualOf(ctx context.Context, made time.Time) (string, error) {
	dir := filepath.Join(s.dir, "bin", "manual")
	if _, err := os.Stat(dir); err == nil {
		return dir, nil // of the target before
	}
	settings := []string{"CGO_ENABLED=0", "GOFLAGS=", "GOWORK=off"}
	writer := filepath.Join(s.dir, "bin", "writer")
	if _, err := output(ctx, s.dir, settings, "go", "build", "-trimpath", "-buildvcs=true", "-o", writer, "./cmd/rigtally"); err != nil {
		return "", err
	}
	_, err := output(ctx, s.dir, []string{fmt.Sprintf("SOURCE_DATE_EPOCH=%d", made.Unix()), "HOME=" + s.dir}, writer, "man", dir)
	return dir, err
}

// name is the name of the program's file.
func (t target) name() string {
	if t.system == "windows" {
		return "rigtally.exe"
	}
	return "rigtally"
}

// output runs a program in a folder, with more settings in its environment, and returns what it says.
func output(ctx context.Context, dir string, settings []string, name string, args ...string) (string, error) {
	cmd := exec.CommandContext(ctx, name, args...)
	var out, errs bytes.Buffer
	cmd.Dir, cmd.Env, cmd.Stdout, cmd.Stderr = dir, append(os.Environ(), settings...), &out, &errs
	if err := cmd.Run(); err != nil {
		return "", fmt.Errorf("%s: %w\n%s", strings.Join(cmd.Args, " "), err, errs.Bytes())
	}
	return strings.TrimSpace(out.String()), nil
}
