package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"golang.org/x/tools/go/packages"
)

// Ensure that the program compiles for every system that a release is for, which building it would tell in minutes.
// What others wrote is checked by its declarations alone. Linux has the other tests.
func TestEveryTargetCompiles(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("reads everything that the program is built from, for each system")
	}
	root, err := filepath.Abs(filepath.Join("..", ".."))
	if err != nil {
		t.Fatal(err)
	}
	ours := func(fset *token.FileSet, name string, text []byte) (*ast.File, error) {
		f, err := parser.ParseFile(fset, name, text, parser.SkipObjectResolution)
		if err == nil && !strings.HasPrefix(name, root+string(filepath.Separator)) {
			for _, d := range f.Decls {
				if f, ok := d.(*ast.FuncDecl); ok {
					f.Body = nil
				}
			}
		}
		return f, err
	}
	checked := map[string]bool{"linux": true}
	for _, target := range targets() {
		if checked[target.system] {
			continue
		}
		checked[target.system] = true
		loaded, err := packages.Load(&packages.Config{
			Context:   t.Context(),
			Mode:      packages.LoadAllSyntax | packages.NeedModule,
			Dir:       root,
			Env:       append(os.Environ(), "CGO_ENABLED=0", "GOOS="+target.system, "GOARCH="+target.arch),
			ParseFile: ours,
		}, "./cmd/rigtally")
		if err != nil {
			t.Fatal(err)
		}
		read := 0
		packages.Visit(loaded, nil, func(p *packages.Package) {
			if p.Module == nil || !p.Module.Main {
				return // without their bodies, packages of others seem not to use what they import
			}
			read++
			for _, failed := range p.Errors {
				t.Errorf("%s: %v", target, failed)
			}
		})
		if read < 2 {
			t.Errorf("%s: only %d packages of the program were read", target, read)
		}
	}
}
