package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"rigtally/cmd/rigtally/command"
	"rigtally/internal/pgserver"
	"rigtally/web/door"
)

func openCommand(p *command.Program) *cobra.Command {
	return &cobra.Command{
		Use:   "open",
		Short: "Open the pages that rigtally serve serves, in one more browser",
		Long: `Print an address that lets one browser into the pages that rigtally serve serves on
this machine, once, within a day. At a desktop it is opened too.`,
		Example: "  rigtally open",
		Args:    command.None,
		RunE: p.Do(func(ctx context.Context, _ []string) error {
			ring, err := openRing(p)
			if err != nil {
				return err
			}
			at, err := notedAddress(p)
			if err != nil {
				return err
			}
			if _, err := get(ctx, at); err != nil {
				return errNotServed
			}
			address, err := newAddress(ring, at)
			if err != nil {
				return err
			}
			p.Printf("%s\n", address)
			if p.AtDesktop() {
				openAddress(p, address)
			}
			return nil
		}),
	}
}

var errNotServed = errors.New("the pages are not served on this machine; start them with rigtally serve")

// doorFolder is the folder of what lets browsers in, in the data folder.
func doorFolder(p *command.Program) (string, error) {
	dir, err := pgserver.MakeDataDir(p.Server())
	return filepath.Join(dir, "door"), err
}

// openRing is the ring of keys to the pages that are served from this data folder.
func openRing(p *command.Program) (door.Ring, error) {
	dir, err := doorFolder(p)
	if err != nil {
		return door.Ring{}, err
	}
	return door.NewRing(dir)
}

// noteAddress notes where the pages are served, for rigtally open.
func noteAddress(p *command.Program, at string) error {
	dir, err := doorFolder(p)
	if err == nil {
		err = os.WriteFile(filepath.Join(dir, "address"), []byte(at+"\n"), 0o600)
	}
	if err != nil {
		return fmt.Errorf("note the address of the pages: %w", err)
	}
	return nil
}

func notedAddress(p *command.Program) (string, error) {
	dir, err := doorFolder(p)
	if err != nil {
		return "", err
	}
	text, err := os.ReadFile(filepath.Join(dir, "address"))
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "", errNotServed
	case err != nil:
		return "", fmt.Errorf("read the address of the pages: %w", err)
	}
	return strings.TrimSpace(string(text)), nil
}

// newAddress is one that lets a browser into the pages at an address.
func newAddress(ring door.Ring, at string) (string, error) {
	path, err := ring.NewKey()
	return at + path, err
}

func openAddress(p *command.Program, address string) {
	if err := p.OpenBrowser(address); err != nil {
		p.Note("rigtally: %v; open the address yourself", err)
	}
}

// atEnter prints another address whenever the person at the terminal presses Enter.
func atEnter(p *command.Program, ring door.Ring, at string) {
	for lines := bufio.NewScanner(p.In); lines.Scan(); {
		address, err := newAddress(ring, at)
		if err != nil {
			p.Note("rigtally: %v", err)
			continue
		}
		p.Printf("%s\n", address)
	}
}
