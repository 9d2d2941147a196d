package command

import (
	"fmt"
	"os/exec"
	"runtime"
)

// AtDesktop reports whether a browser could be opened for the person who ran this.
func (p *Program) AtDesktop() bool {
	if p.Settings.NoBrowser || !p.Reads {
		return false
	}
	return runtime.GOOS == "darwin" || p.Env["DISPLAY"] != "" || p.Env["WAYLAND_DISPLAY"] != ""
}

func openBrowser(url string) error {
	opener := "xdg-open"
	if runtime.GOOS == "darwin" {
		opener = "open"
	}
	cmd := exec.Command(opener, url)
	if err := cmd.Start(); err != nil {
		return fmt.Errorf("open a browser: %w", err)
	}
	go func() { _ = cmd.Wait() }() // whether it shows the page, the person sees
	return nil
}
