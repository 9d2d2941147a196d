package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// Where npm puts what is inside of others' but modules, with its license.
const (
	font      = "web/assets/node_modules/@fontsource/aleo"
	passwords = "web/assets/node_modules/@zxcvbn-ts/language-common"
)

// noticesOf gathers the licenses of what the program is built from, which go with it wherever it goes.
func (s source) noticesOf(ctx context.Context, settings []string) ([]byte, error) {
	listed, err := output(ctx, s.dir, settings, "go", "list", "-deps",
		"-f", "{{with .Module}}{{if not .Main}}{{.Path}} {{.Version}}\t{{.Dir}}{{end}}{{end}}", "./cmd/rigtally")
	if err != nil {
		return nil, err
	}
	root, err := output(ctx, s.dir, settings, "go", "env", "GOROOT")
	if err != nil {
		return nil, err
	}
	parts := strings.Split(listed, "\n")
	parts = append(parts, "Go's own packages\t"+root, "The font of headings, Aleo\t"+filepath.Join(s.from, font), "The list of passwords, @zxcvbn-ts/language-common\t"+filepath.Join(s.from, passwords))
	slices.Sort(parts)
	var all bytes.Buffer
	fmt.Fprint(&all, "rigtally holds work of others, under the licenses that follow.\n")
	for _, part := range slices.Compact(parts) {
		name, dir, found := strings.Cut(part, "\t")
		if !found {
			continue // a package of Go's own, or of rigtally
		}
		if err := addLicenses(&all, name, dir); err != nil {
			return nil, err
		}
	}
	return all.Bytes(), nil
}

// addLicenses adds the files of a module's folder that state a license.
func addLicenses(to *bytes.Buffer, name, dir string) error {
	var files []string
	for _, pattern := range []string{"LICEN[SC]E*", "COPYING*", "NOTICE*", "THIRD_PARTY_LICENSES/*"} {
		found, err := filepath.Glob(filepath.Join(dir, pattern))
		if err != nil {
			return fmt.Errorf("look for the license of %s: %w", name, err)
		}
		files = append(files, found...)
	}
	if len(files) == 0 {
		return fmt.Errorf("%s has no file with its license in %s; find out on which terms it may be passed on", name, dir)
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			return fmt.Errorf("read the license of %s: %w", name, err)
		}
		fmt.Fprintf(to, "\n\n=== %s: %s\n\n%s\n", name, filepath.Base(file), bytes.TrimSpace(text))
	}
	return nil
}
