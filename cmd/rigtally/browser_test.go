package main

import (
	"bytes"
	"runtime"
	"strings"
	"testing"
)

// Ensure that the demo opens a browser only for someone at a desktop, and never
// against their will.
func TestAtDesktop(t *testing.T) {
	t.Parallel()
	mac := runtime.GOOS == "darwin" // which always has a desktop
	for _, c := range []struct {
		name     string
		env      []string
		terminal bool
		want     bool
	}{
		{"X11", []string{"DISPLAY=:0"}, true, true},
		{"Wayland", []string{"WAYLAND_DISPLAY=wayland-0"}, true, true},
		{"no display", nil, true, mac},
		{"no terminal", []string{"DISPLAY=:0"}, false, false},
		{"not wanted", []string{"DISPLAY=:0", "RIGTALLY_NO_BROWSER=1"}, true, false},
	} {
		p := newProgram(strings.NewReader(""), &bytes.Buffer{}, &bytes.Buffer{}, c.env)
		p.reads = c.terminal
		var err error
		if p.settings, err = readSettings(p.root().PersistentFlags(), p.env); err != nil {
			t.Fatal(err)
		}
		if got := p.atDesktop(); got != c.want {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}
