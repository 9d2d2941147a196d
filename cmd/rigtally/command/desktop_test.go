package command

import (
	"bytes"
	"runtime"
	"strings"
	"testing"

	"github.com/spf13/pflag"
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
		p := New(strings.NewReader(""), &bytes.Buffer{}, &bytes.Buffer{}, c.env)
		p.Reads = c.terminal
		var err error
		if p.Settings, err = ReadSettings(pflag.NewFlagSet("test", pflag.ContinueOnError), p.Env); err != nil {
			t.Fatal(err)
		}
		if got := p.AtDesktop(); got != c.want {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}
