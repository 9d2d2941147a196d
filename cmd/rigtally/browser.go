package main

import (
	"fmt"
	"os/exec"
	"runtime"
)

// atDesktop reports whether a browser could be opened for the person who ran this.
func (p *program) atDesktop() bool {
	if p.settings.NoBrowser || !p.reads {
		return false
	}
	return runtime.GOOS == "darwin" || p.env["DISPLAY"] != "" || p.env["WAYLAND_DISPLAY"] != ""
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
